"""Where a straight line crosses a closed skin. No curves (see ``tracing``), no distances (see ``nearest``)."""

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.meshes import Mesh

_HAIR = 1e-9
"""Share of a triangle by which a crossing may lie outside it: a line along an edge meets at least one neighbour."""


def line_crossings(mesh: Mesh, origin: NDArray[np.float64], direction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Places along a line where it crosses the triangles of a mesh.

    Parameters
    ----------
    mesh : Mesh
    origin, direction : (3,) float
        A point of the line, mm, and its direction, not zero.

    Returns
    -------
    (k,) float
        Signed distances from the origin, mm, rising; both ways along the line. A crossing on an edge may stand there
        once for each triangle of the edge; a triangle that the line lies in gives none, its neighbours do.

    Notes
    -----
    T. Möller, B. Trumbore, "Fast, minimum storage ray/triangle intersection", Journal of Graphics Tools 2(1), 1997,
    without the limit to one side.
    """
    unit = direction / np.linalg.norm(direction)
    start, first, second = np.moveaxis(mesh.corners, 1, 0)
    first, second = first - start, second - start
    across = np.cross(unit, second)
    determinant = np.einsum("ij,ij->i", first, across)
    size = np.linalg.norm(first, axis=1) * np.linalg.norm(second, axis=1)
    facing = np.abs(determinant) > 1e-12 * size
    inverse = np.divide(1.0, determinant, out=np.zeros_like(determinant), where=facing)
    offset = origin - start
    u = np.einsum("ij,ij->i", offset, across) * inverse
    turned = np.cross(offset, first)
    v = turned @ unit * inverse
    met = facing & (u >= -_HAIR) & (v >= -_HAIR) & (u + v <= 1.0 + _HAIR)
    places = np.einsum("ij,ij->i", second, turned) * inverse
    return np.sort(places[met])
