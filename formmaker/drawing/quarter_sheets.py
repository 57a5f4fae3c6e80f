"""The bowl's wall against the wood at one angle: one sheet for each quarter of the turn.

What is hatched is wall that is wood at this angle; what is white is wall in the air.
"""

import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.drawing.dimensions import dot
from formmaker.drawing.hatching import area_rings
from formmaker.drawing.linestyles import CENTRE, HIDDEN, OUTLINE, SMALL, THIN
from formmaker.drawing.marks import Anchor, CubicPath, Hatch, Line, Mark, Polyline, Text
from formmaker.drawing.sheet import Caption, Drawing
from formmaker.drawing.stations import Row, apart, even_heights, radius_across
from formmaker.drawing.subject import Subject
from formmaker.drawing.tables import HEAD_STEP, Column, figure, table
from formmaker.engine.wood_sections import WoodSection
from formmaker.geometry.curves import polyline
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job
from formmaker.model.verdict import RimKind, RimLine
from formmaker.units import degrees_round, format_length, nearest_index

Floats = NDArray[np.float64]

_PURPOSE = (
    "For seeing what there is to cut at this angle, and for checking the outside as you go. Wide lines: the bowl. "
    "Narrow line: the skin of the wood at {angle}. Hatched: wall that is wood here; white: wall in the air. The "
    "table gives, by height over the foot, how far out the wood reaches, and how much of it is to cut away; a minus "
    "where it falls short of the bowl."
)
_ENDS = {
    RimKind.NATURAL: "ends in the natural edge",
    RimKind.SAWN: "is ended by a sawn face",
    RimKind.TURNED: "reaches the top of the form",
}
CLOSE = 1e-4
"""Chord of the curve that figures are read from, mm."""

_REACH = 60.0
"""Wood farther outside the bowl than this is left off the sheet, and said, mm."""


def quarter_sheet(subject: Subject, quarter: int) -> Drawing:
    """The half section against the wood in one of the quarters of a subject."""
    job, wood = subject.job, subject.quarters[quarter]
    outer, inner = polyline(subject.section.outer), polyline(subject.section.inner)
    wall = shapely.make_valid(shapely.Polygon(np.concatenate([outer, inner[::-1], [[0.0, 0.0]]])))
    window = _window(job, outer)
    seen = wood.area.intersection(window)
    close = polyline(subject.section.outer, chord=CLOSE)
    rows = _rows(job, close, wood)
    right = max(float(outer[:, 0].max()), seen.bounds[2] if not seen.is_empty else 0.0) + 6.0
    marks = [
        *_wall_marks(subject, wall, wood),
        *(Polyline(points=run, style=THIN, id=name) for run, name in _skin(wood.area, window)),
        Line(start=(0.0, window.bounds[1]), end=(0.0, window.bounds[3]), style=CENTRE),
        *_rim_sign(subject, wood.theta),
        *_table(job, close, rows, right),
    ]
    angle = _angle(job, wood.theta)
    caption = Caption(
        title=job.title,
        name=f"Wall at {angle}",
        purpose=_PURPOSE.format(angle=angle),
        notes=_notes(subject, wood, window),
    )
    return Drawing(marks=tuple(marks), caption=caption)


def _angle(job: Job, theta: float) -> str:
    degrees = degrees_round(theta)
    return f"{degrees:.0f}° (index {nearest_index(degrees, job.index_count)} of {job.index_count})"


def _window(job: Job, outer: Floats) -> shapely.Polygon:
    low = -job.hold.depth if job.hold.kind is not HoldKind.RECESS else 0.0
    return shapely.box(0.0, low - 8.0, float(outer[:, 0].max()) + _REACH, float(outer[-1, 1]) + 25.0)


def _wall_marks(subject: Subject, wall: shapely.Geometry, wood: WoodSection) -> Iterable[Mark]:
    """Outline of the bowl, its wood hatched, its air dashed; the foot's plane and what holds the bowl under it."""
    section = subject.section
    outer, inner = polyline(section.outer), polyline(section.inner)
    yield CubicPath(pieces=section.outer.pieces, id="outer-curve")
    yield CubicPath(pieces=section.inner.pieces, id="inner-curve")
    yield Polyline(points=np.array([inner[-1], outer[-1]]), style=OUTLINE)
    yield Polyline(points=np.array([[0.0, 0.0], outer[0]]), style=OUTLINE)
    rings = area_rings(wall.intersection(wood.area))
    if rings:
        yield Hatch(rings=rings)
    hold = subject.job.hold
    depth = hold.depth if hold.kind is HoldKind.RECESS else -hold.depth
    yield Polyline(points=np.array([[hold.radius, 0.0], [hold.radius, depth], [0.0, depth]]), style=HIDDEN)


def _skin(area: shapely.Geometry, window: shapely.Polygon) -> Iterable[tuple[Floats, str]]:
    """The outline of the wood inside the window, without the axis itself; the longest run carries the name."""
    _, low, right, high = window.bounds
    inside = shapely.box(1e-6, low, right, high)
    lines = shapely.line_merge(shapely.intersection(area.boundary, inside))
    runs = [shapely.get_coordinates(part) for part in shapely.get_parts(lines) if part.length > 0.5]
    runs.sort(key=lambda run: -float(np.hypot(*np.diff(run, axis=0).T).sum()))
    for i, run in enumerate(runs):
        yield run, "wood-outline" if i == 0 else ""


def _rows(job: Job, outer: Floats, wood: WoodSection) -> tuple[Row, ...]:
    """Even heights, and how far the wood reaches at each."""
    heights = even_heights(0.0, float(outer[-1, 1]), job.units, most=10)
    return apart(Row(height=height, radius=_reach(wood.area, height)) for height in heights)


def _reach(area: shapely.Geometry, height: float) -> float:
    """Farthest that the wood reaches at a height, going out from the axis; NaN where there is none."""
    far = shapely.intersection(area, shapely.LineString([(0.0, height), (1e5, height)]))
    return math.nan if far.is_empty else float(far.bounds[2])


def _table(job: Job, outer: Floats, rows: Sequence[Row], left: float) -> list[Mark]:
    cut = [row.radius - radius_across(outer, row.height) for row in rows]
    columns = [
        Column(heading=f"height\n{job.units}", entries=tuple(figure(row.height, job.units) for row in rows)),
        Column(heading="wood\nradius", entries=tuple(figure(row.radius, job.units) or "none" for row in rows)),
        Column(heading="to\ncut", entries=tuple(figure(size, job.units) for size in cut)),
    ]
    return table(columns, [row.height for row in rows], left=left, top=job.form.height + HEAD_STEP)


def _rim_at(rim: RimLine, theta: float) -> int:
    """Index of the rim's angle nearest to one."""
    return int(np.abs(np.angle(np.exp(1j * (rim.theta - theta)))).argmin())


def _rim_sign(subject: Subject, theta: float) -> Iterable[Mark]:
    """A dot where the rim ends at this angle, lettered in the hollow."""
    rim = subject.verdict.rim
    i = _rim_at(rim, theta)
    radius, height = float(rim.radius[i]), float(rim.height[i])
    if height <= 0.0:
        return
    yield dot((radius, height), 0.9)
    inside = radius_across(polyline(subject.section.inner), height)
    tip = inside if math.isfinite(inside) else radius
    yield Line(start=(radius, height), end=(tip - 6.0, height))
    text = f"rim {format_length(height, subject.job.units)}"
    yield Text(at=(tip - 7.0, height - SMALL / 2.0), text=text, anchor=Anchor.END, backed=True)


def _notes(subject: Subject, wood: WoodSection, window: shapely.Polygon) -> tuple[str, ...]:
    job, rim = subject.job, subject.verdict.rim
    i = _rim_at(rim, wood.theta)
    height = float(rim.height[i])
    if height > 0.0:
        end = f"Here the wall {_ENDS[rim.kinds[i]]}, {format_length(height, job.units)} over the foot."
    else:
        end = "Here the wood is missing at the foot already."
    doubt = f"The skin of the wood is known to within {format_length(subject.verdict.uncertainty, job.units)}."
    near = wood.area.intersection(shapely.box(0.0, window.bounds[1], 1e5, window.bounds[3]))
    far = 0.0 if near.is_empty else float(near.bounds[2])
    if far > window.bounds[2]:
        end += f" The wood reaches out to a radius of {format_length(far, job.units)}, beyond this sheet."
    return (f"{end} {doubt}",)
