"""A bowl curve to start from, in any size: what a file of ``profiles/`` says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import FormError


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile:
    """An outer curve without a size.

    Parameters
    ----------
    name : str
        What a job calls it: plain words joined by hyphens.
    description : str
        For whom and for what, one or two sentences.
    handles : (n, 2) float
        Radius and height of each handle from foot to rim, in any unit; the first at height 0.
    corners : (n,) bool
        True where the curve has a corner at that handle.
    title : str
        For a heading; empty where the file gives none.
    """

    name: str
    description: str
    handles: NDArray[np.float64]
    corners: NDArray[np.bool_]
    title: str = ""

    def __post_init__(self) -> None:
        for name, kind in (("handles", np.float64), ("corners", np.bool_)):
            array = np.array(getattr(self, name), dtype=kind)
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        if self.handles.ndim != 2 or self.handles.shape[1:] != (2,) or self.corners.shape != self.handles.shape[:1]:
            raise FormError(f"profile {self.name!r}: give handles as [radius, height] and a joint for each")
