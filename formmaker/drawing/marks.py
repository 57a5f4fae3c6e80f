"""What a drawing is made of: marks as frozen records in millimetres, x to the right and y up.

Marks are data. A writer turns them into a file; none of them knows a file format, nor that it belongs to a bowl.
``Dimension`` and ``Hatch`` come apart into simpler marks (``dimensions.py``, ``hatching.py``) for writers that know
no such thing.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formmaker.drawing.lettering import DESCENT, text_width
from formmaker.drawing.linestyles import OUTLINE, SMALL, THIN, LineStyle

Point = tuple[float, float]


class Anchor(StrEnum):
    """Which part of a text stands at its place."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A straight line; ``id`` names it for readers of the file."""

    start: Point
    end: Point
    style: LineStyle = THIN
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Polyline:
    """A chain of straight lines through ``points`` (n, 2), mm."""

    points: NDArray[np.float64]
    style: LineStyle = THIN
    closed: bool = False
    id: str = ""

    def __post_init__(self) -> None:
        _lock(self, "points")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CubicPath:
    """A chain of cubic Bezier pieces, (n, 4, 2), mm; each starts where the one before ends."""

    pieces: NDArray[np.float64]
    style: LineStyle = OUTLINE
    id: str = ""

    def __post_init__(self) -> None:
        _lock(self, "pieces")


@dataclass(frozen=True, slots=True, kw_only=True)
class Arc:
    """Part of a circle, counter-clockwise from ``start`` to ``end`` (radians, less than a turn), or a whole one."""

    centre: Point
    radius: float
    start: float = 0.0
    end: float = math.tau
    style: LineStyle = THIN
    id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fill:
    """A filled area inside ``points`` (n, 2), mm: an arrow head, a dot."""

    points: NDArray[np.float64]

    def __post_init__(self) -> None:
        _lock(self, "points")


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of lettering.

    Parameters
    ----------
    at : (float, float)
        On the line the letters stand on, mm.
    text : str
    height : float
        Of the capitals, mm.
    anchor : Anchor
    angle : float
        Radians, counter-clockwise.
    backed : bool
        Lines behind it are covered.
    """

    at: Point
    text: str
    height: float = SMALL
    anchor: Anchor = Anchor.START
    angle: float = 0.0
    backed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A measure between two points.

    Parameters
    ----------
    start, end : (float, float)
        What is measured, mm.
    offset : float
        From the line start-end to the dimension line, to its left seen from start to end, mm.
    text : str
    """

    start: Point
    end: Point
    offset: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hatch:
    """An area inside ``rings`` (each (n, 2), even-odd) shaded with lines at an angle (radians) and spacing (mm)."""

    rings: tuple[NDArray[np.float64], ...]
    angle: float = math.pi / 4.0
    spacing: float = 3.0
    style: LineStyle = THIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture, the bytes of a PNG file, filling a box."""

    png: bytes
    box: "Box"


@dataclass(frozen=True, slots=True, kw_only=True)
class Clipped:
    """Marks seen through a window: nothing of them shows outside the box."""

    window: "Box"
    marks: "tuple[Mark, ...]"


Mark = Line | Polyline | CubicPath | Arc | Fill | Text | Dimension | Hatch | Picture | Clipped


def _lock(record: object, name: str) -> None:
    array = np.array(getattr(record, name), dtype=np.float64)
    array.flags.writeable = False
    object.__setattr__(record, name, array)


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle square to the sheet, mm."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        """Across, mm."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """Up, mm."""
        return self.high - self.low

    def meets(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        return self.left < other.right and other.left < self.right and self.low < other.high and other.low < self.high

    def holds(self, other: "Box") -> bool:
        """Whether the other lies wholly in it."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.low <= other.low and other.high <= self.high


def move(mark: Mark, across: float, up: float) -> Mark:
    """The same mark elsewhere on the sheet, moved by so many mm."""
    return carried(mark, Carriage(shift=(across, up)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Carriage:
    """How marks are carried: scaled and turned (radians, counter-clockwise) about (0, 0), then moved, mm.

    Line widths and the spacing of hatches stay as they are; a box, so a picture or a window, is not turned.
    """

    scale: float = 1.0
    angle: float = 0.0
    shift: Point = (0.0, 0.0)

    def points(self, points: ArrayLike) -> NDArray[np.float64]:
        """Carry points (..., 2)."""
        cos, sin = self.scale * math.cos(self.angle), self.scale * math.sin(self.angle)
        turn = np.array([[cos, sin], [-sin, cos]])
        return np.asarray(np.asarray(points, dtype=np.float64) @ turn + np.array(self.shift))


def carried(mark: Mark, carriage: Carriage) -> Mark:
    """The same mark, scaled, turned and moved."""
    copy: Mark = replace(mark, **_carried_places(mark, carriage), **_carried_sizes(mark, carriage))
    return copy


def _carried_places(mark: Mark, carriage: Carriage) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    for name in ("start", "end", "at", "centre"):
        place = getattr(mark, name, None)
        if isinstance(place, tuple):  # start and end of an arc are angles
            changes[name] = tuple(carriage.points(place).tolist())
    for name in ("points", "pieces"):
        if hasattr(mark, name):
            changes[name] = carriage.points(getattr(mark, name))
    for name in ("box", "window"):
        if hasattr(mark, name):
            changes[name] = _box(carriage.points(_corners(getattr(mark, name))))
    return changes


def _carried_sizes(mark: Mark, carriage: Carriage) -> dict[str, Any]:
    scale, angle = carriage.scale, carriage.angle
    match mark:
        case Hatch():
            return {"rings": tuple(carriage.points(ring) for ring in mark.rings), "angle": mark.angle + angle}
        case Arc():
            return {"radius": mark.radius * scale, "start": mark.start + angle, "end": mark.end + angle}
        case Text():
            return {"height": mark.height * scale, "angle": mark.angle + angle}
        case Dimension():
            return {"offset": mark.offset * scale}
        case Clipped():
            return {"marks": tuple(carried(inner, carriage) for inner in mark.marks)}
        case _:
            return {}


def text_box(text: Text) -> Box:
    """The room a text takes on the sheet, mm, on the safe side (``lettering.text_width``)."""
    width = text_width(text.text, text.height)
    left = {Anchor.START: 0.0, Anchor.MIDDLE: -width / 2.0, Anchor.END: -width}[text.anchor]
    across = np.array([left, left + width, left, left + width])
    up = np.array([-DESCENT * text.height] * 2 + [text.height] * 2)
    cos, sin = math.cos(text.angle), math.sin(text.angle)
    corners = np.column_stack([text.at[0] + across * cos - up * sin, text.at[1] + across * sin + up * cos])
    return _box(corners)


def _box(points: NDArray[np.float64]) -> Box:
    low, high = points.min(axis=0), points.max(axis=0)
    return Box(left=float(low[0]), low=float(low[1]), right=float(high[0]), high=float(high[1]))


def bounds(marks: Iterable[Mark]) -> Box:
    """The rectangle that holds simple marks, mm.

    Parameters
    ----------
    marks : iterable of Mark
        At least one; a ``Dimension`` or ``Hatch`` counts with the points it measures or bounds, no more.

    Returns
    -------
    Box
        A cubic path counts with its control points: never too small.
    """
    return _box(np.concatenate([_extent(mark) for mark in marks]))


def _extent(mark: Mark) -> NDArray[np.float64]:
    match mark:
        case Line() | Dimension():
            points = np.array([mark.start, mark.end])
        case Polyline() | Fill():
            points = mark.points
        case CubicPath():
            points = mark.pieces.reshape(-1, 2)
        case Arc():
            points = _arc_extent(mark)
        case Hatch():
            points = np.concatenate(mark.rings)
        case Text():
            points = _corners(text_box(mark))
        case Picture():
            points = _corners(mark.box)
        case Clipped():
            points = _corners(mark.window)
    return points


def _arc_extent(arc: Arc) -> NDArray[np.float64]:
    """Both ends of an arc, and where it passes the four quarters."""
    quarters = np.arange(math.ceil(arc.start / (math.pi / 2.0)), math.floor(arc.end / (math.pi / 2.0)) + 1)
    angles = np.array([arc.start, *(quarters * math.pi / 2.0), arc.end])
    return np.asarray(np.array(arc.centre) + arc.radius * np.column_stack([np.cos(angles), np.sin(angles)]))


def _corners(box: Box) -> NDArray[np.float64]:
    return np.array([[box.left, box.low], [box.right, box.high]])
