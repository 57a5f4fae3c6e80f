"""Harmonics against published worked examples, highs against the definition as scipy computes it on a line."""

import math

import numpy as np
import pytest
import scipy.signal
import scipy.special
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from formmaker.geometry.harmonics import fit_harmonics, periodic_peaks

ANGLES = 2.0 * np.pi * np.arange(360) / 360


def test_radial_readings_give_the_centre_of_the_least_squares_circle() -> None:
    # Formulas of ISO 12181-1 (least-squares circle); readings r = 100 + 1.5 cos(t - 40 deg) at eight angles, to 1e-4.
    found = fit_harmonics(
        np.array([101.1491, 101.4943, 100.9642, 99.8693, 98.8509, 98.5057, 99.0358, 100.1307]), count=1
    )
    (first,) = found.waves
    assert found.mean == pytest.approx(100.0, abs=1e-4)
    assert first.amplitude * math.cos(first.phase) == pytest.approx(1.1490667, abs=1e-4)
    assert first.amplitude * math.sin(first.phase) == pytest.approx(0.9641814, abs=1e-4)


def test_readings_of_a_true_circle_off_centre_give_its_offset() -> None:
    # r = e cos u + sqrt(R^2 - e^2 sin^2 u), e 1.5, R 100: mean R - e^2 / (4 R) up to e^4, first harmonic e.
    readings = [101.14442, 101.49421, 100.95758, 99.8581, 98.84628, 98.50562, 99.02922, 100.11957]
    found = fit_harmonics(np.array(readings))
    assert found.mean == pytest.approx(99.9943748, abs=1e-5)
    assert found.waves[0].amplitude == pytest.approx(1.5, abs=1e-5)
    assert math.degrees(found.waves[0].phase) == pytest.approx(40.0, abs=1e-3)


def test_axial_readings_give_the_tilt() -> None:
    # One degree toward 70 degrees, read at radius 100 mm: tan 1 deg = amplitude / 100.
    readings = np.array([0.597, 1.582, 1.6402, 0.7377, -0.597, -1.582, -1.6402, -0.7377])
    (first, _) = fit_harmonics(readings).waves
    assert math.degrees(math.atan(first.amplitude / 100.0)) == pytest.approx(1.0, abs=1e-4)
    assert math.degrees(first.phase) == pytest.approx(70.0, abs=1e-2)


@pytest.mark.parametrize("radius", [60.0, 80.0, 95.0])
def test_the_rim_of_a_half_log_sways_and_does_not_lean(radius: float) -> None:
    # z = sqrt(R^2 - r^2 cos^2 t), the crossing of two cylinders; mean (2 R / pi) E(m), m = (r / R)^2.
    found = fit_harmonics(np.sqrt(100.0**2 - radius**2 * np.cos(ANGLES) ** 2))
    assert found.mean == pytest.approx(200.0 / np.pi * scipy.special.ellipe((radius / 100.0) ** 2), abs=1e-9)
    assert found.waves[0].amplitude == pytest.approx(0.0, abs=1e-12)
    assert found.waves[1].phase == pytest.approx(np.pi / 2.0)


@given(
    st.floats(-100.0, 100.0),
    st.lists(st.tuples(st.floats(0.01, 50.0), st.floats(0.0, 6.28)), min_size=2, max_size=2),
    st.integers(5, 400),
)
def test_what_was_put_in_comes_out(mean: float, waves: list[tuple[float, float]], count: int) -> None:
    theta = 2.0 * np.pi * np.arange(count) / count
    put = [(k, size, phase % (2.0 * np.pi / k)) for k, (size, phase) in enumerate(waves, start=1)]
    found = fit_harmonics(mean + sum(size * np.cos(k * (theta - phase)) for k, size, phase in put))
    assert found.mean == pytest.approx(mean, abs=1e-9)
    np.testing.assert_allclose(found.residual, 0.0, atol=1e-9)
    for (k, size, phase), wave in zip(put, found.waves, strict=True):
        assert wave.order == k
        assert wave.amplitude == pytest.approx(size, abs=1e-9)
        assert math.cos(k * (wave.phase - phase)) == pytest.approx(1.0, abs=1e-9)


def test_too_few_or_unknown_samples_have_no_harmonics() -> None:
    with pytest.raises(ValueError, match="give at least 5"):
        fit_harmonics(np.ones(4))
    with pytest.raises(ValueError, match="fill the gaps first"):
        fit_harmonics(np.array([1.0, np.nan, 1.0, 1.0, 1.0]))


@given(arrays(float, st.integers(3, 40), elements=st.floats(0.0, 10.0), unique=True), st.floats(0.01, 8.0))
def test_highs_are_those_of_the_definition(samples: np.ndarray, prominence: float) -> None:
    start = int(samples.argmin())
    line = np.append(np.roll(samples, -start), samples[start])  # from the lowest round to the lowest again
    expected, _ = scipy.signal.find_peaks(line, prominence=prominence)
    assert periodic_peaks(samples, prominence).tolist() == sorted((expected + start) % len(samples))


@given(arrays(float, st.integers(3, 40), elements=st.integers(0, 5).map(float)), st.integers(0, 39))
def test_where_the_count_begins_does_not_change_how_many_highs_there_are(samples: np.ndarray, start: int) -> None:
    assert len(periodic_peaks(np.roll(samples, start), 1.0)) == len(periodic_peaks(samples, 1.0))


def test_a_level_high_is_given_once_in_its_middle_also_over_the_seam() -> None:
    assert periodic_peaks(np.array([5.0, 5, 0, 0, 0, 0, 0, 5]), 1.0).tolist() == [0]
    assert periodic_peaks(np.array([0.0, 5, 5, 5, 0, 3, 0, 0]), 1.0).tolist() == [2, 5]


def test_the_rim_of_a_half_log_has_two_highs_and_two_lows() -> None:
    rim = np.sqrt(100.0**2 - 60.0**2 * np.cos(ANGLES) ** 2)
    assert periodic_peaks(rim, 1.0).tolist() == [90, 270]
    assert periodic_peaks(-rim, 1.0).tolist() == [0, 180]


def test_gaps_are_passed_over_and_a_level_turn_has_no_high() -> None:
    assert periodic_peaks(np.array([0.0, np.nan, 5, np.nan, 0, 0]), 1.0).tolist() == [2]
    assert periodic_peaks(np.full(8, 3.0), 0.5).size == 0
    assert periodic_peaks(np.full(8, np.nan), 0.5).size == 0


def test_a_prominence_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="give more than 0"):
        periodic_peaks(np.ones(4), 0.0)
