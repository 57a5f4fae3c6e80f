"""Distances and directions as hands use them at the end of a blank: a way, two square steps, what rounding costs."""

import math
from dataclasses import dataclass

from formmaker.units import (
    MM_PER_INCH,
    Units,
    degrees_round,
    format_fine,
    format_length,
    nearest_index,
)

SIXTEENTHS, THIRTY_SECONDS = 16, 32


@dataclass(frozen=True, slots=True, kw_only=True)
class Tongue:
    """How a turner is spoken to.

    Parameters
    ----------
    units : Units
    parts : int
        The finest part of the inch that is marked, 16 or 32.
    index_count : int
        Index positions in a turn; 0 where they are not used.
    """

    units: Units
    parts: int = THIRTY_SECONDS
    index_count: int = 0

    def length(self, millimetres: float) -> str:
        """A length as it is marked."""
        return format_length(millimetres, self.units, parts=self.parts)

    def fine(self, millimetres: float) -> str:
        """A small difference."""
        return format_fine(millimetres, self.units)

    def angle(self, theta: float) -> str:
        """An angle to a tenth of a degree where that says more, and the index position."""
        degrees = round(degrees_round(theta), 1) % 360.0
        index = (
            f" (index {nearest_index(degrees, self.index_count)} of {self.index_count})" if self.index_count else ""
        )
        return f"{degrees:g} deg{index}"

    def rounded_by(self, millimetres: float) -> float:
        """How much a length grows when it is rounded to the finest part of the inch, mm; 0 for mm."""
        if self.units is Units.MM:
            return 0.0
        return round(millimetres / MM_PER_INCH * self.parts) / self.parts * MM_PER_INCH - millimetres

    def rounding(self, millimetres: float) -> str:
        """What rounding costs a length in inches, in thousandths and mm; empty for mm, and where it costs nothing."""
        off = self.rounded_by(millimetres)
        thousandths = round(off / MM_PER_INCH * 1000.0)
        if not thousandths:
            return ""
        return f" (rounded {'up' if off > 0.0 else 'down'} by {abs(thousandths)} thousandths, {abs(off):.2f} mm)"


def say_way(distance: float, toward: float, tongue: Tongue) -> str:
    """Say how far and which way.

    Examples
    --------
    >>> say_way(9.525, math.pi, Tongue(units=Units.INCH, index_count=24))
    '3/8 in toward 180 deg (index 12 of 24)'
    """
    return f"{tongue.length(distance)}{tongue.rounding(distance)} toward {tongue.angle(toward)}"


def say_steps(distance: float, toward: float, tongue: Tongue) -> str:
    """Say the same as two steps square to each other; empty where one of them is nothing.

    Examples
    --------
    >>> say_steps(5.0, math.atan2(-3.0, 4.0), Tongue(units=Units.MM))
    '; in two steps: 4.0 mm toward 0 deg, then 3.0 mm toward 270 deg'
    """
    steps = [(distance * math.cos(toward), 0, 180), (distance * math.sin(toward), 90, 270)]
    said = [f"{tongue.length(abs(size))} toward {plus if size > 0.0 else minus} deg" for size, plus, minus in steps]
    if tongue.length(0.0) in {tongue.length(abs(size)) for size, _, _ in steps}:
        return ""
    return f"; in two steps: {said[0]}, then {said[1]}"
