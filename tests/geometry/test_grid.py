"""The distance grid against exact distances, closed forms and winding numbers."""

from functools import cache

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from formmaker.geometry.grid import DistanceGrid, build_grid, grid_distance, inside_posed
from formmaker.geometry.inside import nodes_inside
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import build_tree, signed_distance
from formmaker.geometry.sweeping import node_distances
from tests.oracles import box_distance, box_mesh, brute_distances, joined, winding_numbers
from tests.scans import CLOSED, closed_scan

HALF = np.array([40.0, 30.0, 20.0])
AWAY = arrays(float, (4, 3), elements=st.floats(-300.0, 300.0))
SINGLE = 1e-5  # mm: a node's value is kept to 24 bits, 1e-5 of 100 mm


@cache
def box_grid() -> DistanceGrid:
    mesh = box_mesh(-HALF, HALF)
    return build_grid(mesh, build_tree(mesh), cells=32)


def nodes_of(grid: DistanceGrid) -> np.ndarray:
    steps = np.stack(np.meshgrid(*[np.arange(n) for n in grid.values.shape], indexing="ij"), axis=-1)
    return grid.origin + grid.spacing * steps.reshape(-1, 3)


def test_lines_through_edges_and_vertices_cross_once() -> None:
    # An octahedron with all its vertices, edges and ridges on grid lines: |x| + |y| + |z| < 8.
    vertices = 8.0 * np.array([[1, 0, 0], [0, 1, 0], [-1, 0, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]])
    faces = [[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4], [1, 0, 5], [2, 1, 5], [3, 2, 5], [0, 3, 5]]
    mesh = Mesh(vertices=vertices, faces=np.array(faces))
    inside = nodes_inside(mesh, origin=np.full(3, -10.0), spacing=1.0, shape=(21, 21, 21))
    size = np.abs(np.stack(np.meshgrid(*[np.arange(-10, 11)] * 3, indexing="ij"))).sum(axis=0)
    assert inside[size < 8].all()
    assert not inside[size > 8].any()


@pytest.mark.parametrize("name", CLOSED)
def test_nodes_on_scans_are_inside_where_the_winding_number_says_so(name: str) -> None:
    mesh = closed_scan(name)
    grid = build_grid(mesh, build_tree(mesh), cells=24)
    chosen = np.random.default_rng(8).choice(grid.values.size, 250, replace=False)
    values, winding = grid.values.ravel()[chosen], winding_numbers(mesh, nodes_of(grid)[chosen])
    clear = np.abs(values) > 1e-4
    assert ((values > 0.0) == (winding > 0.5))[clear].all()


def test_a_skin_doubled_over_itself_still_counts_as_wood() -> None:
    one, other = box_mesh(-HALF, HALF), box_mesh(-HALF + 10.0, HALF + 10.0)
    mesh = joined(one, other)
    grid = build_grid(mesh, build_tree(mesh), cells=24)
    points = nodes_of(grid)
    wood = (box_distance(points, HALF) > 0.01) | (box_distance(points - 10.0, HALF) > 0.01)
    air = (box_distance(points, HALF) < -0.01) & (box_distance(points - 10.0, HALF) < -0.01)
    assert (grid.values.ravel()[wood] >= 0.0).all()  # 0 on a face of the one within the other
    assert (grid.values.ravel()[air] < 0.0).all()


def test_swept_distances_are_exact_near_the_skin_and_never_too_short() -> None:
    ball = trimesh.creation.icosphere(subdivisions=2)
    radii = np.random.default_rng(9).uniform(40.0, 60.0, len(ball.vertices))
    mesh = Mesh(vertices=ball.vertices * radii[:, None], faces=ball.faces)
    shape, spacing = (24, 24, 24), 6.0
    inside = nodes_inside(mesh, origin=np.full(3, -69.0), spacing=spacing, shape=shape)
    found = node_distances(build_tree(mesh), inside, origin=np.full(3, -69.0), spacing=spacing).ravel()
    steps = np.stack(np.meshgrid(*[np.arange(24)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    chosen = np.random.default_rng(10).choice(found.size, 1500, replace=False)
    exact = brute_distances(mesh.corners, steps[chosen] * spacing - 69.0)
    assert (found[chosen] >= exact - 1e-9).all()
    near = exact <= np.sqrt(3.0) * spacing
    np.testing.assert_allclose(found[chosen][near], exact[near], atol=1e-9)
    # A node whose nearest triangle no neighbour shares takes the next best: seldom, and by a part of a cell.
    assert np.quantile(found[chosen] - exact, 0.95) < 1e-9


def test_nodes_of_a_box_hold_the_closed_form() -> None:
    grid = box_grid()
    np.testing.assert_allclose(grid.values.ravel(), box_distance(nodes_of(grid), HALF), atol=SINGLE)
    np.testing.assert_allclose(grid_distance(grid, nodes_of(grid)), grid.values.ravel(), atol=SINGLE)


@pytest.mark.parametrize("name", CLOSED)
def test_fresh_random_points_stay_within_the_stated_error(name: str) -> None:
    mesh = closed_scan(name)
    tree = build_tree(mesh)
    grid = build_grid(mesh, tree, cells=64)
    rng = np.random.default_rng(11)
    skin = mesh.corners[rng.integers(0, len(mesh.faces), 20_000)].mean(axis=1)
    beside = np.clip(skin + rng.normal(0.0, grid.spacing, skin.shape), *grid.bounds)
    points = np.vstack([rng.uniform(*grid.bounds, (30_000, 3)), beside])
    found, exact = grid_distance(grid, points), signed_distance(tree, points).distance
    assert np.abs(found - exact).max() <= grid.error
    assert (found - exact)[found > 0.0].max() <= grid.over
    # More than this a lookup between exact nodes cannot be off, so a larger bound would say nothing.
    assert grid.error <= 1.01 * grid.spacing


@settings(max_examples=100, deadline=None)
@given(AWAY, AWAY)
def test_beyond_the_grid_there_is_no_step_and_no_wood(here: np.ndarray, there: np.ndarray) -> None:
    grid = box_grid()
    at_here, at_there = grid_distance(grid, here), grid_distance(grid, there)
    # A trilinear mean of values that change by at most 1 a mm changes by at most sqrt(3) a mm.
    assert (np.abs(at_here - at_there) <= np.sqrt(3.0) * np.linalg.norm(here - there, axis=1) + 1e-9).all()
    assert (at_here <= box_distance(here, HALF) + grid.error).all()


def test_a_point_that_is_nowhere_has_no_value() -> None:
    points = np.array([[np.nan, 0, 0], [0, np.nan, 0], [0, 0, np.nan], [0.0, 0, 0]])
    assert np.isnan(grid_distance(box_grid(), points)).tolist() == [True, True, True, False]
    far = grid_distance(box_grid(), np.array([[1e300, 0, 0], [-np.inf, 0, 0]]))
    assert not (far >= 0.0).any()


def test_a_posed_body_is_inside_where_its_points_are() -> None:
    grid = box_grid()
    rng = np.random.default_rng(12)
    body = rng.normal(0.0, 20.0, (200, 3))
    turns = np.array([trimesh.transformations.random_rotation_matrix(rng.random(3))[:3, :3] for _ in range(9)])
    shifts = rng.normal(0.0, 15.0, (9, 3))
    expected = [grid_distance(grid, body @ turn.T + shift) > 0.0 for turn, shift in zip(turns, shifts, strict=True)]
    for threads in (1, 2):
        assert (inside_posed(grid, body, rotations=turns, origins=shifts, threads=threads) == expected).all()


def test_a_posed_body_that_is_nowhere_is_refused() -> None:
    with pytest.raises(ValueError, match="must be finite"):
        inside_posed(box_grid(), np.full((1, 3), np.nan), rotations=np.eye(3)[None], origins=np.zeros((1, 3)))


def test_moving_the_skin_moves_the_grid_with_it() -> None:
    shift = np.array([1000.0, -500.0, 250.0])
    mesh = box_mesh(-HALF + shift, HALF + shift)
    grid = build_grid(mesh, build_tree(mesh), cells=32)
    np.testing.assert_allclose(grid.origin - shift, box_grid().origin)
    np.testing.assert_allclose(grid.values, box_grid().values, atol=SINGLE)


def test_a_grid_without_cells_is_refused() -> None:
    mesh = box_mesh(-HALF, HALF)
    with pytest.raises(ValueError, match="ask for two cells or more"):
        build_grid(mesh, build_tree(mesh), cells=1)
