"""Marks taken apart into what every writer knows: lines, curves, fills, lettering, pictures, windows."""

from collections.abc import Iterable, Iterator

from formmaker.drawing.dimensions import dimension_parts
from formmaker.drawing.hatching import hatch_lines
from formmaker.drawing.marks import (
    Arc,
    Clipped,
    CubicPath,
    Dimension,
    Fill,
    Hatch,
    Line,
    Mark,
    Picture,
    Polyline,
    Text,
)

SimpleMark = Line | Polyline | CubicPath | Arc | Fill | Text | Picture | Clipped


def simple_marks(marks: Iterable[Mark]) -> Iterator[SimpleMark]:
    """Marks in their order, each dimension and hatch as the simpler marks it is made of."""
    for mark in marks:
        match mark:
            case Dimension():
                yield from simple_marks(dimension_parts(mark))
            case Hatch():
                yield from hatch_lines(mark)
            case _:
                yield mark
