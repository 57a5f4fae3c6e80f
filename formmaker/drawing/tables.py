"""Tables of figures: columns under their headings, the unit said once at the top."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from formmaker.drawing.linestyles import SMALL
from formmaker.drawing.marks import Anchor, Mark, Text
from formmaker.drawing.sheet import caption_width
from formmaker.units import Units, format_length

HEAD_STEP = 6.0
"""From the middle of the highest row to that of the heading, mm."""

GAP = 3.0
LINE = 5.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A heading, its lines parted by line breaks, and an entry for each row, empty for nothing."""

    heading: str
    entries: tuple[str, ...]
    anchor: Anchor = Anchor.END

    @property
    def width(self) -> float:
        """Room it takes, mm."""
        return max(map(caption_width, (*self.heading.split("\n"), *self.entries)))


def figure(length: float, units: Units) -> str:
    """A length for a column whose heading says the unit; empty where there is none.

    Examples
    --------
    >>> figure(41.27, Units.MM), figure(41.275, Units.INCH), figure(math.nan, Units.MM)
    ('41.3', '1 5/8', '')
    """
    return format_length(length, units).rpartition(" ")[0] if math.isfinite(length) else ""


def columns_width(columns: Sequence[Column]) -> float:
    """Room that some columns side by side take, mm."""
    return sum(column.width for column in columns) + GAP * (len(columns) - 1)


def table(columns: Sequence[Column], levels: Sequence[float], *, left: float, top: float) -> list[Mark]:
    """Letter columns side by side.

    Parameters
    ----------
    columns : sequence of Column
    levels : sequence of float
        Height of the middle of each row, mm.
    left : float
        Where the first column begins, mm.
    top : float
        Height of the middle of the lowest line of the headings, mm.

    Returns
    -------
    list of Mark
    """
    marks: list[Mark] = []
    for column in columns:
        x = left + {Anchor.START: 0.0, Anchor.MIDDLE: column.width / 2.0, Anchor.END: column.width}[column.anchor]
        heading = column.heading.split("\n")
        heights = [top + LINE * (len(heading) - 1 - i) for i in range(len(heading))]
        for word, level in zip((*heading, *column.entries), (*heights, *levels), strict=True):
            if word:
                marks.append(Text(at=(x, level - SMALL / 2.0), text=word, anchor=column.anchor))
        left += column.width + GAP
    return marks
