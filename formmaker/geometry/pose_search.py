"""The largest body of revolution in a skin, over all poses of a range, with a proof: branch and bound.

What the body stands for is not known here; a size is whatever its rings grow with.
"""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.pose_bounds import FACE, MOST, VARIABLES
from formmaker.geometry.pose_boxes import bound_boxes
from formmaker.geometry.pose_climbs import climb_poses, polish_poses
from formmaker.geometry.pose_problem import (
    PoseProblem,
    chance_poses,
    first_boxes,
    pose_ends,
    pose_of_box,
    split_boxes,
)

_BATCH = 2048  # boxes bounded in one go: a twentieth of a second or so
_STARTS = 24
_CHILDREN = 260
_WORTH = 2e-4  # share of the size that a better pose has to bring to be worth verifying
_LEAST_BOX = 1e-5  # a box of half widths below this (mm, tangents) is as good as its middle
_POLISHED = 4
_TRIES = 40  # of middles, where what is asked beyond the problem costs size
_COSTLY = 0.01
_CLEAR = 1.003  # how far above what the wood alone was found to hold a bound has to lie to be worth proving


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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tried:
    """What became of a pose: the size that its wood holds, and the pose that is as wished in all, None if none is."""

    holds: float
    real: Pose | None


Verify = Callable[[Pose], Tried]
Watch = Callable[[Progress], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """When a box needs no further look: it holds no more than the best by a share, or no more than a size."""

    gap: float
    enough: float = 0.0


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
    low, high = pose_ends(problem)
    ends = (low, high, problem.sizes[1])
    poses = np.clip(np.asarray(poses, dtype=np.float64), low, high)
    sizes = np.zeros(len(poses))
    if fine:
        _in_turns(lambda part: polish_poses(poses, part, ends, problem.fine, sizes), len(poses))
    else:
        width = np.where(np.isfinite(low), high - low, 0.0)
        steps = np.where(width > 0.0, 0.08 * max(float(width[:3].max()), float(width[6])), 0.0)
        steps[3:6] = 0.15
        chance = (steps, rng.standard_normal((len(poses), _CHILDREN, 7)))
        _in_turns(lambda part: climb_poses(poses, part, ends, problem.coarse, chance, sizes), len(poses))
    order = np.argsort(-sizes, kind="stable")
    return poses[order], sizes[order]


def pose_of(figures: NDArray[np.float64], size: float) -> Pose:
    """Seven figures and a size as a pose."""
    return Pose(place=figures[:3] + figures[6] * figures[3:6], direction=figures[3:6], size=size)


def make_ready(problem: PoseProblem, rng: np.random.Generator) -> None:
    """Have the kernels compiled, or loaded from an earlier run, so that none of a search's time goes on it."""
    poses, _ = climb(problem, chance_poses(problem, rng, 2), rng)
    climb(problem, poses, rng, fine=True)
    bound_all(problem, first_boxes(problem)[:1], problem.sizes)


def search(
    problem: PoseProblem,
    *,
    goal: Goal,
    verify: Verify,
    rng: np.random.Generator,
    starts: NDArray[np.float64],
    known: Pose | None = None,
    watch: Watch = lambda _: False,
) -> Found:
    """Find the largest body and prove that none is larger by more than a gap.

    Parameters
    ----------
    problem : PoseProblem
    goal : Goal
    verify : callable
        Takes a pose as the grid has it. What it asks beyond the problem may cost size: boxes are then looked at no
        closer than the gap above what the wood alone was found to hold, and the bound stays true.
    rng : numpy.random.Generator
    starts : (k, 7) float
        Poses to begin with, beside those at chance.
    known : Pose, optional
        One that is as wished in all.
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
    state = _State(problem, verify, rng, known, goal)
    state.meet(np.vstack([starts.reshape(-1, 7), chance_poses(problem, rng, _STARTS)]))
    boxes, closed, count = first_boxes(problem), 0.0, 0
    stopped = False
    while len(boxes) and not stopped:
        order = np.argsort(-boxes[:, MOST], kind="stable")
        batch, boxes = boxes[order[:_BATCH]], boxes[order[_BATCH:]]
        out = bound_all(problem, batch, (state.done, min(state.held, max(state.size, state.problem.sizes[0]))))
        count += len(batch)
        state.meet_middles(batch, out[:, 1])
        done = state.done
        is_open = (batch[:, MOST] > done) & (batch[:, VARIABLES:FACE].max(axis=1) > _LEAST_BOX)
        closed = max(closed, float(batch[~is_open, MOST].max(initial=0.0)))
        boxes = np.vstack([boxes, split_boxes(batch[is_open], out[is_open, 0].astype(np.int64))])
        bound = max(closed, float(boxes[:, MOST].max(initial=0.0)), state.size)
        stopped = bool(watch(Progress(size=state.size, bound=bound, boxes=count))) and len(boxes) > 0
    bound = max(closed, float(boxes[:, MOST].max(initial=0.0)), state.size)
    return Found(best=state.best, bound=bound, boxes=count, is_complete=not stopped, poses=state.met())


class _State:
    """The best pose so far, and what the grid says it holds."""

    def __init__(
        self, problem: PoseProblem, verify: Verify, rng: np.random.Generator, known: Pose | None, goal: Goal
    ) -> None:
        self.problem, self.verify, self.rng = problem, verify, rng
        self.best = known
        self.held, self.floor, self.goal = problem.sizes[0], 0.0, goal
        self.tries = 0
        self.polished: list[NDArray[np.float64]] = []

    @property
    def size(self) -> float:
        return self.best.size if self.best is not None else 0.0

    @property
    def is_costly(self) -> bool:
        """Whether what is asked beyond the problem costs size."""
        return self.floor > (1.0 + _COSTLY) * self.size

    @property
    def done(self) -> float:
        """Boxes that hold no more than this need no further look."""
        share = 1.0 + self.goal.gap
        is_near = self.size * share > self.floor * _CLEAR
        known = self.size if is_near or not self.is_costly else self.floor
        return max(known * share, self.goal.enough, self.problem.sizes[0])

    def meet(self, poses: NDArray[np.float64]) -> None:
        """Climb from some poses, polish the best few, and verify what is better than all before."""
        poses, _ = climb(self.problem, poses, self.rng)
        self._polish(poses[:_POLISHED])

    def meet_middles(self, batch: NDArray[np.float64], held: NDArray[np.float64]) -> None:
        """Polish the best middle of a batch of boxes where it holds more than the best pose."""
        best = int(held.argmax())
        if held[best] > self.held:
            self._polish(pose_of_box(self.problem, batch[best])[None])
        elif self.is_costly and held[best] > self.size * (1.0 + _WORTH) and self.tries < _TRIES:
            self.tries += 1  # wishes beyond the problem cost size: what holds less may be worth more
            self._try(pose_of_box(self.problem, batch[best]), float(held[best]))

    def _polish(self, poses: NDArray[np.float64]) -> None:
        poses, sizes = climb(self.problem, poses, self.rng, fine=True)
        self.polished.extend(np.append(pose, size) for pose, size in zip(poses, sizes, strict=True) if size > 0.0)
        for pose, size in zip(poses, sizes, strict=True):
            if not size > self.held * (1.0 + _WORTH):
                break
            self.held = float(size)
            self._try(pose, float(size))

    def _try(self, pose: NDArray[np.float64], size: float) -> None:
        tried = self.verify(pose_of(pose, size))
        self.floor = max(self.floor, tried.holds)
        if tried.real is not None and tried.real.size > self.size:
            self.best = tried.real

    def met(self) -> NDArray[np.float64]:
        """All poses that were polished with the size each holds, (k, 8)."""
        return np.array(self.polished).reshape(-1, 8)
