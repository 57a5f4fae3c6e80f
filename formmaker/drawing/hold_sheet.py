"""What holds the bowl, at full size: foot and tenon, recess or glue block in section, and circles to mark them by."""

import math
from collections.abc import Iterable

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.drawing.dimensions import arrow_head, dimension_parts
from formmaker.drawing.hatching import area_rings
from formmaker.drawing.lettering import text_width
from formmaker.drawing.linestyles import CENTRE, HIDDEN, OUTLINE, SMALL
from formmaker.drawing.marks import Anchor, Arc, Dimension, Hatch, Line, Mark, Point, Polyline, Text
from formmaker.drawing.section_sheet import underside
from formmaker.drawing.sheet import Caption, Drawing
from formmaker.drawing.stations import radius_across
from formmaker.drawing.subject import Subject
from formmaker.geometry.curves import polyline
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job
from formmaker.units import format_length

Floats = NDArray[np.float64]

_PURPOSES = {
    HoldKind.TENON: (
        "For turning the tenon. Full size; the circles, of foot and tenon, are to cut out or to set dividers by. The "
        "shoulder, flat and square to the axis, seats on the jaws; the end of the tenon does not touch the bottom of "
        "the chuck."
    ),
    HoldKind.RECESS: (
        "For turning the recess. Full size; the circles, of foot and recess, are to cut out or to set dividers by. "
        "The jaws push outward on the ring that is left round it."
    ),
    HoldKind.GLUE_BLOCK: (
        "For gluing on the block. Full size; the circles, of foot and block, are to cut out and lay on the wood: the "
        "block sits on flat, sound, dry wood all round, in the middle of the circle."
    ),
}
_CAUTION = (
    "What it bears depends on the wood: no bark, crack or rot under it. Keep to the chuck maker's manual, local "
    "rules and the word of trained people (common practice, no source)."
)
_ABOVE = 15.0
"""How far over the floor the section is shown, mm."""

_BESIDE = 1.2
"""How far out it is shown, as a multiple of the foot: a little of the wall, and a foot of 110 mm on A4."""


def hold_sheet(subject: Subject) -> Drawing:
    """The foot with what holds it, in section, over circles to mark by."""
    job = subject.job
    high = min(job.form.height, float(subject.section.inner.start[1]) + _ABOVE)
    marks = [*_section(subject, high), *_sizes(subject), *_circles(job)]
    caption = Caption(
        title=job.title,
        name=f"Foot and {job.hold.kind.value}",
        purpose=_PURPOSES[job.hold.kind],
        notes=_notes(subject),
    )
    return Drawing(marks=tuple(marks), caption=caption)


def _section(subject: Subject, high: float) -> Iterable[Mark]:
    """The lower part of the bowl, cut off level where it goes on."""
    job = subject.job
    outer, inner = polyline(subject.section.outer), polyline(subject.section.inner)
    below = underside(job, float(outer[0, 0]), float(outer[0, 1]))
    half = np.concatenate([outer, inner[::-1]])
    whole = shapely.make_valid(shapely.Polygon(np.concatenate([half, (half * [-1.0, 1.0])[::-1], below[1:-1]])))
    wide = _BESIDE * max(float(outer[0, 0]), job.hold.radius) + 8.0
    window = shapely.box(-wide, -1e4, wide, high)
    shown = whole.intersection(window)
    yield Hatch(rings=area_rings(shown))
    outline = shown.boundary.difference(window.boundary.buffer(1e-6))
    for part in shapely.get_parts(shapely.line_merge(outline)):
        yield Polyline(points=shapely.get_coordinates(part), style=OUTLINE)
    if job.hold.kind is HoldKind.GLUE_BLOCK:
        radius, depth = job.hold.radius, job.hold.depth
        block = np.array([[-radius, 0.0], [radius, 0.0], [radius, -depth], [-radius, -depth]])
        yield Polyline(points=block, closed=True, style=OUTLINE)
        yield Hatch(rings=(block,), angle=-math.pi / 4.0)
    yield Line(start=(0.0, _lowest(job) - 4.0), end=(0.0, high + 3.0), style=CENTRE)


def _lowest(job: Job) -> float:
    return 0.0 if job.hold.kind is HoldKind.RECESS else -job.hold.depth


def _sizes(subject: Subject) -> Iterable[Mark]:
    """Diameters under the section, depths at its left, the floor at its right."""
    job, hold = subject.job, subject.job.hold
    foot, floor = job.form.foot_radius, float(subject.section.inner.start[1])
    level = hold.depth if hold.kind is HoldKind.RECESS else -hold.depth
    for i, (radius, height) in enumerate(((hold.radius, level), (foot, 0.0)), start=1):
        low = _lowest(job) - 9.0 * i
        text = f"Ø {_said(job, 2.0 * radius)}"
        inside = 2.0 * radius >= text_width(text, SMALL) + 8.0
        yield from _measured((-radius, height), (radius, height), low - height, text if inside else "")
        if not inside:
            yield Text(at=(max(foot, hold.radius) + 7.0, low - SMALL / 2.0), text=text)
    side = -max(foot, hold.radius)
    ends = sorted((0.0, level))
    yield from _measured((side, ends[0]), (side, ends[1]), 12.0)
    yield Text(at=(side - 18.0, level / 2.0 - SMALL / 2.0), text=_said(job, hold.depth), anchor=Anchor.END)
    under, x = max(level, 0.0), 0.12 * foot
    text = f"floor left {_said(job, floor - under)}"
    room = radius_across(polyline(subject.section.inner), floor + 0.5)  # the hollow just under the lettering
    over = floor if x + 1.5 + text_width(text, SMALL) <= room else floor + _ABOVE  # else over the section
    yield Line(start=(x, under), end=(x, over + 4.5))
    for tip, way in ((under, -1.0), (floor, 1.0)):
        yield arrow_head((x, tip), np.array([0.0, way]))
    yield Text(at=(x + 1.5, over + 2.0), text=text)


def _measured(start: Point, end: Point, offset: float, text: str = "") -> Iterable[Mark]:
    """A dimension, or its lines alone where the figure stands beside them, for there is room at any size."""
    return dimension_parts(Dimension(start=start, end=end, offset=offset, text=text))


def _said(job: Job, size: float) -> str:
    return format_length(size, job.units)


def _circles(job: Job) -> Iterable[Mark]:
    """Foot and holding as circles on one centre, under the section."""
    hold, foot = job.hold, job.form.foot_radius
    reach = max(foot, hold.radius)
    y = _lowest(job) - 9.0 - 9.0 - 8.0 - reach - 6.0
    wide = hold.radius > foot
    yield Arc(centre=(0.0, y), radius=hold.radius, style=OUTLINE, id="hold-circle")
    yield Arc(centre=(0.0, y), radius=foot, style=HIDDEN if wide else OUTLINE, id="foot-circle")
    for across, up in ((reach + 4.0, 0.0), (0.0, reach + 4.0)):
        yield Line(start=(-across, y - up), end=(across, y + up), style=CENTRE)
    yield Text(at=(0.0, y + 0.45 * hold.radius), text=hold.kind.value, anchor=Anchor.MIDDLE, backed=True)
    words = f"foot Ø {_said(job, 2.0 * foot)}", f"{hold.kind.value} Ø {_said(job, hold.diameter)}"
    for i, word in enumerate(words):
        yield Text(at=(0.0, y - reach - 11.0 - 1.7 * i * SMALL), text=word, anchor=Anchor.MIDDLE)


def _notes(subject: Subject) -> tuple[str, ...]:
    job, hold = subject.job, subject.job.hold
    share = 100.0 * hold.diameter / subject.verdict.diameter
    size = f"{hold.kind.value.capitalize()} {_said(job, hold.diameter)}, {share:.0f} % of the bowl's diameter."
    step = job.form.foot_radius - hold.radius
    if hold.kind is HoldKind.TENON and step > 0.0:
        size += f" Shoulder {_said(job, step)} wide."
    if hold.kind is HoldKind.RECESS:
        size += f" Ring left round it in the plane of the foot {_said(job, step)}."
    found = tuple(finding.text for finding in subject.verdict.hold.findings)
    told = tuple(sentence for sentence in subject.holding if sentence not in found)
    return (" ".join((size, *told[-1:])), *found, *told[:-1], _CAUTION)
