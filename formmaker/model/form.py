"""The bowl as wished: handles of the outer curve, wall, floor, edge."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import FormError


class Edge(StrEnum):
    """How the rim ends: where the bark side of the blank ends the wall, or as a turned flat."""

    NATURAL = "natural"
    TURNED = "turned"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Form:
    """A bowl form, a solid of revolution about z.

    Parameters
    ----------
    handles : (n, 2) float
        Radius and height of each handle of the outer curve from the foot (height 0) to the rim, mm.
    corners : (n,) bool
        True where the curve has a corner at a handle; both ends count as corners.
    wall : (k, 2) float
        Wall law: fraction of the outer curve's length from foot (0) to rim (1), and true normal thickness there,
        mm; linear between, one row for an even wall.
    floor : float
        Thickness of the floor on the axis, above the plane the foot stands on, mm.
    edge : Edge
    lowest_rim : float
        Natural edge: lowest rim height still accepted, mm; the form's height for a turned edge.
    name, description : str

    Raises
    ------
    FormError
        If a figure is not finite or out of range.
    """

    handles: NDArray[np.float64]
    corners: NDArray[np.bool_]
    wall: NDArray[np.float64]
    floor: float
    edge: Edge = Edge.TURNED
    lowest_rim: float
    name: str = ""
    description: str = ""

    def __post_init__(self) -> None:
        for name, kind in (("handles", np.float64), ("corners", np.bool_), ("wall", np.float64)):
            array = np.array(getattr(self, name), dtype=kind)
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        _check_handles(self.handles, self.corners)
        _check_wall(self.wall)
        if not 0.0 < self.floor < self.height:
            raise FormError(f"floor {self.floor} mm; it must lie between 0 and the height {self.height} mm")
        if not 0.0 < self.lowest_rim <= self.height + 1e-9:
            raise FormError(
                f"lowest_rim {self.lowest_rim} mm; it must lie above 0 and at most at the height {self.height} mm"
            )

    @property
    def height(self) -> float:
        """Height of the last handle, the rim, above the foot plane, mm."""
        return float(self.handles[-1, 1])

    @property
    def foot_radius(self) -> float:
        """Radius of the foot, mm."""
        return float(self.handles[0, 0])


def _check_handles(handles: NDArray[np.float64], corners: NDArray[np.bool_]) -> None:
    if handles.ndim != 2 or handles.shape[1:] != (2,) or len(handles) < 2:
        raise FormError(f"{len(handles)} handles; an outer curve needs at least two, each as [radius, height]")
    if corners.shape != (len(handles),):
        raise FormError(f"{corners.size} joints for {len(handles)} handles; give one each")
    if not np.isfinite(handles).all():
        raise FormError("a handle is not finite; give ordinary numbers")
    if not (handles[:, 0] >= 0.0).all():
        low = handles[handles[:, 0].argmin()]
        raise FormError(f"handle radius {low[0]} mm is below 0; the axis is at 0", radius=low[0], height=low[1])
    if not (handles[0, 0] > 0.0 and abs(handles[0, 1]) <= 1e-9):
        raise FormError(
            f"the first handle is {handles[0].tolist()}; it is the edge of the foot: radius above 0, height 0"
        )
    if not handles[-1, 1] > 0.0:
        raise FormError(f"the rim's handle is at height {handles[-1, 1]} mm; it must stand above the foot")


def _check_wall(wall: NDArray[np.float64]) -> None:
    if wall.ndim != 2 or wall.shape[1:] != (2,) or len(wall) < 1 or not np.isfinite(wall).all():
        raise FormError("the wall law needs rows of [fraction, thickness], all finite")
    if not (wall[:, 1] > 0.0).all():
        raise FormError(f"wall {wall[:, 1].min()} mm; give a thickness above 0")
    if not ((wall[:, 0] >= 0.0) & (wall[:, 0] <= 1.0)).all() or not (np.diff(wall[:, 0]) > 0.0).all():
        raise FormError(f"wall fractions {wall[:, 0].tolist()}; they must rise from 0 (foot) to 1 (rim)")
