"""A verdict in a few lines that a turner understands: the answer first, then the worst place, then the rest.

It chooses words only; every figure comes from the verdict, in the job's units.
"""

import math
import textwrap
from collections.abc import Container, Iterable, Iterator

import numpy as np

from formmaker.model.grounds import Ground, grounds, say_grounds
from formmaker.model.job import Job
from formmaker.model.rim_places import highest_place, lowest_place, tilt_levels
from formmaker.model.verdict import Answer, Extremum, Finding, Part, RimKind, RimLine, Verdict
from formmaker.tolerances import DEFAULT
from formmaker.units import Units, bound_words, degrees_round, format_length, format_volume, nearest_index

LINE_WIDTH = 100  # characters; fits a terminal of the usual width beside another window

_BOUND = "\N{NO-BREAK SPACE}"  # a blank that textwrap does not break at

_ENDS = {RimKind.NATURAL: "bark edge", RimKind.SAWN: "sawn face", RimKind.TURNED: "turned edge"}

CAUTION = (
    "Stop before turning this: a piece may break off and fly. Read what the lathe maker's manual says, keep to the "
    "rules of your place, and ask somebody trained."
)


def spoken(verdict: Verdict, job: Job, *, told: Container[str] = ()) -> str:
    """Say a verdict to a turner.

    Parameters
    ----------
    verdict : Verdict
    job : Job
        For its title, units, index positions and allowance.
    told : container of str
        Sentences that the reader has had already and that are not said again.

    Returns
    -------
    str
        Lines without a line break at the end, each at most some hundred characters.
    """
    paragraphs = [
        f"{job.title}: {say_answer(verdict, job)}",
        *([CAUTION] if verdict.loose_pieces or verdict.weak_necks else []),
        *(f"- {line}" for line in _finding_lines(verdict, job) if line not in told),
        *say_rim(verdict.rim, verdict.uncertainty, job),
        say_hold(verdict, job.units),
        say_sizes(verdict, job.units),
    ]
    return "\n".join(wrapped(paragraphs))


def wrapped(paragraphs: Iterable[str]) -> Iterator[str]:
    """Break paragraphs into lines, a measure never from its unit; those of a list (``- ``) hang."""
    for paragraph in paragraphs:
        indent = "  " if paragraph.startswith("- ") else ""
        bound = " ".join(word.replace(" ", _BOUND) for word in bound_words(paragraph))
        for line in textwrap.wrap(bound, LINE_WIDTH, subsequent_indent=indent, break_on_hyphens=False):
            yield line.replace(_BOUND, " ")


def say_angle(theta: float, index_count: int) -> str:
    """Say an angle in degrees and as the nearest index position.

    Examples
    --------
    >>> say_angle(math.radians(214.0), 24)
    '214 deg (index 14 of 24)'
    """
    if not math.isfinite(theta):
        return "an unknown angle"
    degrees = degrees_round(theta)
    return f"{round(degrees) % 360} deg (index {nearest_index(degrees, index_count)} of {index_count})"


def say_answer(verdict: Verdict, job: Job) -> str:
    """Say the answer and the worst place, in a sentence or two that follow a title and a colon.

    Parameters
    ----------
    verdict : Verdict
        With its findings: they tell why it is tight or misses although the wood is there.
    job : Job
        For its units, index positions and allowance.

    Returns
    -------
    str
    """
    reasons = grounds(verdict)
    place = _say_place(verdict, job)
    worst = f"The worst place is {place}."
    if verdict.answer is Answer.FITS:
        return f"it comes out, with {_spare(verdict, job)}. The least is {place}."
    if Ground.MARGIN_TIGHT in reasons:
        known = format_length(verdict.uncertainty, job.units)
        return f"too close to call: {_amount(verdict, job)}, but this is only known to within {known}. {worst}"
    if Ground.MARGIN_MISSED in reasons:
        return f"it does not come out: {_spare(verdict, job)}. {worst}"
    if verdict.answer is Answer.TIGHT:
        torn = "not all of it hangs together: " if {Ground.LOOSE, Ground.NECK} & set(reasons) else ""
        return (
            f"the wood is there, with {_spare(verdict, job)}, but {torn}{say_grounds(reasons)}. The least is {place}."
        )
    return (
        f"it does not come out as wished: {say_grounds(reasons)}. Where it must be wood: {_spare(verdict, job)}, the "
        f"least {place}."
    )


def _spare(verdict: Verdict, job: Job) -> str:
    return f"{_amount(verdict, job)} (known to within {format_length(verdict.uncertainty, job.units)})"


def _amount(verdict: Verdict, job: Job) -> str:
    """How much is to spare or missing; what is missing of the allowance alone is not missing of the bowl."""
    skin, bare = format_length(job.skin, job.units), verdict.margin + job.skin
    if not verdict.margin < 0.0:
        return f"{format_length(verdict.margin, job.units)} to spare"
    if bare >= 0.0:
        return f"{format_length(-verdict.margin, job.units)} of the {skin} for truing is missing"
    truing = f", and the {skin} for truing as well" if job.skin > 0.0 else ""
    return f"{format_length(-bare, job.units)} of wood is missing{truing}"


def _say_place(verdict: Verdict, job: Job) -> str:
    worst = verdict.worst
    where = f"{_at(worst.part)}, {say_angle(worst.theta, job.index_count)}, {say_height(worst.height, job.units)}"
    if not (job.skin > 0.0 and verdict.margin >= 0.0):
        return where
    return f"{where} (the {format_length(job.skin, job.units)} for truing already taken off)"


def _at(part: Part) -> str:
    return f"{'on' if part is Part.GLUE_FACE else 'at'} the {part.value}"


def say_height(height: float, units: Units) -> str:
    """Say a height above or below the plane the foot stands on.

    Examples
    --------
    >>> say_height(41.0, Units.MM), say_height(-6.0, Units.MM), say_height(0.3, Units.INCH)
    ('41.0 mm above the foot', '6.0 mm below the foot', 'level with the foot')
    """
    said, nothing = format_length(abs(height), units), format_length(0.0, units)
    if said == nothing:
        return "level with the foot"
    return f"{said} {'below' if height < 0.0 else 'above'} the foot"


def _finding_lines(verdict: Verdict, job: Job) -> Iterator[str]:
    """All findings, each once, those of the check before those of the holding."""
    seen: set[str] = set()
    for finding in (*verdict.findings, *verdict.hold.findings):
        if finding.text not in seen:
            seen.add(finding.text)
            yield finding.text + say_place_of(finding, job)


def say_place_of(finding: Finding, job: Job) -> str:
    """Where a finding is, unless its sentence says so itself."""
    if finding.theta is None or " deg" in finding.text:
        return ""
    height = "" if finding.height is None else f", {say_height(finding.height, job.units)}"
    return f" At {say_angle(finding.theta, job.index_count)}{height}."


def say_rim(rim: RimLine, uncertainty: float, job: Job) -> Iterator[str]:
    """Say where the rim runs, how it leans and how it sways, a sentence or two."""
    heights = np.asarray(rim.height)
    if not np.isfinite(heights).any():
        yield "The rim: its height could not be found."
        return
    highest = format_length(float(np.nanmax(heights)), job.units)
    if set(rim.kinds) == {RimKind.TURNED}:
        yield f"The rim is turned all round, {highest} high."
        return
    if float(np.nanmax(heights) - np.nanmin(heights)) <= DEFAULT.level:
        yield f"The rim runs level all the way round, {highest} high; {_ends(rim.kinds)}."
        return
    low, high = lowest_place(rim), highest_place(rim)
    yield f"The rim: lowest {_say_extremum(low, job)}, highest {_say_extremum(high, job)}; {_ends(rim.kinds)}."
    sway = format_length(rim.sway, job.units)
    yield f"{_lean(rim, uncertainty, job)}; it sways by {sway}, two highs and two lows a turn."


def _lean(rim: RimLine, uncertainty: float, job: Job) -> str:
    if rim.lean <= DEFAULT.level:
        return f"On the model it leans to no side (known to within {format_length(uncertainty, job.units)})"
    if rim.lean <= uncertainty:
        return f"It leans less than can be told, {format_length(uncertainty, job.units)}"
    toward = say_angle(rim.lean_toward, job.index_count)
    cure = ", which a tilt would level" if tilt_levels(rim) else ""
    return f"It leans up by {format_length(rim.lean, job.units)} toward {toward}{cure}"


def _say_extremum(place: Extremum, job: Job) -> str:
    return f"{format_length(place.height, job.units)} at {say_angle(place.theta, job.index_count)}"


def _ends(kinds: tuple[RimKind, ...]) -> str:
    shares = {kind: 100.0 * kinds.count(kind) / len(kinds) for kind in RimKind if kind in kinds}
    if len(shares) == 1:
        return f"{_ENDS[next(iter(shares))]} all round"
    return ", ".join(f"{share:.0f} % {_ENDS[kind]}" for kind, share in shares.items())


def say_hold(verdict: Verdict, units: Units) -> str:
    """Say how the bowl is held."""
    hold = verdict.hold
    return f"Held by a {hold.kind} of {format_length(hold.diameter, units)}, {100.0 * hold.ratio:.0f} % of the bowl."


def say_sizes(verdict: Verdict, units: Units) -> str:
    """Say how large the bowl is, and what becomes of the wood."""
    across, high, foot = (format_length(size, units) for size in (verdict.diameter, verdict.height, verdict.foot))
    blank, bowl, waste = (format_volume(getattr(verdict.volumes, name), units) for name in ("blank", "bowl", "waste"))
    return f"The bowl: {across} across, {high} high, foot {foot}. Wood: blank {blank}, bowl {bowl}, cut away {waste}."
