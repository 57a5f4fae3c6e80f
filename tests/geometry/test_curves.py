import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.interpolate import CubicSpline

from formmaker.errors import FormError
from formmaker.geometry.curves import (
    Curve,
    arc_about,
    bends_on,
    corner_joints,
    curve_through,
    joined,
    part_of,
    points_on,
    polyline,
    reversed_curve,
    slopes_on,
    straight_line,
)

HANDLES = np.array([[38.0, 0.0], [68.0, 12.0], [91.0, 38.0], [96.0, 60.0], [100.0, 75.0]])
SMOOTH = np.array([True, False, False, False, True])
BROKEN = np.array([True, False, True, False, True])


def circle(angles_deg, radius=100.0):
    angles = np.radians(angles_deg)
    return np.column_stack([radius * np.sin(angles), radius - radius * np.cos(angles)])


def test_the_curve_goes_through_every_handle():
    for corners in (SMOOTH, BROKEN, np.ones(5, dtype=bool)):
        curve = curve_through(HANDLES, corners)
        assert_allclose(points_on(curve, np.arange(5)), HANDLES, atol=1e-12)


def test_direction_and_curvature_run_on_through_a_smooth_handle_and_break_at_a_corner():
    curve = curve_through(HANDLES, BROKEN)
    chords = np.hypot(*np.diff(HANDLES, axis=0).T)
    for joint, is_corner in ((1, False), (2, True), (3, False)):
        before, after = joint - 1e-12, joint + 1e-12
        # by chord length, because the parameter itself runs at another pace in each piece
        slopes = [slopes_on(curve, t) / chords[i] for t, i in ((before, joint - 1), (after, joint))]
        bends = [bends_on(curve, t) / chords[i] ** 2 for t, i in ((before, joint - 1), (after, joint))]
        assert (np.abs(slopes[0] - slopes[1]).max() < 1e-9) is not is_corner
        assert (np.abs(bends[0] - bends[1]).max() < 1e-9) is not is_corner
    assert corner_joints(curve) == [2]


def test_pieces_are_the_spline_itself_with_the_directions_of_the_end_circles():
    # oracle: scipy's spline evaluated directly; end circles by the intersection of the perpendicular bisectors
    curve = curve_through(HANDLES, SMOOTH)
    knots = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(HANDLES, axis=0).T))])

    def direction(a, b, c):
        centre = np.linalg.solve(2 * np.array([b - a, c - a]), [b @ b - a @ a, c @ c - a @ a])
        square = np.array([-(a - centre)[1], (a - centre)[0]]) / np.hypot(*(a - centre))
        return square if square @ (b - a) > 0 else -square

    ends = ((1, direction(*HANDLES[:3])), (1, -direction(*HANDLES[:-4:-1])))
    spline = CubicSpline(knots, HANDLES, bc_type=ends)
    for i in range(4):
        u = np.linspace(0.0, 1.0, 9)
        assert_allclose(points_on(curve, i + u), spline(knots[i] + u * (knots[i + 1] - knots[i])), atol=1e-10)


@pytest.mark.parametrize("angles", [np.arange(0, 91, 18), [0, 10, 30, 52, 70, 90]])
def test_handles_on_a_circle_give_nearly_the_circle(angles):
    points = polyline(curve_through(circle(angles), np.eye(len(angles), dtype=bool)[0]))
    # 2e-4 of the radius at 18 degrees as the docstring says; the uneven ones reach 22 degrees, error by its 4th power
    bound = 100.0 * 2e-4 * (max(np.diff(angles)) / 18.0) ** 4
    assert_allclose(np.hypot(points[:, 0], points[:, 1] - 100.0), 100.0, atol=bound)


def test_handles_on_a_line_give_the_line_without_overshoot():
    points = np.column_stack([[10.0, 11.0, 40.0, 42.0, 90.0], [0.0, 2.0, 60.0, 64.0, 160.0]])
    curve = curve_through(points, SMOOTH)
    assert_allclose(points_on(curve, np.linspace(0, 4, 99)) @ [2.0, -1.0], 20.0, atol=1e-10)
    assert (np.diff(points_on(curve, np.linspace(0, 4, 999))[:, 1]) > 0).all()


def test_two_handles_at_one_point_are_refused_with_the_place():
    with pytest.raises(FormError, match=r"two neighbouring handles are both at \[68, 12\]") as caught:
        curve_through(np.array([[38.0, 0.0], [68.0, 12.0], [68.0, 12.0], [100.0, 75.0]]), np.ones(4, dtype=bool))
    assert (caught.value.radius, caught.value.height) == (68.0, 12.0)


@given(chord=st.floats(1e-4, 1.0))
@settings(max_examples=20, deadline=None)
def test_a_polyline_leaves_its_curve_by_no_more_than_the_chord(chord):
    curve = curve_through(HANDLES, BROKEN)
    line = polyline(curve, chord=chord)
    dense = points_on(curve, np.linspace(0.0, 4.0, 4001))
    starts, steps = line[:-1], np.diff(line, axis=0)
    share = np.clip(((dense[:, None] - starts) * steps).sum(-1) / (steps**2).sum(-1), 0.0, 1.0)
    far = np.linalg.norm(dense[:, None] - starts - share[..., None] * steps, axis=-1).min(axis=1)
    assert far.max() <= chord * (1 + 1e-9)


@given(low=st.floats(0.0, 3.9), span=st.floats(0.01, 4.0))
@settings(max_examples=50, deadline=None)
def test_a_part_is_the_same_curve(low, span):
    curve, high = curve_through(HANDLES, BROKEN), min(4.0, low + span)
    part = part_of(curve, low, high)
    # every point of the part lies on the curve: compare by height, which rises all along here. The dense points are
    # 0.006 mm apart, so that cutting across the corner costs under 1e-3 mm, and the bends far less
    heights = points_on(curve, np.linspace(low, high, 20001))
    found = points_on(part, np.linspace(0.0, len(part.pieces), 50))
    assert_allclose(np.interp(found[:, 1], heights[:, 1], heights[:, 0]), found[:, 0], atol=1e-3)
    assert_allclose([part.start, part.end], points_on(curve, [low, high]), atol=1e-10)


def test_parts_joined_again_and_run_backward_twice_are_the_curve():
    curve = curve_through(HANDLES, BROKEN)
    parts = [part_of(curve, low, high) for low, high in ((0.0, 1.0), (1.0, 3.0), (3.0, 4.0))]
    assert_allclose(joined(parts).pieces, curve.pieces, atol=1e-12)
    back = reversed_curve(curve)
    assert_allclose(back.start, curve.end)
    assert_allclose(reversed_curve(back).pieces, curve.pieces)


def test_curves_apart_are_not_joined():
    with pytest.raises(ValueError, match="cannot be joined"):
        joined([straight_line([0.0, 0.0], [1.0, 0.0]), straight_line([1.1, 0.0], [2.0, 0.0])])


def test_a_part_of_nothing_is_refused():
    with pytest.raises(ValueError, match="the first must be the lower"):
        part_of(straight_line([0.0, 0.0], [1.0, 0.0]), 0.5, 0.5)


@pytest.mark.parametrize(("start", "end"), [(0.3, 2.9), (2.9, 0.3), (-1.5, -1.4)])
def test_an_arc_keeps_its_radius_and_runs_the_way_it_is_told(start, end):
    arc = arc_about([10.0, 20.0], 7.0, start=start, end=end)
    t = np.linspace(0.0, len(arc.pieces), 300)
    spokes = points_on(arc, t) - [10.0, 20.0]
    assert_allclose(np.hypot(*spokes.T), 7.0, rtol=4e-7)
    angles = np.unwrap(np.arctan2(spokes[:, 1], spokes[:, 0]))
    assert_allclose(angles[[0, -1]], [start, end], atol=1e-12)
    assert (np.diff(angles) * np.sign(end - start) > 0).all()


def test_a_curve_is_locked():
    with pytest.raises(ValueError, match="read-only"):
        Curve(pieces=np.zeros((1, 4, 2))).pieces[0] = 1.0
