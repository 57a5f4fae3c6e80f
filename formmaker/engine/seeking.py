"""Seek: the largest bowl of a form that a blank holds on any mounting, and a proof of how much larger none can be.

How boxes of mountings are ruled out is in ``geometry.pose_search``; what is asked of a mounting in ``ground``,
whether it holds that on the mesh in ``stands``.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.ground import Ground, frame_at, present_pose, problem_of
from formmaker.engine.patterns import outer_at
from formmaker.engine.rim_wishes import quick_miss
from formmaker.engine.settling import settle
from formmaker.engine.stands import Stand, lacking, stand_at
from formmaker.geometry.pose_boxes import size_held
from formmaker.geometry.pose_polish import polished
from formmaker.geometry.pose_problem import PoseProblem, chance_poses
from formmaker.geometry.pose_search import Goal, Pose, Progress, Tried, climb, pose_of, search

_ABOVE = 1.004  # the grid may think less of a mounting than the mesh does
_DEEPER = 10  # times a pose is polished anew, each deeper by what it lacked
_DEEPEST = 0.3  # share of its size that this may cost
_OVER, _PAD = (
    0.3,
    0.015,
)  # share of what lacks, and mm, on top: between a polish's points the skin may be a hair closer
_COSTLY = 0.002  # share of the diameter that the full check may take before poses beside are tried
_BESIDE = 8  # such poses
_ASIDE = 2.0  # mm, how far they lie off
_SETTLED = 10  # mountings from which one with the wishes for the rim is looked for at first

Watch = Callable[[Progress], bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sought:
    """What a search came to: the best stand, None where there is none, and the proof.

    ``bound`` is a diameter, mm, that no mounting of the range exceeds; ``poses`` as of ``pose_search.Found``.
    """

    best: Stand | None
    bound: float
    boxes: int
    is_complete: bool
    poses: NDArray[np.float64]

    @property
    def gap(self) -> float:
        """The share by which the bound lies above the best; infinite without one."""
        return self.bound / self.best.diameter - 1.0 if self.best is not None else math.inf


class _Trials:
    """Poses put to the mesh, and the stands that came of them."""

    def __init__(self, ground: Ground, problem: PoseProblem, rng: np.random.Generator) -> None:
        self.ground, self.problem, self.rng = ground, problem, rng
        self.best: Stand | None = None

    def miss(self, pose: Pose) -> float:
        """What a pose misses of the wishes for the rim, on the grid, mm."""
        outer = outer_at(self.ground.body.pattern, pose.size)
        return quick_miss(self.ground.rim, outer, frame_at(self.ground, pose, pose.size))

    def verify(self, pose: Pose) -> Tried:
        """Put a pose to the mesh; where its rim is not as wished, go to one near by whose rim is."""
        if self.ground.rim.asks:
            outcome = stand_at(self.ground, pose, pose.size * _ABOVE)
            asks = outcome.holds and outcome.stand is None
            real = self.settled(self.figures_of(pose)) if asks else self._kept(outcome.stand, pose)
            return Tried(holds=outcome.holds, real=real)
        known, deeper = pose.size, 0.0
        for _ in range(_DEEPER):
            deep = self.polished(pose, deeper)
            if not deep.size > max(self.ground.smallest, (1.0 - _DEEPEST) * known):
                break
            pose, lack = deep, lacking(self.ground, deep)
            if not lack > 0.0:
                break
            deeper += lack + min(_OVER * lack, 2.0 * _PAD) + _PAD
        outcome = stand_at(self.ground, pose, pose.size)
        holds, real = outcome.holds, self._kept(outcome.stand, pose)
        if holds and (real is None or real.size < (1.0 - _COSTLY) * holds):
            real = self.beside(pose) or real
        return Tried(holds=holds, real=real)

    def polished(self, pose: Pose, deeper: float) -> Pose:
        """A pose near one, polished on the skin itself."""
        skin = self.ground.field.skin
        return polished(self.problem, skin, pose, self.figures_of(pose), deeper=deeper)

    def beside(self, pose: Pose) -> Pose | None:
        """The best of some poses near one at which something hangs loose or the wall breaks through."""
        best, turn = None, np.empty((3, 3))
        for chance in self.rng.standard_normal((_BESIDE, 6)):
            place = pose.place + _ASIDE * chance[:3]
            direction = pose.direction + 2.0 * _ASIDE / pose.size * chance[3:]
            figures = self.figures_of(replace(pose, place=place, direction=direction / np.linalg.norm(direction)))
            better = self.best.diameter if self.best is not None else 0.0
            size, _ = size_held(figures, (pose.size, better), self.problem.fine, turn, 0)
            if size > better:
                near = pose_of(figures, float(size))
                best = self._kept(stand_at(self.ground, near, near.size).stand, near) or best
        return best

    def settled(self, start: NDArray[np.float64]) -> Pose | None:
        """A pose with the wishes for the rim, reached from another."""
        pose = settle(self.problem, start, self.miss, self.rng)
        if pose is None or self.miss(pose) > 0.0 or (self.best is not None and pose.size <= self.best.diameter):
            return None
        return self._kept(stand_at(self.ground, pose, pose.size).stand, pose)

    def figures_of(self, pose: Pose) -> NDArray[np.float64]:
        """A pose as the search has it: with a centre that stays, by the way along from there."""
        low, high = self.problem.where.places
        place = np.clip(pose.place, low, high)
        return np.array([*place, *pose.direction, float((pose.place - place) @ pose.direction)])

    def _kept(self, stand: Stand | None, pose: Pose) -> Pose | None:
        if stand is None:
            return None
        if self.best is None or stand.diameter > self.best.diameter:
            self.best = stand
        return Pose(place=pose.place, direction=pose.direction, size=stand.diameter)


def seek(
    ground: Ground, *, gap: float, rng: np.random.Generator, watch: Watch = lambda _: False, enough: float = 0.0
) -> Sought:
    """Search all mountings.

    Parameters
    ----------
    ground : Ground
    gap : float
        Share of the diameter that may be left unproven.
    rng : numpy.random.Generator
    watch : callable
        Told the progress; True stops.
    enough : float
        A diameter that is of no interest any more, nor any below it, mm: nothing is proven beneath it.

    Returns
    -------
    Sought

    Notes
    -----
    Wishes for the rim are no limits of a box of mountings: the bound is that of all other wishes, and the search goes
    no closer than the gap above what those alone were found to allow.
    """
    problem = problem_of(ground)
    trials = _Trials(ground, problem, rng)
    starts = present_pose(ground)
    known = _settled_first(trials, starts) if ground.rim.asks and not enough else None
    found = search(
        problem,
        goal=Goal(gap=gap, enough=enough),
        verify=trials.verify,
        rng=rng,
        starts=starts,
        known=known,
        watch=watch,
    )
    return Sought(
        best=trials.best,
        bound=found.bound,
        boxes=found.boxes,
        is_complete=found.is_complete,
        poses=found.poses,
    )


def quick_best(ground: Ground, rng: np.random.Generator) -> Stand | None:
    """A large bowl on some mounting, without proof: to say what a wish costs."""
    problem = problem_of(ground)
    trials = _Trials(ground, problem, rng)
    poses, sizes = climb(problem, np.vstack([present_pose(ground), chance_poses(problem, rng, 16)]), rng)
    for figures, size in zip(poses[:3], sizes[:3], strict=True):
        if size > 0.0:
            trials.verify(pose_of(figures, float(size)))
    return trials.best


def _settled_first(trials: _Trials, starts: NDArray[np.float64]) -> Pose | None:
    """The largest pose with the wishes for the rim that is reached from some poses at chance."""
    chance = chance_poses(trials.problem, trials.rng, 2 * _SETTLED)
    poses, sizes = climb(trials.problem, np.vstack([starts, chance]), trials.rng)
    apart = apart_from_each_other(poses[sizes > 0.0])
    reached = [pose for figures in apart[:_SETTLED] if (pose := trials.settled(figures)) is not None]
    return max(reached, key=lambda pose: pose.size, default=None)


def apart_from_each_other(poses: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Poses (7,) of a list, in its order, without those that are much like one before."""
    apart: list[NDArray[np.float64]] = []
    for figures in poses:
        if not any(_are_alike(figures, other) for other in apart):
            apart.append(figures)
    return apart


def _are_alike(one: NDArray[np.float64], other: NDArray[np.float64]) -> bool:
    return bool(np.linalg.norm(one[:3] - other[:3]) < 3.0 and one[3:6] @ other[3:6] > 0.995)
