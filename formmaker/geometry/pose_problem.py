"""A body to be held by a skin, over a range of poses, made ready for the search: points, boxes, limits.

What the body stands for is not known here; a size is whatever its rings grow with.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from formmaker.geometry.charts import cube_charts
from formmaker.geometry.frames import Points
from formmaker.geometry.least import Skin
from formmaker.geometry.nearest import signed_distance
from formmaker.geometry.pose_bounds import COLUMNS, FACE, MOST, VARIABLES
from formmaker.geometry.pose_limits import PoseLimits
from formmaker.geometry.turned_points import Rings, points_round

_COARSE = 360  # points of the body for bounds
_DENSE = 1800  # for bounds of small boxes
_FINE = 3600  # for what is held
_NODES = 20_000  # nodes of the grid whose error is measured
_SAFETY = 1.5
_PLANES = 1024  # largest of the hull, and as many spread evenly
_NEAR = 24  # cells on the long side within which the nearest plane is looked up


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoseRange:
    """Where poses are looked for.

    Parameters
    ----------
    places : (2, 3) float
        Lowest and highest place of the body's reference, mm.
    axis : (3,) float
        Direction that the charts are built about; directions within ``tilt`` of it, radians.
    tilt : float
    along : (2,) float
        From where to where the reference may lie beyond the place along the direction, mm.
    """

    places: NDArray[np.float64]
    axis: Points
    tilt: float = np.pi
    along: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoseProblem:
    """A body to be held by a skin, ready for the kernels.

    Parameters
    ----------
    coarse, fine : tuple
        What ``pose_boxes.bound_boxes`` is given, with few points and with many.
    where : PoseRange
    rings : Rings
    sizes : tuple of float
        Least and greatest size looked for.
    """

    coarse: tuple[object, ...]
    fine: tuple[object, ...]
    where: PoseRange
    rings: Rings
    sizes: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ceiling:
    """What a signed distance lies under at any place, as the kernels are given it: nodes of a grid, and planes."""

    wood: tuple[object, ...]


def ceiling_of(skin: Skin, bounds: NDArray[np.float64]) -> Ceiling:
    """Make the ceiling of a skin, whose bounds are (2, 3), mm: a third of a second, once for many problems."""
    grid = skin.grid
    planes = near_planes(skin.tree.arrays.corners.reshape(-1, 3), bounds)
    return Ceiling(wood=(grid.values, grid.origin, grid.spacing, bounds, grid.error, _far_error(skin), planes))


def pose_problem(
    ceiling: Ceiling,
    rings: Rings,
    where: PoseRange,
    *,
    needs: tuple[float, float],
    sizes: tuple[float, float],
    limits: PoseLimits,
) -> PoseProblem:
    """Make a problem ready.

    Parameters
    ----------
    ceiling : Ceiling
        Of the skin.
    rings : Rings
    where : PoseRange
    needs : tuple of float
        Least signed distance of every ring that a body must have, for the bound, and the one asked of what is held,
        not less: what further demands cost lies between them, mm.
    sizes : tuple of float
    limits : PoseLimits

    Returns
    -------
    PoseProblem
    """
    above = ceiling.wood
    plain = (*above[:4], 0.0, 0.0, above[-1])  # what the grid itself says
    charts = cube_charts(where.axis)
    middle = 0.5 * (sizes[0] + sizes[1])
    dense = points_round(rings, _DENSE, size=middle)
    rest = (rings.growth, charts, above, needs[0], limits.on_axis, limits.on_places, plain, needs[1])
    return PoseProblem(
        coarse=(points_round(rings, _COARSE, size=middle), dense, *rest),
        fine=(points_round(rings, _FINE, size=middle), dense, *rest),
        where=where,
        rings=rings,
        sizes=sizes,
    )


def _far_error(skin: Skin) -> float:
    """How much nearer the skin a node far out may be than the grid has it, measured, mm."""
    grid = skin.grid
    out = np.flatnonzero(grid.values.ravel() < -1.75 * grid.spacing)
    if not len(out):
        return 0.0
    nodes = np.stack(np.unravel_index(out[:: max(1, len(out) // _NODES)], grid.values.shape), axis=-1)
    exact = signed_distance(skin.tree, grid.origin + grid.spacing * nodes, threads=2).distance
    return _SAFETY * max(float((exact - grid.values[tuple(nodes.T)]).max()), 0.0)


def hull_planes(corners: Points) -> NDArray[np.float64]:
    """Planes that points lie within, inward normal and offset (k, 4): the largest of their hull, and an even spread.

    On the inner side of each, no place lies deeper in what the points are the corners of than it stands from it.
    """
    hull = ConvexHull(corners)
    a, b, c = np.moveaxis(hull.points[hull.simplices], 1, 0)
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1)
    largest = np.argsort(-areas, kind="stable")[:_PLANES]
    spare = np.arange(_PLANES) + 0.5
    height, turn = 1.0 - 2.0 * spare / _PLANES, np.pi * (1.0 + 5.0**0.5) * spare
    wide = np.sqrt(1.0 - height**2)
    evenly = np.column_stack([wide * np.cos(turn), wide * np.sin(turn), height])
    normals = np.vstack([-hull.equations[largest, :3], evenly])
    return np.column_stack([normals, 1e-6 - (hull.points[hull.vertices] @ normals.T).min(axis=0)])


def near_planes(corners: Points, bounds: NDArray[np.float64]) -> tuple[object, ...]:
    """Planes as of ``hull_planes``, and which of them is nearest at the nodes of a wide grid over some bounds.

    Planes (k, 4); index of the nearest (a, b, c); the grid's first node (3,) and spacing.
    """
    planes = hull_planes(corners)
    width = float((bounds[1] - bounds[0]).max()) / _NEAR
    count = np.ceil((bounds[1] - bounds[0]) / width).astype(int) + 1
    x, y, z = (bounds[0, k] + width * np.arange(count[k]) for k in range(3))
    nearest = np.empty(count, dtype=np.int64)
    for i in range(count[0]):
        nodes = np.column_stack([np.full(count[1] * count[2], x[i]), np.repeat(y, count[2]), np.tile(z, count[1])])
        nearest[i] = (nodes @ planes[:, :3].T + planes[:, 3]).argmin(axis=1).reshape(count[1], count[2])
    return planes, nearest, bounds[0].copy(), width


def first_boxes(problem: PoseProblem) -> NDArray[np.float64]:
    """The boxes that a search begins with, one for each chart it needs, (m, COLUMNS)."""
    where = problem.where
    near = where.tilt < np.pi / 4.0
    edge = float(np.tan(where.tilt)) if near else 1.0
    boxes = np.zeros((1 if near else 6, COLUMNS))
    low = np.array([*where.places[0], -edge, -edge, where.along[0]])
    high = np.array([*where.places[1], edge, edge, where.along[1]])
    boxes[:, :VARIABLES], boxes[:, VARIABLES:FACE] = 0.5 * (low + high), 0.5 * (high - low)
    boxes[:, FACE], boxes[:, MOST] = np.arange(len(boxes)), problem.sizes[1]
    return boxes


def split_boxes(boxes: NDArray[np.float64], which: NDArray[np.int64]) -> NDArray[np.float64]:
    """Halve each box along one variable."""
    rows = np.arange(len(boxes))
    half = 0.5 * boxes[rows, VARIABLES + which]
    low, high = boxes.copy(), boxes.copy()
    for part, sign in ((low, -1.0), (high, 1.0)):
        part[rows, VARIABLES + which] = half
        part[rows, which] += sign * half
    return np.vstack([low, high])


def pose_ends(problem: PoseProblem) -> NDArray[np.float64]:
    """Lowest and highest of each figure of a pose, (2, 7)."""
    where = problem.where
    free = np.array([[-np.inf] * 3, [np.inf] * 3])
    return np.hstack([where.places, free, np.array(where.along)[:, None]])


def chance_poses(problem: PoseProblem, rng: np.random.Generator, count: int) -> NDArray[np.float64]:
    """Poses at chance over the range, (count, 7), the direction near the middle one where the range is narrow."""
    low, high = pose_ends(problem)
    bounded = np.isfinite(low)
    poses = rng.standard_normal((count, 7))
    poses[:, bounded] = low[bounded] + (high - low)[bounded] * rng.random((count, int(bounded.sum())))
    axis = problem.where.axis / np.linalg.norm(problem.where.axis)
    off = poses[:, 3:6] / np.linalg.norm(poses[:, 3:6], axis=1, keepdims=True)
    # halfway from any direction to the axis, and so on, until it is within the tilt
    share = np.arccos(np.clip(off @ axis, -1.0, 1.0)) / max(min(problem.where.tilt, np.pi), 1e-9)
    off += axis * np.where(share > 1.0, 2.0 * share, 0.0)[:, None]
    poses[:, 3:6] = off / np.linalg.norm(off, axis=1, keepdims=True)
    return np.asarray(poses)


def pose_of_box(problem: PoseProblem, box: NDArray[np.float64]) -> NDArray[np.float64]:
    """The middle of a box as a pose (7,)."""
    chart = problem.coarse[3][int(box[FACE])]  # type: ignore[index]
    direction = box[3] * chart[0] + box[4] * chart[1] + chart[2]
    return np.array([*box[:3], *direction / np.linalg.norm(direction), box[5]])
