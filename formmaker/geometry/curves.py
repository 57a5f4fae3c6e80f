"""Plane curves as chains of cubic pieces: the one currency from handles to solids and drawings.

A cubic piece is carried unchanged into the solid kernel and into an SVG path, so what is checked, cut and drawn
is one and the same curve.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """A chain of cubic Bezier pieces in the half plane of radius and height.

    Parameters
    ----------
    pieces : (n, 4, 2) float
        Control points (radius, height) of each piece, mm; each piece starts where the one before ends.
    """

    pieces: NDArray[np.float64]

    def __post_init__(self) -> None:
        array = np.array(self.pieces, dtype=np.float64).reshape(-1, 4, 2)
        array.flags.writeable = False
        object.__setattr__(self, "pieces", array)

    @property
    def start(self) -> NDArray[np.float64]:
        """First point, (2,), mm."""
        return np.asarray(self.pieces[0, 0])

    @property
    def end(self) -> NDArray[np.float64]:
        """Last point, (2,), mm."""
        return np.asarray(self.pieces[-1, 3])
