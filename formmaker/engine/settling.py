"""Climbing to a mounting whose rim is as wished, at the largest size found that has it so."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.pose_boxes import size_held
from formmaker.geometry.pose_problem import PoseProblem, pose_ends
from formmaker.geometry.pose_search import Pose

_CHILDREN = 240
_STEPS = np.array([10.0, 10.0, 10.0, 0.1, 0.1, 0.1, 10.0, 0.03])  # mm, parts of a direction, mm, share of the size
_PRICE = 8.0  # mm of diameter that a millimetre missed costs: more than it ever brings
_WIDEN, _NARROW = 1.6, 0.89  # the one-fifth rule, as in ``pose_boxes.climb_poses``

Miss = Callable[[Pose], float]
"""How far a pose at its size misses what is wished of it, mm; 0 where it meets it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Try:
    figures: NDArray[np.float64]
    pose: Pose
    miss: float

    @property
    def worth(self) -> float:
        return self.pose.size - _PRICE * self.miss


def settle(
    problem: PoseProblem,
    start: NDArray[np.float64],
    miss: Miss,
    rng: np.random.Generator,
    *,
    children: int = _CHILDREN,
) -> Pose | None:
    """Climb from a pose to a large one that misses as little as can be.

    Parameters
    ----------
    problem : PoseProblem
    start : (7,) float
        As for ``pose_search.climb``.
    miss : callable
    rng : numpy.random.Generator
    children : int

    Returns
    -------
    Pose or None
        None where the start holds nothing. It may be smaller than its place would hold: a smaller bowl has another
        rim.
    """
    best = _tried(problem, np.append(start, 1.0), miss)
    if best is None:
        return None
    low, high = pose_ends(problem)
    low, high = np.append(low, 0.5), np.append(high, 1.0)
    steps, factor = np.where(high > low, _STEPS, 0.0), 1.0
    for chance in rng.standard_normal((children, 8)):
        figures = np.clip(best.figures + factor * steps * chance, low, high)
        figures[3:6] /= np.linalg.norm(figures[3:6])
        child = _tried(problem, figures, miss)
        if child is None or not child.worth > best.worth:
            factor = max(factor * _NARROW, 1e-3)
        else:
            best, factor = child, factor * _WIDEN
    return best.pose


def _tried(problem: PoseProblem, figures: NDArray[np.float64], miss: Miss) -> _Try | None:
    held, _ = size_held(figures[:7], (problem.sizes[1], 0.0), problem.coarse, np.empty((3, 3)), 0)
    size = float(held) * float(figures[7])
    if not size > problem.sizes[0]:
        return None
    direction = figures[3:6]
    pose = Pose(place=figures[:3] + figures[6] * direction, direction=direction, size=size)
    return _Try(figures=figures, pose=pose, miss=miss(pose))
