"""A signed-distance grid over a closed skin: built once, asked millions of times, with a measured error bound.

The kernel ``value_at`` may be called from other numba kernels with ``grid.values``, ``grid.origin`` and
``grid.spacing``. Exact answers are those of ``nearest``.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points
from formmaker.geometry.inside import nodes_inside
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import SkinTree, signed_distance
from formmaker.geometry.sweeping import node_distances

_AIR = 2  # cells of air around the skin
_WORST = 3000  # cells probed of each of three kinds: more found nothing larger on the scans
_EVEN = 6000  # cells probed as an even spread
_NEAR = 1.5  # cells: what counts as near the skin
_WITHIN = np.array([[0.5, 0.5, 0.5], [0.25, 0.6, 0.8], [0.75, 0.3, 0.4]])  # the middle of a cell, and two off it
_WITHIN.flags.writeable = False
_SAFETY = 1.5  # the error bound is this times the largest error measured; see ``measure_error``


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DistanceGrid:
    """Signed distances at the nodes of a grid, positive inside.

    Parameters
    ----------
    origin : (3,) float
        First node, mm.
    spacing : float
        From node to node along x, y and z, mm.
    values : (nx, ny, nz) float32
        Signed distance at the nodes, mm.
    error : float
        How far a lookup within the grid may be off to either side, mm: measured, see ``measure_error``.
    over : float
        How far a lookup may lie above the truth (the unsafe side: more wood than there is), mm: measured likewise.
    """

    origin: NDArray[np.float64]
    spacing: float
    values: NDArray[np.float32]
    error: float
    over: float

    def __post_init__(self) -> None:
        for name, kind in (("origin", np.float64), ("values", np.float32)):
            array = np.array(getattr(self, name), dtype=kind, order="C")
            array.flags.writeable = False
            object.__setattr__(self, name, array)
        if not self.spacing > 0.0 or not self.error >= 0.0 or not self.over >= 0.0:
            raise ValueError(
                f"spacing {self.spacing} mm and errors {self.error}, {self.over} mm; give positive lengths"
            )

    @property
    def bounds(self) -> NDArray[np.float64]:
        """First and last node, (2, 3), mm."""
        return np.stack([self.origin, self.origin + self.spacing * (np.array(self.values.shape) - 1)])


@dataclass(frozen=True, slots=True, kw_only=True)
class GridError:
    """Largest error met to either side and above the truth, mm, and at how many points it was looked for."""

    error: float
    over: float
    count: int


def build_grid(mesh: Mesh, tree: SkinTree, *, cells: int = 128, threads: int = 2) -> DistanceGrid:
    """Build the grid of a closed skin.

    Parameters
    ----------
    mesh : Mesh
        Closed, wound outward.
    tree : SkinTree
        Of this mesh.
    cells : int
        Cells along the longest side of the mesh; at least two more of air stand around it.
    threads : int
        How many cores to use.

    Returns
    -------
    DistanceGrid
        Covers the mesh and the air around it.

    Raises
    ------
    ValueError
        If fewer than two cells are asked, or the mesh has no extent.

    Notes
    -----
    Distances are those of ``sweeping.node_distances``: exact within 1.75 cells of the skin, swept outward from there;
    what a node misses by that is part of the measured error.
    Signs are those of ``inside.nodes_inside``.
    """
    low, high = mesh.bounds
    longest = float((high - low).max())
    if cells < 2 or not longest > 0.0:
        raise ValueError(f"a grid of {cells} cells over {longest} mm; ask for two cells or more over a real body")
    spacing = longest / cells
    inner = np.ceil((high - low) / spacing - 1e-9).astype(int)
    shape = tuple(int(n) for n in inner + 2 * _AIR + 1)
    # The skin stands in the middle, so a symmetric body gives a symmetric grid.
    origin = 0.5 * (low + high) - 0.5 * spacing * (np.array(shape) - 1)
    inside = nodes_inside(mesh, origin=origin, spacing=spacing, shape=shape, threads=threads)
    distance = node_distances(tree, origin=origin, spacing=spacing, shape=shape, threads=threads)
    values = np.where(inside, distance, -distance).astype(np.float32)
    bare = DistanceGrid(origin=origin, spacing=spacing, values=values, error=0.0, over=0.0)
    found = measure_error(bare, tree, _probe_points(bare), threads=threads)
    return DistanceGrid(
        origin=origin, spacing=spacing, values=values, error=_SAFETY * found.error, over=_SAFETY * found.over
    )


def grid_distance(grid: DistanceGrid, points: Points) -> NDArray[np.float64]:
    """Signed distance (n,), mm, by lookup; beyond the grid a lower bound, NaN for a point that is not finite."""
    array = np.ascontiguousarray(points, dtype=np.float64).reshape(-1, 3)
    array.flags.writeable = False
    out = np.empty(len(array))
    _values_many(grid.values, grid.origin, grid.spacing, array, out)
    return out


def inside_posed(
    grid: DistanceGrid, points: Points, *, rotations: Points, origins: Points, threads: int = 1
) -> NDArray[np.bool_]:
    """Which points of a body lie in the wood, for many placements of the body.

    Parameters
    ----------
    grid : DistanceGrid
        Of the wood.
    points : (n, 3) float
        Of the body, in its own frame, mm.
    rotations, origins : (k, 3, 3) and (k, 3) float
        Placements: ``wood = rotation @ body + origin``.
    threads : int
        How many cores to use.

    Returns
    -------
    (k, n) bool
        True where the looked-up distance is above zero.
    """
    body = np.ascontiguousarray(points, dtype=np.float64)
    turns = np.ascontiguousarray(rotations, dtype=np.float64)
    shifts = np.ascontiguousarray(origins, dtype=np.float64)
    out = np.empty((len(turns), len(body)), dtype=np.bool_)
    edges = np.linspace(0, len(turns), threads + 1).astype(int)
    with ThreadPoolExecutor(threads) as pool:
        list(
            pool.map(
                lambda i: _inside_many(
                    grid.values, grid.origin, grid.spacing, body, turns, shifts, edges[i], edges[i + 1], out
                ),
                range(threads),
            )
        )
    return out


def measure_error(grid: DistanceGrid, tree: SkinTree, points: Points, *, threads: int = 2) -> GridError:
    """Compare lookups with exact distances.

    Parameters
    ----------
    grid : DistanceGrid
        To be measured.
    tree : SkinTree
        Of the same skin.
    points : (n, 3) float
        Where to compare, mm; within the grid.
    threads : int
        How many cores to use.

    Returns
    -------
    GridError
        The largest errors found, without any safety factor.

    Notes
    -----
    ``build_grid`` measures at points chosen to find the worst and not at chance points: cells where the distance
    bends most (beside sharp edges, on the middle surface of walls), cells that meet the skin, and an even spread
    over the rest; see ``_probe_points``. The bound is the largest error found times 1.5. Random points (a million
    on each of the shared scans) stayed below the unmultiplied figure by the amounts given in DEVELOPERS.md.
    """
    exact = signed_distance(tree, points, threads=threads).distance
    difference = grid_distance(grid, points) - exact
    return GridError(
        error=float(np.abs(difference).max()), over=max(0.0, float(difference.max())), count=len(difference)
    )


def _probe_points(grid: DistanceGrid) -> Points:
    """Points in the cells where the distance bends most, there and near the skin, and an even spread."""
    bend = _bends(grid)
    values = grid.values[:-1, :-1, :-1]
    chosen = [
        _largest(bend),
        _largest(np.where(values > 0.0, bend, 0.0)),
        _largest(np.where(np.abs(values) < _NEAR * grid.spacing, bend, 0.0)),
        np.linspace(0, bend.size - 1, _EVEN).astype(np.int64),
    ]
    cells = np.stack(np.unravel_index(np.concatenate(chosen), bend.shape), axis=-1)
    cells = np.concatenate([cells] * len(_WITHIN))
    within = np.repeat(_WITHIN, len(cells) // len(_WITHIN), axis=0)
    return grid.origin + grid.spacing * (cells + within)


def _bends(grid: DistanceGrid) -> NDArray[np.float64]:
    """How far the slope in the middle of each cell falls short of 1: an exact distance that is not bent has slope 1."""
    short = np.ones(tuple(n - 1 for n in grid.values.shape))
    for axis in range(3):
        slope = np.diff(grid.values, axis=axis) / grid.spacing
        for other in range(3):
            if other != axis:
                slope = 0.5 * (np.delete(slope, 0, axis=other) + np.delete(slope, -1, axis=other))
        short -= slope**2
    return short


def _largest(sizes: NDArray[np.float64]) -> NDArray[np.int64]:
    count = min(_WORST, sizes.size)
    return np.argpartition(sizes.ravel(), -count)[-count:]


@njit(nogil=True, cache=True)
def value_at(values, origin, spacing, x, y, z):  # type: ignore[no-untyped-def]
    """Look a signed distance up, mm: trilinear between the nodes.

    Beyond the grid the value at its nearest point less the distance to it: never above the truth, and with no step.
    NaN where the point is not finite.
    """
    u, v, w = (x - origin[0]) / spacing, (y - origin[1]) / spacing, (z - origin[2]) / spacing
    cu = min(max(u, 0.0), values.shape[0] - 1.0) if u == u else 0.0
    cv = min(max(v, 0.0), values.shape[1] - 1.0) if v == v else 0.0
    cw = min(max(w, 0.0), values.shape[2] - 1.0) if w == w else 0.0
    i, j, k = min(int(cu), values.shape[0] - 2), min(int(cv), values.shape[1] - 2), min(int(cw), values.shape[2] - 2)
    s, t, r = cu - i, cv - j, cw - k
    low = (values[i, j, k] * (1.0 - r) + values[i, j, k + 1] * r) * (1.0 - t) + (
        values[i, j + 1, k] * (1.0 - r) + values[i, j + 1, k + 1] * r
    ) * t
    i += 1
    high = (values[i, j, k] * (1.0 - r) + values[i, j, k + 1] * r) * (1.0 - t) + (
        values[i, j + 1, k] * (1.0 - r) + values[i, j + 1, k + 1] * r
    ) * t
    value = low * (1.0 - s) + high * s
    if cu == u and cv == v and cw == w:
        return value
    return value - spacing * np.sqrt((u - cu) ** 2 + (v - cv) ** 2 + (w - cw) ** 2)


@njit(nogil=True, cache=True)
def _values_many(values, origin, spacing, points, out):  # type: ignore[no-untyped-def]
    for i in range(points.shape[0]):
        out[i] = value_at(values, origin, spacing, points[i, 0], points[i, 1], points[i, 2])


@njit(nogil=True, cache=True)
def _inside_many(values, origin, spacing, body, turns, shifts, first, stop, out):  # type: ignore[no-untyped-def]
    for pose in range(first, stop):
        turn, shift = turns[pose], shifts[pose]
        for i in range(body.shape[0]):
            x, y, z = body[i, 0], body[i, 1], body[i, 2]
            out[pose, i] = (
                value_at(
                    values,
                    origin,
                    spacing,
                    turn[0, 0] * x + turn[0, 1] * y + turn[0, 2] * z + shift[0],
                    turn[1, 0] * x + turn[1, 1] * y + turn[1, 2] * z + shift[1],
                    turn[2, 0] * x + turn[2, 1] * y + turn[2, 2] * z + shift[2],
                )
                > 0.0
            )
