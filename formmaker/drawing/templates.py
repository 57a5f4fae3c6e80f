"""The two card templates: one held against the outside of the bowl, one put inside it.

The curves are the form's own cubic pieces; nothing is smoothed or stepped on the way to the paper.
"""

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.drawing.answers import card_name
from formmaker.drawing.dimensions import arrow
from formmaker.drawing.linestyles import CENTRE, OUTLINE, SMALL, THIN
from formmaker.drawing.marks import Anchor, CubicPath, Line, Mark, Polyline, Text
from formmaker.drawing.sheet import Caption, Drawing, caption_width
from formmaker.drawing.stations import Row, apart, even_heights, radius_across
from formmaker.drawing.subject import Subject
from formmaker.geometry.curves import Curve, polyline
from formmaker.model.form import Edge
from formmaker.model.job import Job
from formmaker.model.section import Section
from formmaker.model.verdict import Verdict
from formmaker.units import format_length

CARD_BELOW = 15.0
CARD_ABOVE = 14.0
GRIP = 25.0
CLEARANCE = 2.0

_OUTER_PURPOSE = (
    "For holding against the outside while you turn it. Glue the sheet on card and cut along the wide lines: the "
    "card lies outside the bowl, the wood on the side the arrows point to. Keep the foot line level with the plane "
    "of the foot and the centre line over the axis; where light shows, wood is already gone."
)
_INNER_PURPOSE = (
    "For putting inside while you hollow. Glue the sheet on card and cut along the wide lines: the card fills one "
    "half of the hollow, its straight edge on the axis, the wood on the side the arrows point to. The rim line is "
    "level with the top of the form. Where the card touches before it is down, wood is still to go."
)


def outer_template(subject: Subject) -> Drawing:
    """The outside template: a card that lies outside the bowl, full size."""
    job, section = subject.job, subject.section
    points = polyline(section.outer)
    rows = _outer_rows(job, points)
    column = float(points[:, 0].max()) + 8.0
    lettering, right = _table(job, rows, column)
    edge = _outer_card(job, section.outer, right + 4.0)
    marks = [
        CubicPath(pieces=section.outer.pieces, style=OUTLINE, id="outer-curve"),
        Polyline(points=edge, style=OUTLINE),
        *_centre_line(float(edge[:, 1].min()) - 3.0, float(edge[:, 1].max()) + 4.0),
        *_level_lines(rows, column),
        *lettering,
        *_wood_arrows(points, side=1.0, fractions=(0.35, 0.62, 0.85), label=2),
        Text(
            at=(right, 3.0 - CARD_BELOW), text=card_name(subject.verdict, "card, outside the bowl"), anchor=Anchor.END
        ),
    ]
    caption = _caption(job, section, "Template of the outside", _OUTER_PURPOSE, ())
    return Drawing(marks=tuple(marks), caption=caption)


def inner_template(subject: Subject) -> Drawing:
    """The inside template: a card that fills half of the hollow, full size."""
    job, section = subject.job, subject.section
    points = polyline(section.inner)
    rows = _inner_rows(job, points)
    widest, mouth, top = float(points[:, 0].max()), *map(float, points[-1])
    column = widest + 30.0
    lettering, _ = _table(job, rows, column)
    cut = _pencil_edge(points, subject.pencil) if subject.pencil > 0.0 else points
    right = float(cut[-1, 0])
    edge = np.array([[right, top], [right, top + GRIP], [0.0, top + GRIP], cut[0]])
    marks = [
        CubicPath(pieces=section.inner.pieces, style=THIN if subject.pencil > 0.0 else OUTLINE, id="inner-curve"),
        *([Polyline(points=cut, style=OUTLINE, id="inner-cut")] if subject.pencil > 0.0 else []),
        Polyline(points=edge, style=OUTLINE),
        *_centre_line(-6.0, float(points[0, 1])),
        *_centre_line(top + GRIP, top + GRIP + 8.0, lettered=False),
        *_level_lines(rows, column),
        *lettering,
        *_wood_arrows(points, side=-1.0, fractions=_between_rows(points, rows), label=-1),
        _card_name(subject.verdict, mouth, top),
    ]
    notes = (*_pencil_notes(job, subject.pencil), *_mouth_notes(job, widest, mouth))
    caption = _caption(job, section, "Template of the inside", _INNER_PURPOSE, notes)
    return Drawing(marks=tuple(marks), caption=caption)


def _pencil_edge(inner: NDArray[np.float64], pencil: float) -> NDArray[np.float64]:
    """The inner curve set in by the pencil, from the axis to the plane of the rim, (n, 2), mm."""
    mouth, top = inner[-1]
    far = 2.0 * pencil + 1.0
    hollow = shapely.Polygon([(-far, inner[0, 1]), *inner, (mouth, top + far), (-far, top + far)])
    card = hollow.buffer(-pencil, quad_segs=64)
    line = card.exterior.intersection(shapely.box(0.0, -1e4, 1e4, top))
    edge = shapely.get_coordinates(max(shapely.get_parts(shapely.line_merge(line)), key=lambda part: part.length))
    return np.asarray(edge if edge[0, 0] < edge[-1, 0] else edge[::-1])


def _pencil_notes(job: Job, pencil: float) -> tuple[str, ...]:
    if not pencil > 0.0:
        return ()
    size = format_length(pencil, job.units)
    return (f"Cut along the wide line: it is set in by {size}, so that a pencil run round the card draws the curve.",)


def _caption(job: Job, section: Section, name: str, purpose: str, notes: tuple[str, ...]) -> Caption:
    widest = float(polyline(section.outer)[:, 0].max())
    width, height = (format_length(size, job.units) for size in (2.0 * widest, job.form.height))
    size = f"Diameter {width}, height {height}."
    heights = "Heights are counted from the plane the foot stands on."
    return Caption(title=job.title, name=name, purpose=purpose, notes=(f"{size} {heights}", *notes))


def _outer_rows(job: Job, points: NDArray[np.float64]) -> tuple[Row, ...]:
    wide = points[points[:, 0].argmax()]
    named = [
        Row(height=float(points[-1, 1]), radius=float(points[-1, 0]), name="rim"),
        Row(height=0.0, radius=float(points[0, 0]), name="foot"),
    ]
    if job.form.edge is Edge.NATURAL:
        lowest = job.form.lowest_rim
        named.append(Row(height=lowest, radius=radius_across(points, lowest), name="lowest rim"))
    named.append(Row(height=float(wide[1]), radius=float(wide[0]), name="widest"))
    return apart([*named, *_even_rows(job, points)])


def _inner_rows(job: Job, points: NDArray[np.float64]) -> tuple[Row, ...]:
    wide = points[points[:, 0].argmax()]
    named = [
        Row(height=float(points[-1, 1]), radius=float(points[-1, 0]), name="rim"),
        Row(height=float(points[0, 1]), radius=math.nan, name="floor"),
        Row(height=0.0, radius=math.nan, name="foot"),
        Row(height=float(wide[1]), radius=float(wide[0]), name="widest"),
    ]
    return apart([*named, *_even_rows(job, points)])


def _even_rows(job: Job, points: NDArray[np.float64]) -> list[Row]:
    low, high = float(points[:, 1].min()), float(points[:, 1].max())
    heights = even_heights(low, high, job.units)
    return [Row(height=height, radius=radius_across(points, height)) for height in heights]


def _table(job: Job, rows: Sequence[Row], left: float) -> tuple[list[Mark], float]:
    """Names, heights and diameters in three columns beside the curve; and where the last column ends, mm."""
    heights = ["height", *(format_length(row.height, job.units) for row in rows)]
    widths = ["diameter", *(_diameter(job, row) for row in rows)]
    first = left + max([0.0, *(caption_width(row.name) + 2.0 for row in rows if row.name)])
    second = first + max(map(caption_width, heights))
    right = second + 3.0 + max(map(caption_width, widths))
    top = max(row.height for row in rows) + ROW_HEAD
    marks: list[Mark] = [
        Text(at=(second, top), text=heights[0], anchor=Anchor.END),
        Text(at=(right, top), text=widths[0], anchor=Anchor.END),
    ]
    for row, height, width in zip(rows, heights[1:], widths[1:], strict=True):
        low = row.height - SMALL / 2.0
        marks.extend(
            Text(at=(x, low), text=text, anchor=anchor)
            for x, text, anchor in (
                (left, row.name, Anchor.START),
                (second, height, Anchor.END),
                (right, width, Anchor.END),
            )
            if text
        )
    return marks, right


ROW_HEAD = 6.0


def _diameter(job: Job, row: Row) -> str:
    return format_length(2.0 * row.radius, job.units) if math.isfinite(row.radius) else ""


def _level_lines(rows: Sequence[Row], column: float) -> list[Mark]:
    """Lines from the curve to the table; those of rim, floor and foot start at the axis."""
    marks: list[Mark] = []
    for row in rows:
        across = row.name in ("rim", "foot", "floor") or not math.isfinite(row.radius)
        start = 0.0 if across else row.radius
        name = f"{row.name}-level" if row.name in ("rim", "foot") else ""
        marks.append(Line(start=(start, row.height), end=(column - 1.5, row.height), id=name))
    return marks


def _outer_card(job: Job, outer: Curve, right: float) -> NDArray[np.float64]:
    """The cut from the rim's end of the curve round the card to its foot's end, clear of what holds the bowl."""
    (foot, low), (rim, top) = outer.start, outer.end
    clear = max(float(foot), job.hold.radius + CLEARANCE)
    corners = [
        [rim, top],
        [rim, top + CARD_ABOVE],
        [right, top + CARD_ABOVE],
        [right, low - CARD_BELOW],
        [clear, low - CARD_BELOW],
        [clear, low],
        [foot, low],
    ]
    return np.array(corners if clear > foot else corners[:-1])


def _centre_line(low: float, high: float, *, lettered: bool = True) -> list[Mark]:
    marks: list[Mark] = [Line(start=(0.0, low), end=(0.0, high), style=CENTRE)]
    if lettered:
        marks.append(Text(at=(-2.0, low), text="centre line", angle=math.pi / 2.0))
    return marks


def _wood_arrows(points: NDArray[np.float64], *, side: float, fractions: Sequence[float], label: int) -> list[Mark]:
    """Arrows from the curve into the wood (side 1: left of the way along it), one of them lettered."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    length = np.concatenate([[0.0], np.cumsum(steps)])
    marks: list[Mark] = []
    for fraction in fractions:
        i = int(np.clip(np.searchsorted(length, fraction * length[-1]), 1, len(points) - 1))
        along = (points[i] - points[i - 1]) / steps[i - 1]
        inward = side * np.array([-along[1], along[0]])
        place = points[i - 1] + along * (fraction * length[-1] - length[i - 1])
        tail, tip, word = (place + far * inward for far in (1.5, 9.0, 11.0))
        marks.extend(arrow(tuple(tail), tuple(tip)))
        if fraction == fractions[label]:
            anchor = Anchor.END if inward[0] < 0.0 else Anchor.START
            marks.append(
                Text(at=(float(word[0]), float(word[1]) - SMALL / 2.0), text="wood", anchor=anchor, backed=True)
            )
    return marks


def _between_rows(points: NDArray[np.float64], rows: Sequence[Row]) -> tuple[float, ...]:
    """Fractions of the curve's length halfway between rows, where an arrow meets none of their lines."""
    length = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    heights = [row.height for row in rows if row.height >= points[0, 1]]
    middles = [(low + high) / 2.0 for low, high in itertools.pairwise(heights)]
    chosen = middles[-1:] if len(middles) < 3 else [middles[len(middles) // 2], middles[-1]]
    at = [int(np.argmax(points[:, 1] >= middle)) for middle in chosen]
    return tuple(float(length[i] / length[-1]) for i in at)


def _card_name(verdict: Verdict, mouth: float, top: float) -> Text:
    name = card_name(verdict, "card, inside the bowl")
    return Text(at=(4.0, top + GRIP / 2.0), text=name if caption_width(name) + 6.0 < mouth else "card")


def _mouth_notes(job: Job, widest: float, mouth: float) -> tuple[str, ...]:
    if widest <= mouth + 1e-6:
        return ()
    wide, open_to = format_length(2.0 * widest, job.units), format_length(2.0 * mouth, job.units)
    return (f"The hollow is {wide} wide and its mouth only {open_to}: bring the card in aslant.",)
