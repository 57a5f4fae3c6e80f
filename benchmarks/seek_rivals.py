"""The largest bowl found by seek, and by two optimizers of scipy given the same work, on 20 random blanks.

Run with ``python benchmarks/seek_rivals.py [BLANKS]``. Work is lookups in the distance grid: all three ask the same
kernel, and the processor time that the whole search took, its proof included, is turned into as many looks at one
pose as that kernel makes in it. scipy's own overhead is not counted. Sizes are those that the grid says a pose holds.
"""

import math
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import trimesh
from check_speed import job_for
from scipy.optimize import differential_evolution, minimize
from seek_speed import blank_of

from formmaker.engine.field import build_field
from formmaker.engine.ground import Ground, ground_of, problem_of
from formmaker.engine.seeking import Sought, seek
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.pose_boxes import size_held
from formmaker.geometry.pose_problem import PoseProblem, chance_poses
from formmaker.model.wish import Wish

TILT = math.radians(40.0)
STEEPEST = math.tan(TILT)
LIMIT = 30.0  # s of processor time for one search
EACH = 400  # looks of one start of the simplex
Figures = np.ndarray


class Asked:
    """The size that poses hold, and the largest so far, until the work is used up."""

    def __init__(self, problem: PoseProblem, looks: int) -> None:
        self.problem, self.left, self.best, self.turn = problem, looks, 0.0, np.empty((3, 3))

    def __call__(self, x: Figures) -> float:
        """Minus the size held at a place (3) and two tangents."""
        if self.left <= 0:
            return 0.0
        self.left -= 1
        direction = np.array([x[3], x[4], 1.0])
        pose = np.array([*x[:3], *direction / np.linalg.norm(direction), 0.0])
        size = float(size_held(pose, (self.problem.sizes[1], 0.0), self.problem.fine, self.turn, 0)[0])
        self.best = max(self.best, size)
        return -size


def lump(rng: np.random.Generator) -> Mesh:
    """A ball with waves and knobs, every fourth one sawn in half."""
    ball = trimesh.creation.icosphere(subdivisions=5)
    waves = rng.normal(size=(8, 3)) * 2.5
    heights = sum(rng.uniform(0.02, 0.08) * np.sin(ball.vertices @ wave + rng.uniform(0, 6)) for wave in waves)
    ball.vertices = ball.vertices * (1.0 + heights)[:, None] * rng.uniform([110, 95, 70], [150, 130, 110])
    if rng.random() < 0.25:
        ball = trimesh.intersections.slice_mesh_plane(ball, [0.0, 0.0, 1.0], [0.0, 0.0, 0.0], cap=True)
    return Mesh(vertices=np.asarray(ball.vertices), faces=np.asarray(ball.faces))


def seconds_a_look(problem: PoseProblem, rng: np.random.Generator) -> float:
    """Processor time of the kernel for one pose."""
    poses, turn = chance_poses(problem, rng, 2000), np.empty((3, 3))
    start = time.process_time()
    for pose in poses:
        size_held(pose, (problem.sizes[1], 0.0), problem.fine, turn, 0)
    return (time.process_time() - start) / len(poses)


def sought(ground: Ground) -> tuple[Sought, float]:
    """One search, and its processor time."""
    start = time.process_time()
    rng = np.random.default_rng(1)
    found = seek(ground, gap=0.02, rng=rng, watch=lambda _: time.process_time() - start > LIMIT)
    return found, time.process_time() - start


def by_evolution(problem: PoseProblem, looks: int, seed: int) -> float:
    """Scipy's differential evolution with its usual settings."""
    asked = Asked(problem, looks)
    bounds = [*problem.where.places.T, *[(-STEEPEST, STEEPEST)] * 2]
    generations = max(1, looks // 75 - 1)
    differential_evolution(asked, bounds, rng=seed, maxiter=generations, tol=0.0, polish=False)
    return asked.best


def by_simplex(problem: PoseProblem, looks: int, seed: int) -> float:
    """Nelder and Mead's simplex from many poses at chance."""
    asked, rng = Asked(problem, looks), np.random.default_rng(seed)
    while asked.left > 0:
        x, y, z = (start := chance_poses(problem, rng, 1)[0])[3:6]
        minimize(asked, [*start[:3], x / z, y / z], method="Nelder-Mead", options={"maxfev": EACH})
    return asked.best


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    rivals: dict[str, Callable[[PoseProblem, int, int], float]] = {
        "differential evolution": by_evolution,
        "Nelder-Mead, many starts": by_simplex,
    }
    print(f"{'blank':>5} {'looks':>7} {'seek':>8}", *(f"{name:>25}" for name in rivals), "  against seek, %")
    worst = dict.fromkeys(rivals, -math.inf)
    for number in range(count):
        rng = np.random.default_rng(number)
        mesh = lump(rng)
        wish, field = Wish(tilt_limit=TILT), build_field(blank_of(mesh))
        ground = ground_of(replace(job_for(mesh), skin=2.0), wish, field)
        problem = problem_of(ground)
        if number == 0:
            seek(ground, gap=0.2, rng=np.random.default_rng(1))  # compiles, or loads what was compiled
        found, seconds = sought(ground)
        looks = int(seconds / seconds_a_look(problem, rng))
        ours = float(found.poses[:, -1].max())
        theirs = {name: run(problem, looks, number) for name, run in rivals.items()}
        shares = {name: 100.0 * (size / ours - 1.0) for name, size in theirs.items()}
        worst = {name: max(worst[name], share) for name, share in shares.items()}
        print(
            f"{number:>5} {looks:>7} {ours:>8.2f}",
            *(f"{theirs[name]:>16.2f} ({shares[name]:+.2f})" for name in rivals),
            flush=True,
        )
    print("best of a rival against seek:", ", ".join(f"{name} {share:+.2f} %" for name, share in worst.items()))


if __name__ == "__main__":
    main()
