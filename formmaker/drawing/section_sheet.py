"""The bowl cut through its axis: wall, floor, foot, holding, against what the spinning blank leaves.

Only the form is drawn at its true place in the cut; core and ghost are the same all round, and the worst place is
turned about the axis into the plane of the paper.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.drawing.answers import say_answer, say_margin
from formmaker.drawing.dimensions import HEAD_LENGTH, dimension_parts, dot
from formmaker.drawing.lettering import wrap_text
from formmaker.drawing.linestyles import CENTRE, GHOST, HIDDEN, OUTLINE, SMALL, THIN, ZONE, LineStyle
from formmaker.drawing.marks import Arc, CubicPath, Dimension, Hatch, Line, Mark, Point, Polyline, Text
from formmaker.drawing.sheet import Caption, Drawing, caption_width
from formmaker.drawing.stations import radius_across, spread
from formmaker.drawing.subject import Subject
from formmaker.geometry.curves import polyline
from formmaker.model.form import Edge, Form
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job
from formmaker.model.section import Section
from formmaker.model.verdict import Spin, Verdict
from formmaker.units import Units, degrees_round, format_length, nearest_index

Floats = NDArray[np.float64]

TEXT_STEP = 5.6
CALLOUT_WIDTH = 72.0
CALLOUT_GAP = 2.4
ZONE_OFFSET = 1.5

_PURPOSE = (
    "For seeing how the form lies in the wood and for setting calipers. Narrow line: the core, solid wood at every "
    "angle while it spins. Dotted line: the ghost, the blur out to the farthest wood. A chain line beside the "
    "outline: here the form lies outside the core, so that its wood is not there all the way round."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Callout:
    """Words beside the drawing with a line to a place in it."""

    at: Point
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownSpin:
    """Stretches of core and ghost that find room on the sheet, right side, and the heights they span, mm."""

    core: tuple[Floats, ...]
    ghost: tuple[Floats, ...]
    low: float
    high: float


def section_sheet(subject: Subject) -> Drawing:
    """The section, full size, with the verdict's spin, worst place and margin."""
    job, section, verdict = subject.job, subject.section, subject.verdict
    outer, inner = polyline(section.outer), polyline(section.inner)
    spin = _shown_spin(job, verdict.spin, outer)
    reach = max(float(outer[:, 0].max()), *(float(run[:, 0].max()) for run in spin.core + spin.ghost), 0.0)
    callouts = _callouts(job, outer, inner, spin, verdict)
    marks = [
        *_body(job, section, outer, inner),
        *_spin_lines(spin),
        *_zones(verdict.spin, outer),
        *_levels(job, outer, inner, spin),
        *_dimensions(job, outer, reach, spin),
        *_lettered_callouts(callouts, reach + 12.0),
        *_worst_sign(verdict),
    ]
    caption = Caption(
        title=job.title, name="Section through the axis", purpose=_PURPOSE, notes=_notes(job, verdict, spin)
    )
    return Drawing(marks=tuple(marks), caption=caption)


def _notes(job: Job, verdict: Verdict, spin: ShownSpin) -> tuple[str, ...]:
    notes = [say_answer(job, verdict)]
    for name, runs, radii in (("core", spin.core, verdict.spin.core), ("ghost", spin.ghost, verdict.spin.ghost)):
        if not runs and np.isfinite(radii).any():
            far = format_length(2.0 * float(np.nanmax(radii)), job.units)
            notes.append(f"The {name} has no line on this sheet: it is up to Ø {far}.")
    return tuple(notes)


def _mirrored(points: Floats) -> Floats:
    return points * [-1.0, 1.0]


def _body(job: Job, section: Section, outer: Floats, inner: Floats) -> list[Mark]:
    """Outlines on both sides, the cut wood hatched, the holding under it."""
    marks: list[Mark] = []
    for curve in (section.outer, section.inner):
        marks.extend(CubicPath(pieces=pieces) for pieces in (curve.pieces, _mirrored(curve.pieces)))
    for side in (1.0, -1.0):
        marks.append(Polyline(points=np.array([outer[-1], inner[-1]]) * [side, 1.0], style=OUTLINE))
    below = underside(job, float(outer[0, 0]), float(outer[0, 1]))
    marks.append(Polyline(points=below, style=OUTLINE))
    half = np.concatenate([outer, inner[::-1]])
    ring = np.concatenate([half, _mirrored(half)[::-1], below[1:-1]])
    marks.append(Hatch(rings=(ring,)))
    if job.hold.kind is HoldKind.GLUE_BLOCK:
        radius, depth = job.hold.radius, job.hold.depth
        block = np.array([[-radius, 0.0], [radius, 0.0], [radius, -depth], [-radius, -depth]])
        marks.extend(
            [Polyline(points=block, closed=True, style=OUTLINE), Hatch(rings=(block,), angle=-math.pi / 4.0)]
        )
    return marks


def underside(job: Job, foot: float, low: float) -> Floats:
    """From the left edge of the foot to the right one, round a tenon or through a recess."""
    radius = min(job.hold.radius, foot)
    level = {HoldKind.TENON: low - job.hold.depth, HoldKind.RECESS: low + job.hold.depth}.get(job.hold.kind)
    if level is None:
        return np.array([[-foot, low], [0.0, low], [foot, low]])
    return np.array([[-foot, low], [-radius, low], [-radius, level], [radius, level], [radius, low], [foot, low]])


def _shown_spin(job: Job, spin: Spin, outer: Floats) -> ShownSpin:
    """A long log's ghost would make the sheet as wide as the log: what lies far out is left off, and said."""
    widest, top = float(outer[:, 0].max()), float(outer[:, 1].max())
    bottom = -job.hold.depth if job.hold.kind is not HoldKind.RECESS else 0.0
    near = (spin.height >= bottom - 25.0) & (spin.height <= top + 25.0)
    core = _runs(spin.height, spin.core, near, 1.25 * widest + 20.0)
    ghost = _runs(spin.height, spin.ghost, near, 1.25 * widest + 20.0)
    heights = [run[:, 1] for run in core + ghost]
    low = min([bottom, *(float(height.min()) for height in heights)])
    high = max([top, *(float(height.max()) for height in heights)])
    return ShownSpin(core=core, ghost=ghost, low=low, high=high)


def _runs(height: Floats, radius: Floats, near: NDArray[np.bool_], limit: float) -> tuple[Floats, ...]:
    shown = near & np.isfinite(radius) & (radius > 0.0) & (radius <= limit)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], shown, [False]]).astype(int)))
    pieces = (slice(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b - a > 1)
    return tuple(np.column_stack([radius[piece], height[piece]]) for piece in pieces)


def _spin_lines(spin: ShownSpin) -> list[Mark]:
    marks: list[Mark] = []
    styles: tuple[tuple[tuple[Floats, ...], LineStyle], ...] = ((spin.core, THIN), (spin.ghost, GHOST))
    for runs, style in styles:
        for run in runs:
            marks.extend(Polyline(points=points, style=style) for points in (run, _mirrored(run)))
    return marks


def _outside_core(spin: Spin, outer: Floats) -> NDArray[np.bool_]:
    """Where points of the outer curve lie outside the core; heights that the spin does not cover count as inside."""
    known = np.isfinite(spin.core)
    if known.sum() < 2:
        return np.zeros(len(outer), dtype=bool)
    core = np.interp(outer[:, 1], spin.height[known], spin.core[known], left=np.inf, right=np.inf)
    return np.asarray(outer[:, 0] > core)


def _zones(spin: Spin, outer: Floats) -> list[Mark]:
    outside = _outside_core(spin, outer)
    along = np.gradient(outer, axis=0)
    along /= np.maximum(np.hypot(*along.T), 1e-12)[:, None]
    beside = outer + ZONE_OFFSET * np.column_stack([along[:, 1], -along[:, 0]])
    edges = np.flatnonzero(np.diff(np.concatenate([[False], outside, [False]]).astype(int)))
    marks: list[Mark] = []
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        if b - a > 1:
            marks.extend(Polyline(points=p, style=ZONE) for p in (beside[a:b], _mirrored(beside[a:b])))
    return marks


def _levels(job: Job, outer: Floats, inner: Floats, spin: ShownSpin) -> list[Mark]:
    """The axis, and for a natural edge the lowest rim through the wall on both sides."""
    marks: list[Mark] = [Line(start=(0.0, spin.low - 4.0), end=(0.0, spin.high + 5.0), style=CENTRE)]
    if job.form.edge is Edge.NATURAL:
        level = job.form.lowest_rim
        far, near = radius_across(outer, level), radius_across(inner, level)
        if math.isfinite(far):
            near = near if math.isfinite(near) else 0.0
            for side in (1.0, -1.0):
                ends = ((side * (near - 4.0), level), (side * (far + 4.0), level))
                marks.append(Line(start=ends[0], end=ends[1], style=HIDDEN))
    return marks


def _dimensions(job: Job, outer: Floats, reach: float, spin: ShownSpin) -> list[Mark]:
    wide = outer[outer[:, 0].argmax()]
    top, foot = float(outer[-1, 1]), float(outer[0, 0])
    left, radius, depth = -reach - 9.0, job.hold.radius, job.hold.depth
    below = spin.low - 10.0
    bottom = 0.0 if job.hold.kind is HoldKind.RECESS else -depth
    ends = (0.0, depth) if job.hold.kind is HoldKind.RECESS else (-depth, 0.0)

    def measure(start: Point, end: Point, offset: float, size: float) -> tuple[Mark, ...]:
        text = format_length(size, job.units)
        across = start[1] == end[1]
        return dimension_parts(Dimension(start=start, end=end, offset=offset, text=f"Ø {text}" if across else text))

    w, h = float(wide[0]), float(wide[1])
    return [
        *measure((-w, h), (w, h), spin.high + 10.0 - h, 2.0 * w),
        *measure((-foot, 0.0), (foot, 0.0), below - 10.0, 2.0 * foot),
        *measure((-radius, bottom), (radius, bottom), below - bottom, 2.0 * radius),
        Line(start=(-1.0 - float(outer[-1, 0]), top), end=(left - 1.0, top)),
        *measure((left, 0.0), (left, top), _column_step(job, top), top),
        *measure((-radius, ends[0]), (-radius, ends[1]), -left - radius, depth),
    ]


def _column_step(job: Job, top: float) -> float:
    """From the upright dimension of the holding to that of the height; more where both are lettered underneath."""
    widths = [caption_width(format_length(size, job.units)) for size in (top, job.hold.depth)]
    return 10.0 if top > widths[0] + 2.0 * HEAD_LENGTH else sum(widths) / 2.0 + 2.0


def _callouts(job: Job, outer: Floats, inner: Floats, spin: ShownSpin, verdict: Verdict) -> list[Callout]:
    floor = float(inner[0, 1])
    wall_at = _wall_middle(outer, inner)
    worst = verdict.worst
    degrees = degrees_round(worst.theta)
    index, margin = nearest_index(degrees, job.index_count), say_margin(job, verdict).lower()
    callouts = [
        _floor_callout(job, float(outer[0, 0]), floor),
        Callout(at=wall_at, text=_wall_text(job.form, job.units)),
        Callout(
            at=(worst.radius, worst.height),
            text=f"worst place, {worst.part.value} at {degrees:.0f}°, index {index}: {margin}",
        ),
        Callout(at=(0.7 * job.hold.radius, _hold_middle(job)), text=_hold_text(job)),
        *_spin_callouts(job, spin, verdict.spin),
    ]
    if job.form.edge is Edge.NATURAL:
        radius = radius_across(outer, job.form.lowest_rim)
        if math.isfinite(radius):
            text = f"lowest rim you accept, {format_length(job.form.lowest_rim, job.units)}"
            callouts.append(Callout(at=(radius + 4.0, job.form.lowest_rim), text=text))
    outside = np.flatnonzero(_outside_core(verdict.spin, outer))
    if len(outside):
        place = outer[outside[len(outside) // 2]]
        callouts.append(Callout(at=(float(place[0]) + ZONE_OFFSET, float(place[1])), text="form outside the core"))
    return callouts


def _floor_callout(job: Job, foot: float, floor: float) -> Callout:
    text, at = f"floor {format_length(floor, job.units)}", (0.3 * foot, 0.7 * floor)
    if job.hold.kind is HoldKind.RECESS:
        left = floor - job.hold.depth
        if left <= 0.0:
            return Callout(at=at, text=f"{text}: the recess breaks through it")
        text, at = f"{text}, {format_length(left, job.units)} of it above the recess", (at[0], floor - 0.3 * left)
    return Callout(at=at, text=text)


def _hold_middle(job: Job) -> float:
    return job.hold.depth * (0.5 if job.hold.kind is HoldKind.RECESS else -0.5)


def _hold_text(job: Job) -> str:
    deep = {HoldKind.TENON: "long", HoldKind.RECESS: "deep", HoldKind.GLUE_BLOCK: "thick"}[job.hold.kind]
    size, depth = format_length(job.hold.diameter, job.units), format_length(job.hold.depth, job.units)
    return f"{job.hold.kind.value} Ø {size}, {depth} {deep}"


def _wall_text(form: Form, units: Units) -> str:
    low, high = float(form.wall[0, 1]), float(form.wall[-1, 1])
    if float(np.ptp(form.wall[:, 1])) < 1e-9:
        return f"wall {format_length(low, units)}"
    return f"wall {format_length(low, units)} at the foot, {format_length(high, units)} at the rim"


def _wall_middle(outer: Floats, inner: Floats) -> Point:
    """A point halfway through the wall, at about the middle of its height."""
    start = outer[np.abs(outer[:, 1] - 0.55 * outer[-1, 1]).argmin()]
    across = inner[np.hypot(*(inner - start).T).argmin()]
    middle = (start + across) / 2.0
    return float(middle[0]), float(middle[1])


def _spin_callouts(job: Job, spin: ShownSpin, whole: Spin) -> list[Callout]:
    callouts: list[Callout] = []
    pairs = (("core", spin.core, whole.core, 0.2), ("ghost", spin.ghost, whole.ghost, 0.4))
    for name, runs, radii, share in pairs:
        known = radii[np.isfinite(radii)]
        if not len(known):
            continue
        far = format_length(2.0 * float(known.max()), job.units)
        if runs:
            run = max(runs, key=len)
            place = run[np.abs(run[:, 1] - share * job.form.height).argmin()]
            callouts.append(Callout(at=(float(place[0]), float(place[1])), text=f"{name}, up to Ø {far}"))
    return callouts


def _lettered_callouts(callouts: Sequence[Callout], column: float) -> list[Mark]:
    """Words in a column on the right, from high to low, each joined to its place by a line that ends in a dot."""
    ordered = sorted(callouts, key=lambda callout: -callout.at[1])
    lines = [wrap_text(callout.text, height=SMALL, width=CALLOUT_WIDTH) for callout in ordered]
    steps = [-TEXT_STEP * sum(len(words) - 1 for words in lines[:i]) for i in range(len(ordered))]
    heights = spread([c.at[1] - s for c, s in zip(ordered, steps, strict=True)], step=TEXT_STEP + CALLOUT_GAP)
    marks: list[Mark] = []
    for callout, height, words, before in zip(ordered, heights, lines, steps, strict=True):
        level = height + before
        marks.extend(
            [
                dot(callout.at),
                Line(start=callout.at, end=(column - 4.0, level)),
                Line(start=(column - 4.0, level), end=(column - 1.0, level)),
            ]
        )
        marks.extend(
            Text(at=(column, level - SMALL / 2.0 - i * TEXT_STEP), text=word) for i, word in enumerate(words)
        )
    return marks


def _worst_sign(verdict: Verdict) -> list[Mark]:
    r, z = verdict.worst.radius, verdict.worst.height
    return [
        Arc(centre=(r, z), radius=2.5, style=OUTLINE),
        Line(start=(r - 4.0, z), end=(r + 4.0, z)),
        Line(start=(r, z - 4.0), end=(r, z + 4.0)),
    ]
