"""Lengths, angles and index positions are read and said as people write them."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formmaker.errors import MeasureError
from formmaker.units import (
    Units,
    degrees_round,
    format_force,
    format_length,
    format_moment,
    format_number,
    format_volume,
    nearest_index,
    parse_length,
    parse_weight,
)

# 25.4 mm an inch: exact since the international yard of 1959 (NIST Handbook 44, appendix C, from memory).


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("3/8 in", 9.525),
        ("1 1/16 in", 26.9875),
        ("0.5 in", 12.7),
        (".5in", 12.7),
        ("12 mm", 12.0),
        ("-2 cm", -20.0),
        ("- 1 1/2 in", -38.1),
        ("+3 m", 3000.0),
        ("1e-1 m", 100.0),
    ],
)
def test_a_text_says_its_own_unit(text: str, millimetres: float) -> None:
    for units in Units:
        assert parse_length(text, units) == pytest.approx(millimetres, rel=1e-12)


@given(st.integers(-1000, 1000) | st.floats(-1e6, 1e6))
def test_a_plain_number_is_in_the_units_of_the_file(number: float) -> None:
    assert parse_length(number, Units.MM) == number
    assert parse_length(number, Units.INCH) == pytest.approx(number * 25.4, rel=1e-12)


@pytest.mark.parametrize(
    "value",
    [
        "",
        "3",
        "three in",
        "3 ft",
        "3/0 in",
        "1/2",
        "1 2 in",
        "nan mm",
        "1e400 mm",
        True,
        None,
        [1],
        math.nan,
        math.inf,
        10**400,
    ],
)
def test_what_is_no_length_is_refused(value: object) -> None:
    with pytest.raises(MeasureError):
        parse_length(value, Units.MM)


@given(st.integers(-4000, 4000))
def test_a_fraction_of_an_inch_is_read_back_exactly(steps: int) -> None:
    said = format_length(steps * 25.4 / 32, Units.INCH)
    assert parse_length(said, Units.MM) == pytest.approx(float(Fraction(steps, 32)) * 25.4, abs=1e-9)


@given(st.floats(-1e4, 1e4), st.sampled_from(Units))
def test_a_length_said_is_off_by_half_of_its_last_figure_at_most(size: float, units: Units) -> None:
    half = 0.05 if units is Units.MM else 25.4 / 64
    assert abs(parse_length(format_length(size, units), units) - size) <= half + 1e-9
    half = 0.005 if units is Units.MM else 0.00005 * 25.4
    assert abs(parse_length(float(format_number(size, units)), units) - size) <= half + 1e-9


def test_an_unknown_is_never_a_figure_and_nothing_is_minus_zero() -> None:
    assert format_length(math.nan, Units.MM) == format_volume(math.inf, Units.INCH) == "?"
    assert (format_length(-0.01, Units.MM), format_length(-0.01, Units.INCH)) == ("0.0 mm", "0 in")
    assert format_number(-0.001, Units.MM) == "0.0"


@pytest.mark.parametrize(
    ("cubic_mm", "units", "said"),
    [
        (0.0, Units.MM, "0.00 cm3"),
        (-1e-3, Units.MM, "0.00 cm3"),
        (50.0, Units.MM, "0.0500 cm3"),
        (12_345.0, Units.MM, "12.3 cm3"),
        (123_456_789.0, Units.MM, "123000 cm3"),
        (-1_000.0, Units.MM, "-1.00 cm3"),
        (25.4**3 * 20, Units.INCH, "20.0 cu in"),
    ],
)
def test_a_volume_is_said_to_three_figures(cubic_mm: float, units: Units, said: str) -> None:
    assert format_volume(cubic_mm, units) == said


@given(st.floats(-100.0, 100.0))
def test_degrees_are_within_one_turn(angle: float) -> None:
    degrees = degrees_round(angle)
    assert 0.0 <= degrees < 360.0
    assert math.cos(math.radians(degrees)) == pytest.approx(math.cos(angle), abs=1e-9)


@given(st.floats(0.0, 360.0, exclude_max=True), st.integers(2, 144))
def test_no_index_position_is_nearer_than_the_nearest(degrees: float, count: int) -> None:
    def away(index: int) -> float:
        gap = abs(degrees - 360.0 * index / count)
        return min(gap, 360.0 - gap)

    nearest = nearest_index(degrees, count)
    assert 0 <= nearest < count
    assert away(nearest) <= min(map(away, range(count))) + 1e-9


@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_an_unknown_force_or_moment_is_never_a_figure(value: float) -> None:
    assert (format_force(value, Units.MM), format_moment(value, Units.INCH)) == ("?", "?")


def test_forces_and_moments_are_those_of_the_definitions() -> None:
    # one pound of force is 4.4482216 N, one pound inch 0.45359237 kg times 25.4 mm (international agreement, 1959)
    assert format_force(4.4482216, Units.INCH) == "1 lbf"
    assert format_moment(0.45359237 * 25.4, Units.INCH) == "1 lb in"
    assert format_moment(0.45359237 * 25.4**2, Units.INCH, power=2) == "1 lb in2"
    assert (format_force(0.004, Units.MM), format_moment(0.04, Units.MM)) == ("0 N", "0 kg mm")


@pytest.mark.parametrize("value", ["6.2", "6.2 stone", "-1 kg", "", "nan kg", None, [1], True, 10**400, math.nan])
def test_what_is_no_weight_is_refused(value: object) -> None:
    with pytest.raises(MeasureError, match="weight; write"):
        parse_weight(value, Units.MM)
