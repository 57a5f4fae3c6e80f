"""Bars to measure a print by, both ways: 100 mm and 4 in, across and up.

A printer may stretch the two ways differently, so one bar is not enough.
"""

import math

from formmaker.drawing.linestyles import OUTLINE, SMALL
from formmaker.drawing.marks import Carriage, Line, Mark, Text, carried
from formmaker.units import MM_PER_INCH

BAR_WIDTH = 12.0
"""Room across the bars: two lines of lettering with air."""

BAR_LENGTH = 125.0
"""Room along the bars, their lettering included."""

PRINT_NOTE = "Print at 100 %, nothing fitted to the page; then measure the bars, both ways."


def bars_across() -> list[Mark]:
    """Both bars lying, their lower left corner at (0, 0)."""
    return _bars("")


def bars_up() -> list[Mark]:
    """Both bars standing, their lower left corner at (0, 0), read from the right."""
    turn = Carriage(angle=math.pi / 2.0, shift=(BAR_WIDTH, 0.0))
    return [carried(mark, turn) for mark in _bars("-up")]


def _bars(suffix: str) -> list[Mark]:
    middle = BAR_WIDTH / 2.0
    return [
        *_bar(f"bar-100mm{suffix}", length=100.0, step=10.0, label="100 mm", up=middle + 0.6, side=1.0),
        *_bar(
            f"bar-4in{suffix}",
            length=4.0 * MM_PER_INCH,
            step=MM_PER_INCH / 2.0,
            label="4 in",
            up=middle - 0.6,
            side=-1.0,
        ),
    ]


def _bar(name: str, *, length: float, step: float, label: str, up: float, side: float) -> list[Mark]:
    """A bar with its ticks and lettering above it (side 1) or below it (side -1)."""
    ticks = range(round(length / step) + 1)
    marks: list[Mark] = [Line(start=(0.0, up), end=(length, up), style=OUTLINE, id=name)]
    for tick in ticks:
        size = 4.0 if tick in (0, len(ticks) - 1) else 2.0
        marks.append(Line(start=(tick * step, up), end=(tick * step, up + side * size)))
    low = up + (0.4 if side > 0.0 else -0.4 - SMALL)
    marks.append(Text(at=(4.0 * MM_PER_INCH + 2.0, low), text=label))
    return marks
