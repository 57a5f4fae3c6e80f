"""Distances to a skin against brute force, closed forms, winding numbers and an independent library."""

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh, face_normals, moved
from formmaker.geometry.nearest import (
    build_tree,
    label_patches,
    nearest_face,
    nearest_other,
    signed_at,
    signed_distance,
)
from tests.oracles import box_distance, box_mesh, brute_distances, joined, winding_numbers
from tests.scans import CLOSED, closed_scan

# Rounding of coordinates of some hundred mm: a few 1e-13; a thousandfold of it is still no length.
ROUNDING = 1e-10
TETRAHEDRON = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])

coordinates = st.floats(-100.0, 100.0)
corner_sets = arrays(float, (4, 3), elements=coordinates)
point_sets = arrays(float, (5, 3), elements=st.floats(-200.0, 200.0))


def lump(seed: int, subdivisions: int = 2) -> Mesh:
    """A ball with bumps and dents, closed."""
    ball = trimesh.creation.icosphere(subdivisions=subdivisions)
    radii = np.random.default_rng(seed).uniform(40.0, 60.0, len(ball.vertices))
    return Mesh(vertices=np.asarray(ball.vertices) * radii[:, None], faces=np.asarray(ball.faces))


def solid_tetrahedron(corners: np.ndarray) -> Mesh:
    a, b, c, d = corners
    volume = np.cross(b - a, c - a) @ (d - a)
    assume(abs(volume) > 1.0)
    return Mesh(vertices=corners if volume > 0.0 else corners[[0, 2, 1, 3]], faces=TETRAHEDRON)


def turn(angles: np.ndarray) -> np.ndarray:
    return np.asarray(trimesh.transformations.euler_matrix(*angles)[:3, :3])


@pytest.mark.parametrize("seed", range(3))
def test_distances_are_those_of_every_triangle_asked_in_turn(seed: int) -> None:
    mesh = lump(seed)
    points = np.random.default_rng(seed + 100).uniform(-90.0, 90.0, (400, 3))
    found = signed_distance(build_tree(mesh), points)
    np.testing.assert_allclose(np.abs(found.distance), brute_distances(mesh.corners, points), atol=ROUNDING)
    at_face = [brute_distances(mesh.corners[[f]], p[None])[0] for f, p in zip(found.face, points, strict=True)]
    np.testing.assert_allclose(np.abs(found.distance), at_face, atol=ROUNDING)


def test_distances_of_an_independent_library_are_met_on_a_scan() -> None:
    mesh = closed_scan("stump_blank.stl")
    points = np.random.default_rng(5).uniform(*mesh.bounds, (500, 3))
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    _, distance, _ = trimesh.proximity.closest_point(other, points)
    np.testing.assert_allclose(np.abs(signed_distance(build_tree(mesh), points).distance), distance, atol=ROUNDING)


def test_distances_to_a_box_are_the_closed_form() -> None:
    half = np.array([30.0, 20.0, 10.0])
    points = np.random.default_rng(1).uniform(-50.0, 50.0, (5000, 3))
    found = signed_distance(build_tree(box_mesh(-half, half)), points).distance
    np.testing.assert_allclose(found, box_distance(points, half), atol=ROUNDING)


def test_distances_to_a_fine_ball_are_the_radius_left_over() -> None:
    ball = trimesh.creation.icosphere(subdivisions=5, radius=50.0)
    mesh = Mesh(vertices=np.asarray(ball.vertices), faces=np.asarray(ball.faces))
    points = np.random.default_rng(2).normal(0.0, 40.0, (2000, 3))
    # Its edges are under 2.1 mm, so the facets lie at most 2.1^2 / (3 * 2 * 50) mm within the ball.
    found = signed_distance(build_tree(mesh), points).distance
    np.testing.assert_allclose(found, 50.0 - np.linalg.norm(points, axis=1), atol=2.1**2 / 300.0)


@settings(max_examples=60, deadline=None)
@given(corner_sets, point_sets)
def test_the_sign_beside_the_sharpest_edges_is_that_of_the_winding_number(
    corners: np.ndarray, points: np.ndarray
) -> None:
    mesh = solid_tetrahedron(corners)
    found = signed_distance(build_tree(mesh), points).distance
    inside = winding_numbers(mesh, points) > 0.5
    clear = np.abs(found) > 1e-6
    assert ((found > 0.0) == inside)[clear].all()


@pytest.mark.parametrize("name", CLOSED)
def test_the_sign_on_scans_is_that_of_the_winding_number(name: str) -> None:
    mesh = closed_scan(name)
    rng = np.random.default_rng(3)
    faces = rng.integers(0, len(mesh.faces), 120)
    beside = mesh.corners[faces].mean(axis=1) + rng.normal(0.0, 2.0, (120, 1)) * face_normals(mesh)[faces]
    points = np.vstack([beside, rng.uniform(*mesh.bounds, (120, 3))])
    found = signed_distance(build_tree(mesh), points).distance
    inside = winding_numbers(mesh, points) > 0.5
    clear = np.abs(found) > 1e-6
    assert ((found > 0.0) == inside)[clear].all()


def test_wood_within_wood_is_wood() -> None:
    skin = joined(
        box_mesh(np.array([-30.0, -10.0, -10.0]), np.array([10.0, 10.0, 10.0])),
        box_mesh(np.array([-10.0, -8.0, -8.0]), np.array([30.0, 8.0, 8.0])),
    )
    # Just behind the end of the second box, within the first: the nearest face looks the other way.
    points = np.array([[-11.0, 1.0, 0.5], [-9.0, 1.0, 0.5], [11.0, 1.0, 0.5], [11.0, 9.0, 0.5]])
    assert (signed_distance(build_tree(skin), points).distance > 0.0).tolist() == [True, True, True, False]


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 5), point_sets, point_sets)
def test_no_step_changes_the_distance_by_more_than_its_length(seed: int, here: np.ndarray, there: np.ndarray) -> None:
    tree = build_tree(lump(seed, 1))
    change = np.abs(signed_distance(tree, here).distance - signed_distance(tree, there).distance)
    assert (change <= np.linalg.norm(here - there, axis=1) + ROUNDING).all()


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 5),
    point_sets,
    arrays(float, 3, elements=st.floats(-4.0, 4.0)),
    arrays(float, 3, elements=st.floats(-1000.0, 1000.0)),
    st.floats(0.01, 100.0),
)
def test_moving_or_scaling_skin_and_points_together_changes_nothing_else(
    seed: int, points: np.ndarray, angles: np.ndarray, shift: np.ndarray, scale: float
) -> None:
    mesh = lump(seed, 1)
    here = signed_distance(build_tree(mesh), points).distance
    frame = Frame(rotation=turn(angles), origin=shift)
    there = signed_distance(build_tree(moved(mesh, frame)), frame.carry(points)).distance
    np.testing.assert_allclose(there, here, atol=1e-9)
    larger = signed_distance(build_tree(Mesh(vertices=mesh.vertices * scale, faces=mesh.faces)), points * scale)
    np.testing.assert_allclose(larger.distance, here * scale, atol=1e-10 * max(1.0, scale))


def test_a_bound_that_holds_changes_nothing_and_one_that_does_not_gives_no_figure() -> None:
    tree = build_tree(lump(1))
    for point in np.random.default_rng(4).uniform(-90.0, 90.0, (50, 3)):
        free = signed_at(tree.arrays, *point, np.inf)
        assert signed_at(tree.arrays, *point, abs(free[0])) == free
        distance, face = signed_at(tree.arrays, *point, 0.9 * abs(free[0]))
        assert np.isnan(distance)
        assert face == -1
        assert nearest_face(tree.arrays, *point, 0.9 * abs(free[0]))[1] == -1


def test_a_patch_left_out_is_not_met() -> None:
    mesh = lump(2)
    patches = np.where(mesh.corners.mean(axis=1)[:, 2] > 10.0, 7, np.arange(len(mesh.faces)) % 3 - 1)
    tree = build_tree(mesh)
    labels = label_patches(tree, patches)
    points = np.random.default_rng(6).uniform(-90.0, 90.0, (100, 3))
    for patch in (7, 0, 99):
        found = [nearest_other(tree.arrays, labels.slots, labels.nodes, patch, *p, np.inf) for p in points]
        np.testing.assert_allclose(found, brute_distances(mesh.corners[patches != patch], points), atol=ROUNDING)
    one = label_patches(tree, np.zeros(len(mesh.faces), dtype=int))
    assert nearest_other(tree.arrays, one.slots, one.nodes, 0, 0.0, 0.0, 0.0, 5.0) == 5.0


def test_a_point_that_is_nowhere_has_no_distance() -> None:
    found = signed_distance(build_tree(lump(0)), np.array([[0.0, 0, 0], [np.nan, 0, 0], [np.inf, 0, 0], [0, 0, 1]]))
    assert np.isfinite(found.distance).tolist() == [True, False, False, True]
    assert (found.face >= 0).tolist() == [True, False, False, True]


def test_faces_without_area_change_nothing() -> None:
    half = np.array([30.0, 20.0, 10.0])
    box = box_mesh(-half, half)
    flat = Mesh(vertices=box.vertices, faces=np.vstack([box.faces, [[0, 1, 1], [3, 3, 3]]]))
    points = np.random.default_rng(7).uniform(-50.0, 50.0, (500, 3))
    np.testing.assert_allclose(signed_distance(build_tree(flat), points).distance, box_distance(points, half))


def test_a_skin_without_area_is_refused() -> None:
    line = Mesh(vertices=np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]]), faces=np.array([[0, 1, 2]]))
    with pytest.raises(ValueError, match="no skin to measure to"):
        build_tree(line)
