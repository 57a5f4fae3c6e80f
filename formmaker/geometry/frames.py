"""Right-handed frames: where one stands in another, and points carried between them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frame:
    """A rigid placement: ``target = rotation @ source + origin``.

    Parameters
    ----------
    rotation : (3, 3) float
        Columns are the source's axes seen in the target; orthonormal, right-handed.
    origin : (3,) float
        The source's origin seen in the target, mm.
    """

    rotation: NDArray[np.float64]
    origin: NDArray[np.float64]

    def __post_init__(self) -> None:
        for name in ("rotation", "origin"):
            array = np.array(getattr(self, name), dtype=np.float64)
            array.flags.writeable = False
            object.__setattr__(self, name, array)

    @property
    def inverse(self) -> "Frame":
        """The placement that undoes this one."""
        return Frame(rotation=self.rotation.T, origin=-self.rotation.T @ self.origin)

    def carry(self, points: Points) -> Points:
        """Points (..., 3) of the source, seen in the target."""
        return points @ self.rotation.T + self.origin

    def turn(self, directions: Points) -> Points:
        """Directions (..., 3) of the source, seen in the target."""
        return directions @ self.rotation.T


def frame_from_axis(origin: Points, axis: Points, towards: Points) -> Frame:
    """Frame with z along an axis and x toward a direction.

    Parameters
    ----------
    origin : (3,) float
        Where the new frame's origin stands, in the old one.
    axis : (3,) float
        Direction of z, any length but zero.
    towards : (3,) float
        x lies on this side of the axis: the part of it square to the axis.

    Returns
    -------
    Frame
        ``old_from_new``.

    Raises
    ------
    ValueError
        If the axis has no length, or the direction lies along it.

    Examples
    --------
    >>> frame = frame_from_axis(np.zeros(3), np.array([0.0, 0, 2]), np.array([1.0, 0, 5]))
    >>> frame.carry(np.array([1.0, 2.0, 3.0]))
    array([1., 2., 3.])
    """
    length = float(np.linalg.norm(axis))
    if not length > 0.0:
        raise ValueError("an axis needs a direction; its two ends are the same point")
    z = np.asarray(axis, dtype=np.float64) / length
    square = towards - z * float(z @ towards)
    size = float(np.linalg.norm(square))
    if not size > 1e-9 * max(1.0, float(np.linalg.norm(towards))):
        raise ValueError("the zero direction lies along the axis; choose one that points away from it")
    x = square / size
    return Frame(rotation=np.column_stack([x, np.cross(z, x), z]), origin=np.asarray(origin, dtype=np.float64))
