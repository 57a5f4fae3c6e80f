"""A pose polished on the skin itself: what the grid gets wrong about it is measured, and reckoned with near by."""

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.charts import turn_about
from formmaker.geometry.frames import Points
from formmaker.geometry.grid import grid_distance
from formmaker.geometry.least import Skin
from formmaker.geometry.nearest import signed_distance
from formmaker.geometry.pose_climbs import polish_poses
from formmaker.geometry.pose_problem import PoseProblem, pose_ends
from formmaker.geometry.pose_search import Pose, pose_of

_ROUNDS = 2  # the first moves a pose by as much as the grid is wrong, a tenth of a cell or two


def polished(problem: PoseProblem, skin: Skin, pose: Pose, figures: NDArray[np.float64], *, deeper: float) -> Pose:
    """The pose reached from another along the slopes of its contacts, for a skin that is known exactly there.

    Parameters
    ----------
    problem : PoseProblem
    skin : Skin
    pose : Pose
        Where to begin, with the size to measure at.
    figures : (7,) float
        The same pose as the problem has it.
    deeper : float
        How much more room than the problem asks every point is to have, mm.

    Returns
    -------
    Pose
        Of size 0 or less where it holds nothing.
    """
    low, high = pose_ends(problem)
    ends = (low, high, problem.sizes[1])
    poses, sizes = np.clip(figures, low, high)[None].copy(), np.array([pose.size])
    body, *rest = problem.fine
    for _ in range(_ROUNDS):
        places = _carried(np.asarray(body), poses[0], float(sizes[0]))
        amiss = grid_distance(skin.grid, places) - signed_distance(skin.tree, places, threads=2).distance
        exact = np.array(body)
        exact[:, 7] = amiss + deeper
        polish_poses(poses, (0, 1), ends, (exact, *rest), sizes)
        if not sizes[0] > 0.0:
            break
    return pose_of(poses[0], float(sizes[0]))


def _carried(body: NDArray[np.float64], figures: NDArray[np.float64], size: float) -> Points:
    """Points of a body in the wood, (n, 3), spun about the axis as the kernels spin them."""
    turn = np.empty((3, 3))
    turn_about(*figures[3:6], turn)
    r, h = size * body[:, 0] + body[:, 2], size * body[:, 1] + body[:, 3] + figures[6]
    return np.asarray(figures[:3] + np.column_stack([r * body[:, 4], r * body[:, 5], h]) @ turn.T)
