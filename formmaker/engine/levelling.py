"""Levelling without a scan: from heights of the rim's points to the tilt and the shift of one centre mark.

The new axis is the normal of the plane of least squares through the points, so it leans away from the high side: with
the foot's centre held the rim's mark goes on the wood toward the low side, with the rim's held the foot's goes toward
the high side. Distances from the axis are for ``centring``.
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.centring import shift_of
from formmaker.engine.reading_remarks import require_spread, spread_remarks
from formmaker.errors import BlankError
from formmaker.geometry.off_centre import directions
from formmaker.geometry.slopes import Slope, fit_slope, scatter
from formmaker.model.ends import End
from formmaker.model.recentring import Reading, Recentring
from formmaker.tolerances import DEFAULT
from formmaker.units import Units, format_length


def level(readings: Sequence[Reading], *, length: float, held: End, units: Units) -> Recentring:
    """Find the tilt that levels points of a rim, and the shift of the end that is not held.

    Parameters
    ----------
    readings : sequence of Reading
        Heights with the radius that they were read at.
    length : float
        Between the two centre marks, mm.
    held : End
    units : Units
        For the sentences.

    Returns
    -------
    Recentring
        Exact for points of a plane at any tilt: the shift is length x tan(tilt), measured square to the old axis.

    Raises
    ------
    BlankError
        If the heights cannot tell it: all on one side, or no radius.
    """
    angles = np.array([reading.angle for reading in readings])
    require_spread(angles, "the heights")
    if any(reading.at_radius is None for reading in readings):
        raise BlankError(
            "a tilt needs the radius at which the heights were read; give at_radius, in the table or as --at-radius"
        )
    radii = np.array([reading.at_radius for reading in readings], dtype=np.float64)
    heights = np.array([reading.size for reading in readings])
    plane = fit_slope(radii[:, None] * directions(angles), heights)
    rise = float(np.hypot(*plane.slope))
    move = length * (plane.slope if held is End.RIM else -plane.slope)
    leaning = rise * float(radii.max()) > DEFAULT.same_point
    known_to = _known_to(angles, plane) * length
    shift = shift_of(held.other, move)
    unit = fit_slope(directions(angles), heights)
    return Recentring(
        shifts=(shift,),
        held=held,
        tilt=math.atan(rise),
        high_toward=math.atan2(plane.slope[1], plane.slope[0]) % (2.0 * math.pi) if leaning else math.nan,
        residual=float(np.abs(plane.residual).max()),
        known_to=known_to,
        warnings=(*spread_remarks(angles, unit, rim=True), *_doubt(shift.distance, known_to, units)),
    )


def _known_to(angles: NDArray[np.float64], plane: Slope) -> float:
    """Two standard deviations of the slope, from what is neither plane nor two highs and two lows."""
    left = scatter(angles, plane.residual)
    if left.free < 1:
        return math.nan
    return 2.0 * math.sqrt(left.squares / left.free) * float(np.linalg.norm(plane.weights, ord=2))


def _doubt(distance: float, known_to: float, units: Units) -> Iterator[str]:
    if known_to > distance:
        yield (
            f"The flow of the rim alone could make a shift of {format_length(known_to, units)}, more than was found: "
            "these heights do not tell whether to tilt at all."
        )
