"""The tree of boxes over a skin's triangles, and the normals at its edges and vertices: built once from a mesh.

Asks nothing of it (see ``nearest`` for distances, ``inside`` for crossings).
"""

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points
from formmaker.geometry.meshes import Mesh, face_normals

_LEAF = 4  # triangles in a leaf, at most: 3 to 6 were equally quick on the scans, 12 a third slower


class TreeArrays(NamedTuple):
    """What the kernels read; ``m`` triangles stand in the order of the tree, ``k`` leaves, a power of two.

    Node ``i`` of ``boxes`` has the children ``2 i`` and ``2 i + 1``, the root is 1, row 0 is idle. Leaf ``j`` is node
    ``k + j`` and holds the triangles from ``j m // k`` to ``(j + 1) m // k``, so that no links are stored.
    """

    boxes: NDArray[np.float64]
    """(2 k, 6), lowest and highest x, y, z, mm."""
    corners: NDArray[np.float64]
    """(m, 9), the three corners, mm."""
    faces: NDArray[np.int32]
    """(m,), which face of the mesh."""
    edges: NDArray[np.int32]
    """(m, 3), row of ``edge_normals`` for the edges ab, bc, ca."""
    vertices: NDArray[np.int32]
    """(m, 3), row of ``vertex_normals`` for a, b, c."""
    edge_normals: NDArray[np.float64]
    """(e, 3), sum of the unit normals that meet there."""
    vertex_normals: NDArray[np.float64]
    """(v, 3), sum of the unit normals weighted by the angle at the vertex."""


def tree_arrays(mesh: Mesh) -> TreeArrays:
    """Sort the triangles of a mesh into a tree; see ``nearest.build_tree``.

    Raises
    ------
    ValueError
        If no face has an area.

    Notes
    -----
    Split at the median of the longest side of the centres' box, down to leaves of at most four triangles.
    """
    normals = face_normals(mesh)
    solid = np.flatnonzero(np.einsum("ij,ij->i", normals, normals) > 0.0).astype(np.int32)
    if not solid.size:
        raise ValueError("a mesh without one triangle that has an area has no skin to measure to")
    edges, edge_normals = _edge_normals(mesh, normals)
    vertex_normals = np.zeros_like(mesh.vertices)
    _add_vertex_normals(mesh.vertices, mesh.faces, normals, vertex_normals)
    leaves = 1
    while leaves * _LEAF < solid.size:
        leaves *= 2
    order = np.arange(solid.size, dtype=np.int32)
    corners = mesh.corners[solid].reshape(-1, 9)
    _split(order, corners.reshape(-1, 3, 3).mean(axis=1), leaves)
    corners = corners[order]
    boxes = np.zeros((2 * leaves, 6))
    _fill_boxes(boxes, corners, leaves)
    faces = solid[order]
    arrays = TreeArrays(boxes, corners, faces, edges[faces], mesh.faces[faces], edge_normals, vertex_normals)
    for array in arrays:
        array.flags.writeable = False
    return arrays


def _edge_normals(mesh: Mesh, normals: Points) -> tuple[NDArray[np.int32], Points]:
    """Row of each face's edges (m, 3) and the sum of the normals at each edge (e, 3)."""
    start = mesh.faces.astype(np.int64)
    end = np.roll(start, -1, axis=1)
    keys = (np.minimum(start, end) * len(mesh.vertices) + np.maximum(start, end)).ravel()
    order = np.argsort(keys)
    fresh = np.empty(keys.size, dtype=bool)
    fresh[0] = True
    fresh[1:] = keys[order[1:]] != keys[order[:-1]]
    rows = np.empty(keys.size, dtype=np.int32)
    rows[order] = np.cumsum(fresh) - 1
    sums = np.add.reduceat(normals[order // 3], np.flatnonzero(fresh), axis=0)
    return rows.reshape(-1, 3), sums


@njit(nogil=True, cache=True)
def _add_vertex_normals(vertices, faces, normals, out):  # type: ignore[no-untyped-def]
    for i in range(faces.shape[0]):
        for j in range(3):
            a, b, c = faces[i, j], faces[i, (j + 1) % 3], faces[i, (j + 2) % 3]
            ux, uy, uz = (
                vertices[b, 0] - vertices[a, 0],
                vertices[b, 1] - vertices[a, 1],
                vertices[b, 2] - vertices[a, 2],
            )
            vx, vy, vz = (
                vertices[c, 0] - vertices[a, 0],
                vertices[c, 1] - vertices[a, 1],
                vertices[c, 2] - vertices[a, 2],
            )
            wx, wy, wz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
            angle = np.arctan2(np.sqrt(wx * wx + wy * wy + wz * wz), ux * vx + uy * vy + uz * vz)
            for k in range(3):
                out[a, k] += angle * normals[i, k]


@njit(nogil=True, cache=True)
def _split(order, centres, leaves):  # type: ignore[no-untyped-def]
    """Order the triangles so that every node of the tree holds a range, halved at the median of its longest side."""
    count = order.shape[0]
    width = leaves
    while width > 1:
        for first in range(0, leaves, width):
            start, stop = first * count // leaves, (first + width) * count // leaves
            _select(order, centres, start, stop, (first + width // 2) * count // leaves)
        width //= 2


@njit(nogil=True, cache=True)
def _longest_axis(order, centres, start, stop):  # type: ignore[no-untyped-def]
    axis, longest = 0, -1.0
    for k in range(3):
        low, high = np.inf, -np.inf
        for i in range(start, stop):
            low, high = min(low, centres[order[i], k]), max(high, centres[order[i], k])
        if high - low > longest:
            axis, longest = k, high - low
    return axis


@njit(nogil=True, cache=True)
def _select(order, centres, start, stop, middle):  # type: ignore[no-untyped-def]
    """Quickselect along the longest side: below ``middle`` stand the lower centres (C. A. R. Hoare, 1961)."""
    axis = _longest_axis(order, centres, start, stop)
    left, right = start, stop - 1
    while left < right:
        pivot = centres[order[(left + right) // 2], axis]
        i, j = left, right
        while i <= j:
            while centres[order[i], axis] < pivot:
                i += 1
            while centres[order[j], axis] > pivot:
                j -= 1
            if i <= j:
                order[i], order[j] = order[j], order[i]
                i += 1
                j -= 1
        if middle <= j:
            right = j
        elif middle >= i:
            left = i
        else:
            return


@njit(nogil=True, cache=True)
def _fill_boxes(boxes, corners, leaves):  # type: ignore[no-untyped-def]
    count = corners.shape[0]
    for leaf in range(leaves):
        for k in range(3):
            low, high = np.inf, -np.inf
            for i in range(leaf * count // leaves, (leaf + 1) * count // leaves):
                for j in range(k, 9, 3):
                    low, high = min(low, corners[i, j]), max(high, corners[i, j])
            boxes[leaves + leaf, k], boxes[leaves + leaf, k + 3] = low, high
    for node in range(leaves - 1, 0, -1):
        for k in range(3):
            boxes[node, k] = min(boxes[2 * node, k], boxes[2 * node + 1, k])
            boxes[node, k + 3] = max(boxes[2 * node, k + 3], boxes[2 * node + 1, k + 3])
