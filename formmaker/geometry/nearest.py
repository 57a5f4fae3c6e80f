"""Exact distances to a skin of triangles: a tree of boxes, the nearest triangle, the sign from its normals.

The kernels at the foot of the module are numba functions: another kernel may call ``nearest_face``, ``signed_at`` and
``nearest_other`` with ``tree.arrays``, which numba takes as one argument. No grid (see ``grid``).
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points
from formmaker.geometry.inside import winding_along
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.tree_building import TreeArrays, tree_arrays

_CHUNK = 4096  # points handed to a thread at once: about 10 ms of work
_MIXED = -(2**31)  # a box that holds triangles of several patches


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SkinTree:
    """A skin of triangles made ready for nearest-point questions; ``arrays`` is what numba kernels are given."""

    arrays: TreeArrays


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SignedDistances:
    """Distances (n,), mm, positive inside, and the nearest face (n,) of each point; NaN and -1 for no answer."""

    distance: NDArray[np.float64]
    face: NDArray[np.int32]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatchLabels:
    """Patch of every triangle (m,) in the order of the tree, and of every box (2 k,) whose triangles share one."""

    slots: NDArray[np.int32]
    nodes: NDArray[np.int32]

    def __post_init__(self) -> None:
        self.slots.flags.writeable = False
        self.nodes.flags.writeable = False


def build_tree(mesh: Mesh) -> SkinTree:
    """Build the tree of a closed mesh.

    Parameters
    ----------
    mesh : Mesh
        Closed and wound outward where signs are wanted; any triangles where plain distances are enough. Faces
        without area are left out: their edges are edges of their neighbours.

    Returns
    -------
    SkinTree
        About 0.3 s for 220 000 triangles.

    Raises
    ------
    ValueError
        If no face has an area.
    """
    return SkinTree(arrays=tree_arrays(mesh))


def signed_distance(tree: SkinTree, points: Points, *, threads: int = 2) -> SignedDistances:
    """Exact distance to the skin, positive inside.

    Parameters
    ----------
    tree : SkinTree
        Of a closed mesh wound outward.
    points : (n, 3) float
        mm; neighbours that follow each other are answered quicker.
    threads : int
        How many cores to use.

    Returns
    -------
    SignedDistances
        Exact for the triangles up to rounding, about 1e-13 of the coordinates; NaN for a point that is not finite.

    Notes
    -----
    The sign is that of the angle-weighted pseudo-normal of the nearest face, edge or vertex (J. A. Baerentzen and
    H. Aanaes, "Signed distance computation using the angle weighted pseudonormal", IEEE TVCG 11(3), 2005). It can
    mislead where a scanned skin runs through itself (two points in 200 000 round the shared stump, one of them 5 mm
    deep), so a ray is counted too, and where the two disagree the majority of three rays decides.
    """
    array = np.ascontiguousarray(points, dtype=np.float64).reshape(-1, 3)
    array.flags.writeable = False
    distance = np.empty(len(array))
    face = np.empty(len(array), dtype=np.int32)
    starts = range(0, len(array), _CHUNK)

    def run(start: int) -> None:
        stop = min(start + _CHUNK, len(array))
        _signed_many(tree.arrays, array, start, stop, distance, face)

    if threads == 1 or len(starts) == 1:
        for start in starts:
            run(start)
    else:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(run, starts))
    return SignedDistances(distance=distance, face=face)


def label_patches(tree: SkinTree, face_patches: NDArray[np.integer]) -> PatchLabels:
    """Prepare ``nearest_other``: the patch of each face of the mesh (m,), any integers, in the order of the tree."""
    slots = np.ascontiguousarray(np.asarray(face_patches)[tree.arrays.faces], dtype=np.int32)
    leaves = len(tree.arrays.boxes) // 2
    starts = np.arange(leaves) * len(slots) // leaves
    low, high = np.minimum.reduceat(slots, starts), np.maximum.reduceat(slots, starts)
    nodes = np.full(2 * leaves, _MIXED, dtype=np.int32)
    nodes[leaves:] = np.where(low == high, low, _MIXED)
    while leaves > 1:
        pairs = nodes[leaves : 2 * leaves].reshape(-1, 2)
        leaves //= 2
        nodes[leaves : 2 * leaves] = np.where(pairs[:, 0] == pairs[:, 1], pairs[:, 0], _MIXED)
    return PatchLabels(slots=slots, nodes=nodes)


@njit(nogil=True, cache=True)
def closest_on(corners, slot, x, y, z):  # type: ignore[no-untyped-def]
    """Squared distance from a point to one row of ``corners`` (m, 9), and the feature met.

    The feature is 0 for the face, 1 to 3 for the edges ab, bc, ca, 4 to 6 for the vertices a, b, c; the last three
    numbers lead from the nearest point to the point asked. Regions after C. Ericson, "Real-Time Collision
    Detection", 2005, section 5.1.5, on the differences to the point, so that far coordinates lose no figures.
    """
    ax, ay, az = x - corners[slot, 0], y - corners[slot, 1], z - corners[slot, 2]
    ux, uy, uz = (
        corners[slot, 3] - corners[slot, 0],
        corners[slot, 4] - corners[slot, 1],
        corners[slot, 5] - corners[slot, 2],
    )
    vx, vy, vz = (
        corners[slot, 6] - corners[slot, 0],
        corners[slot, 7] - corners[slot, 1],
        corners[slot, 8] - corners[slot, 2],
    )
    uu, uv, vv = ux * ux + uy * uy + uz * uz, ux * vx + uy * vy + uz * vz, vx * vx + vy * vy + vz * vz
    d1, d2 = ux * ax + uy * ay + uz * az, vx * ax + vy * ay + vz * az
    d3, d4, d5, d6 = d1 - uu, d2 - uv, d1 - uv, d2 - vv
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    if d1 <= 0.0 and d2 <= 0.0:
        s, t, feature = 0.0, 0.0, 4
    elif d3 >= 0.0 and d4 <= d3:
        s, t, feature = 1.0, 0.0, 5
    elif d6 >= 0.0 and d5 <= d6:
        s, t, feature = 0.0, 1.0, 6
    elif vc <= 0.0 and d1 >= 0.0 and d3 <= 0.0:
        s, t, feature = d1 / uu, 0.0, 1
    elif vb <= 0.0 and d2 >= 0.0 and d6 <= 0.0:
        s, t, feature = 0.0, d2 / vv, 3
    elif va <= 0.0 and d4 - d3 >= 0.0 and d5 - d6 >= 0.0:
        t = (d4 - d3) / ((d4 - d3) + (d5 - d6))
        s, feature = 1.0 - t, 2
    else:
        whole = va + vb + vc
        s, t, feature = vb / whole, vc / whole, 0
    px, py, pz = ax - s * ux - t * vx, ay - s * uy - t * vy, az - s * uz - t * vz
    return px * px + py * py + pz * pz, feature, px, py, pz


@njit(nogil=True, cache=True)
def _box_squared(boxes, node, point):  # type: ignore[no-untyped-def]
    dx = max(boxes[node, 0] - point[0], 0.0, point[0] - boxes[node, 3])
    dy = max(boxes[node, 1] - point[1], 0.0, point[1] - boxes[node, 4])
    dz = max(boxes[node, 2] - point[2], 0.0, point[2] - boxes[node, 5])
    return dx * dx + dy * dy + dz * dz


@njit(nogil=True, cache=True)
def _nearest_slot(arrays, labels, patch, point, best):  # type: ignore[no-untyped-def]
    """Row of the nearest triangle under a squared distance, those of ``patch`` left out; -1 for none.

    The way back up is kept in the bits of ``waiting``, one a level: set where the other child is still to be seen.
    """
    boxes, leaves = arrays.boxes, arrays.boxes.shape[0] // 2
    nodes, labelled = labels[1], labels[0].shape[0] > 0
    found, feature = -1, 0
    node, waiting = 1, 0
    while True:
        if node < leaves:
            near, far = 2 * node, 2 * node + 1
            d_near = np.inf if labelled and nodes[near] == patch else _box_squared(boxes, near, point)
            d_far = np.inf if labelled and nodes[far] == patch else _box_squared(boxes, far, point)
            if d_far < d_near:
                near, d_near, d_far = far, d_far, d_near
            if d_near < best:
                node, waiting = near, 2 * waiting + (1 if d_far < best else 0)
                continue
        else:
            best, found, feature = _leaf_best(
                arrays.corners, labels, patch, point, (node - leaves, leaves), (best, found, feature)
            )
        while True:
            if waiting == 0:
                return best, found, feature
            while waiting & 1 == 0:
                waiting >>= 1
                node >>= 1
            node ^= 1
            waiting ^= 1
            if _box_squared(boxes, node, point) < best:
                break


@njit(nogil=True, cache=True)
def _leaf_best(corners, labels, patch, point, leaf, so_far):  # type: ignore[no-untyped-def]
    best, found, feature = so_far
    number, leaves = leaf
    count, labelled = corners.shape[0], labels[0].shape[0] > 0
    for slot in range(number * count // leaves, (number + 1) * count // leaves):
        if labelled and labels[0][slot] == patch:
            continue
        squared, part, _, _, _ = closest_on(corners, slot, point[0], point[1], point[2])
        if squared < best:
            best, found, feature = squared, slot, part
    return best, found, feature


@njit(nogil=True, cache=True)
def nearest_face(arrays, x, y, z, bound):  # type: ignore[no-untyped-def]
    """Squared distance (mm2), face of the mesh and feature (see ``closest_on``) nearest to a point.

    Only what is nearer than ``bound`` (mm, may be infinite) is found; else the face is -1.
    """
    none = arrays.faces[:0]
    squared, slot, feature = _nearest_slot(arrays, (none, none), 0, (x, y, z), bound * bound)
    return squared, (arrays.faces[slot] if slot >= 0 else -1), feature


@njit(nogil=True, cache=True)
def _side(arrays, slot, x, y, z):  # type: ignore[no-untyped-def]
    """Signed distance to one triangle of the tree that is known to be the nearest."""
    corners = arrays.corners
    squared, feature, px, py, pz = closest_on(corners, slot, x, y, z)
    if feature == 0:
        ux, uy, uz = (
            corners[slot, 3] - corners[slot, 0],
            corners[slot, 4] - corners[slot, 1],
            corners[slot, 5] - corners[slot, 2],
        )
        vx, vy, vz = (
            corners[slot, 6] - corners[slot, 0],
            corners[slot, 7] - corners[slot, 1],
            corners[slot, 8] - corners[slot, 2],
        )
        dot = px * (uy * vz - uz * vy) + py * (uz * vx - ux * vz) + pz * (ux * vy - uy * vx)
    elif feature < 4:
        row = arrays.edges[slot, feature - 1]
        dot = px * arrays.edge_normals[row, 0] + py * arrays.edge_normals[row, 1] + pz * arrays.edge_normals[row, 2]
    else:
        row = arrays.vertices[slot, feature - 4]
        dot = (
            px * arrays.vertex_normals[row, 0]
            + py * arrays.vertex_normals[row, 1]
            + pz * arrays.vertex_normals[row, 2]
        )
    return -np.sqrt(squared) if dot > 0.0 else np.sqrt(squared)


@njit(nogil=True, cache=True)
def signed_at(arrays, x, y, z, bound):  # type: ignore[no-untyped-def]
    """Signed distance (mm, positive inside) and nearest face of the mesh.

    ``bound`` is an upper bound on the size of the distance, infinite where none is known: the nearer, the quicker. A
    bound that does not hold gives NaN and -1, never a wrong figure.
    """
    none = arrays.faces[:0]
    reach = bound * (1.0 + 1e-12) + 1e-9  # a bound that is met exactly still finds its triangle
    _, slot, _ = _nearest_slot(arrays, (none, none), 0, (x, y, z), reach * reach)
    if slot < 0:
        return np.nan, -1
    distance = _side(arrays, slot, x, y, z)
    inside = winding_along(arrays, 2, x, y, z) > 0
    if inside != (distance > 0.0):
        inside = _majority(inside, winding_along(arrays, 0, x, y, z) > 0, winding_along(arrays, 1, x, y, z) > 0)
    return (abs(distance) if inside else -abs(distance)), arrays.faces[slot]


@njit(nogil=True, cache=True)
def _majority(a, b, c):  # type: ignore[no-untyped-def]
    return (a and b) or (b and c) or (c and a)


@njit(nogil=True, cache=True)
# eight plain numbers and arrays are quicker to pass than records are to build in the innermost loop
def nearest_other(arrays, slots, nodes, patch, x, y, z, bound):  # type: ignore[no-untyped-def]  # noqa: PLR0913, PLR0917
    """Distance (mm, no sign) to the nearest triangle that is not of ``patch``; ``bound`` where none is nearer.

    ``slots`` and ``nodes`` are those of ``label_patches``.
    """
    squared, _, _ = _nearest_slot(arrays, (slots, nodes), patch, (x, y, z), bound * bound)
    return np.sqrt(squared)


@njit(nogil=True, cache=True)
def _signed_many(arrays, points, start, stop, distance, face):  # type: ignore[no-untyped-def]
    bound = np.inf
    for i in range(start, stop):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        if not np.isfinite(x + y + z):
            distance[i], face[i], bound = np.nan, -1, np.inf
            continue
        distance[i], face[i] = signed_at(arrays, x, y, z, bound)
        if i + 1 < stop:  # the distance changes by no more than the step to the next point
            dx, dy, dz = points[i + 1, 0] - x, points[i + 1, 1] - y, points[i + 1, 2] - z
            bound = abs(distance[i]) + np.sqrt(dx * dx + dy * dy + dz * dz)
            if not np.isfinite(bound):
                bound = np.inf
