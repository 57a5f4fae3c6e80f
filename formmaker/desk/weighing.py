"""Seeking from the desk, and the choices it found side by side with what the turner has now."""

import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from formmaker.desk.rim_view import rim_drawing, rim_window
from formmaker.desk.saying import Told, headline_of
from formmaker.desk.section_view import Window, section_drawing, window_of
from formmaker.files.spoken_seek import spoken_seek
from formmaker.model.choices import Choice, Choices
from formmaker.model.job import Job
from formmaker.pipeline.changes import text_with_choice
from formmaker.pipeline.looking import half_section
from formmaker.pipeline.seeking import seek_in
from formmaker.pipeline.sitting import Sitting, in_units, settled, with_text
from formmaker.units import Units, degrees_round, format_length

GAP = 0.02
"""Share of the diameter that may be left unproven; as the command has it."""

PATIENCE = 60.0
"""Seconds after which a search stops with what it has; as the command has it."""

SELDOM = 0.2
"""Seconds between two words of progress."""

RIM_ASPECT = 3.2

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weighed:
    """A choice, and the job as it would be with it."""

    choice: Choice
    sitting: Sitting


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """What a search came to, in which job, and its choices tried in it."""

    choices: Choices
    job: Job
    weighed: tuple[Weighed, ...]


def seek_for(sitting: Sitting, say: Say, stop: threading.Event) -> Found:
    """Seek the largest bowl of the form in the sitting's wood, and try every choice in the job.

    Raises
    ------
    FormmakerError
        As the search asks for it.
    """
    job, ends = settled(sitting).report.job, time.monotonic() + PATIENCE
    found = seek_in(
        job,
        sitting.wood,
        gap=GAP,
        watch=_telling(say, sitting.units),
        stop=lambda: stop.is_set() or time.monotonic() > ends,
    )
    say("Trying the choices in this job.")
    return Found(choices=found, job=job, weighed=tuple(_tried(sitting, choice) for choice in found.choices))


def said_of(found: Found, units: Units) -> str:
    """Say what the search came to, and what is proven, in a sentence or two."""
    words = spoken_seek(found.choices, replace(found.job, units=units)).partition("\n\n")[0]
    said = " ".join(words.split()).removeprefix(f"{found.job.title}: ")
    return said[:1].upper() + said[1:]


def found_in(found: Found, units: Units) -> Found:
    """Tell the choices in another unit."""
    weighed = (replace(each, sitting=in_units(each.sitting, units)) for each in found.weighed)
    return replace(found, weighed=tuple(weighed))


def cards(found: Found, present: Sitting) -> list[Told]:
    """What the turner has now and every choice, drawn to one scale."""
    window = _common(window_of(each) for each in (present, *(each.sitting for each in found.weighed)))
    first = {**_pictured(present, window), "n": 0, "title": "As it is now", "lines": _figures(present)}
    return [first, *(_card(number, each, window) for number, each in enumerate(found.weighed, start=1))]


def _telling(say: Say, units: Units) -> Callable[[float, float, float], None]:
    """Say the best so far and what cannot be exceeded, now and then."""
    told = 0.0

    def watch(size: float, bound: float, gap: float) -> None:
        nonlocal told
        if time.monotonic() - told < SELDOM:
            return
        told = time.monotonic()
        best = f"best so far {format_length(size, units)} across" if size else "none found yet"
        more = f" ({100.0 * gap:.0f} % more)" if size else ""
        say(f"Seeking: {best}; none above {format_length(bound, units)}{more}.")

    return watch


def _tried(sitting: Sitting, choice: Choice) -> Weighed:
    return Weighed(choice=choice, sitting=with_text(sitting, text_with_choice(sitting, choice), lambda _line: None))


def _common(windows: Iterable[Window]) -> Window:
    """The window that holds them all, so that larger is drawn larger."""
    all_of = tuple(windows)
    low, high = np.array([each.low for each in all_of]), np.array([each.high for each in all_of])
    return Window(
        low=(float(low[:, 0].min()), float(low[:, 1].min())), high=(float(high[:, 0].max()), float(high[:, 1].max()))
    )


def _card(number: int, weighed: Weighed, window: Window) -> Told:
    sitting, choice = weighed.sitting, weighed.choice
    return {
        **_pictured(sitting, window),
        "n": number,
        "title": f"Choice {number}: {choice.why}",
        "lines": [*_figures(sitting), *_way_there(choice, sitting.units)],
    }


def _pictured(sitting: Sitting, window: Window) -> Told:
    """Headline and small pictures: the half section at the worst place, the rim unrolled."""
    verdict = sitting.report.verdict
    theta = verdict.worst.theta
    width, low, high = rim_window(sitting, RIM_ASPECT)
    return {
        "answer": verdict.answer.value,
        "headline": headline_of(sitting),
        "section_svg": section_drawing(sitting, half_section(sitting, theta), window, theta=theta, height=0.0),
        "section_box": window.box,
        "rim_svg": rim_drawing(sitting, theta=theta, height=0.0, aspect=RIM_ASPECT),
        "rim_box": f"0 {-high:.1f} {width:.1f} {high - low:.1f}",
    }


def _figures(sitting: Sitting) -> tuple[str, ...]:
    verdict, units = sitting.report.verdict, sitting.units
    across, high, spare = (format_length(size, units) for size in (verdict.diameter, verdict.height, verdict.margin))
    lowest, highest = (format_length(float(at(verdict.rim.height)), units) for at in (np.nanmin, np.nanmax))
    lean, sway = format_length(verdict.rim.lean, units), format_length(verdict.rim.sway, units)
    return (
        f"{across} across, {high} high",
        f"{spare} to spare" if verdict.margin >= 0.0 else f"{spare.removeprefix('-')} wanting",
        f"rim {lowest} to {highest}",
        f"it leans {lean}, sways {sway}",
    )


def _way_there(choice: Choice, units: Units) -> tuple[str, ...]:
    keeps = (f"the rim passes {mark.name} by {format_length(mark.miss, units)}" for mark in choice.keep)
    return (
        *keeps,
        f"a centre moves {format_length(choice.move, units)} at most",
        f"the axis tilts {degrees_round(choice.tilt):.1f} deg",
    )
