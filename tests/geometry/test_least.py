"""Least distance over a surface of revolution: closed forms, a dense twin, and an honest slack when time runs out."""

from functools import cache

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from manifold3d import Manifold

from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.least import LeastDistance, Skin, least_distance
from formmaker.geometry.meshes import Mesh
from tests.oracles import box_distance, box_mesh, brute_distances
from tests.skins import placed_points, skin_of

HALF = np.array([70.0, 50.0, 40.0])
SIDES = np.repeat(np.arange(6), 2)  # the box's triangles come two to a side
HERE = Frame(rotation=np.eye(3), origin=np.zeros(3))
DRUM = np.array([[0.0, -32.0, 60.0, -32.0], [60.0, -32.0, 60.0, 32.0], [60.0, 32.0, 0.0, 32.0]])
CUP = np.array([[0.0, 0.0, 20.0, 0.0], [20.0, 0.0, 30.0, 25.0], [30.0, 25.0, 24.0, 25.0], [24.0, 25.0, 0.0, 8.0]])


@cache
def box_skin(*, labelled: bool) -> Skin:
    return skin_of(box_mesh(-HALF, HALF), SIDES if labelled else None)


def dense(segments: np.ndarray, frame: Frame, turns: int = 240) -> np.ndarray:
    """Points all over a surface, about a millimetre apart."""
    theta = 2.0 * np.pi * np.arange(turns) / turns
    share = np.linspace(0.0, 1.0, 40)[:, None]
    places = np.vstack(
        [low + share * (high - low) for low, high in zip(segments[:, :2], segments[:, 2:], strict=True)]
    )
    return placed_points(np.repeat(places, turns, axis=0), np.tile(theta, len(places)), frame)


def place_of(found: LeastDistance, frame: Frame) -> np.ndarray:
    return placed_points(np.array([[found.radius, found.height]]), np.array([found.theta]), frame)


poses = st.builds(
    lambda origin, axis: frame_from_axis(np.array(origin), np.array(axis), np.array([0.3, 1.0, 0.2])),
    st.tuples(st.floats(-40, 40), st.floats(-30, 30), st.floats(-60, 30)),
    st.sampled_from([(0, 0, 1), (0, 0, -1), (1, 0, 0), (0.3, 0.2, 0.9), (0.5, -0.5, 0.7), (-0.9, 0.1, 0.05)]),
)


@given(frame=poses, size=st.floats(0.05, 1.4), off=st.floats(-30.0, 30.0))
@settings(max_examples=60, deadline=None)
def test_whether_some_place_lies_lower_is_answered_as_the_whole_search_would(
    frame: Frame, size: float, off: float
) -> None:
    whole = least_distance(box_skin(labelled=True), CUP * size, frame, slack=0.05)
    below = whole.value + off
    asked = least_distance(box_skin(labelled=True), CUP * size, frame, slack=0.05, below=below)
    there = box_distance(place_of(asked, frame), HALF)[0]
    assert asked.value == pytest.approx(there, abs=1e-9)
    if asked.value < below:
        assert whole.value - whole.slack < below  # there is such a place
    else:
        assert whole.value >= below - asked.slack  # and here there is none, but for the slack


@pytest.mark.parametrize("labelled", [True, False])
@given(frame=poses, size=st.floats(0.05, 1.4))
@settings(max_examples=30, deadline=None)
def test_no_place_of_the_surface_lies_lower_than_the_answer_less_its_slack(
    labelled: bool, frame: Frame, size: float
) -> None:
    segments = CUP * size
    found = least_distance(box_skin(labelled=labelled), segments, frame, slack=0.05)
    there = box_distance(place_of(found, frame), HALF)[0]
    assert found.value == pytest.approx(there, abs=1e-9)  # exact at the place that it names
    lowest = box_distance(dense(segments, frame), HALF).min()
    assert lowest >= found.value - found.slack - 1e-9
    if labelled:  # without its planes, a rim parallel to a face may take more questions than are allowed
        assert found.slack <= max(0.05, -0.01 * found.value) + 1e-12
    ends = segments[found.segment]
    assert min(ends[[0, 2]]) - 1e-9 <= found.radius <= max(ends[[0, 2]]) + 1e-9


def test_a_level_ring_in_a_ball_is_as_deep_as_its_farthest_corner() -> None:
    ball = trimesh.creation.icosphere(subdivisions=5, radius=100.0)
    skin = skin_of(Mesh(vertices=ball.vertices, faces=ball.faces))
    found = least_distance(skin, np.array([[30.0, 0.0, 30.0, 40.0]]), HERE, slack=0.05)
    # 100 less hypot(30, 40); the faceted ball lies up to 100 (1 - cos(0.02)) inside the round one
    assert found.value == pytest.approx(50.0, abs=0.08)
    assert found.height == pytest.approx(40.0, abs=1.0)


def test_a_tilted_disc_under_a_plane_is_as_deep_as_its_high_edge() -> None:
    tilt = np.radians(20.0)
    frame = frame_from_axis(np.array([0.0, 0, 10]), np.array([np.sin(tilt), 0, np.cos(tilt)]), np.array([1.0, 0, 0]))
    skin = skin_of(box_mesh(np.full(3, -300.0), np.array([300.0, 300.0, 40.0])), SIDES)
    found = least_distance(skin, np.array([[0.0, 0.0, 45.0, 0.0]]), frame, slack=0.01)
    assert found.value == pytest.approx(30.0 - 45.0 * np.sin(tilt), abs=0.01)
    assert np.cos(found.theta) == pytest.approx(-1.0, abs=1e-3)  # x leans down with the axis, so 180 degrees is high


def test_a_surface_lying_on_a_sawn_face_is_settled_at_once_by_the_face() -> None:
    frame = Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, -37.0]))
    disc = np.array([[0.0, 0.0, 40.0, 0.0]])
    found = least_distance(box_skin(labelled=True), disc, frame, slack=0.001, budget=3000)
    assert (found.value, found.slack) == (pytest.approx(3.0, abs=1e-9), 0.001)
    bare = least_distance(box_skin(labelled=False), disc, frame, slack=0.001, budget=3000)
    assert bare.slack > 0.01


@pytest.mark.parametrize("budget", [1, 500, 5000])
def test_a_search_that_runs_out_of_time_says_how_much_lower_another_place_could_be(budget: int) -> None:
    # a prism of 50 sides about a cylinder: nearest in the middle of its sides, at every height alike
    prism = Manifold.cylinder(90.0, 100.0, 100.0, 50).to_mesh64()
    skin = skin_of(Mesh(vertices=prism.vert_properties[:, :3], faces=prism.tri_verts))
    frame = Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, 20.0]))
    truth = 100.0 * np.cos(np.pi / 50) - 98.0
    found = least_distance(skin, np.array([[98.0, 0.0, 98.0, 50.0]]), frame, slack=0.001, budget=budget)
    assert found.slack > 0.001
    assert found.value - found.slack <= truth <= found.value + 1e-9


def test_a_surface_far_from_the_skin_on_either_side_is_still_bracketed() -> None:
    away = Frame(rotation=np.eye(3), origin=np.array([900.0, 0.0, 0.0]))
    found = least_distance(box_skin(labelled=True), CUP, away, slack=0.05)
    truth = box_distance(dense(CUP, away), HALF).min()
    assert found.value - found.slack <= truth <= found.value + 0.3
    assert found.slack <= 0.01 * 870.0


def test_a_skin_labelled_as_one_patch_all_round_bounds_nothing_and_hides_nothing() -> None:
    skin = skin_of(box_mesh(-HALF, HALF), np.zeros(12))
    frame = Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, -36.0]))
    found = least_distance(skin, CUP, frame, slack=0.05)
    assert found.value == pytest.approx(4.0, abs=0.05)


def test_a_blank_a_hundred_metres_from_the_origin_has_the_same_margin() -> None:
    far = np.array([1e5, -1e5, 3e4])
    skin = skin_of(box_mesh(far - HALF, far + HALF), SIDES)
    tilted = frame_from_axis(np.array([3.0, 4.0, -20.0]), np.array([0.1, 0.2, 1.0]), np.array([1.0, 0.0, 0.0]))
    here = least_distance(box_skin(labelled=True), CUP, tilted, slack=0.001)
    there = least_distance(skin, CUP, Frame(rotation=tilted.rotation, origin=tilted.origin + far), slack=0.001)
    assert there.value == pytest.approx(here.value, abs=0.0011)


def pricked_skin(*pricks: tuple[float, float, float], half: float = 70.0) -> Skin:
    """A box with thin pits from outside, the tip of each at an angle, a radius and a height; sides labelled."""
    body = Manifold.cube([2.0 * half, 2.0 * half, 80.0], True)
    for theta, tip, height in pricks:
        pit = Manifold.cylinder(2.0 * half + 60.0 - tip, 0.0, 4.0, 8).translate([0.0, 0.0, tip])
        pit = pit.rotate([0.0, 90.0, 0.0]).rotate([0.0, 0.0, float(np.degrees(theta))])
        body = body - pit.translate([0.0, 0.0, height])
    solid = body.to_mesh64()
    mesh = Mesh(vertices=solid.vert_properties[:, :3], faces=solid.tri_verts)
    corners = mesh.vertices[mesh.faces]
    patches = np.full(len(mesh.faces), -1)
    for number, (axis, side) in enumerate([(0, -half), (0, half), (1, -half), (1, half), (2, -40.0), (2, 40.0)]):
        patches[(np.abs(corners[:, :, axis] - side) < 1e-9).all(axis=1)] = number
    return skin_of(mesh, patches, cells=24)


@pytest.mark.parametrize("seed", range(12))
def test_a_prick_finer_than_any_sampling_is_found_where_it_is(seed: int) -> None:
    # the tip stands off the surface by less than a millimetre, everything else by five or more: nothing but the tip
    # can be the answer, wherever it falls between the places that are asked first
    random = np.random.default_rng(seed)
    theta, height, gap = random.uniform(0, 2 * np.pi), random.uniform(-28, 28), random.uniform(0.05, 0.9)
    skin = pricked_skin((theta, 60.0 + gap, height), half=random.choice([70.0, 110.0]))
    found = least_distance(skin, DRUM, HERE, slack=0.02)
    assert gap - 0.02 <= found.value <= gap + 0.02
    assert found.slack == 0.02
    assert abs(np.angle(np.exp(1j * (found.theta - theta)))) * 60.0 < 1.0
    assert found.height == pytest.approx(height, abs=1.0)


def test_a_prick_at_the_corner_of_a_patch_is_not_hidden_by_one_in_the_middle_of_another() -> None:
    # patches of 8 mm: corners at 45 degrees and height 0, middles at 3.75 degrees and height 4
    corner, middle = (np.radians(45.0), 60.05, 0.0), (np.radians(123.75), 60.5, 4.0)
    found = least_distance(pricked_skin(corner, middle, half=110.0), DRUM, HERE, slack=0.02)
    assert found.value == pytest.approx(0.05, abs=0.02)
    assert found.theta == pytest.approx(corner[0], abs=0.02)


@pytest.mark.parametrize("depth", [-0.5, 0.0, 0.4])
@pytest.mark.parametrize("seed", range(4))
def test_a_foot_on_or_over_a_sawn_face_is_not_settled_by_it_where_a_pit_comes_near(depth: float, seed: int) -> None:
    random = np.random.default_rng(seed)
    theta, radius = random.uniform(0, 2 * np.pi), random.uniform(5, 38)
    at = [radius * np.cos(theta), radius * np.sin(theta), 0.0]
    pit = Manifold.cylinder(12.0, 3.0, 0.0, 8).translate([at[0], at[1], -40.0])
    solid = (Manifold.cube([140.0, 140.0, 80.0], True) - pit).to_mesh64()
    mesh = Mesh(vertices=solid.vert_properties[:, :3], faces=solid.tri_verts)
    flat = (np.abs(mesh.vertices[mesh.faces][:, :, 2] + 40.0) < 1e-9).all(axis=1)
    skin = skin_of(mesh, np.where(flat, 0, -1), cells=24)
    frame = Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, -40.0 + depth]))
    disc = np.array([[0.0, 0.0, 44.0, 0.0]])
    found = least_distance(skin, disc, frame, slack=0.02)
    truth = -brute_distances(mesh.corners, placed_points(np.array([[radius, 0.0]]), np.array([theta]), frame))[0]
    # in the middle of the mouth: no place is farther out than that by more than the rest of the pit allows
    assert found.value - found.slack <= truth + 1e-9
    assert found.value <= truth + 0.3
