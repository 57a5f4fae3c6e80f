"""Turning bodies against published examples of balancing, closed forms and brute force."""

import math

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from formmaker.engine.axis_ends import AxisEnds, axis_ends
from formmaker.engine.balance import (
    Body,
    balanced_ends,
    centre_slack,
    force_at,
    speed_at,
    unbalance_about,
    weights_at,
)
from formmaker.engine.weighing import weigh
from formmaker.errors import MountingError
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import mass_properties, moved
from formmaker.model.ends import End
from formmaker.units import KG_PER_POUND
from tests.bodies import ball, cylinder
from tests.engine.jobs import plain_blank
from tests.oracles import box_mesh
from tests.scans import closed_scan

X = np.array([1.0, 0.0, 0.0])
OUNCE_INCH = 0.7200778875  # kg mm in an ounce inch (pint)


def points_body(points: np.ndarray) -> Body:
    """Equal masses at points."""
    centre = points.mean(axis=0)
    return Body(centre=centre, spread=(points - centre).T @ (points - centre) / len(points))


def upright_ends(length: float) -> AxisEnds:
    return AxisEnds(foot=np.zeros(3), rim=np.array([0.0, 0.0, length]))


@pytest.mark.parametrize(
    ("mass", "arm", "rpm", "newtons"),
    [
        # a balancing machine maker's manual: 10 g at 100 mm (check values, section 3)
        (0.010, 100.0, 3000.0, 98.69),
        (0.010, 100.0, 6000.0, 394.79),
        # a textbook example: 2.5 kg on 0.4 m at 300 rpm
        (2.5, 400.0, 300.0, 986.96),
    ],
)
def test_force_of_published_examples(mass: float, arm: float, rpm: float, newtons: float) -> None:
    assert force_at(mass, arm, rpm) == pytest.approx(newtons, abs=0.01)


def test_force_in_the_units_of_the_other_side() -> None:
    # F lbf = 28.403 (lb in) (rpm / 1000)^2 (check values, section 3)
    pounds = force_at(10.0 * KG_PER_POUND, 25.4, 500.0) / (KG_PER_POUND * 9.80665)
    assert pounds == pytest.approx(28.403 * 10.0 * 0.25, rel=2e-5)


def test_the_published_example_of_permissible_unbalance() -> None:
    # 1000 lb at 15 000 rpm, grade G 2.5 (ISO 21940-11): 1.0 oz in in all, 0.5 each plane. The grade is the speed of
    # the centre of mass, so that the force is mass x 2.5 mm/s x angular speed; 1.0 is printed for 1.0025.
    mass, rpm = 1000.0 * KG_PER_POUND, 15_000.0
    arm = 1.0 * OUNCE_INCH / mass
    assert force_at(mass, arm, rpm) == pytest.approx(mass * 2.5e-3 * 2.0 * math.pi * rpm / 60.0, rel=3e-3)
    lack = unbalance_about(Body(centre=[arm, 0.0, 50.0], spread=np.zeros((3, 3))), upright_ends(100.0), X)
    np.testing.assert_allclose(mass * lack.at_foot / OUNCE_INCH, [0.5, 0.0], atol=1e-12)
    np.testing.assert_allclose(mass * lack.at_rim / OUNCE_INCH, [0.5, 0.0], atol=1e-12)


def test_one_mass_is_split_between_two_planes_by_the_lever() -> None:
    # U 100 at z 30 of 120: 75 and 25 (check values, section 3)
    lack = unbalance_about(Body(centre=[0.0, 100.0, 30.0], spread=np.zeros((3, 3))), upright_ends(120.0), X)
    np.testing.assert_allclose((lack.at_foot, lack.at_rim), [[0.0, 75.0], [0.0, 25.0]], atol=1e-12)
    assert (lack.distance, lack.pull) == (pytest.approx(100.0), pytest.approx(100.0))
    assert lack.couple == pytest.approx(100.0 * 30.0)  # 30 mm from the middle, toward the foot
    assert lack.products[1] == pytest.approx(-3000.0)


def test_two_masses_across_from_each_other_are_a_pure_couple() -> None:
    # at rest in any position, and yet pulling: kg x 20 mm x 45 mm, held by forces 90 mm apart as arms of 10 mm
    points = np.array([[20.0, 0.0, 15.0], [-20.0, 0.0, 105.0]])
    lack = unbalance_about(points_body(points), upright_ends(120.0), X)
    assert lack.distance == pytest.approx(0.0, abs=1e-12)
    assert lack.couple == pytest.approx(20.0 * 45.0)
    np.testing.assert_allclose(lack.at_rim, [-7.5, 0.0], atol=1e-12)
    assert lack.pull == pytest.approx(2.0 * 900.0 / 120.0)


@pytest.mark.parametrize(("arm", "rpm"), [(8.0, 334.0), (20.0, 211.0), (50.0, 134.0)])
def test_speed_at_which_the_force_is_the_weight(arm: float, rpm: float) -> None:
    # n = 945.65 / sqrt(e) (check values, section 3)
    assert speed_at(arm, 1.0) == pytest.approx(rpm, abs=0.5)
    assert speed_at(arm, 1.0) == pytest.approx(945.65 / math.sqrt(arm), rel=1e-5)
    assert weights_at(arm, speed_at(arm, 0.25)) == pytest.approx(0.25)


@pytest.mark.parametrize(("arm", "rpm", "weights"), [(8.0, 500.0, 2.236), (8.0, 250.0, 0.559)])
def test_force_as_a_multiple_of_the_weight(arm: float, rpm: float, weights: float) -> None:
    assert weights_at(arm, rpm) == pytest.approx(weights, abs=5e-4)  # 10 kg: 219.32 N and 54.83 N


def test_what_is_not_off_its_axis_pulls_at_no_speed() -> None:
    assert speed_at(0.0, 0.25) == math.inf


def test_products_are_those_of_another_library_about_the_same_axes() -> None:
    mesh = closed_scan("stump_blank.stl")
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    low, high = mesh.bounds
    point, axis = 0.5 * (low + high) + [4.0, -3.0, 0.0], np.array([0.1, -0.05, 1.0])
    ends = axis_ends(mesh, point, axis)
    lack = unbalance_about(weigh(plain_blank(mesh)).body, ends, X)
    z = axis / np.linalg.norm(axis)
    x = X - X @ z * z
    x /= np.linalg.norm(x)
    frame = np.eye(4)
    frame[:3, :3] = np.column_stack([x, np.cross(z, x), z])
    frame[:3, 3] = 0.5 * (ends.foot + ends.rim)
    inertia = other.moment_inertia_frame(frame) / other.volume
    # the sign trap: products of inertia are the off-diagonals of the tensor with the other sign
    np.testing.assert_allclose(lack.products, -inertia[:2, 2], rtol=1e-6)


def test_the_skin_of_a_ball_leaves_its_centre_known_to_three_halves_of_its_own_doubt() -> None:
    mesh = ball(80.0)
    axis = np.array([0.2, 0.3, 1.0])
    assert centre_slack(mesh, np.zeros(3), axis, 0.7) == pytest.approx(1.5 * 0.7, rel=2e-3)


def test_the_skin_of_a_cylinder_by_the_closed_form() -> None:
    # error / V times the integral of |x|: 4 R^2 L on the side, 4 R^3 / 3 on each end
    radius, length = 60.0, 90.0
    mesh = cylinder(radius, length)
    closed = (4.0 * radius**2 * length + 8.0 * radius**3 / 3.0) / (math.pi * radius**2 * length)
    found = centre_slack(mesh, np.array([0.0, 0.0, 45.0]), np.array([0.0, 0.0, 1.0]), 1.0)
    # the ends are triangles out to the rim, and the mean of corners takes |x| on them for half too much
    assert closed <= found <= closed + 0.5 * 8.0 * radius**3 / 3.0 / (math.pi * radius**2 * length)


@settings(deadline=None, max_examples=50)
@given(arrays(float, 8, elements=st.floats(-1.0, 1.0)))
def test_no_skin_within_its_doubt_moves_the_centre_by_more(signs: np.ndarray) -> None:
    # corners of a block moved outward or inward along all three axes, 0.01 mm at most each: first order
    low, high = np.array([-50.0, -30.0, 0.0]), np.array([50.0, 30.0, 80.0])
    mesh = box_mesh(low, high)
    centre = mass_properties(mesh).centre
    outward = np.sign(mesh.vertices - centre)
    shifted = type(mesh)(vertices=mesh.vertices + 0.01 * signs[:, None] * outward, faces=mesh.faces)
    moved_by = np.linalg.norm((mass_properties(shifted).centre - centre)[:2])
    slack = centre_slack(mesh, centre, np.array([0.0, 0.0, 1.0]), 0.01)
    assert moved_by <= slack * (1.0 + 1e-3)


def crossings(ends: AxisEnds, point: np.ndarray, direction: np.ndarray) -> np.ndarray:
    """How far a line passes from both ends, in the planes square to the axis through them, (2,) mm."""
    along = ends.rim - ends.foot
    steps = [point + direction * ((end - point) @ along) / (direction @ along) - end for end in (ends.foot, ends.rim)]
    return np.linalg.norm(steps, axis=1)


def line_distance(point: np.ndarray, ends: AxisEnds) -> float:
    along = (ends.rim - ends.foot) / np.linalg.norm(ends.rim - ends.foot)
    return float(np.linalg.norm(np.cross(point - ends.foot, along)))


BLOCK = box_mesh(np.array([-90.0, -90.0, -40.0]), np.array([90.0, 90.0, 140.0]))


@settings(deadline=None, max_examples=60)
@given(
    x=st.floats(-30.0, 30.0),
    y=st.floats(-30.0, 30.0),
    height=st.floats(-30.0, 130.0),
    seed=st.integers(0, 10_000),
)
def test_no_balanced_axis_moves_its_worse_end_less(x: float, y: float, height: float, seed: int) -> None:
    # brute force: two hundred other lines through the centre of mass; centres inside the block, so that heights below
    # 0 and above 100 are beyond the ends
    assume(math.hypot(x, y) > 0.1)
    ends, centre = upright_ends(100.0), np.array([x, y, height])
    found = balanced_ends(BLOCK, ends, centre)
    assert line_distance(centre, found) < 1e-9
    worse = crossings(ends, centre, found.rim - found.foot).max()
    others = np.random.default_rng(seed).normal(size=(200, 3)) * [0.3, 0.3, 0.0] + [0.0, 0.0, 1.0]
    assert min(crossings(ends, centre, direction).max() for direction in others) >= worse - 1e-9
    if 0.0 < height < 100.0:
        assert worse == pytest.approx(math.hypot(x, y))


@pytest.mark.parametrize("held", End)
def test_an_end_that_is_held_stays_where_it_is(held: End) -> None:
    ends = axis_ends(BLOCK, np.array([3.0, 4.0, 0.0]), np.array([0.1, 0.0, 1.0]))
    centre = mass_properties(BLOCK).centre
    found = balanced_ends(BLOCK, ends, centre, held)
    np.testing.assert_allclose(getattr(found, held), getattr(ends, held), atol=1e-9)
    assert line_distance(centre, found) < 1e-9
    assert np.linalg.norm(getattr(found, held.other) - getattr(ends, held.other)) > 1.0


def test_a_centre_of_mass_level_with_the_end_held_is_refused() -> None:
    ends = axis_ends(BLOCK, np.zeros(3), np.array([0.0, 0.0, 1.0]))
    with pytest.raises(
        MountingError, match=r"would lean by 90 deg .* centre that is held or beyond; hold the other end"
    ):
        balanced_ends(BLOCK, ends, np.array([20.0, 0.0, -40.0]), End.FOOT)
    with pytest.raises(MountingError, match=r"would lean by 1\d\d deg"):
        balanced_ends(BLOCK, ends, ends.rim + np.array([0.1, 0.0, 1.0]), End.RIM)


def test_ends_far_from_the_centre_of_mass_are_refused_where_the_tilt_is_no_move() -> None:
    ends = AxisEnds(foot=np.array([0.0, 0.0, 139.0]), rim=np.array([0.0, 0.0, 140.0]))
    with pytest.raises(MountingError, match="level with the ends or beyond; give centres on both sides of it"):
        balanced_ends(BLOCK, ends, np.array([89.5, 0.0, 60.0]))


def test_other_wood_before_the_end_that_is_held_is_refused() -> None:
    # an overhang: on its way to the held foot the tilted axis would have to pass through the ledge below
    ledge = box_mesh(np.array([-90.0, -20.0, -80.0]), np.array([-4.0, 20.0, -60.0]))
    mesh = type(BLOCK)(
        vertices=np.vstack([BLOCK.vertices, ledge.vertices]), faces=np.vstack([BLOCK.faces, ledge.faces + 8])
    )
    ends = axis_ends(mesh, np.zeros(3), np.array([0.0, 0.0, 1.0]))
    with pytest.raises(
        MountingError, match=r"foot centre cannot be held.*meets other wood first; hold the other end"
    ):
        balanced_ends(mesh, ends, np.array([50.0, 0.0, 50.0]), End.FOOT)


@settings(deadline=None, max_examples=40)
@given(
    arrays(float, 3, elements=st.floats(-3.0, 3.0)),
    arrays(float, 3, elements=st.floats(-500.0, 500.0)),
    st.booleans(),
)
def test_moving_wood_and_mounting_together_changes_nothing_and_a_mirror_mirrors(
    angles: np.ndarray, shift: np.ndarray, is_mirrored: bool
) -> None:
    mesh = box_mesh(np.array([-40.0, -60.0, 0.0]), np.array([70.0, 65.0, 90.0]))
    corner = mesh.vertices.copy()
    corner[0] += [-20.0, 10.0, 5.0]
    mesh = type(mesh)(vertices=corner, faces=mesh.faces)
    point, axis = np.array([3.0, -2.0, 40.0]), np.array([0.05, 0.1, 1.0])
    here = axis_ends(mesh, point, axis)
    lack = unbalance_about(weigh(plain_blank(mesh)).body, here, X)
    turn = np.asarray(trimesh.transformations.euler_matrix(*angles)[:3, :3])
    zero = turn @ X
    frame = Frame(rotation=turn, origin=shift)
    there, point, axis = moved(mesh, frame), frame.carry(point), turn @ axis
    if is_mirrored:  # in the plane through the axis and angle 0: only what lies across it changes its sign
        across = np.cross(axis, zero) / np.linalg.norm(np.cross(axis, zero))
        flip = np.eye(3) - 2.0 * np.outer(across, across)
        vertices = (there.vertices - point) @ flip.T + point
        there = type(mesh)(vertices=vertices, faces=there.faces[:, ::-1])
    body = weigh(plain_blank(there)).body
    ends = axis_ends(there, point, axis)
    again = unbalance_about(body, ends, zero)
    sign = np.array([1.0, -1.0 if is_mirrored else 1.0])
    for name in ("offset", "products", "at_foot", "at_rim"):
        np.testing.assert_allclose(getattr(again, name), sign * getattr(lack, name), rtol=1e-7, atol=1e-6)
    new, old = (
        balanced_ends(there, ends, body.centre),
        balanced_ends(mesh, here, weigh(plain_blank(mesh)).body.centre),
    )
    assert np.linalg.norm(new.rim - new.foot) == pytest.approx(float(np.linalg.norm(old.rim - old.foot)), rel=1e-9)
