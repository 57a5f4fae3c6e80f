"""Circles seen from off their middle, against the law of cosines, a published set and a second circle fit."""

import math

import numpy as np
import pytest

from formmaker.geometry.off_centre import directions, fit_off_centre
from formmaker.geometry.slopes import fit_slope, widest_gap

TOWARD = math.radians(40.0)


def circle(angles, off=20.0, radius=100.0, toward=TOWARD):
    """Distances to a circle along rays from a point off its middle; law of cosines."""
    away = np.asarray(angles) - toward
    return off * np.cos(away) + np.sqrt(radius**2 - (off * np.sin(away)) ** 2)


def kasa(angles, radii):
    """Centre and radius of the algebraic circle of least squares (I. Kasa, 1976), by numpy alone."""
    x, y = radii * np.cos(angles), radii * np.sin(angles)
    (a, b, c), *_ = np.linalg.lstsq(np.column_stack([2 * x, 2 * y, np.ones(len(x))]), x**2 + y**2)
    return np.array([a, b]), math.sqrt(c + a**2 + b**2)


@pytest.mark.parametrize("count", [3, 4, 5, 6, 7, 8, 12, 24])
@pytest.mark.parametrize("off", [0.0, 1.5, 20.0, 80.0])
def test_a_circle_comes_back_exactly_from_any_number_of_rays(count, off):
    angles = 2.0 * np.pi * np.arange(count) / count
    found = fit_off_centre(angles, circle(angles, off))
    middle, radius = kasa(angles, circle(angles, off))
    np.testing.assert_allclose(found.centre, middle, atol=1e-8)  # rounding, of squares near 1e4
    assert found.radius == pytest.approx(radius, abs=1e-8)
    np.testing.assert_allclose(
        found.centre, [off * math.cos(math.radians(40)), off * math.sin(math.radians(40))], atol=1e-9
    )
    assert np.abs(found.residual).max() < 1e-9


def test_uneven_rays_serve_as_well():
    angles = np.radians([3.0, 50.0, 131.0, 200.0, 333.0])
    found = fit_off_centre(angles, circle(angles))
    np.testing.assert_allclose(found.centre, kasa(angles, circle(angles))[0], atol=1e-8)


@pytest.mark.parametrize(
    ("count", "off", "toward"),
    # shared/check-values.md 2.4 (calculated there): the plain first harmonic of a circle of 100, 20 off toward 40 deg
    [(3, 19.516, 37.424), (5, 20.0024, 39.997), (4, 20.0, 40.0), (6, 20.0, 40.0), (8, 20.0, 40.0)],
)
def test_the_plain_harmonic_is_biased_with_three_and_five_rays_alone(count, off, toward):
    angles = 2.0 * np.pi * np.arange(count) / count
    slope = fit_off_centre(angles, circle(angles)).harmonic.slope
    assert np.hypot(*slope) == pytest.approx(off, abs=1e-3)
    assert math.degrees(math.atan2(slope[1], slope[0])) == pytest.approx(toward, abs=2e-3)


def test_the_published_set_of_eight():
    # ISO 12181-1/-2 least-squares circle; set of shared/check-values.md 2.4, r = 100 + 1.5 cos(t - 40 deg)
    radii = np.array([101.1491, 101.4943, 100.9642, 99.8693, 98.8509, 98.5057, 99.0358, 100.1307])
    found = fit_slope(directions(np.radians(45.0 * np.arange(8))), radii)
    np.testing.assert_allclose(found.slope, [1.1490667, 0.9641814], atol=3e-5)  # the set is given to 1e-4
    assert found.level == pytest.approx(100.0, abs=3e-5)


def test_opposite_rays_at_any_angles_need_no_radius_and_no_roundness():
    # Half of what opposite distances differ is the shift along them: whatever is even in the angle drops out.
    angles = np.radians([0.0, 180.0, 25.0, 205.0, 110.0, 290.0])
    oval = 4.0 * np.cos(2.0 * angles + 0.3) + 1.5 * np.sin(4.0 * angles)
    found = fit_slope(directions(angles), circle(angles) + oval)
    np.testing.assert_allclose(
        found.slope, [20 * math.cos(math.radians(40)), 20 * math.sin(math.radians(40))], atol=1e-12
    )


def test_noise_of_mean_zero_leaves_no_bias():
    random, angles = np.random.default_rng(12), 2.0 * np.pi * np.arange(8) / 8
    tries = np.array(
        [fit_off_centre(angles, circle(angles) + random.normal(0.0, 1.0, 8)).centre for _ in range(4000)]
    )
    # the mean of 4000 answers, each with a standard deviation of sqrt(2/8): 0.008; four times that is allowed
    np.testing.assert_allclose(tries.mean(axis=0), [15.32088886, 12.85575219], atol=0.032)
    np.testing.assert_allclose(tries.std(axis=0), math.sqrt(2.0 / 8.0), rtol=0.05)


def test_distances_of_no_circle_are_refused():
    with pytest.raises(ValueError, match="no circle"):
        fit_off_centre(np.radians([0.0, 5.0, 180.0]), np.array([1.0, 900.0, 2.0]))


def test_places_on_a_line_tell_the_slope_along_it_alone():
    found = fit_slope(np.array([[3.0, 3.0], [-1.0, -1.0]]), np.array([8.0, 0.0]))
    np.testing.assert_allclose(found.slope, [1.0, 1.0])
    np.testing.assert_allclose(found.line, [math.sqrt(0.5)] * 2)
    with pytest.raises(ValueError, match="two or more"):
        fit_slope(np.ones((3, 2)), np.arange(3.0))
    assert widest_gap(np.array([0.2])) == pytest.approx(2.0 * math.pi)
