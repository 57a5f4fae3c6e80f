import numpy as np
import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from formmaker.errors import FormError
from formmaker.geometry.curve_crossings import last_crossing, self_crossing
from formmaker.geometry.curve_measures import lengths_to
from formmaker.geometry.curve_offsets import WallLaw, offset_above, offset_runs
from formmaker.geometry.curves import arc_about, curve_through, points_on, polyline, slopes_on, straight_line

HANDLES = np.array([[37.0, 0.0], [65.0, 16.0], [88.0, 43.0], [100.0, 80.0]])
OPEN = curve_through(HANDLES, np.array([1, 0, 0, 1], bool))
EVEN = WallLaw(rows=[[0.0, 8.0]])
TAPERED = WallLaw(rows=[[0.1, 12.0], [0.6, 7.0], [1.0, 5.0]])


def exact_offset(curve, law, t):
    """The definition, from points and normals alone."""
    slope = slopes_on(curve, t)
    normal = np.column_stack([-slope[:, 1], slope[:, 0]]) / np.hypot(*slope.T)[:, None]
    share = lengths_to(curve, t) / lengths_to(curve, len(curve.pieces))
    return points_on(curve, t) + np.interp(share, law.rows[:, 0], law.rows[:, 1])[:, None] * normal


@pytest.mark.parametrize("law", [EVEN, TAPERED])
def test_the_fitted_cubics_keep_to_the_exact_offset(law):
    (run,) = offset_runs(OPEN, law)
    wanted = exact_offset(OPEN, law, np.linspace(0.0, 3.0 - 1e-12, 3001))
    line = shapely.LineString(polyline(run.curve, chord=1e-6))
    assert shapely.distance(shapely.points(wanted), line).max() < 1e-4
    back = shapely.LineString(exact_offset(OPEN, law, np.linspace(0.0, 3.0 - 1e-12, 60001)))
    assert shapely.distance(shapely.points(polyline(run.curve)), back).max() < 1e-4


def test_an_even_wall_is_the_distance_that_shapely_measures():
    (run,) = offset_runs(OPEN, EVEN)
    outer = shapely.LineString(points_on(OPEN, np.linspace(0.0, 3.0, 60001)))
    # the chords of 60 001 points leave the curve by under 1e-8 mm
    found = shapely.distance(shapely.points(polyline(run.curve, chord=1e-4)), outer)
    assert_allclose(found, 8.0, atol=1e-4)


def test_the_offset_of_an_arc_is_an_arc_and_of_a_line_a_line():
    (run,) = offset_runs(arc_about([0.0, 120.0], 100.0, start=-1.2, end=0.3), EVEN)
    assert_allclose(np.hypot(*(polyline(run.curve) - [0.0, 120.0]).T), 92.0, atol=1e-4)
    (run,) = offset_runs(straight_line([50.0, 0.0], [50.0, 90.0]), EVEN)
    assert_allclose(run.curve.pieces[:, :, 0], 42.0, atol=1e-12)


def test_a_corner_that_turns_out_is_rounded_at_true_distance():
    # up, then out: the inside gaps, and the arc about the corner keeps every point 8 mm away
    curve = curve_through(np.array([[40.0, 0.0], [40.0, 30.0], [80.0, 60.0]]), np.ones(3, bool))
    inner = offset_above(curve, EVEN, level=5.0)
    line = shapely.LineString(polyline(curve))
    assert_allclose(shapely.distance(shapely.points(polyline(inner)[1:]), line), 8.0, atol=2e-5)
    assert_allclose(inner.start, [32.0, 5.0], atol=1e-6)


def test_a_corner_that_turns_in_is_cut_where_the_offsets_cross():
    # a 45 degree run into an upright one: the crossing lies on the bisector, wall / cos(22.5 deg) from the corner
    curve = curve_through(np.array([[40.0, 0.0], [80.0, 40.0], [80.0, 90.0]]), np.ones(3, bool))
    inner = offset_above(curve, EVEN, level=5.0)
    corner = np.array([80.0 - 8.0, 40.0 + 8.0 * np.tan(np.radians(22.5))])
    assert np.hypot(*(inner.pieces[:, 3] - corner).T).min() < 1e-6
    shrunk = shapely.Polygon([[0, 0], [40, 0], [80, 40], [80, 90], [0, 90]]).buffer(-8.0)
    assert shapely.distance(shapely.points(polyline(inner)[1:-1]), shrunk.exterior).max() < 1e-6 or (
        # shapely's shrunk polygon also stays 8 mm from the foot plane and the rim plane; compare between them
        shapely.distance(shapely.points(polyline(inner)), shapely.LineString([[72, 90], corner, [20, 0]])).max()
        < 20.0
    )


def test_a_stretch_swallowed_by_the_walls_beside_it_takes_no_part():
    # a 1 mm bevel at the foot of a straight side vanishes inside an 8 mm wall
    curve = curve_through(np.array([[50.0, 0.0], [51.0, 1.0], [51.0, 90.0]]), np.ones(3, bool))
    inner = offset_above(curve, EVEN, level=6.0)
    assert_allclose(polyline(inner)[:, 0], 43.0, atol=1e-9)
    assert_allclose(inner.start[1], 6.0, atol=1e-9)


def test_a_bend_tighter_than_the_wall_is_refused_with_radius_and_height():
    # upright, a quarter of radius 5 turning in, then leaning in level enough: the wall of 8 does not go round it
    arc = arc_about([55.0, 50.0], 5.0, start=0.0, end=1.2)
    handles = [
        [60.0, 0.0],
        [60.0, 30.0],
        [60.0, 50.0],
        *points_on(arc, np.linspace(0.5, len(arc.pieces), 4)),
        [40.0, 59.0],
    ]
    curve = curve_through(np.array(handles), np.array([1, *[0] * 6, 1], bool))
    with pytest.raises(
        FormError, match=r"outer curve bends to a radius of \d\.\d mm at height 5\d\.\d mm, tighter"
    ) as e:
        offset_above(curve, EVEN, level=10.0)
    assert "than the wall of 8.0 mm; soften the curve there or thin the wall" in str(e.value)
    assert 50.0 <= e.value.height <= 57.0
    assert 50.0 <= e.value.radius <= 60.5


@pytest.mark.parametrize(("wall", "fits"), [(29.9, True), (30.1, False)])
def test_the_bend_of_an_arc_is_the_limit_of_its_wall(wall, fits):
    (run,) = offset_runs(arc_about([60.0, 60.0], 30.0, start=-1.0, end=0.5), WallLaw(rows=[[0.0, wall]]))
    assert (run.tight is None) is fits
    if not fits:
        assert run.curve is None
        assert run.tight.bend == pytest.approx(30.0, rel=1e-4)


def test_a_tight_bend_below_the_level_is_no_matter():
    # a foot corner softened to 3 mm under a floor of 12: the inside never comes near it
    arc = points_on(arc_about([77.0, 3.0], 3.0, start=-np.pi / 2, end=0.0), np.linspace(0.0, 3.0, 5))
    curve = curve_through(np.array([*arc, [80.0, 40.0], [80.0, 90.0]]), np.array([1, *[0] * 5, 1], bool))
    assert offset_runs(curve, EVEN)[0].tight is not None
    inner = offset_above(curve, EVEN, level=12.0)
    assert inner.start[1] == pytest.approx(12.0, abs=1e-9)


def test_an_inside_that_stays_below_the_level_is_refused():
    with pytest.raises(FormError, match=r"inside of the wall ends at height 50\.0 mm, below the floor at 55\.0 mm"):
        offset_above(straight_line([80.0, 0.0], [80.0, 50.0]), EVEN, level=55.0)


@given(foot=st.floats(2.0, 12.0), rim=st.floats(2.0, 12.0), knee=st.floats(0.05, 0.95), middle=st.floats(2.0, 12.0))
@example(foot=2.0, rim=3.0, knee=0.8125, middle=10.0)
@settings(max_examples=25, deadline=None)
def test_any_law_is_kept_along_the_normal(foot, rim, knee, middle):
    law = WallLaw(rows=[[0.0, foot], [knee, middle], [1.0, rim]])
    (run,) = offset_runs(OPEN, law)
    wanted = exact_offset(OPEN, law, np.linspace(0.0, 3.0 - 1e-12, 301))
    line = shapely.LineString(polyline(run.curve, chord=1e-6))
    assert shapely.distance(shapely.points(wanted), line).max() < 1e-4


def test_crossings_are_found_on_the_curves_themselves():
    # circles of radius 5 about (0, 0) and (6, 0) cross at (3, +-4)
    one = arc_about([0.0, 0.0], 5.0, start=-np.pi / 2, end=np.pi / 2)
    other = arc_about([6.0, 0.0], 5.0, start=np.pi / 2, end=3 * np.pi / 2)
    found = last_crossing(one, other)
    assert (found.radius, found.height) == pytest.approx((3.0, 4.0), abs=1e-5)
    assert_allclose(points_on(other, found.on_second), [3.0, 4.0], atol=1e-5)
    assert last_crossing(one, straight_line([5.1, -9.0], [5.1, 9.0])) is None


def test_a_loop_crosses_itself_and_a_bowl_does_not():
    loop = curve_through(np.array([[0.0, 0.0], [10.0, 10.0], [10.0, 0.0], [0.0, 10.0]]), np.ones(4, bool))
    found = self_crossing(loop)
    assert found is not None
    assert self_crossing(OPEN) is None
