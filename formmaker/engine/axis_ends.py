"""Where an axis really leaves the skin: the two places at which centres are marked.

A centre comes from outside, so of several crossings the outermost count: it meets that wood first.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import MountingError
from formmaker.geometry.lines import line_crossings
from formmaker.geometry.meshes import Mesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxisEnds:
    """Where an axis leaves the wood under the foot and on the rim side, (3,) float each, blank frame, mm."""

    foot: NDArray[np.float64]
    rim: NDArray[np.float64]


def axis_ends(mesh: Mesh, point: NDArray[np.float64], axis: NDArray[np.float64]) -> AxisEnds:
    """Find both ends of an axis on the skin.

    Parameters
    ----------
    mesh : Mesh
        The skin of the blank, closed.
    point : (3,) float
        Anywhere on the axis, blank frame, mm.
    axis : (3,) float
        From the foot toward the rim; any length.

    Returns
    -------
    AxisEnds
        The outermost crossings, exact on the triangles.

    Raises
    ------
    MountingError
        If the axis passes beside the wood, or only grazes it.
    """
    places = line_crossings(mesh, point, axis)
    if len(places) < 2 or not places[-1] - places[0] > 0.0:
        raise MountingError("the axis passes beside the wood; choose centres between which it runs through wood")
    unit = axis / np.linalg.norm(axis)
    return AxisEnds(foot=point + places[0] * unit, rim=point + places[-1] * unit)
