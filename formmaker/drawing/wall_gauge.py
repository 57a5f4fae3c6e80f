"""The wall gauge: depths, diameters and walls at stations a caliper can be set to, beside the curve they belong to.

Stations are even depths below the plane of the rim; under the section stand the depths at which even diameters are
met, for a caliper that is set once and moved until it passes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.drawing.dimensions import dimension_parts
from formmaker.drawing.lettering import text_width
from formmaker.drawing.linestyles import CENTRE, HIDDEN, OUTLINE, SMALL, THIN
from formmaker.drawing.marks import Anchor, CubicPath, Dimension, Hatch, Line, Mark, Polyline, Text
from formmaker.drawing.sheet import Caption, Drawing, caption_width
from formmaker.drawing.stations import ROW_STEP, even_heights, even_step, radius_across
from formmaker.drawing.subject import Subject
from formmaker.drawing.tables import HEAD_STEP, Column, columns_width, figure, table
from formmaker.geometry.curves import polyline
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import Job
from formmaker.units import Units, format_length

Floats = NDArray[np.float64]

_PURPOSE = (
    "For hollowing to a wall you can trust. Each line is a station at an even depth below the plane of the rim: set "
    "the caliper, go in to that depth, cut until it passes. A straight edge laid level over the rim's high points is "
    "that plane; on a natural edge it may stand in the air. Wall is the shortest way through, as a caliper feels it."
)
_AIR = 5.0
CLOSE = 1e-4
"""Chord of the curves that figures are read from: along a floor a level line meets them far off a coarser one, mm."""
LEVEL = 0.5
"""A floor that rises by less is level: no caliper finds a depth on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """Depth below the plane of the rim, height over the foot, radii inside and outside, shortest wall; mm."""

    depth: float
    height: float
    inside: float
    outside: float
    wall: float


def wall_gauge(subject: Subject) -> Drawing:
    """The half section with its stations, and the depth to drill."""
    job, section = subject.job, subject.section
    outer, inner = polyline(section.outer, chord=CLOSE), polyline(section.inner, chord=CLOSE)
    stations = _stations(job, outer, inner)
    marks = [
        CubicPath(pieces=section.outer.pieces, id="outer-curve"),
        CubicPath(pieces=section.inner.pieces, id="inner-curve"),
        Hatch(rings=(np.concatenate([outer, inner[::-1], [[0.0, 0.0]]]),)),
        Polyline(points=np.array([inner[-1], outer[-1]]), style=OUTLINE),
        Polyline(points=np.array([[0.0, 0.0], outer[0]]), style=OUTLINE),
        *_tables(job, stations, inner, float(outer[:, 0].max())),
        *_drill(subject),
        *_even_diameters(job, outer, inner),
    ]
    caption = Caption(title=job.title, name="Wall gauge", purpose=_PURPOSE, notes=_notes(subject))
    return Drawing(marks=tuple(marks), caption=caption)


def _stations(job: Job, outer: Floats, inner: Floats) -> tuple[Station, ...]:
    """Even depths from the rim plane down to the floor."""
    top, floor = job.form.height, float(inner[0, 1])
    depths = even_heights(0.0, top - floor - 1e-6, job.units, most=12)
    return tuple(_station(top - depth, depth, outer, inner) for depth in depths)


def _station(height: float, depth: float, outer: Floats, inner: Floats) -> Station:
    outside = radius_across(outer, height)
    wall = math.nan
    if math.isfinite(outside):
        wall = float(np.hypot(*(_fine(inner) - [outside, height]).T).min())
    return Station(depth=depth, height=height, inside=radius_across(inner, height), outside=outside, wall=wall)


def _fine(points: Floats) -> Floats:
    """Points along a polyline no more than about a tenth of a millimetre apart."""
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    places = np.linspace(0.0, way[-1], math.ceil(10.0 * way[-1]) + 1)
    return np.column_stack([np.interp(places, way, points[:, k]) for k in (0, 1)])


def _tables(job: Job, stations: Sequence[Station], inner: Floats, reach: float) -> list[Mark]:
    """Depth and inside in the hollow where they find room there, else all of it outside; a line at every station."""
    units = job.units
    inside = [
        Column(heading=f"depth\n{units}", entries=tuple(figure(s.depth, units) for s in stations)),
        Column(heading=f"inside\nØ {units}", entries=tuple(figure(2.0 * s.inside, units) for s in stations)),
    ]
    outside = [
        Column(heading=f"outside\nØ {units}", entries=tuple(figure(2.0 * s.outside, units) for s in stations)),
        Column(heading=f"wall\n{units}", entries=tuple(figure(s.wall, units) for s in stations)),
    ]
    levels = [s.height for s in stations]
    top = job.form.height + HEAD_STEP
    room = min(s.inside for s in stations) - _AIR - 2.0
    right = reach + _AIR
    in_hollow = columns_width(inside) <= room
    # the lowest figures stand off the floor under them, by a little more than half their height
    ground = float(inner[inner[:, 0] <= _AIR + columns_width(inside), 1].max()) + SMALL / 2.0 + 0.5
    marks = table(inside, [max(level, ground) for level in levels], left=_AIR, top=top) if in_hollow else []
    marks += table(outside if in_hollow else [*inside, *outside], levels, left=right, top=top)
    start = _AIR + columns_width(inside) + 2.0
    for s in stations:
        if in_hollow:
            marks.append(Line(start=(start, s.height), end=(s.inside, s.height)))
        marks.append(Line(start=(s.outside, s.height), end=(right - 1.0, s.height)))
    return marks


def _drill(subject: Subject) -> list[Mark]:
    """The axis, measured from the plane of the rim to the floor, and what holds the bowl under it."""
    job = subject.job
    top, floor, hold = job.form.height, float(subject.section.inner.start[1]), job.hold
    low = -_shown_depth(hold) if hold.kind is not HoldKind.RECESS else 0.0
    text = f"to drill {format_length(top - floor, job.units)}"
    fits = text_width(text, SMALL) + 8.0 <= top - floor  # else beside the arrow, off the section
    beside = Text(at=(-2.0, (floor + top - SMALL) / 2.0), text=text, anchor=Anchor.END)
    return [
        Line(start=(0.0, low - 4.0), end=(0.0, floor), style=CENTRE),
        *dimension_parts(Dimension(start=(0.0, floor), end=(0.0, top), offset=0.0, text=text if fits else "")),
        *(() if fits else (beside,)),
        Polyline(points=_held(hold, subject.section.outer.start), style=HIDDEN),
    ]


def _shown_depth(hold: Hold) -> float:
    """A thick block is on its own sheet: here only its beginning."""
    return min(hold.depth, 12.0)


def _held(hold: Hold, foot: Floats) -> Floats:
    depth = hold.depth if hold.kind is HoldKind.RECESS else -_shown_depth(hold)
    radius = min(hold.radius, float(foot[0])) if hold.kind is not HoldKind.GLUE_BLOCK else hold.radius
    return np.array([[radius, 0.0], [radius, depth], [0.0, depth]])


def _even_diameters(job: Job, outer: Floats, inner: Floats) -> list[Mark]:
    """Two strips under the section: even diameters, and the depth at which each is met inside and outside."""
    top, low = job.form.height, -_AIR
    if job.hold.kind is not HoldKind.RECESS:
        low -= _shown_depth(job.hold)
    reach = max(float(outer[:, 0].max()) + 40.0, 120.0)
    marks: list[Mark] = []
    for name, points in (("inside", inner), ("outside", outer)):
        found = _met(points, job.units, top)
        label = f"{name} Ø {job.units}", "at depth"
        left = max(map(caption_width, label)) + 2.0
        low -= 2.0 * ROW_STEP + 3.0
        marks.extend(
            [
                Text(at=(0.0, low + ROW_STEP), text=label[0]),
                Text(at=(0.0, low), text=label[1]),
                Line(start=(0.0, low + ROW_STEP - 1.8), end=(reach, low + ROW_STEP - 1.8), style=THIN),
            ]
        )
        step = 3.0 + max([12.0, *(caption_width(word) for pair in found for word in pair)])
        for i, (wide, deep) in enumerate(_thinned(found, int((reach - left) // step))):
            x = left + (i + 1) * step
            marks.append(Text(at=(x, low + ROW_STEP), text=wide, anchor=Anchor.END))
            marks.append(Text(at=(x, low), text=deep, anchor=Anchor.END))
    return marks


def _met(points: Floats, units: Units, top: float) -> list[tuple[str, str]]:
    """Even diameters and the depth at which the curve meets each, the widest first; the lower one at an undercut."""
    step = even_step(2.0 * float(np.ptp(points[:, 0])), units, most=12)
    widest = 2.0 * float(points[:, 0].max())
    fine, low = _fine(points), float(points[0, 1])
    found = []
    for count in range(math.floor(widest / step + 1e-9), 0, -1):
        at = np.flatnonzero(np.diff(np.sign(2.0 * fine[:, 0] - count * step)) != 0)
        if len(at) and fine[at[0], 1] > low + LEVEL:
            found.append((figure(count * step, units), figure(top - float(fine[at[0], 1]), units)))
    return found


def _thinned(found: list[tuple[str, str]], most: int) -> list[tuple[str, str]]:
    every = max(1, math.ceil(len(found) / max(1, most)))
    return found[::every]


def _notes(subject: Subject) -> tuple[str, ...]:
    job = subject.job
    floor, top = float(subject.section.inner.start[1]), job.form.height

    def said(size: float) -> str:
        return format_length(size, job.units)

    drill = f"To drill for the inside: {said(top - floor)} below the plane of the rim"
    if subject.axis_top is not None:
        drill += f", {said(subject.axis_top - floor)} from where the axis leaves the wood"
    return (f"{drill}. A drill's point goes deeper by its own length: stop short by that. {_left(job, floor)}",)


def _left(job: Job, floor: float) -> str:
    hold = job.hold
    depth = format_length(hold.depth, job.units)
    if hold.kind is HoldKind.RECESS:
        left = floor - hold.depth
        if left <= 0.0:
            return f"The recess of {depth} breaks through a floor of {format_length(floor, job.units)}."
        return (
            f"Left under it: a floor of {format_length(floor, job.units)}, {format_length(left, job.units)} of it "
            f"over the recess of {depth}."
        )
    under = "tenon" if hold.kind is HoldKind.TENON else "glue block"
    return f"Left under it: a floor of {format_length(floor, job.units)}, then {depth} of {under}."
