"""A signed-distance grid over a closed skin: built once, asked millions of times, with a measured error bound.

The kernel ``value_at`` may be called from other numba kernels with ``grid.values``, ``grid.origin`` and
``grid.spacing``. Exact answers are those of ``nearest``.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points
from formmaker.geometry.inside import nodes_inside
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import SkinTree, signed_distance
from formmaker.geometry.sweeping import node_distances

_AIR = 2  # cells of air around the skin
_WORST = 2000  # cells probed of each of three kinds: more found nothing larger on the scans
_CLOSER = 150  # points, of either kind of error, that are looked at all round
_EVEN = 4000  # cells probed as an even spread
_NEAR = 1.5  # cells: what counts as near the skin
_WITHIN = np.array([[0.5, 0.5, 0.5], [0.25, 0.6, 0.8], [0.75, 0.3, 0.4]])  # the middle of a cell, and two off it
_WITHIN.flags.writeable = False
_CEILING = 0.5 * 3.0**0.5  # cells: the most a lookup between exact nodes can be off; see ``measure_error``
# Cells: a lookup differs from the first node of its cell by no more than sqrt(3) as far out as nodes are exact; and
# the border of the grid, two cells from the skin, is settled.
_SETTLED = 1.9
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
        How far a lookup that says wood (above zero) may lie above the truth, the unsafe side, mm: measured likewise.
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GridError:
    """Errors met at some points (n,), mm: to either side, above the truth where wood is claimed, at nodes near by."""

    errors: NDArray[np.float64]
    overs: NDArray[np.float64]
    errors_at_nodes: NDArray[np.float64]


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
    shape = (int(inner[0]) + 2 * _AIR + 1, int(inner[1]) + 2 * _AIR + 1, int(inner[2]) + 2 * _AIR + 1)
    # The skin stands in the middle, so a symmetric body gives a symmetric grid.
    origin = 0.5 * (low + high) - 0.5 * spacing * (np.array(shape) - 1)
    inside = nodes_inside(mesh, origin=origin, spacing=spacing, shape=shape, threads=threads)
    distance = node_distances(tree, inside, origin=origin, spacing=spacing, threads=threads)
    values = np.where(inside, distance, -distance).astype(np.float32)
    bare = DistanceGrid(origin=origin, spacing=spacing, values=values, error=0.0, over=0.0)
    found = _hunt_error(bare, tree, threads)
    ceiling = _CEILING * spacing + _SAFETY * float(found.errors_at_nodes.max())
    return DistanceGrid(
        origin=origin,
        spacing=spacing,
        values=values,
        error=min(_SAFETY * float(found.errors.max()), ceiling),
        over=min(_SAFETY * float(found.overs.max()), ceiling),
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

    Raises
    ------
    ValueError
        If a point or a placement is not finite.
    """
    body = np.ascontiguousarray(np.asarray(points, dtype=np.float64).T)
    if not (np.isfinite(body).all() and np.isfinite(rotations).all() and np.isfinite(origins).all()):
        raise ValueError("points and placements must be finite numbers; leave out those that are not")
    turns = np.ascontiguousarray(rotations, dtype=np.float64) / grid.spacing
    shifts = (np.asarray(origins, dtype=np.float64) - grid.origin) / grid.spacing
    out = np.empty((len(turns), body.shape[1]), dtype=np.bool_)
    edges = [len(turns) * i // threads for i in range(threads + 1)]

    def run(part: tuple[int, int]) -> None:
        _inside_many(grid.values, _SETTLED * grid.spacing, body, turns, shifts, part, out)

    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(run, pairwise(edges)))
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
        Where to compare, mm; within the grid. The node below each is compared too.
    threads : int
        How many cores to use.

    Returns
    -------
    GridError
        As found, without any safety factor.

    Notes
    -----
    ``build_grid`` does not measure at chance points but hunts for the worst: in the cells where the distance bends
    most (the middle surfaces between walls, sharp edges), in those of them near the skin, in those in the wood
    where it sags most, over an even spread, and then all round the worst of these. Its bound is the largest error
    found times 1.5, and never more than a ceiling that is proven where the nodes are exact: a trilinear mean of
    values that change by no more than one moves is off by no more than the mean distance to the corners, sqrt(3) / 2
    cells at most (Jensen's inequality).
    """
    nodes = np.unique(np.floor((points - grid.origin) / grid.spacing).astype(np.int64), axis=0)
    exact = signed_distance(tree, np.vstack([points, grid.origin + grid.spacing * nodes]), threads=threads).distance
    found = grid_distance(grid, points)
    difference = found - exact[: len(points)]
    at_nodes = grid.values[tuple(nodes.T)] - exact[len(points) :]
    return GridError(
        errors=np.abs(difference),
        overs=np.where(found > 0.0, np.maximum(difference, 0.0), 0.0),
        errors_at_nodes=np.abs(at_nodes),
    )


def _hunt_error(grid: DistanceGrid, tree: SkinTree, threads: int) -> GridError:
    """Measure where errors are expected, then once more all round the places where the largest were found."""
    cells = _suspects(grid)
    first = measure_error(grid, tree, _points_in(grid, cells), threads=threads)
    worst = np.unique(np.concatenate([_largest(first.errors, _CLOSER), _largest(first.overs, _CLOSER)]) % len(cells))
    steps = np.stack(np.meshgrid(*[[-1, 0, 1]] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    around = (cells[worst][:, None] + steps).reshape(-1, 3)
    around = np.unique(np.clip(around, 0, np.array(grid.values.shape) - 2), axis=0)
    second = measure_error(grid, tree, _points_in(grid, around), threads=threads)
    return GridError(
        errors=np.concatenate([first.errors, second.errors]),
        overs=np.concatenate([first.overs, second.overs]),
        errors_at_nodes=np.concatenate([first.errors_at_nodes, second.errors_at_nodes]),
    )


def _points_in(grid: DistanceGrid, cells: NDArray[np.int64]) -> Points:
    """Three points in each cell, (3 n, 3): all cells, then all again."""
    return np.asarray((grid.origin + grid.spacing * (cells + _WITHIN[:, None, :])).reshape(-1, 3))


def _suspects(grid: DistanceGrid) -> NDArray[np.int64]:
    """Cells (n, 3) where the distance bends most, there and near the skin, or sags most in the wood, and a spread."""
    bend = _bends(grid)
    values = grid.values[:-1, :-1, :-1]
    chosen = [
        _largest(bend, _WORST),
        _largest(np.where(np.abs(values) < _NEAR * grid.spacing, bend, 0.0), _WORST),
        _largest(np.where(values > 0.0, _sags(grid), 0.0), _WORST),
        np.linspace(0, bend.size - 1, _EVEN).astype(np.int64),
    ]
    return np.stack(np.unravel_index(np.unique(np.concatenate(chosen)), bend.shape), axis=-1)


def _bends(grid: DistanceGrid) -> NDArray[np.float32]:
    """How far the slope amid each cell falls short of 1, which is that of a distance that does not bend."""
    low, high = slice(None, -1), slice(1, None)
    short = np.ones(tuple(n - 1 for n in grid.values.shape), dtype=np.float32)
    for axis in range(3):
        slope = np.diff(np.moveaxis(grid.values, axis, 0), axis=0)
        slope = slope[:, low, low] + slope[:, low, high] + slope[:, high, low] + slope[:, high, high]
        short -= np.moveaxis(slope, 0, axis) ** 2 / np.float32(16.0 * grid.spacing**2)
    return short


def _sags(grid: DistanceGrid) -> NDArray[np.float32]:
    """Sum of the second differences at the first node of each cell: above zero a lookup lies above the truth."""
    sag = np.zeros(grid.values.shape, dtype=np.float32)
    for axis in range(3):
        np.moveaxis(sag, axis, 0)[1:-1] += np.diff(np.moveaxis(grid.values, axis, 0), n=2, axis=0)
    return sag[:-1, :-1, :-1]


def _largest(sizes: NDArray[np.floating], count: int) -> NDArray[np.int64]:
    count = min(count, sizes.size)
    return np.asarray(np.argpartition(sizes.ravel(), -count)[-count:])


@njit(nogil=True, cache=True)
def value_at(values, origin, spacing, x, y, z):  # type: ignore[no-untyped-def]
    """Look a signed distance up, mm: trilinear between the nodes.

    Beyond the grid the value at its nearest point less the distance to it: no step, and a lower bound on the truth
    (up to ``error``), which lies nearer zero by up to twice that distance.
    NaN where the point is not finite.
    """
    u, v, w = (x - origin[0]) / spacing, (y - origin[1]) / spacing, (z - origin[2]) / spacing
    if 0.0 <= u < values.shape[0] - 1 and 0.0 <= v < values.shape[1] - 1 and 0.0 <= w < values.shape[2] - 1:
        return _between(values, u, v, w)
    if not np.isfinite(u + v + w):
        return np.nan
    # The last node itself belongs to the cell before it.
    cu = min(max(u, 0.0), np.nextafter(values.shape[0] - 1.0, 0.0))
    cv = min(max(v, 0.0), np.nextafter(values.shape[1] - 1.0, 0.0))
    cw = min(max(w, 0.0), np.nextafter(values.shape[2] - 1.0, 0.0))
    return _between(values, cu, cv, cw) - spacing * np.sqrt((u - cu) ** 2 + (v - cv) ** 2 + (w - cw) ** 2)


@njit(nogil=True, cache=True)
def _between(values, u, v, w):  # type: ignore[no-untyped-def]
    """Trilinear mean at a place within the grid, in cells from its first node."""
    # An index without a sign spares the test for counting from the end: a third of the time.
    i, j, k = np.uint64(u), np.uint64(v), np.uint64(w)
    one = np.uint64(1)
    s, t, r = u - i, v - j, w - k
    a = values[i, j, k] + r * (values[i, j, k + one] - values[i, j, k])
    b = values[i, j + one, k] + r * (values[i, j + one, k + one] - values[i, j + one, k])
    i += one
    c = values[i, j, k] + r * (values[i, j, k + one] - values[i, j, k])
    d = values[i, j + one, k] + r * (values[i, j + one, k + one] - values[i, j + one, k])
    low, high = a + t * (b - a), c + t * (d - c)
    return low + s * (high - low)


@njit(nogil=True, cache=True)
def _values_many(values, origin, spacing, points, out):  # type: ignore[no-untyped-def]
    for i in range(points.shape[0]):
        out[i] = value_at(values, origin, spacing, points[i, 0], points[i, 1], points[i, 2])


@njit(nogil=True, cache=True)
def _inside_many(values, reach, body, turns, shifts, part, out):  # type: ignore[no-untyped-def]
    """Fill rows of ``out``; ``body`` (3, n); placements lead to cells from the first node of the grid.

    Where the first node of a cell is farther from the skin than ``reach``, its sign is that of the lookup, and one
    value is read instead of eight. A point beyond the grid is moved to its border, which is air as well.
    """
    flat = values.reshape(-1)
    top_x, top_y, top_z = values.shape[0] - 1.000001, values.shape[1] - 1.000001, values.shape[2] - 1.000001
    step_x, step_y = values.shape[1] * values.shape[2], values.shape[2]
    cells = np.empty(body.shape[1], dtype=np.uint32)
    for pose in range(part[0], part[1]):
        ax, ay, az, ox = turns[pose, 0, 0], turns[pose, 0, 1], turns[pose, 0, 2], shifts[pose, 0]
        bx, by, bz, oy = turns[pose, 1, 0], turns[pose, 1, 1], turns[pose, 1, 2], shifts[pose, 1]
        cx, cy, cz, oz = turns[pose, 2, 0], turns[pose, 2, 1], turns[pose, 2, 2], shifts[pose, 2]
        for i in range(cells.shape[0]):  # a loop without a branch runs several points at once
            x, y, z = body[0, i], body[1, i], body[2, i]
            u = np.int32(min(max(ax * x + ay * y + az * z + ox, 0.0), top_x))
            v = np.int32(min(max(bx * x + by * y + bz * z + oy, 0.0), top_y))
            w = np.int32(min(max(cx * x + cy * y + cz * z + oz, 0.0), top_z))
            cells[i] = u * step_x + v * step_y + w
        for i in range(cells.shape[0]):
            value = flat[cells[i]]
            out[pose, i] = value > 0.0
            if abs(value) <= reach:
                x, y, z = body[0, i], body[1, i], body[2, i]
                du = min(max(ax * x + ay * y + az * z + ox, 0.0), top_x)
                dv = min(max(bx * x + by * y + bz * z + oy, 0.0), top_y)
                dw = min(max(cx * x + cy * y + cz * z + oz, 0.0), top_z)
                out[pose, i] = _between(values, du, dv, dw) > 0.0
