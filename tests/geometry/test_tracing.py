"""Ways out of a box along curves whose crossings can be told on paper."""

from functools import cache

import numpy as np
import pytest
from numpy.testing import assert_allclose

from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.least import Skin
from formmaker.geometry.tracing import WaysOut, along, ways_out
from formmaker.tolerances import DEFAULT
from tests.oracles import box_mesh, joined
from tests.skins import skin_of

HALF = np.array([70.0, 50.0, 40.0])
HERE = Frame(rotation=np.eye(3), origin=np.zeros(3))
TURN = 2.0 * np.pi * np.arange(72) / 72
LEVEL = np.array([[0.0, 0.0], [200.0, 0.0]])


@cache
def box_skin() -> Skin:
    return skin_of(box_mesh(-HALF, HALF))


def slit_skin(gap: float, height: float = 10.0) -> Skin:
    """Two boxes with air of some width between them, from a height up, all through."""
    low, high = [-50.0, -50.0, -10.0], [50.0, 50.0, 40.0]
    return skin_of(joined(box_mesh(low, [50.0, 50.0, height]), box_mesh([-50.0, -50.0, height + gap], high)))


def upward(skin: Skin, *, exact: bool = True) -> WaysOut:
    return ways_out(skin, np.array([[20.0, 0.0], [20.0, 60.0]]), HERE, TURN[:5], exact=exact)


def test_a_level_way_out_of_a_box_ends_at_its_nearest_side() -> None:
    out = ways_out(box_skin(), LEVEL, HERE, TURN, exact=True)
    with np.errstate(divide="ignore"):
        truth = np.minimum(HALF[0] / np.abs(np.cos(TURN)), HALF[1] / np.abs(np.sin(TURN)))
    assert_allclose(out.place, truth, atol=0.5 * DEFAULT.skin_step + 1e-9)
    # faces of the box come two to a side: -x, +x, -y, +y, -z, +z
    clear = np.abs(HALF[0] * np.abs(np.sin(TURN)) - HALF[1] * np.abs(np.cos(TURN))) > 0.5
    at_x = np.abs(np.cos(TURN)) * truth > HALF[0] - 1e-6
    sides = np.where(at_x, np.cos(TURN) > 0, 2 + (np.sin(TURN) > 0))
    assert (out.face[clear] // 2 == sides[clear]).all()


def test_angles_run_from_x_to_y_whatever_the_frame() -> None:
    upside_down = frame_from_axis(np.zeros(3), np.array([0.0, 0, -1]), np.array([0.0, 1, 0]))
    # x of the frame is the box's y; y of the frame is z cross x = -z cross y = the box's x
    out = ways_out(box_skin(), LEVEL, upside_down, np.array([0.0, np.pi / 2.0, np.pi]), exact=True)
    assert_allclose(out.place, [50.0, 70.0, 50.0], atol=0.005)
    assert (out.face // 2).tolist() == [3, 1, 2]


def test_a_way_round_a_corner_is_measured_along_the_curve() -> None:
    bent = np.array([[10.0, 0.0], [10.0, 30.0], [100.0, 30.0]])
    out = ways_out(box_skin(), bent, HERE, np.zeros(1), exact=True)
    assert_allclose(out.place, 30.0 + 60.0, atol=0.005)
    assert_allclose(along(bent, out.place), [[70.0, 30.0]], atol=0.005)
    assert_allclose(along(bent, np.array([0.0, 15.0, 30.0, 120.0])), [[10, 0], [10, 15], [10, 30], [100, 30]])


def test_a_way_that_never_leaves_has_the_curves_length_and_no_face() -> None:
    out = ways_out(box_skin(), np.array([[20.0, 0.0], [20.0, 35.0]]), HERE, TURN, exact=True)
    assert set(out.place) == {35.0}
    assert set(out.face) == {-1}


def test_a_way_that_starts_in_air_is_out_at_once_and_names_the_face_it_wants() -> None:
    out = ways_out(box_skin(), np.array([[0.0, 40.5], [20.0, 60.0]]), HERE, TURN, exact=True)
    assert set(out.place) == {0.0}
    assert set(out.face // 2) == {5}


def test_a_way_that_starts_on_the_skin_starts_inside() -> None:
    out = ways_out(box_skin(), np.array([[20.0, -40.0], [20.0, 60.0]]), HERE, TURN, exact=True)
    assert_allclose(out.place, 80.0, atol=0.005)


@pytest.mark.parametrize(("gap", "height"), [(0.2, 10.0), (0.06, 11.3), (0.2, 16.1), (2.0, 13.0)])
def test_air_wider_than_thin_is_never_stepped_over(gap: float, height: float) -> None:
    assert_allclose(upward(slit_skin(gap, height)).place, height, atol=0.005)


def test_air_thinner_than_a_scan_can_show_may_be_passed_by() -> None:
    places = upward(slit_skin(0.0005)).place
    assert ((np.abs(places - 40.0) < 0.005) | (np.abs(places - 10.0) < 0.005)).all()


def test_a_way_that_grazes_a_side_leaves_where_it_has_passed_the_end() -> None:
    # on the side itself all the way: depth 0, neither air nor a finger of wood
    out = ways_out(box_skin(), np.array([[70.0, 0.0], [70.0, 60.0]]), HERE, np.zeros(1), exact=True)
    assert_allclose(out.place, 40.0, atol=0.005)
    beside = ways_out(box_skin(), np.array([[70.001, 0.0], [70.001, 60.0]]), HERE, np.zeros(1), exact=True)
    assert beside.place[0] == 0.0


def test_a_glance_at_the_grid_is_off_by_no_more_than_the_grid() -> None:
    seen = ways_out(box_skin(), LEVEL, HERE, TURN, exact=False)
    exact = ways_out(box_skin(), LEVEL, HERE, TURN, exact=True)
    assert np.abs(seen.place - exact.place).max() < 2.0 * box_skin().grid.error + 0.05
