import itertools

import numpy as np
import pytest
import shapely
from numpy.testing import assert_allclose
from scipy.integrate import quad

from formmaker.errors import OffCurveError
from formmaker.geometry.curve_measures import (
    area_beside,
    crossings_at,
    height_range,
    largest_radius,
    length,
    lengths_to,
    parameters_by_length,
    points_by_length,
    radius_at,
    turned_solid,
)
from formmaker.geometry.curves import (
    Curve,
    arc_about,
    curve_through,
    joined,
    points_on,
    polyline,
    reversed_curve,
    slopes_on,
    straight_line,
)

BULGED = curve_through(
    np.array([[36.0, 0.0], [72.0, 14.0], [98.0, 47.0], [98.0, 80.0], [86.0, 104.0]]), np.array([1, 0, 0, 0, 1], bool)
)


def test_volume_and_centre_of_a_frustum():
    # closed form (check-values 2.1): R1 3, R2 1, h 4, V = pi h (R1^2 + R1 R2 + R2^2) / 3, centre 18/13 up
    solid = turned_solid(straight_line([3.0, 0.0], [1.0, 4.0]))
    assert solid.volume == pytest.approx(np.pi * 4 * 13 / 3, rel=1e-14)
    assert solid.volume == pytest.approx(54.454273, abs=1e-6)
    assert solid.centre_height == pytest.approx(4 * (9 + 6 + 3) / (4 * 13), rel=1e-14)


def test_volume_of_a_cylinder():
    assert turned_solid(straight_line([3.0, 0.0], [3.0, 5.0])).volume == pytest.approx(141.37167, abs=1e-5)


def test_volume_of_a_square_ring():
    # Pappus: 2 pi times the distance of the centre, 10, times the area, 4
    corners = [[9.0, 1.0], [11.0, 1.0], [11.0, 3.0], [9.0, 3.0], [9.0, 1.0]]
    ring = joined([straight_line(a, b) for a, b in itertools.pairwise(corners)])
    assert turned_solid(ring).volume == pytest.approx(2 * np.pi * 10 * 4, rel=1e-13)
    assert area_beside(ring) == pytest.approx(4.0, rel=1e-13)
    assert turned_solid(reversed_curve(ring)).volume == pytest.approx(-80 * np.pi, rel=1e-13)


def test_volume_of_a_paraboloid_which_a_cubic_piece_holds_exactly():
    # r = 2u, z = u^2: V = pi/2 r^2 h, centre at 2/3 of the height (Archimedes)
    bowl = Curve(pieces=np.array([[[0.0, 0.0], [2 / 3, 0.0], [4 / 3, 1 / 3], [2.0, 1.0]]]))
    assert turned_solid(bowl).volume == pytest.approx(np.pi / 2 * 4 * 1, rel=1e-13)
    assert turned_solid(bowl).centre_height == pytest.approx(2 / 3, rel=1e-13)


def test_volume_of_a_torus_and_of_a_half_ball_to_the_error_of_the_arcs():
    # check-values 2.1: R 5, r 2: V = 394.78418; hemisphere centre 3R/8; arcs leave the circle by 4e-7 of the radius
    ring = arc_about([5.0, 0.0], 2.0, start=0.0, end=2 * np.pi)
    assert turned_solid(ring).volume == pytest.approx(2 * np.pi**2 * 5 * 4, rel=1e-6)
    ball = turned_solid(arc_about([0.0, 0.0], 150.0, start=0.0, end=np.pi / 2))
    assert ball.volume == pytest.approx(2 * np.pi / 3 * 150**3, rel=2e-6)
    assert ball.centre_height == pytest.approx(3 / 8 * 150, rel=2e-6)


def test_volume_and_centre_against_adaptive_quadrature():
    def integral(weight):
        return sum(
            quad(lambda t: weight(*points_on(BULGED, t)) * slopes_on(BULGED, t)[1], i, i + 1 - 1e-15, epsabs=1e-9)[0]
            for i in range(4)
        )

    solid = turned_solid(BULGED)
    assert solid.volume == pytest.approx(np.pi * integral(lambda r, _: r * r), rel=1e-11)
    moment = np.pi * integral(lambda r, z: r * r * z)
    assert solid.centre_height == pytest.approx(moment / solid.volume, rel=1e-11)


def test_area_against_a_dense_polygon():
    line = polyline(BULGED, chord=1e-5)
    polygon = shapely.Polygon([[0.0, 0.0], *line, [0.0, 104.0]])
    # chords of 1e-5 mm over a curve of some 150 mm
    assert area_beside(BULGED) == pytest.approx(polygon.area, abs=2e-3)


def test_length_of_an_arc_and_of_a_dense_polygon():
    assert length(arc_about([0.0, 0.0], 50.0, start=0.0, end=np.pi)) == pytest.approx(157.0796326795, rel=2e-7)
    dense = points_on(BULGED, np.linspace(0.0, 4.0, 200001))
    assert length(BULGED) == pytest.approx(np.hypot(*np.diff(dense, axis=0).T).sum(), rel=1e-8)


def test_places_by_length_lie_at_their_share_of_a_dense_polygon():
    dense = points_on(BULGED, np.linspace(0.0, 4.0, 200001))
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(dense, axis=0).T))])
    shares = np.array([0.0, 0.1, 0.35, 0.5, 0.77, 1.0])
    wanted = np.column_stack([np.interp(shares * along[-1], along, dense[:, k]) for k in (0, 1)])
    assert_allclose(points_by_length(BULGED, shares), wanted, atol=1e-6)
    assert_allclose(lengths_to(BULGED, parameters_by_length(BULGED, shares)), shares * length(BULGED), atol=1e-9)


def test_radius_at_a_height_is_the_largest_where_undercut():
    back = curve_through(np.array([[40.0, 0.0], [80.0, 30.0], [60.0, 20.0], [90.0, 60.0]]), np.ones(4, dtype=bool))
    # by hand: at height 25 the straight pieces stand at 40 + 40 * 25/30, 80 - 20 * 1/2 and 60 + 30 * 5/40
    assert radius_at(back, 25.0) == pytest.approx(40 + 40 * 25 / 30, abs=1e-9)
    assert len(crossings_at(back, 25.0)) == 3
    assert radius_at(back, 60.0) == pytest.approx(90.0)
    assert radius_at(back, 0.0) == pytest.approx(40.0)


def test_radius_on_a_level_piece_is_its_outer_end():
    step = curve_through(np.array([[40.0, 0.0], [40.0, 30.0], [70.0, 30.0], [70.0, 60.0]]), np.ones(4, dtype=bool))
    assert radius_at(step, 30.0) == pytest.approx(70.0)


@pytest.mark.parametrize("height", [-0.001, 104.001, float("nan")])
def test_a_height_off_the_curve_is_refused(height):
    with pytest.raises(OffCurveError, match="lies off the curve; it runs from 0 to 104 mm"):
        radius_at(BULGED, height)


def test_largest_radius_and_heights_lie_between_handles_where_the_curve_does():
    dense = points_on(BULGED, np.linspace(0.0, 4.0, 400001))
    assert largest_radius(BULGED) > 98.5
    assert largest_radius(BULGED) == pytest.approx(dense[:, 0].max(), abs=1e-9)
    dip = curve_through(
        np.array([[40.0, 0.0], [60.0, 30.0], [80.0, 20.0], [90.0, 60.0]]), np.array([1, 0, 0, 1], bool)
    )
    dense = points_on(dip, np.linspace(0.0, 3.0, 400001))
    assert height_range(dip) == pytest.approx((dense[:, 1].min(), dense[:, 1].max()), abs=1e-9)
