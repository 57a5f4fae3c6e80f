"""Dimension lines, leaders and arrows, made of simple marks.

Filled narrow arrow heads, as on any drawing after ISO 129-1 (from memory).
"""

import math

import numpy as np
from numpy.typing import NDArray

from formmaker.drawing.lettering import text_width
from formmaker.drawing.linestyles import SMALL, THIN, LineStyle
from formmaker.drawing.marks import Anchor, Dimension, Fill, Line, Mark, Point, Text

HEAD_LENGTH = 3.0
HEAD_HALF_WIDTH = 0.5
OVERSHOOT = 2.0
GAP = 1.0


def arrow_head(tip: Point, direction: NDArray[np.float64]) -> Fill:
    """A filled head with its tip at a point, pointing along a unit direction (2,)."""
    square = np.array([-direction[1], direction[0]])
    back = np.array(tip) - HEAD_LENGTH * direction
    return Fill(points=np.array([tip, back + HEAD_HALF_WIDTH * square, back - HEAD_HALF_WIDTH * square]))


def arrow(start: Point, end: Point, style: LineStyle = THIN) -> tuple[Mark, ...]:
    """A line with a head at its end."""
    direction = np.array(end) - np.array(start)
    size = float(np.hypot(*direction))
    return Line(start=start, end=end, style=style), arrow_head(end, direction / size)


def dot(at: Point, radius: float = 0.6) -> Fill:
    """A small filled disc: where a leader ends inside an area."""
    turn = np.linspace(0.0, math.tau, 16, endpoint=False)
    return Fill(points=np.array(at) + radius * np.column_stack([np.cos(turn), np.sin(turn)]))


def dimension_parts(dimension: Dimension) -> tuple[Mark, ...]:
    """The lines, heads and lettering of a dimension.

    Where the room between the arrows is too small for the text, the arrows come from outside and the text stands
    beyond the start; text on an upright dimension reads from the right. Without a text there are the lines alone.
    """
    start, end = np.array(dimension.start), np.array(dimension.end)
    size = float(np.hypot(*(end - start)))
    along = (end - start) / size
    square = np.array([-along[1], along[0]])
    a, b = start + dimension.offset * square, end + dimension.offset * square
    side = math.copysign(1.0, dimension.offset)
    marks: list[Mark] = [
        Line(start=_point(foot + side * GAP * square), end=_point(tip + side * OVERSHOOT * square))
        for foot, tip in ((start, a), (end, b))
        if abs(dimension.offset) > GAP
    ]
    inside = size >= text_width(dimension.text, SMALL) + 2.0 * HEAD_LENGTH + 1.0
    marks.extend(_between(a, b, along) if inside else _from_outside(a, b, along))
    if dimension.text:
        marks.append(_inside_text(a, b, along, dimension.text) if inside else _outside_text(a, along, dimension.text))
    return tuple(marks)


def _between(a: NDArray[np.float64], b: NDArray[np.float64], along: NDArray[np.float64]) -> tuple[Mark, ...]:
    return Line(start=_point(a), end=_point(b)), arrow_head(_point(a), -along), arrow_head(_point(b), along)


def _from_outside(a: NDArray[np.float64], b: NDArray[np.float64], along: NDArray[np.float64]) -> tuple[Mark, ...]:
    reach = (HEAD_LENGTH + 2.0) * along
    return (
        Line(start=_point(a - reach), end=_point(b + reach)),
        arrow_head(_point(a), along),
        arrow_head(_point(b), -along),
    )


def _inside_text(a: NDArray[np.float64], b: NDArray[np.float64], along: NDArray[np.float64], text: str) -> Text:
    angle = math.atan2(along[1], along[0])
    if not -math.pi / 2.0 < angle <= math.pi / 2.0:
        angle -= math.copysign(math.pi, angle)
    lift = np.array([-math.sin(angle), math.cos(angle)])
    return Text(at=_point((a + b) / 2.0 + lift), text=text, anchor=Anchor.MIDDLE, angle=angle)


def _outside_text(a: NDArray[np.float64], along: NDArray[np.float64], text: str) -> Text:
    place = a - (HEAD_LENGTH + 3.0) * along
    if abs(along[1]) > abs(along[0]):  # upright: the text lies level beyond the arrow
        drop = SMALL if along[1] > 0.0 else 0.0
        return Text(at=(float(place[0]), float(place[1]) - drop), text=text, anchor=Anchor.MIDDLE)
    anchor = Anchor.END if along[0] > 0.0 else Anchor.START
    return Text(at=(float(place[0]), float(place[1]) - SMALL / 2.0), text=text, anchor=anchor)


def _point(place: NDArray[np.float64]) -> Point:
    return float(place[0]), float(place[1])
