"""Level slices through a mesh: how far it reaches from the z axis at given heights."""

import numpy as np
from numba import njit
from numpy.typing import NDArray


def farthest_by_height(
    vertices: NDArray[np.float64], faces: NDArray[np.int32], heights: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Largest distance from the z axis of a mesh's slice at each height.

    Parameters
    ----------
    vertices : (n, 3) float
        mm.
    faces : (m, 3) int
    heights : (k,) float
        Rising in even steps, mm.

    Returns
    -------
    (k,) float
        Exact: distance from an axis is convex along a slice's segment, so it is largest at an edge of the mesh. 0
        where no wood is met.
    """
    out = np.zeros(len(heights))
    _farthest(np.ascontiguousarray(vertices), faces, heights[0], heights[1] - heights[0], out)
    return out


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
                share = (first + level * step - za) / (zb - za) if zb != za else 0.0
                share = min(max(share, 0.0), 1.0)
                x = vertices[a, 0] + share * (vertices[b, 0] - vertices[a, 0])
                y = vertices[a, 1] + share * (vertices[b, 1] - vertices[a, 1])
                radius = np.sqrt(x * x + y * y)
                if zb == za:  # level edges reach farthest at an end
                    radius = max(radius, np.sqrt(vertices[b, 0] ** 2 + vertices[b, 1] ** 2))
                out[level] = max(out[level], radius)
