"""The largest body of revolution in a skin, over all poses of a range, with a proof: branch and bound.

What the body stands for is not known here; a size is whatever its rings grow with.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from formmaker.geometry.charts import cube_charts
from formmaker.geometry.frames import Points
from formmaker.geometry.least import Skin
from formmaker.geometry.nearest import signed_distance
from formmaker.geometry.pose_bounds import COLUMNS, FACE, MOST, VARIABLES
from formmaker.geometry.pose_boxes import bound_boxes, climb_poses
from formmaker.geometry.pose_limits import PoseLimits
from formmaker.geometry.turned_points import Rings, points_round

_COARSE = 360  # points of the body for bounds
_DENSE = 1800  # for bounds of small boxes
_FINE = 3600  # for what is held
_BATCH = 2048  # boxes bounded in one go: a twentieth of a second or so
_STARTS = 24
_CHILDREN = 260
_SHORTER = 0.1  # steps of a polish against those of a climb
_WORTH = 2e-4  # share of the size that a better pose has to bring to be worth verifying
_LEAST_BOX = 1e-5  # a box of half widths below this (mm, tangents) is as good as its middle
_POLISHED = 4
_NODES = 20_000  # nodes of the grid whose error is measured
_SAFETY = 1.5
_PLANES = 128


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
class Pose:
    """Where a body's reference lies (3,), its direction (3,), and the size that fits there."""

    place: NDArray[np.float64]
    direction: NDArray[np.float64]
    size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a search is: best size known, proven bound, boxes bounded so far."""

    size: float
    bound: float
    boxes: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """What a search came to: the best pose, None where there is none; no pose holds more than ``bound``.

    ``is_complete`` is False where it was stopped before the gap was reached; ``poses`` (k, 8) are all that were
    polished, with the size that each holds by the grid.
    """

    best: Pose | None
    bound: float
    boxes: int
    is_complete: bool
    poses: NDArray[np.float64]


Verify = Callable[[Pose], Pose | None]
Watch = Callable[[Progress], bool]


def pose_problem(
    skin: Skin,
    rings: Rings,
    where: PoseRange,
    *,
    needs: tuple[float, float],
    sizes: tuple[float, float],
    limits: PoseLimits,
    bounds: NDArray[np.float64],
) -> PoseProblem:
    """Make a problem ready.

    Parameters
    ----------
    skin : Skin
    rings : Rings
    where : PoseRange
    needs : tuple of float
        Least signed distance of every ring that a body must have, for the bound, and the one asked of what is held,
        not less: what further demands cost lies between them, mm.
    sizes : tuple of float
    limits : PoseLimits
    bounds : (2, 3) float
        Of the skin, mm.

    Returns
    -------
    PoseProblem
    """
    grid = skin.grid
    planes = hull_planes(skin.tree.arrays.corners.reshape(-1, 3))
    above = (grid.values, grid.origin, grid.spacing, bounds, grid.error, _far_error(skin), planes)
    plain = (grid.values, grid.origin, grid.spacing, bounds, 0.0, 0.0, planes)
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


def bound_all(problem: PoseProblem, boxes: NDArray[np.float64], sizes: tuple[float, float]) -> NDArray[np.float64]:
    """Bound boxes in two threads, in place; what ``pose_boxes.bound_boxes`` gives out."""
    out = np.empty((len(boxes), 2))
    _in_turns(lambda part: bound_boxes(boxes, part, problem.coarse, sizes, out), len(boxes))
    return out


def _in_turns(run: Callable[[tuple[int, int]], None], count: int) -> None:
    """Run a kernel in many small parts, two at a time: parts differ in cost."""
    if count < 2:
        run((0, count))
        return
    edges = np.linspace(0, count, min(count, 16) + 1).astype(int)
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(run, zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)))


def climb(
    problem: PoseProblem, poses: NDArray[np.float64], rng: np.random.Generator, *, fine: bool = False
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Climb from poses.

    Parameters
    ----------
    problem : PoseProblem
    poses : (m, 7) float
        Place, direction and way along it of each.
    rng : numpy.random.Generator
    fine : bool
        A polish: many points, short steps.

    Returns
    -------
    tuple of (m, 7) and (m,) float
        The poses reached and the sizes they hold, the largest first; a size below 0 says how far a limit is broken.
    """
    low, high = _ends(problem)
    poses = np.clip(np.asarray(poses, dtype=np.float64), low, high)
    width = np.where(np.isfinite(low), high - low, 0.0)
    steps = np.where(width > 0.0, 0.08 * max(float(width[:3].max()), float(width[6])), 0.0)
    steps[3:6] = 0.15
    chances = rng.standard_normal((len(poses), _CHILDREN, 7)) * (_SHORTER if fine else 1.0)
    sizes = np.empty(len(poses))
    chosen, most = problem.fine if fine else problem.coarse, problem.sizes[1]
    _in_turns(lambda part: climb_poses(poses, part, (low, high, most), chosen, (steps, chances), sizes), len(poses))
    order = np.argsort(-sizes, kind="stable")
    return poses[order], sizes[order]


def _ends(problem: PoseProblem) -> NDArray[np.float64]:
    """Lowest and highest of each figure of a pose, (2, 7)."""
    where = problem.where
    free = np.array([[-np.inf] * 3, [np.inf] * 3])
    return np.hstack([where.places, free, np.array(where.along)[:, None]])


def chance_poses(problem: PoseProblem, rng: np.random.Generator, count: int) -> NDArray[np.float64]:
    """Poses at chance over the range, (count, 7), the direction near the middle one where the range is narrow."""
    low, high = _ends(problem)
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


def search(
    problem: PoseProblem,
    *,
    gap: float,
    verify: Verify,
    rng: np.random.Generator,
    starts: NDArray[np.float64],
    watch: Watch = lambda _: False,
) -> Found:
    """Find the largest body and prove that none is larger by more than a gap.

    Parameters
    ----------
    problem : PoseProblem
    gap : float
        Share of the size: 0.02 for two per cent.
    verify : callable
        Takes a pose as the grid has it; gives it with the size it really holds, or None.
    rng : numpy.random.Generator
    starts : (k, 7) float
        Poses to begin with, beside those at chance.
    watch : callable
        Told the progress after every batch of boxes; True stops the search.

    Returns
    -------
    Found

    Notes
    -----
    The boxes that could hold most are looked at first, always so many at once whatever the number of threads, so
    that the answer is the same on every machine and in every run.
    """
    state = _State(problem, verify, rng)
    state.meet(np.vstack([starts.reshape(-1, 7), chance_poses(problem, rng, _STARTS)]))
    boxes, closed, count = first_boxes(problem), 0.0, 0
    stopped = False
    while len(boxes) and not stopped:
        order = np.argsort(-boxes[:, MOST], kind="stable")
        batch, boxes = boxes[order[:_BATCH]], boxes[order[_BATCH:]]
        out = bound_all(problem, batch, (state.done(gap), state.held))
        count += len(batch)
        state.meet_middles(batch, out[:, 1])
        done = state.done(gap)
        is_open = (batch[:, MOST] > done) & (batch[:, VARIABLES:FACE].max(axis=1) > _LEAST_BOX)
        closed = max(closed, float(batch[~is_open, MOST].max(initial=0.0)))
        boxes = np.vstack([boxes, split_boxes(batch[is_open], out[is_open, 0].astype(np.int64))])
        bound = max(closed, float(boxes[:, MOST].max(initial=0.0)), state.size)
        stopped = bool(watch(Progress(size=state.size, bound=bound, boxes=count))) and len(boxes) > 0
    bound = max(closed, float(boxes[:, MOST].max(initial=0.0)), state.size)
    return Found(best=state.best, bound=bound, boxes=count, is_complete=not stopped, poses=state.met())


class _State:
    """The best pose so far, and what the grid says it holds."""

    def __init__(self, problem: PoseProblem, verify: Verify, rng: np.random.Generator) -> None:
        self.problem, self.verify, self.rng = problem, verify, rng
        self.best: Pose | None = None
        self.held = problem.sizes[0]
        self.polished: list[NDArray[np.float64]] = []

    @property
    def size(self) -> float:
        return self.best.size if self.best is not None else 0.0

    def done(self, gap: float) -> float:
        """Boxes that hold no more than this need no further look."""
        return max(self.size * (1.0 + gap), self.problem.sizes[0])

    def meet(self, poses: NDArray[np.float64]) -> None:
        """Climb from some poses, polish the best few, and verify what is better than all before."""
        poses, _ = climb(self.problem, poses, self.rng)
        self._polish(poses[:_POLISHED])

    def meet_middles(self, batch: NDArray[np.float64], held: NDArray[np.float64]) -> None:
        """Polish the best middle of a batch of boxes where it holds more than the best pose."""
        best = int(held.argmax())
        if held[best] > self.held:
            self._polish(pose_of_box(self.problem, batch[best])[None])

    def _polish(self, poses: NDArray[np.float64]) -> None:
        poses, sizes = climb(self.problem, poses, self.rng, fine=True)
        self.polished.extend(np.append(pose, size) for pose, size in zip(poses, sizes, strict=True) if size > 0.0)
        for pose, size in zip(poses, sizes, strict=True):
            if not size > self.held * (1.0 + _WORTH):
                break
            self.held = float(size)
            real = self.verify(Pose(place=pose[:3] + pose[6] * pose[3:6], direction=pose[3:6], size=size))
            if real is not None and real.size > self.size:
                self.best = real

    def met(self) -> NDArray[np.float64]:
        """All poses that were polished with the size each holds, (k, 8)."""
        return np.array(self.polished).reshape(-1, 8)


def pose_of_box(problem: PoseProblem, box: NDArray[np.float64]) -> NDArray[np.float64]:
    """The middle of a box as a pose (7,)."""
    chart = problem.coarse[3][int(box[FACE])]  # type: ignore[index]
    direction = box[3] * chart[0] + box[4] * chart[1] + chart[2]
    return np.array([*box[:3], *direction / np.linalg.norm(direction), box[5]])
