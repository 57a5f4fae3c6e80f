"""The rim strip: the rim line rolled out flat, to wrap round the roughed blank and mark it.

Its length is the circumference of the blank roughed to its largest diameter, allowance for truing included. Angles
run to the right; they are counted counter-clockwise seen from the rim, so a strip wrapped round with its lettering
outward and its foot line down runs the right way round.
"""

import math
from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from formmaker.drawing.dimensions import dot
from formmaker.drawing.labels import Ground, place_label
from formmaker.drawing.linestyles import CENTRE, GRID, OUTLINE, SAWN, SMALL, THIN, ZONE, LineStyle
from formmaker.drawing.marks import Anchor, Arc, Box, Line, Mark, Point, Polyline, Text, text_box
from formmaker.drawing.sheet import Caption, Drawing
from formmaker.drawing.stations import even_heights
from formmaker.drawing.subject import PassMark, Subject
from formmaker.model.form import Edge
from formmaker.model.job import Job
from formmaker.model.rim_places import tilt_levels
from formmaker.model.verdict import Extremum, RimKind, RimLine, Verdict
from formmaker.tolerances import DEFAULT
from formmaker.units import degrees_round, format_length, nearest_index

DOUBLE = 1.4
"""Distance of the two lines that stand for a turned rim, mm."""

KEY_LEVEL = -24.0
OFF_LEVEL = -14.0

NEAR = 2.0
"""A rim no further from the strip than this follows it: about what wood and paper bridge by hand (ours), mm."""

HEAVY = LineStyle(number="01.2", width=1.4)
"""What marks a stretch without wood: four times as wide as an outline."""

GAP_TICK = 2.5

_PURPOSE = (
    "For wrapping round the blank roughed to its largest diameter: cut along the foot line, lay it level with the "
    "plane of the foot, bring 0 degrees to {zero}, and mark. Angles are counted counter-clockwise looking down on "
    "the rim. The line is where the finished outside will meet the skin of the wood."
)
_WORDS = {
    RimKind.NATURAL: "natural edge",
    RimKind.SAWN: "ended by a sawn face",
    RimKind.TURNED: "turned rim",
}


def rim_sheet(subject: Subject) -> Drawing:
    """The rim line over one turn, unrolled at the roughed circumference, with highs, lows and keep marks."""
    job, verdict = subject.job, subject.verdict
    width = math.tau * _roughed(job, verdict)
    top = max(job.form.height, float(verdict.rim.height.max()))
    marks = [
        *_ground(job, width, top),
        *_rim_pieces(verdict.rim, width),
        *_key(verdict.rim),
        *_off_marks(_off_cylinder(verdict), width),
        *_lowest_line(job, width),
        *_lettered_places(job, verdict.rim, subject.passes, width, top),
    ]
    caption = Caption(title=job.title, name="Rim strip", purpose=_purpose(job), notes=_notes(job, verdict))
    return Drawing(marks=tuple(marks), caption=caption)


def _purpose(job: Job) -> str:
    name = job.mounting.zero_name
    return _PURPOSE.format(zero=f"the mark {name}" if name else "the zero mark")


def _notes(job: Job, verdict: Verdict) -> tuple[str, ...]:
    def said(size: float) -> str:
        return format_length(size, job.units)

    rim = verdict.rim
    radius = _roughed(job, verdict)
    size = (
        f"Unrolled at diameter {said(2.0 * radius)}{_truing(job)}: one turn is {said(math.tau * radius)} long. "
        f"Heights are counted from the plane the foot stands on. {_follows(job, verdict)}"
    )
    if not _is_uneven(rim):
        return size, f"The rim runs level all the way round, {said(float(rim.height.mean()))} above the foot."
    harmonics = (
        f"Rim from {said(float(rim.height.min()))} to {said(float(rim.height.max()))}. "
        f"{_lean(job, verdict)} Sway {said(rim.sway)}: two highs and two lows, which no tilt cures."
    )
    bare = _is_bare(rim)
    if not bare.any():
        return size, harmonics
    share = f"{max(1.0, 100.0 * float(bare.mean())):.0f} %"
    return size, harmonics, f"Over {share} of the turn the wood is missing at the foot already: no wood, no rim."


def _truing(job: Job) -> str:
    return f" (the bowl's, and {format_length(job.skin, job.units)} all round for truing)" if job.skin > 0.0 else ""


def _roughed(job: Job, verdict: Verdict) -> float:
    """Radius of the blank roughed to its largest diameter, mm."""
    return verdict.diameter / 2.0 + job.skin


def _off_cylinder(verdict: Verdict) -> NDArray[np.float64]:
    """How far the rim lies inside the cylinder of the largest diameter at each angle, (n,), mm; 0 without a rim."""
    return np.where(_is_bare(verdict.rim), 0.0, verdict.diameter / 2.0 - verdict.rim.radius)


def _follows(job: Job, verdict: Verdict) -> str:
    """What of the rim follows the cylinder that the strip lies on, and what does not."""
    off = _off_cylinder(verdict)
    far, near = int(off.argmax()), format_length(NEAR, job.units)
    if off[far] <= NEAR:
        return f"All of the rim lies within {near} of the largest diameter: the strip gives it as it will stand."
    degrees = degrees_round(float(verdict.rim.theta[far]))
    share = 100.0 * float((off <= NEAR).mean())
    return (
        f"{f'Over {share:.0f} %' if share >= 1.0 else 'Over none'} of the turn the rim lies within {near} of the "
        "largest diameter and the strip gives it as it will stand. Elsewhere (chain line under the strip) the side "
        f"curves away, most at {degrees:.0f}° (index {nearest_index(degrees, job.index_count)}), by "
        f"{format_length(float(off[far]), job.units)}: there carry each height inward level, with a square, not "
        "along the curve; lengths along the rim are stretched."
    )


def _off_marks(off: NDArray[np.float64], width: float) -> Iterable[Mark]:
    """A chain line under every stretch that does not follow the cylinder."""
    step = width / len(off)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], off > NEAR, [False]]).astype(int)))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        yield Line(start=(start * step, OFF_LEVEL), end=(end * step, OFF_LEVEL), style=ZONE)


def _lean(job: Job, verdict: Verdict) -> str:
    rim = verdict.rim
    if rim.lean <= DEFAULT.level:
        return "It leans to no side."
    size = format_length(rim.lean, job.units)
    if rim.lean <= verdict.uncertainty:
        doubt = format_length(verdict.uncertainty, job.units)
        return f"Lean {size}, too little to tell its side: the skin is only known to within {doubt}."
    toward = degrees_round(rim.lean_toward)
    index = nearest_index(toward, job.index_count)
    cure = ": what a tilt would cure" if tilt_levels(rim) else ""
    return f"Lean {size}, high side at {toward:.0f}° (index {index}){cure}."


def _ground(job: Job, width: float, top: float) -> list[Mark]:
    """Foot line, top of the form, height scales at both ends, degrees above and index positions below."""
    marks: list[Mark] = [
        Line(start=(0.0, 0.0), end=(width, 0.0), style=OUTLINE, id="foot-level"),
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
    """The whole line, narrow, and over it every stretch of one kind in its own manner; a gap where no wood is."""
    across = np.append(rim.theta, rim.theta[0] + math.tau) * width / math.tau
    points = np.column_stack([across, np.append(rim.height, rim.height[0])])
    marks: list[Mark] = [Polyline(points=points, style=THIN, id="rim-line")]
    for start, end in _runs(rim):
        if rim.height[start] <= 0.0:
            marks.extend(_gap(*_gap_ends(rim, start, end, width)))
        first = end - 1 if rim.height[start] <= 0.0 else start  # from a gap, the way up to the next stretch alone
        marks.extend(_stretch(points[first : end + 1], rim.kinds[start]))
    return marks


def _runs(rim: RimLine) -> list[tuple[int, int]]:
    """Stretches of one kind, or without wood, as first index and the index after the last."""
    bare = _is_bare(rim)
    manner = ["" if bare[i] else kind.value for i, kind in enumerate(rim.kinds)]
    starts = [0, *(i for i in range(1, len(manner)) if manner[i] != manner[i - 1])]
    return list(zip(starts, [*starts[1:], len(manner)], strict=True))


def _is_bare(rim: RimLine) -> NDArray[np.bool_]:
    """Where the wood is missing at the foot already, (n,) bool."""
    return np.asarray(rim.height <= 0.0)


def _gap_ends(rim: RimLine, start: int, end: int, width: float) -> tuple[float, float]:
    half = width / len(rim.theta) / 2.0
    across = rim.theta * width / math.tau
    return max(0.0, float(across[start]) - half), min(width, float(across[end - 1]) + half)


def _gap(left: float, right: float) -> Iterable[Mark]:
    """A heavy bar on the foot line between two heavy ticks: told from the foot line at a glance."""
    yield Line(start=(left, 0.0), end=(right, 0.0), style=HEAVY)
    for x in (left, right):
        yield Line(start=(x, -GAP_TICK), end=(x, GAP_TICK), style=HEAVY)


def _stretch(points: NDArray[np.float64], kind: RimKind) -> tuple[Mark, ...]:
    if kind is RimKind.TURNED:
        return tuple(
            Polyline(
                points=points + np.array([0.0, side * DOUBLE / 2.0]),
                style=LineStyle(number="01.1", width=0.25),
            )
            for side in (-1.0, 1.0)
        )
    return (Polyline(points=points, style=OUTLINE if kind is RimKind.NATURAL else SAWN),)


def _key(rim: RimLine) -> Iterable[Mark]:
    """One sample of each kind of line that this rim has, over its word so that one page has both, under the strip."""
    x = 0.0
    for kind in sorted(set(rim.kinds), key=list(_WORDS).index):
        text = Text(at=(x, KEY_LEVEL), text=_WORDS[kind])
        right = text_box(text).right
        ends = np.array([[x, KEY_LEVEL + SMALL + 2.0], [right, KEY_LEVEL + SMALL + 2.0]])
        yield Polyline(points=ends, style=THIN)
        yield from _stretch(ends, kind)
        yield text
        x = right + 8.0


def _lowest_line(job: Job, width: float) -> list[Mark]:
    if job.form.edge is not Edge.NATURAL:
        return []
    return [Line(start=(0.0, job.form.lowest_rim), end=(width, job.form.lowest_rim), style=CENTRE)]


def _lettered_places(job: Job, rim: RimLine, passes: tuple[PassMark, ...], width: float, top: float) -> list[Mark]:
    """Highs, lows, pass marks and the lowest rim with their lettering; the sign alone where every place is taken."""
    room = Box(left=1.0, low=1.0, right=width - 1.0, high=top - 1.0)
    ground = Ground(room=room, lines=_lowest_points(job, width), barred=_rim_points(rim, width))
    signs: list[Mark] = []
    wanted: list[tuple[list[str], list[Point]]] = []
    for mark in passes:
        at = (mark.theta % math.tau * width / math.tau, mark.height)
        signs.extend([Arc(centre=at, radius=2.0), dot(at)])
        wanted.append(([f"keep {mark.name}"], _places_round(at)))
    for start, end in _runs(rim):
        if rim.height[start] <= 0.0:
            wanted.append((["no wood"], _places_round((sum(_gap_ends(rim, start, end, width)) / 2.0, 0.0))))
    for word, places in (("high", rim.highs), ("low", rim.lows)) if _is_uneven(rim) else ():
        for place in places:
            at = (place.theta % math.tau * width / math.tau, place.height)
            signs.append(dot(at))
            wanted.append((_said(job, word, place), _places_round(at)))
    if job.form.edge is Edge.NATURAL:
        wanted.append(
            ([f"lowest rim accepted {format_length(job.form.lowest_rim, job.units)}"], _places_along(job, width))
        )
    texts: list[Text] = []
    for words, tries in wanted:
        texts.extend(place_label(words, tries, ground, [text_box(text) for text in texts]))
    return [*signs, *texts]


def _is_uneven(rim: RimLine) -> bool:
    return float(np.ptp(rim.height)) > DEFAULT.level


def _rim_points(rim: RimLine, width: float) -> NDArray[np.float64]:
    """Points no more than 1 mm apart along the rim line, however steep it runs, (n, 2), mm."""
    across = np.append(rim.theta, rim.theta[0] + math.tau) * width / math.tau
    corners = np.column_stack([across, np.append(rim.height, rim.height[0])])
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    places = np.linspace(0.0, way[-1], math.ceil(way[-1]) + 1)
    return np.column_stack([np.interp(places, way, corners[:, k]) for k in (0, 1)])


def _lowest_points(job: Job, width: float) -> NDArray[np.float64]:
    """Points no more than 1 mm apart along the line of the lowest rim accepted, (n, 2), mm."""
    if job.form.edge is not Edge.NATURAL:
        return np.zeros((0, 2))
    x = np.linspace(0.0, width, math.ceil(width) + 1)
    return np.column_stack([x, np.full_like(x, job.form.lowest_rim)])


def _places_round(at: Point) -> list[Point]:
    ups = [side * up for up in (8.0, 12.0, 17.0, 23.0, 30.0) for side in (1.0, -1.0)]
    return [
        (at[0] + across, at[1] + up)
        for across in (0.0, 14.0, -14.0, 28.0, -28.0, 45.0, -45.0, 65.0, -65.0)
        for up in ups
    ]


def _places_along(job: Job, width: float) -> list[Point]:
    middle = SMALL / 2.0
    ups = (middle + 2.6, middle - SMALL - 2.2)
    shares = (0.5, 0.25, 0.75, 0.375, 0.625, 0.125, 0.875, 0.0, 1.0)
    return [(share * width, job.form.lowest_rim + up) for up in ups for share in shares]


def _said(job: Job, word: str, place: Extremum) -> list[str]:
    degrees = degrees_round(place.theta)
    return [
        f"{word} {format_length(place.height, job.units)}",
        f"{degrees:.0f}°, index {nearest_index(degrees, job.index_count)}",
    ]
