"""Which nodes of a grid lie inside a closed skin, by counting how grid lines cross it in three directions.

Asks no distances (see ``nearest``); a point off the grid is answered by the signed distance there.
"""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points
from formmaker.geometry.meshes import Mesh


def nodes_inside(
    mesh: Mesh, *, origin: Points, spacing: float, shape: tuple[int, int, int], threads: int = 2
) -> NDArray[np.bool_]:
    """Tell inside from outside at every node of a grid.

    Parameters
    ----------
    mesh : Mesh
        Closed, wound outward.
    origin : (3,) float
        The first node, mm; below and outside the whole mesh.
    spacing : float
        From node to node along x, y and z, mm.
    shape : tuple of int
        Number of nodes along x, y and z.
    threads : int
        How many cores to use, up to three.

    Returns
    -------
    (nx, ny, nz) bool
        Inside by at least two of the three directions. A node on the skin itself may fall on either side.

    Notes
    -----
    Along each grid line the signed crossings (in +1, out -1) are added up; a node is inside where the sum is above
    zero, so a wrongly doubled or overlapping skin still counts as wood. A line through an edge or a vertex crosses
    once: an edge covers its lower end but not its upper, and where it meets a grid line is worked out from the same
    end for both its triangles, so that the crossings of a closed skin cancel exactly whatever the rounding.
    """
    nodes = (mesh.vertices - origin) / spacing
    nodes.flags.writeable = False

    def vote(axis: int) -> NDArray[np.bool_]:
        steps = np.zeros(shape, dtype=np.int16)
        sizes = np.array(shape, dtype=np.int64)
        strides = np.array([shape[1] * shape[2], shape[2], 1], dtype=np.int64)
        _mark_crossings(nodes, mesh.faces, axis, sizes, strides, steps.reshape(-1))
        return np.asarray(np.cumsum(steps, axis=axis, dtype=np.int16) > 0)

    with ThreadPoolExecutor(threads) as pool:
        x, y, z = pool.map(vote, range(3))
    return np.asarray((x & y) | (y & z) | (z & x))


@njit(nogil=True, cache=True)
def _mark_crossings(nodes, faces, axis, sizes, strides, steps):  # type: ignore[no-untyped-def]
    """Add to ``steps``, flat, at the first node behind each crossing of a line along ``axis``: +1 in, -1 out."""
    u, v = (axis + 1) % 3, (axis + 2) % 3
    for i in range(faces.shape[0]):
        v_low = min(nodes[faces[i, 0], v], nodes[faces[i, 1], v], nodes[faces[i, 2], v])
        v_high = max(nodes[faces[i, 0], v], nodes[faces[i, 1], v], nodes[faces[i, 2], v])
        for row in range(max(0, int(np.ceil(v_low))), min(sizes[v], int(np.ceil(v_high)))):
            u_up, w_up, u_down, w_down = 0.0, 0.0, 0.0, 0.0
            for j in range(3):  # of the three edges one goes up through the row and one down
                a, b = faces[i, j], faces[i, (j + 1) % 3]
                if nodes[a, v] <= row < nodes[b, v]:
                    u_up, w_up = _meet(nodes, a, b, u, v, axis, row)
                elif nodes[b, v] <= row < nodes[a, v]:
                    u_down, w_down = _meet(nodes, b, a, u, v, axis, row)
            step = -1 if u_down < u_up else 1  # counter-clockwise seen from the far end: the line goes out
            u_low, u_high = min(u_up, u_down), max(u_up, u_down)
            for column in range(max(0, int(np.ceil(u_low))), min(sizes[u], int(np.ceil(u_high)))):
                w = w_up + (column - u_up) * (w_down - w_up) / (u_down - u_up)
                k = max(0, int(np.ceil(w)))
                if k < sizes[axis]:
                    steps[column * strides[u] + row * strides[v] + k * strides[axis]] += step


@njit(nogil=True, cache=True)
def _meet(nodes, low, high, u, v, w, row):  # type: ignore[no-untyped-def]
    """Where the edge from its lower to its higher end meets a row."""
    share = (row - nodes[low, v]) / (nodes[high, v] - nodes[low, v])
    return nodes[low, u] + share * (nodes[high, u] - nodes[low, u]), nodes[low, w] + share * (
        nodes[high, w] - nodes[low, w]
    )


@njit(nogil=True, cache=True)
def winding_along(arrays, axis, x, y, z):  # type: ignore[no-untyped-def]
    """How often the skin of a tree winds round a point, by its crossings with the ray from there along an axis.

    1 inside a sound skin, 0 outside; ``arrays`` are those of ``tree_building``, the rules those of ``nodes_inside``.
    """
    boxes, leaves, count = arrays.boxes, arrays.boxes.shape[0] // 2, arrays.corners.shape[0]
    u, v = (axis + 1) % 3, (axis + 2) % 3
    point = (x, y, z)
    winding, node, waiting = 0, 1, 0
    while True:
        met = boxes[node, u] <= point[u] <= boxes[node, u + 3] and boxes[node, v] <= point[v] <= boxes[node, v + 3]
        if met and point[axis] < boxes[node, axis + 3]:
            if node < leaves:
                node, waiting = 2 * node, 2 * waiting + 1
                continue
            leaf = node - leaves
            for slot in range(leaf * count // leaves, (leaf + 1) * count // leaves):
                winding += _crossing(arrays.corners[slot].reshape((3, 3)), axis, point)
        if waiting == 0:
            return winding
        while waiting & 1 == 0:
            waiting >>= 1
            node >>= 1
        node ^= 1
        waiting ^= 1


@njit(nogil=True, cache=True)
def _crossing(corners, axis, point):  # type: ignore[no-untyped-def]
    """1 where the ray goes out through a triangle, -1 where it comes in, 0 where it misses."""
    u, v = (axis + 1) % 3, (axis + 2) % 3
    u_up, w_up, u_down, w_down = np.inf, 0.0, np.inf, 0.0
    for j in range(3):
        a, b = j, (j + 1) % 3
        if corners[a, v] <= point[v] < corners[b, v]:
            u_up, w_up = _meet(corners, a, b, u, v, axis, point[v])
        elif corners[b, v] <= point[v] < corners[a, v]:
            u_down, w_down = _meet(corners, b, a, u, v, axis, point[v])
    if not min(u_up, u_down) <= point[u] < max(u_up, u_down):
        return 0
    w = w_up + (point[u] - u_up) * (w_down - w_up) / (u_down - u_up)
    if w <= point[axis]:
        return 0
    return 1 if u_down < u_up else -1
