"""Inside tests for placements of a body in a scan: our grid lookup against two exact libraries, all in one run.

Run with ``python benchmarks/inside_tests.py`` after ``pip install -e .[bench]``. A pose is 8 640 points of a bowl's
surface, the scan a bumpy lump of 20 480 triangles. The libraries answer on the mesh itself; ours looks a distance up
in a grid built beforehand, so the table also says how many answers differ and how far those points lie from the skin.
"""

import os
import time
from collections.abc import Callable
from importlib import import_module

import numpy as np
import trimesh

from formmaker.geometry.grid import build_grid, inside_posed
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import build_tree, signed_distance

POINTS = (120, 72)  # 8 640 points a pose
SECONDS = 2.0  # how long each is timed


def lump() -> Mesh:
    """A ball of 20 480 triangles with smooth bumps, about 300 mm across."""
    ball = trimesh.creation.icosphere(subdivisions=5)
    x, y, z = np.asarray(ball.vertices).T
    radii = 150.0 + 12.0 * np.sin(5.0 * x + 1.0) * np.cos(4.0 * y) + 8.0 * np.sin(9.0 * z + 3.0 * x)
    return Mesh(vertices=np.asarray(ball.vertices) * radii[:, None], faces=np.asarray(ball.faces))


def bowl(radius: float) -> np.ndarray:
    """Points of a hemispherical bowl's outer side, (8640, 3), mm."""
    turn, rise = np.meshgrid(
        2.0 * np.pi * np.arange(POINTS[0]) / POINTS[0], np.linspace(0.05, 0.5 * np.pi, POINTS[1])
    )
    ring = radius * np.sin(rise)
    return np.stack([ring * np.cos(turn), ring * np.sin(turn), -radius * np.cos(rise)], axis=-1).reshape(-1, 3)


def poses(count: int) -> tuple[np.ndarray, np.ndarray]:
    """Rotations (count, 3, 3) and origins (count, 3): near the middle, so that some points fall outside."""
    rng = np.random.default_rng(20)
    turns = [trimesh.transformations.random_rotation_matrix(rng.random(3))[:3, :3] for _ in range(count)]
    return np.array(turns), rng.normal(0.0, 20.0, (count, 3))


def rate(ask: Callable[[int], object], batch: int) -> float:
    """Poses a second, best of three runs after a warming one."""
    ask(batch)
    best = 0.0
    for _ in range(3):
        start, done = time.perf_counter(), 0
        while time.perf_counter() - start < SECONDS / 3.0:
            ask(batch)
            done += batch
        best = max(best, done / (time.perf_counter() - start))
    return best


def embree_answers(mesh: Mesh) -> Callable[[np.ndarray], np.ndarray] | None:
    """Give the inside test of trimesh over embree, or nothing where embree is absent."""
    try:
        rays = import_module("trimesh.ray.ray_pyembree")
        import_module("embreex")
    except ImportError:
        return None
    body = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    return rays.RayMeshIntersector(body).contains_points  # type: ignore[no-any-return]


def open3d_scene(mesh: Mesh) -> object | None:
    """Give a ray-casting scene of Open3D, or nothing where it is absent."""
    try:
        o3d = import_module("open3d")
    except ImportError:
        return None
    scene = o3d.t.geometry.RaycastingScene()
    scene.add_triangles(np.asarray(mesh.vertices, np.float32), np.asarray(mesh.faces, np.uint32))
    return scene


def library_rates(mesh: Mesh, placed: np.ndarray) -> dict[str, float]:
    """Poses a second of the libraries that are there."""
    rates: dict[str, float] = {}
    contains = embree_answers(mesh)
    if contains is None:
        print("trimesh with embree: absent (embreex is not installed), not measured")
    else:
        rates["trimesh with embree"] = rate(lambda n: [contains(placed[i]) for i in range(n)], 2)
    scene = open3d_scene(mesh)
    if scene is None:
        print("Open3D compute_occupancy: absent (open3d is not installed), not measured")
        return rates
    single = placed.astype(np.float32)
    for threads, name in ((1, "one thread"), (0, "all cores")):
        rates[f"Open3D compute_occupancy, {name}"] = rate(
            lambda n, t=threads: [scene.compute_occupancy(single[i], nthreads=t) for i in range(n)], 4
        )
    return rates


def main() -> None:
    """Print a table for a bowl well within the wood and one for a bowl along the skin."""
    mesh = lump()
    tree = build_tree(mesh)
    grid = build_grid(mesh, tree)
    turns, shifts = poses(400)
    print(f"{len(mesh.faces)} triangles, {np.prod(POINTS)} points a pose, {os.cpu_count()} cores")
    print(f"grid of {grid.spacing:.2f} mm, stated error {grid.error:.2f} mm")
    for radius in (120.0, 145.0):
        body = bowl(radius)
        placed = np.einsum("kij,nj->kni", turns, body) + shifts[:, None]
        rates = library_rates(mesh, placed)
        fastest = max(rates.values(), default=float("nan"))
        for threads in (1, 2):
            rates[f"our grid, {threads} thread{'s' * (threads - 1)}"] = rate(
                lambda n, t=threads, b=body: inside_posed(
                    grid, b, rotations=turns[:n], origins=shifts[:n], threads=t
                ),
                400,
            )
        print(f"\n{f'bowl of radius {radius:.0f} mm':42}{'poses/s':>10}{'ratio to the fastest library':>32}")
        for name, speed in rates.items():
            print(f"{name:42}{speed:10.0f}{speed / fastest:32.1f}")
        ours = inside_posed(grid, body, rotations=turns[:40], origins=shifts[:40]).ravel()
        exact = signed_distance(tree, placed[:40].reshape(-1, 3)).distance
        wrong = ours != (exact > 0.0)
        depth = np.abs(exact[wrong]).max(initial=0.0)
        print(f"answers that differ from the mesh: {wrong.mean():.4%}, all within {depth:.3f} mm of the skin")


if __name__ == "__main__":
    main()
