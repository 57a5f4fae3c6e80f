"""Level slices through a mesh: how far it reaches from the z axis at given heights."""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reach:
    """How far a body reaches from an axis: heights along it, rising, and the distance at each, (k,) both, mm."""

    height: NDArray[np.float64]
    radius: NDArray[np.float64]


def reach_by_height(mesh: Mesh, frame: Frame, levels: int) -> Reach:
    """Largest distance from an axis of a mesh's slices, from its lowest to its highest point.

    Parameters
    ----------
    mesh : Mesh
    frame : Frame
        ``mesh_from_axis``: the axis is its z.
    levels : int
        Even heights, both ends included.

    Returns
    -------
    Reach
        Exact: distance from an axis is convex along a slice's segment, so it is largest at an edge of the mesh.
    """
    back = frame.inverse
    vertices = np.empty_like(mesh.vertices)
    low, high = _carried(mesh.vertices, back.rotation, back.origin, vertices)
    heights, radius = np.linspace(low, high, levels), np.zeros(levels)
    _farthest(vertices, mesh.faces, heights[0], heights[1] - heights[0], radius)
    return Reach(height=heights, radius=radius)


@njit(nogil=True, cache=True)
def _carried(points, rotation, origin, out):  # type: ignore[no-untyped-def]
    """Carry points and give their lowest and highest z: one pass, where numpy's own takes six over a large scan."""
    low, high = np.inf, -np.inf
    for i in range(points.shape[0]):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for k in range(3):
            out[i, k] = rotation[k, 0] * x + rotation[k, 1] * y + rotation[k, 2] * z + origin[k]
        low, high = min(low, out[i, 2]), max(high, out[i, 2])
    return low, high


@njit(nogil=True, cache=True)
def _farthest(vertices, faces, first, step, out):  # type: ignore[no-untyped-def]
    last = out.shape[0] - 1
    for i in range(faces.shape[0]):
        for j in range(3):
            a, b = faces[i, j], faces[i, (j + 1) % 3]
            za, zb = vertices[a, 2], vertices[b, 2]
            low, high = (za, zb) if za < zb else (zb, za)
            # the lowest and the highest level are touched in a corner, so a little is let in on both sides
            start = max(int(np.ceil((low - first) / step - 1e-9)), 0)
            stop = min(int(np.floor((high - first) / step + 1e-9)), last)
            for level in range(start, stop + 1):
                # a level edge reaches farthest at an end, and its other end is where the next edge starts
                share = (first + level * step - za) / (zb - za) if zb != za else 0.0
                share = min(max(share, 0.0), 1.0)
                x = vertices[a, 0] + share * (vertices[b, 0] - vertices[a, 0])
                y = vertices[a, 1] + share * (vertices[b, 1] - vertices[a, 1])
                out[level] = max(out[level], np.sqrt(x * x + y * y))
