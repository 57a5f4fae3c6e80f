"""The rim line rolled out flat: heights over one turn, at the circumference of the largest diameter.

Angles run to the right; they are counted counter-clockwise seen from the rim, so a strip wrapped round the bowl with
its lettering outward and its foot line down runs the right way round.
"""

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from formmaker.drawing.dimensions import dot
from formmaker.drawing.linestyles import CENTRE, GRID, NARROW, OUTLINE, SAWN, SMALL, THIN, LineStyle
from formmaker.drawing.marks import Anchor, Arc, Box, Line, Mark, Polyline, Text, text_box
from formmaker.drawing.sheet import Caption, Sheet, compose
from formmaker.drawing.stations import even_heights
from formmaker.model.form import Edge
from formmaker.model.job import Job
from formmaker.model.verdict import Extremum, RimKind, RimLine, Verdict
from formmaker.units import degrees_round, format_length, nearest_index

PassMark = tuple[str, float, float]
"""Name, angle (radians) and height (mm) of something to be shown on the strip."""

DOUBLE = 1.4
"""Distance of the two lines that stand for a turned rim, mm."""

KEY_LEVEL = -20.0

_PURPOSE = (
    "For wrapping round the bowl roughed to its largest diameter: cut along the foot line, lay it level with the "
    "plane of the foot, bring 0 degrees to the zero mark. Angles are counted counter-clockwise looking down on the "
    "rim. The heights are true; where the rim lies further in than the largest diameter, lengths along it are stretched."
)
_WORDS = {
    RimKind.NATURAL: "natural edge",
    RimKind.SAWN: "ended by a sawn face",
    RimKind.TURNED: "turned rim",
}


def rim_sheet(job: Job, verdict: Verdict, *, passes: tuple[PassMark, ...] = ()) -> Sheet:
    """The sheet of the rim line.

    Parameters
    ----------
    job : Job
    verdict : Verdict
        Its ``rim`` and ``diameter`` are drawn.
    passes : tuple of (str, float, float)
        Keep marks and the like: name, angle in radians, height in mm.

    Returns
    -------
    Sheet
        Width over a turn: pi times the largest diameter.
    """
    width = math.pi * verdict.diameter
    top = max(job.form.height, float(np.nanmax(verdict.rim.height)))
    marks = [
        *_ground(job, width, top),
        *_rim_pieces(verdict.rim, width),
        *_key(),
        *_lowest_line(job, width),
        *_lettered_places(job, verdict.rim, passes, width, top),
    ]
    caption = Caption(
        title=job.title, name="Rim line, one turn unrolled", purpose=_PURPOSE, notes=_notes(job, verdict)
    )
    return compose(marks, caption)


def _notes(job: Job, verdict: Verdict) -> tuple[str, ...]:
    def said(size: float) -> str:
        return format_length(size, job.units)

    rim = verdict.rim
    toward = degrees_round(rim.lean_toward)
    around = said(math.pi * verdict.diameter)
    size = (
        f"Unrolled at diameter {said(verdict.diameter)}: one turn is {around} long. Rim from "
        f"{said(float(np.nanmin(rim.height)))} to {said(float(np.nanmax(rim.height)))} above the foot."
    )
    harmonics = (
        f"Lean {said(rim.lean)}, high side at {toward:.0f}° (index {nearest_index(toward, job.index_count)}): what a "
        f"tilt would cure. Sway {said(rim.sway)}: two highs and two lows, which no tilt cures."
    )
    return size, harmonics


def _ground(job: Job, width: float, top: float) -> list[Mark]:
    """Foot line, top of the form, height scales at both ends, degrees above and index positions below."""
    marks: list[Mark] = [
        Line(start=(0.0, 0.0), end=(width, 0.0), style=OUTLINE),
        Line(start=(0.0, top), end=(width, top)),
        Text(at=(-8.0, -9.0), text=f"index of {job.index_count}", anchor=Anchor.END),
        Text(at=(-8.0, top + 5.0), text="degrees", anchor=Anchor.END),
    ]
    for end, side, anchor in ((0.0, -1.0, Anchor.END), (width, 1.0, Anchor.START)):
        marks.append(Line(start=(end, 0.0), end=(end, top)))
        for height in even_heights(0.0, top, job.units, most=8):
            marks.append(Line(start=(end, height), end=(end + 2.0 * side, height)))
            at = (end + 3.5 * side, height - SMALL / 2.0)
            marks.append(Text(at=at, text=format_length(height, job.units), anchor=anchor))
    marks.extend(_degrees(width, top))
    marks.extend(_index_positions(job.index_count, width, top))
    return marks


def _degrees(width: float, top: float) -> Iterable[Mark]:
    step = next((size for size in (5, 10, 15, 30, 45) if width * size / 360.0 >= 16.0), 90)
    for degree in range(0, 361, step):
        x = width * degree / 360.0
        yield Line(start=(x, top), end=(x, top + 3.0))
        yield Text(at=(x, top + 5.0), text=f"{degree}°", anchor=Anchor.MIDDLE)


def _index_positions(count: int, width: float, top: float) -> Iterable[Mark]:
    space = width / count
    every = next((step for step in (1, 2, 3, 4, 6, 8, 12, 24) if step * space >= 10.0), max(1, count // 4))
    for position in range(count + 1):
        x = space * position
        lettered = position % every == 0 and (position < count or count % every == 0)
        yield Line(start=(x, 0.0), end=(x, -3.0 if lettered else -1.5))
        if lettered:
            if 0 < position < count:
                yield Line(start=(x, 0.0), end=(x, top), style=GRID)
            yield Text(at=(x, -9.0), text=str(position % count), anchor=Anchor.MIDDLE)


def _rim_pieces(rim: RimLine, width: float) -> list[Mark]:
    """The whole line, narrow, and over it every stretch of one kind in its own manner."""
    across = np.append(rim.theta, rim.theta[0] + math.tau) * width / math.tau
    points = np.column_stack([across, np.append(rim.height, rim.height[0])])
    marks: list[Mark] = [Polyline(points=points, style=THIN, id="rim-line")]
    start = 0
    for i in range(1, len(rim.kinds) + 1):
        if i == len(rim.kinds) or rim.kinds[i] is not rim.kinds[start]:
            marks.extend(_stretch(points[start : i + 1], rim.kinds[start]))
            start = i
    return marks


def _stretch(points: NDArray[np.float64], kind: RimKind) -> tuple[Mark, ...]:
    if kind is RimKind.TURNED:
        return tuple(
            Polyline(
                points=points + np.array([0.0, side * DOUBLE / 2.0]),
                style=LineStyle(number="01.1", width=NARROW * 1.5),
            )
            for side in (-1.0, 1.0)
        )
    return (Polyline(points=points, style=OUTLINE if kind is RimKind.NATURAL else SAWN),)


def _key() -> Iterable[Mark]:
    """One sample of each kind of line, in a row under the strip."""
    x = 0.0
    for kind, word in _WORDS.items():
        ends = np.array([[x, KEY_LEVEL + SMALL / 2.0], [x + 20.0, KEY_LEVEL + SMALL / 2.0]])
        yield Polyline(points=ends, style=THIN)
        yield from _stretch(ends, kind)
        text = Text(at=(x + 22.5, KEY_LEVEL), text=word)
        yield text
        x = text_box(text).right + 8.0


def _lowest_line(job: Job, width: float) -> list[Mark]:
    if job.form.edge is not Edge.NATURAL:
        return []
    return [Line(start=(0.0, job.form.lowest_rim), end=(width, job.form.lowest_rim), style=CENTRE)]


def _lettered_places(job: Job, rim: RimLine, passes: tuple[PassMark, ...], width: float, top: float) -> list[Mark]:
    """Highs, lows and pass marks with their lettering where it meets no other; a dot alone where it would."""
    room = Box(left=1.0, low=1.0, right=width - 1.0, high=top - 1.0)
    taken: list[Box] = []
    marks: list[Mark] = []
    if job.form.edge is Edge.NATURAL:
        lowest = f"lowest rim you accept, {format_length(job.form.lowest_rim, job.units)}"
        marks.extend(_lettered(rim, [lowest], (0.5 * width, job.form.lowest_rim), room, taken, slide=True))
    for name, theta, height in passes:
        at = (theta % math.tau * width / math.tau, height)
        marks.extend([Arc(centre=at, radius=2.0), dot(at)])
        marks.extend(_lettered(rim, [f"keep {name}"], at, room, taken))
    for word, places in (("high", rim.highs), ("low", rim.lows)):
        for place in places:
            at = (place.theta % math.tau * width / math.tau, place.height)
            marks.append(dot(at))
            marks.extend(_lettered(rim, _said(job, word, place), at, room, taken))
    return marks


def _said(job: Job, word: str, place: Extremum) -> list[str]:
    degrees = degrees_round(place.theta)
    return [
        f"{word} {format_length(place.height, job.units)}",
        f"{degrees:.0f}°, index {nearest_index(degrees, job.index_count)}",
    ]


def _lettered(
    rim: RimLine, lines: list[str], at: tuple[float, float], room: Box, taken: list[Box], *, slide: bool = False
) -> list[Text]:
    """Lines of text above or below a place, or to its side, wherever they are free of text and of the rim line."""
    step = SMALL * 1.6
    tall = step * (len(lines) - 1)
    ups = [3.0 + tall, -SMALL - 3.0, 8.0 + tall, -SMALL - 8.0, 14.0 + tall, -SMALL - 14.0, 22.0 + tall, -SMALL - 22.0]
    sides = [0.0, 12.0, -12.0, 25.0, -25.0, 40.0, -40.0]
    if slide:
        ups, sides = [2.0, -SMALL - 2.0], [share * room.width for share in (0.0, -0.3, 0.3, -0.15, 0.15, -0.4, 0.4)]
    for strict in (True, False):
        for across in sides:
            for up in ups:
                x, y = at[0] + across, at[1] + up
                texts = [
                    Text(at=_kept_inside(line, x, room, y - i * step), text=line, anchor=Anchor.MIDDLE, backed=True)
                    for i, line in enumerate(lines)
                ]
                boxes = [text_box(text) for text in texts]
                if all(_is_free(box, room, taken) and not (strict and _crossed(box, rim, room)) for box in boxes):
                    taken.extend(boxes)
                    return texts
    return []


def _kept_inside(line: str, x: float, room: Box, y: float) -> tuple[float, float]:
    box = text_box(Text(at=(0.0, 0.0), text=line))
    half = box.width / 2.0 + 1.0
    return min(max(x, room.left + half), room.right - half), y


def _is_free(box: Box, room: Box, taken: list[Box]) -> bool:
    inside = room.left <= box.left and box.right <= room.right and room.low <= box.low and box.high <= room.high
    return inside and not any(box.meets(other) for other in taken)


def _crossed(box: Box, rim: RimLine, room: Box) -> bool:
    across = rim.theta * (room.right + 1.0) / math.tau
    near = (across >= box.left - 2.0) & (across <= box.right + 2.0)
    heights = rim.height[near]
    return bool(((heights > box.low - 1.0) & (heights < box.high + 1.0)).any())
