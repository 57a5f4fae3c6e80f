"""Limits on a pose beside the wood: its direction, its axis, places its surface must pass or stay clear of.

Each is asked of a box of poses: True or a smaller size only where no pose of the box can do otherwise. A box of no
width asks it of one pose. Kernels, and the record that they are given.
"""

from dataclasses import dataclass, field

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points

_IGNORED = 1e-3  # mm: a smaller shortage is let pass; ever smaller steps would never end
_MM_A_RADIAN = 100.0  # so that a climb out of a broken limit weighs turning and moving alike


def _none() -> NDArray[np.float64]:
    return np.zeros((0, 4))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoseLimits:
    """What a pose must keep to; whatever is left out asks nothing.

    Parameters
    ----------
    axis : (3,) float
        Unit direction that ``tilt`` is counted from, radians.
    tilt : float
    side : (3,) float
        The direction lies on this side: no more than a right angle from it; zeros for any.
    passed : (k, 4) float
        Places (mm) that the axis must pass within a radius (mm).
    touched : (k, 4) float
        Places that ``touching``, a surface, must pass within a radius.
    touching : (n, 4) float
        Rows as in ``turned_points.Rings``: places along a curve, near enough to each other to stand for it.
    gap : float
        No place of that curve is farther from the nearest row than this, for each unit of size.
    shunned, shunning : (k, 4), (n, 4) float
        Places that every row's ring must stay clear of by a radius.
    """

    axis: Points = field(default_factory=lambda: np.array([0.0, 0.0, 1.0]))
    tilt: float = np.inf
    side: Points = field(default_factory=lambda: np.zeros(3))
    passed: NDArray[np.float64] = field(default_factory=_none)
    touched: NDArray[np.float64] = field(default_factory=_none)
    touching: NDArray[np.float64] = field(default_factory=_none)
    gap: float = 0.0
    shunned: NDArray[np.float64] = field(default_factory=_none)
    shunning: NDArray[np.float64] = field(default_factory=_none)

    @property
    def on_axis(self) -> tuple[object, ...]:
        """What ``off_axis`` is given."""
        return (self.axis, self.tilt, self.side, self.passed)

    @property
    def on_places(self) -> tuple[object, ...]:
        """What ``size_by_places`` is given."""
        return (self.touched, self.touching, self.gap, self.shunned, self.shunning)


@njit(nogil=True, cache=True)
def off_axis(limits, place, turn, shift, angle):  # type: ignore[no-untyped-def]
    """How far the best pose of a box breaks the limits on direction and axis; 0 where one may keep them.

    ``shift`` and ``angle`` are the most that the box moves its place (mm) and turns its direction (radians); the
    answer is in mm, with a hundred for a radian.
    """
    axis, tilt, side, passed = limits
    nx, ny, nz = turn[0, 2], turn[1, 2], turn[2, 2]
    worst = 0.0
    if tilt < np.pi:
        lean = np.arccos(min(max(nx * axis[0] + ny * axis[1] + nz * axis[2], -1.0), 1.0))
        worst += max(_MM_A_RADIAN * (lean - angle - tilt), 0.0)
    if (side[0] != 0.0 or side[1] != 0.0 or side[2] != 0.0) and angle < 0.5 * np.pi:
        behind = -(nx * side[0] + ny * side[1] + nz * side[2])
        worst += max(_MM_A_RADIAN * (behind - np.sin(angle)), 0.0)
    for k in range(passed.shape[0]):
        worst += max(_past(passed[k], place, nx, ny, nz, shift, angle) - passed[k, 3], 0.0)
    return worst


@njit(nogil=True, cache=True)
def _past(spot, place, nx, ny, nz, shift, angle):  # type: ignore[no-untyped-def]
    """The least distance at which an axis of the box passes a spot: turning it is turning the spot the other way."""
    x, y, z = spot[0] - place[0], spot[1] - place[1], spot[2] - place[2]
    along = x * nx + y * ny + z * nz
    far = x * x + y * y + z * z
    passing = np.sqrt(max(far - along * along, 0.0))
    return passing - shift - 2.0 * np.sin(0.5 * min(angle, np.pi)) * np.sqrt(far)


@njit(nogil=True, cache=True)
def size_by_places(limits, place, turn, reach, size, stop):  # type: ignore[no-untyped-def]
    """Walk the size down until the places to pass and to stay clear of no longer rule it out.

    ``reach`` as in ``pose_bounds.largest_by_motion``, the way along counted with the shift.
    """
    touched, touching, gap, shunned, shunning = limits
    before = size + 1.0
    while before > size > stop:
        before = size
        for k in range(touched.shape[0]):
            size = _by_place(touched[k], touching, gap, 1.0, (place, turn, reach), size, stop)
        for k in range(shunned.shape[0]):
            size = _by_place(shunned[k], shunning, 0.0, -1.0, (place, turn, reach), size, stop)
    return size


@njit(nogil=True, cache=True)
def _by_place(spot, rings, gap, sign, box, size, stop):  # type: ignore[no-untyped-def]
    """The same for one place: to be passed within its radius (sign 1), or outside it (-1)."""
    place, turn, reach = box
    shift, per_length = reach
    x, y, z = spot[0] - place[0], spot[1] - place[1], spot[2] - place[2]
    far = np.sqrt(x * x + y * y + z * z)
    h = turn[0, 2] * x + turn[1, 2] * y + turn[2, 2] * z
    r = np.sqrt(max(far * far - h * h, 0.0))
    h -= place[5]
    motion = shift + per_length * far
    rate = 1e-12
    for i in range(rings.shape[0]):
        rate = max(rate, gap + np.hypot(rings[i, 0], rings[i, 1]))
    while size > stop:
        nearest = np.inf
        for i in range(rings.shape[0]):
            aside, above = size * rings[i, 0] + rings[i, 2] - r, size * rings[i, 1] + rings[i, 3] - h
            nearest = min(nearest, aside * aside + above * above)
        spare = motion + sign * (spot[3] - np.sqrt(nearest)) + size * gap
        if spare >= -_IGNORED:
            return size
        size += spare / rate
    return size
