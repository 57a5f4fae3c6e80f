"""Unsigned distances from the nodes of a grid to a skin: exact in a band round it, swept outward from there.

No signs (see ``inside``), no lookups (see ``grid``).
"""

from concurrent.futures import ThreadPoolExecutor
from itertools import pairwise

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points
from formmaker.geometry.nearest import SkinTree, closest_on

_BAND = 1.75  # cells: just over the diagonal of a cell, so that every cell that meets the skin has exact corners


def node_distances(
    tree: SkinTree, inside: NDArray[np.bool_], *, origin: Points, spacing: float, threads: int = 2
) -> NDArray[np.float64]:
    """Distance from every node of a grid to the skin.

    Parameters
    ----------
    tree : SkinTree
        Of the skin.
    inside : (nx, ny, nz) bool
        Which nodes lie inside; see ``inside.nodes_inside``.
    origin : (3,) float
        The first node, mm.
    spacing : float
        From node to node along x, y and z, mm.
    threads : int
        How many cores to use.

    Returns
    -------
    (nx, ny, nz) float
        mm, never below the true distance. Exact within 1.75 cells of the skin.

    Notes
    -----
    Each node takes the nearest triangle of the neighbours that were seen before it, in all eight diagonal directions
    (closest points carried on: P.-E. Danielsson, "Euclidean distance mapping", CGIP 14, 1980; order of the sweeps:
    H. Zhao, "A fast sweeping method for Eikonal equations", Math. Comp. 74, 2005). Wood and air are swept side by
    side: where they meet all nodes are exact already, and neither writes what the other reads.
    """
    distance = np.full(inside.shape, np.inf)
    slot = np.full(inside.shape, -1, dtype=np.int32)
    edges = np.linspace(0, inside.shape[0], 2 * threads + 1).astype(int)

    def sweep(side: bool) -> None:
        for turn in range(8):
            _sweep(tree.arrays.corners, (origin, spacing), turn, inside, side, distance, slot)

    with ThreadPoolExecutor(threads) as pool:
        list(
            pool.map(
                lambda part: _fill_band(tree.arrays.corners, origin, spacing, part, distance, slot),
                pairwise(edges),
            )
        )
        list(pool.map(sweep, (False, True)))
    return distance


@njit(nogil=True, cache=True)
def _reach(low, high, start, spacing, band, size):  # type: ignore[no-untyped-def]
    """First and last-but-one node within a band of an interval."""
    first = max(0, int(np.ceil((low - band - start) / spacing)))
    return first, min(size, int(np.floor((high + band - start) / spacing)) + 1)


@njit(nogil=True, cache=True)
def _fill_band(corners, origin, spacing, part, distance, slots):  # type: ignore[no-untyped-def]
    """Give the nodes between two x positions that lie within a band of the skin their distance and triangle."""
    band = _BAND * spacing
    x_first, x_stop = part
    for slot in range(corners.shape[0]):
        c = corners[slot]
        i_first, i_stop = _reach(min(c[0], c[3], c[6]), max(c[0], c[3], c[6]), origin[0], spacing, band, x_stop)
        i_first = max(i_first, x_first)
        if i_first >= i_stop:
            continue
        j_first, j_stop = _reach(
            min(c[1], c[4], c[7]), max(c[1], c[4], c[7]), origin[1], spacing, band, distance.shape[1]
        )
        z_low, z_high = min(c[2], c[5], c[8]), max(c[2], c[5], c[8])
        nx = (c[4] - c[1]) * (c[8] - c[2]) - (c[5] - c[2]) * (c[7] - c[1])
        ny = (c[5] - c[2]) * (c[6] - c[0]) - (c[3] - c[0]) * (c[8] - c[2])
        nz = (c[3] - c[0]) * (c[7] - c[1]) - (c[4] - c[1]) * (c[6] - c[0])
        size = np.sqrt(nx * nx + ny * ny + nz * nz)
        for i in range(i_first, i_stop):
            x = origin[0] + spacing * i
            for j in range(j_first, j_stop):
                y = origin[1] + spacing * j
                low, high = z_low - band, z_high + band
                if abs(nz) > 1e-6 * size:  # only the part of the column within the band of the triangle's plane
                    middle = c[2] - (nx * (x - c[0]) + ny * (y - c[1])) / nz
                    half = band * size / abs(nz)
                    low, high = max(low, middle - half), min(high, middle + half)
                k_first, k_stop = _reach(low, high, origin[2], spacing, 1e-9 * band, distance.shape[2])
                for k in range(k_first, k_stop):
                    squared, _, _, _, _ = closest_on(corners, slot, x, y, origin[2] + spacing * k)
                    if squared < distance[i, j, k] * distance[i, j, k]:
                        distance[i, j, k], slots[i, j, k] = np.sqrt(squared), slot


@njit(nogil=True, cache=True)
def _sweep(corners, place, turn, inside, wanted, distance, slots):  # type: ignore[no-untyped-def]
    """Carry nearest triangles on in one of the eight diagonal directions, in the wood or in the air."""
    origin, spacing = place
    band = _BAND * spacing
    size_x, size_y, size_z = distance.shape
    back_x, back_y, back_z = turn & 1, turn >> 1 & 1, turn >> 2 & 1
    for a in range(size_x):
        i = size_x - 1 - a if back_x else a
        for b in range(size_y):
            j = size_y - 1 - b if back_y else b
            for c in range(size_z):
                k = size_z - 1 - c if back_z else c
                best, own = distance[i, j, k], slots[i, j, k]
                if best <= band or inside[i, j, k] != wanted:
                    continue
                last = own
                for side in range(1, 8):
                    di, dj, dk = side & 1, side >> 1 & 1, side >> 2 & 1
                    p, q, r = i + (di if back_x else -di), j + (dj if back_y else -dj), k + (dk if back_z else -dk)
                    if p < 0 or q < 0 or r < 0 or p >= size_x or q >= size_y or r >= size_z:
                        continue
                    other = slots[p, q, r]
                    # A triangle cannot be nearer here than the neighbour's distance less the step from it.
                    if (
                        other < 0
                        or other in (own, last)
                        or distance[p, q, r] - spacing * np.sqrt(di + dj + dk) >= best
                    ):
                        continue
                    last = other
                    squared, _, _, _, _ = closest_on(
                        corners, other, origin[0] + spacing * i, origin[1] + spacing * j, origin[2] + spacing * k
                    )
                    if squared < best * best:
                        best, own = np.sqrt(squared), other
                distance[i, j, k], slots[i, j, k] = best, own
