"""Even heights to letter on a drawing, and rows of lettering that keep clear of each other.

It draws nothing.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.units import MM_PER_INCH, Units

ROW_STEP = 6.5
"""Least distance of two rows of small lettering, mm: 3.5 above the line, 1.2 below it, and air."""

_STEPS_MM = (5.0, 10.0, 20.0, 25.0, 50.0, 100.0)
_STEPS_INCH = tuple(MM_PER_INCH * step for step in (0.25, 0.5, 1.0, 2.0, 4.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A height worth lettering: mm, the radius there (NaN for none) and a name, empty for an even height."""

    height: float
    radius: float
    name: str = ""


def even_heights(low: float, high: float, units: Units, *, most: int = 9) -> tuple[float, ...]:
    """Heights at even steps of the job's unit, between two heights.

    Parameters
    ----------
    low, high : float
        mm.
    units : Units
    most : int
        Not more than about so many.

    Returns
    -------
    tuple of float
        mm, rising; may be empty.

    Examples
    --------
    >>> even_heights(0.0, 60.0, Units.MM)
    (0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0)
    """
    step = even_step(high - low, units, most=most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(count * step for count in range(first, last + 1))


def even_step(span: float, units: Units, *, most: int, least: float = ROW_STEP) -> float:
    """The smallest even step of the job's unit that is not below ``least`` mm and divides a span into few, mm."""
    steps = _STEPS_MM if units is Units.MM else _STEPS_INCH
    enough = [step for step in steps if step >= max(least, span / most)]
    return enough[0] if enough else steps[-1] * math.ceil(span / most / steps[-1])


def apart(rows: Iterable[Row], *, step: float = ROW_STEP) -> tuple[Row, ...]:
    """Of rows in order of importance, those that keep ``step`` mm from every more important one; from low to high."""
    kept: list[Row] = []
    for row in rows:
        if all(abs(row.height - other.height) >= step for other in kept):
            kept.append(row)
    return tuple(sorted(kept, key=lambda row: row.height))


def radius_across(points: NDArray[np.float64], height: float) -> float:
    """Largest radius at which a polyline (n, 2) of radius and height passes a height; NaN where it never does, mm."""
    (r0, z0), (r1, z1) = points[:-1].T, points[1:].T
    passing = ((z0 <= height) & (height <= z1)) | ((z1 <= height) & (height <= z0))
    if not passing.any():
        return math.nan
    rise = (z1 - z0)[passing]
    share = np.divide(height - z0[passing], rise, out=np.ones_like(rise), where=rise != 0.0)
    across = r0[passing] + share * (r1 - r0)[passing]
    return float(np.maximum(across, np.where(rise == 0.0, r0[passing], 0.0)).max())


def spread(wished: Sequence[float], *, step: float = ROW_STEP) -> tuple[float, ...]:
    """Heights as near as can be to the wished ones (falling), yet ``step`` mm apart and in the same order.

    Examples
    --------
    >>> spread([10.0, 9.0, -20.0], step=5.0)
    (12.0, 7.0, -20.0)
    """
    groups: list[list[float]] = []  # each: sum of (wish + place * step), count
    for wish in wished:
        groups.append([wish, 1.0])
        while len(groups) > 1 and _top(groups[-1]) > _low(groups[-2], step) - step:
            last = groups.pop()
            # every member of the later group hangs below those of the earlier
            groups[-1][0] += last[0] + last[1] * groups[-1][1] * step
            groups[-1][1] += last[1]
    return tuple(_top(group) - i * step for group in groups for i in range(int(group[1])))


def _top(group: list[float]) -> float:
    """Height of the first of a group whose members hang ``step`` apart, least squares of their wishes."""
    return group[0] / group[1]


def _low(group: list[float], step: float) -> float:
    return _top(group) - (group[1] - 1.0) * step
