"""What a search for mountings came to, as a turner reads it: size, proof, and a table of choices."""

import math

from formmaker.files.spoken import wrapped
from formmaker.model.choices import Choice, Choices
from formmaker.model.job import Job
from formmaker.units import format_length, format_moment, format_number

_COLUMNS = ("", "size", "rim from", "lean", "sway", "unbalance", "move", "tilt", "why")


def spoken_seek(found: Choices, job: Job) -> str:
    """Say what a search came to; lines without a line break at the end."""
    if found.best is None:
        return "\n".join(wrapped([f"{job.title}: {_none(found, job)}"]))
    size = f"{format_length(found.best.verdict.diameter, job.units)} across"
    first = f"{job.title}: the largest found is {size}, {format_length(found.best.verdict.height, job.units)} high."
    return "\n".join([*wrapped([f"{first} {_proof(found, job)}"]), "", *_table(found.choices, job)])


def _none(found: Choices, job: Job) -> str:
    what = "no mounting was found on which this form comes out within the wishes."
    if found.clash is None or not found.clash.wishes:
        return what
    if not found.clash.reliefs:
        return f"{what} Leaving out one alone of {', '.join(found.clash.wishes)} does not help."
    said = [f"{relief.wish} ({format_length(relief.diameter, job.units)})" for relief in found.clash.reliefs]
    if len(said) == 1:
        return f"{what} What stands in the way is {said[0].replace('(', '(found without it: ')}."
    return (
        f"{what} These contradict each other, in brackets what was found without it alone: {', '.join(said)}. "
        f"Leaving out {found.clash.reliefs[0].wish} helps most."
    )


def _proof(found: Choices, job: Job) -> str:
    bound = format_length(found.bound, job.units)
    share = f"{100.0 * found.gap:.1f} %"
    if found.is_proven:
        return f"No other mounting gives more than {bound}: {share} more at most, proven."
    early = "The search was stopped early: " if found.searched.is_stopped else "Not proven to the gap asked for: "
    return f"{early}another mounting could give up to {bound}, {share} more; it cannot give more than that."


def _table(choices: tuple[Choice, ...], job: Job) -> list[str]:
    rows = [_COLUMNS, *(_row(number, choice, job) for number, choice in enumerate(choices, start=1))]
    widths = [max(len(row[column]) for row in rows) for column in range(len(_COLUMNS) - 1)]
    lines = []
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row, widths, strict=False)]
        lines.append("  ".join([*cells, row[-1]]).rstrip())
    return lines


def _row(number: int, choice: Choice, job: Job) -> tuple[str, ...]:
    verdict, units = choice.verdict, job.units
    weight = "unknown" if choice.unbalance is None else format_moment(choice.unbalance, units)
    return (
        str(number),
        f"{format_number(verdict.diameter, units)} x {format_number(round(verdict.height, 1), units)}",
        format_number(float(verdict.rim.height.min()), units),
        format_number(verdict.rim.lean, units),
        format_number(verdict.rim.sway, units),
        weight,
        format_number(choice.move, units),
        f"{math.degrees(choice.tilt):.1f} deg",
        choice.why,
    )
