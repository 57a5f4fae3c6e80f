"""Time to build the field (tree and grid) of a scan, against a general-purpose library on the same grid points.

Run with ``python benchmarks/field_build.py [SCAN]`` after ``pip install -e .[bench]``; without a scan a bumpy lump is
taken. Every triangle is split in four until there are 20 000, then 300 000 or more. The first build is run
beforehand, so that compiling is not counted; it is timed by itself. Open3D computes exact signed distances in single
precision at every node; ours are exact near the skin and swept elsewhere, and include measuring the error.
"""

import sys
import time
from collections.abc import Callable
from importlib import import_module

import numpy as np
import trimesh

from formmaker.geometry.grid import DistanceGrid, build_grid
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import build_tree
from formmaker.geometry.reduce import reduced

SIZES = (20_000, 300_000)


def body(path: str | None) -> trimesh.Trimesh:
    """The scan at a path, or a bumpy lump."""
    if path is not None:
        return trimesh.load_mesh(path)
    ball = trimesh.creation.icosphere(subdivisions=4)
    x, y, z = np.asarray(ball.vertices).T
    radii = 150.0 + 12.0 * np.sin(5.0 * x + 1.0) * np.cos(4.0 * y) + 8.0 * np.sin(9.0 * z + 3.0 * x)
    ball.vertices = np.asarray(ball.vertices) * radii[:, None]
    return ball


def refined(found: trimesh.Trimesh, count: int) -> Mesh:
    """Subdivide until there are ``count`` triangles or more, then join edges down to about that many."""
    while len(found.faces) < count:
        found = found.subdivide()
    return reduced(Mesh(vertices=np.asarray(found.vertices), faces=np.asarray(found.faces)), count)


def timed(ask: Callable[[], object], runs: int = 3) -> float:
    """Seconds, best of some runs."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        ask()
        times.append(time.perf_counter() - start)
    return min(times)


def library_seconds(mesh: Mesh, grid: DistanceGrid) -> float | None:
    """Seconds that Open3D takes for the same nodes, building its scene included; nothing where it is absent."""
    try:
        o3d = import_module("open3d")
    except ImportError:
        return None
    steps = np.stack(np.meshgrid(*[np.arange(n) for n in grid.values.shape], indexing="ij"), axis=-1)
    nodes = (grid.origin + grid.spacing * steps).astype(np.float32)

    def ask() -> object:
        scene = o3d.t.geometry.RaycastingScene()
        scene.add_triangles(np.asarray(mesh.vertices, np.float32), np.asarray(mesh.faces, np.uint32))
        return scene.compute_signed_distance(nodes)

    return timed(ask, 1)


def main() -> None:
    """Print the table."""
    found = body(sys.argv[1] if len(sys.argv) > 1 else None)
    start = time.perf_counter()
    first = refined(found, len(found.faces))
    build_grid(first, build_tree(first))
    print(f"first build in this process, compiling or loading what was compiled: {time.perf_counter() - start:.1f} s")
    print(
        f"{'triangles':>10}{'nodes':>10}{'tree s':>9}{'grid s':>9}{'field s':>9}{'Open3D s':>10}{'times quicker':>15}"
    )
    for size in SIZES:
        mesh = refined(found, size)
        tree = build_tree(mesh)
        grid = build_grid(mesh, tree)
        tree_s, grid_s = timed(lambda m=mesh: build_tree(m)), timed(lambda m=mesh, t=tree: build_grid(m, t))
        whole, other = tree_s + grid_s, library_seconds(mesh, grid)
        theirs = f"{'absent':>10}{'-':>15}" if other is None else f"{other:10.2f}{other / whole:15.1f}"
        print(f"{len(mesh.faces):10}{grid.values.size:10}{tree_s:9.2f}{grid_s:9.2f}{whole:9.2f}{theirs}")


if __name__ == "__main__":
    main()
