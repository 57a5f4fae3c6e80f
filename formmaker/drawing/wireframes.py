"""Simple solids as line drawings: equal scales along x, y and z, hidden edges dashed or left out.

A solid is given by how deep a point lies in it, and by the lines worth drawing; what hides what is found by walking
from each point toward the eye.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.drawing.dimensions import arrow_head, dot
from formmaker.drawing.linestyles import HIDDEN, OUTLINE, SMALL, THIN, LineStyle
from formmaker.drawing.marks import Anchor, Line, Mark, Point, Polyline, Text

Floats = NDArray[np.float64]

TOWARD_EYE = np.array([1.0, -1.0, 1.0]) / np.sqrt(3.0)
_ACROSS = np.array([np.cos(np.pi / 6.0), np.cos(np.pi / 6.0), 0.0])
_UP = np.array([-0.5, 0.5, 1.0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wire:
    """A line on a solid: ``points`` (n, 3), close together, mm; an ``outline`` is drawn only where it is seen."""

    points: Floats
    outline: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A named measure between two points of a solid, mm, drawn ``offset`` away.

    Its name stands at a ``share`` of the way, moved by ``shift`` on paper; ``end_foot`` is where the second extension
    line begins, if not at the end itself.
    """

    name: str
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    offset: tuple[float, float, float] = (0.0, 0.0, 0.0)
    shift: Point = (0.0, 1.5)
    anchor: Anchor = Anchor.MIDDLE
    share: float = 0.5
    end_foot: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """A solid to be drawn.

    Parameters
    ----------
    wires : tuple of Wire
    depth : callable
        Points (n, 3) to how deep each lies inside (n,), below 0 outside; mm, near the skin a distance.
    axes : (float, float, float)
        How far x, y and z are drawn from the origin, mm.
    sizes : tuple of Size
    """

    wires: tuple[Wire, ...]
    depth: Callable[[Floats], Floats]
    axes: tuple[float, float, float]
    sizes: tuple[Size, ...]


def on_paper(points: Floats) -> Floats:
    """Points (..., 3) seen from the eye, (..., 2), x to the right and down, y to the right and up, z up."""
    return np.stack([points @ _ACROSS, points @ _UP], axis=-1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stroke:
    """A stretch of a line as it is seen: ``points`` (n, 2) on paper at full size, mm."""

    points: Floats
    style: LineStyle


def seen_strokes(solid: Solid) -> tuple[Stroke, ...]:
    """The wires and axes of a solid, parted into what is seen and what is hidden; the same at any scale."""
    reach = float(max(np.ptp(np.concatenate([wire.points for wire in solid.wires]), axis=0))) * 2.0
    strokes: list[Stroke] = []
    for wire in solid.wires:
        kept = np.abs(solid.depth(wire.points)) <= 1e-3 * reach
        seen = kept & ~_is_hidden(wire.points, solid.depth, reach)
        strokes.extend(_runs(wire.points, seen, OUTLINE))
        if not wire.outline:
            strokes.extend(_runs(wire.points, kept & ~seen, HIDDEN))
    for way, length in zip(np.eye(3), solid.axes, strict=True):
        points = np.linspace(0.0, length, 160)[:, None] * way
        hidden = _is_hidden(points, solid.depth, reach) | (solid.depth(points) > 1e-3 * reach)
        strokes.extend([*_runs(points, ~hidden, THIN), *_runs(points, hidden, HIDDEN)])
    return tuple(strokes)


def wireframe(solid: Solid, strokes: Iterable[Stroke], scale: float) -> tuple[Mark, ...]:
    """The lines of a solid with its axes and sizes.

    Parameters
    ----------
    solid : Solid
    strokes : iterable of Stroke
        Of the same solid.
    scale : float
        mm of paper for a mm of wood along an axis.

    Returns
    -------
    tuple of Mark
        About the origin of the solid's frame.
    """
    marks: list[Mark] = [Polyline(points=scale * stroke.points, style=stroke.style) for stroke in strokes]
    marks.extend(_axis_names(solid, scale))
    for size in solid.sizes:
        marks.extend(_size(size, scale))
    return tuple(marks)


def _is_hidden(points: Floats, depth: Callable[[Floats], Floats], reach: float) -> NDArray[np.bool_]:
    steps = np.concatenate([np.linspace(0.0, 0.1, 40)[1:], np.linspace(0.1, 1.0, 120)]) * reach
    way = points[:, None, :] + steps[:, None] * TOWARD_EYE
    deep = depth(way.reshape(-1, 3)).reshape(len(points), len(steps))
    return np.asarray((deep > 2e-3 * reach).any(axis=1))


def _runs(points: Floats, chosen: NDArray[np.bool_], style: LineStyle) -> Iterable[Stroke]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], chosen, [False]]).astype(int)))
    for start, end in zip(edges[::2], edges[1::2], strict=True):
        if end - start > 2:
            yield Stroke(points=_thinned(on_paper(points[start:end])), style=style)


def _thinned(points: Floats) -> Floats:
    """A straight line by its two ends, a bent one by every third of its points: seeing needs more than drawing."""
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    if length - float(np.hypot(*(points[-1] - points[0]))) <= 1e-6 * length:
        return points[[0, -1]]
    return np.concatenate([points[:-1:3], points[-1:]])


def _axis_names(solid: Solid, scale: float) -> Iterable[Mark]:
    yield dot((0.0, 0.0), 0.7)
    for name, end in zip("xyz", np.diag(solid.axes), strict=True):
        tip = scale * on_paper(end)
        direction = tip / np.hypot(*tip)
        yield arrow_head(_point(tip), direction)
        yield Text(at=_point(tip + 3.0 * direction - [0.0, SMALL / 2.0]), text=name, anchor=Anchor.MIDDLE)


def _size(size: Size, scale: float) -> Iterable[Mark]:
    start, end, offset = (np.array(place) for place in (size.start, size.end, size.offset))
    feet = scale * on_paper(np.stack([start, np.array(size.end_foot or size.end)]))
    tips = scale * on_paper(np.stack([start + offset, end + offset]))
    for foot, tip in zip(feet, tips, strict=True):
        if np.any(offset):
            beyond = tip + (tip - foot) / np.hypot(*(tip - foot)) * 1.5
            yield Line(start=_point(foot), end=_point(beyond))
    along = (tips[1] - tips[0]) / np.hypot(*(tips[1] - tips[0]))
    yield Line(start=_point(tips[0]), end=_point(tips[1]))
    yield arrow_head(_point(tips[0]), -along)
    yield arrow_head(_point(tips[1]), along)
    middle = tips[0] + size.share * (tips[1] - tips[0]) + size.shift
    yield Text(at=_point(middle), text=size.name, anchor=size.anchor)


def _point(place: Floats) -> Point:
    return float(place[0]), float(place[1])
