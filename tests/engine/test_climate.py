"""Equilibrium moisture against the Wood Handbook's table, other published figures and a second model."""

import math

import pytest

from formmaker.engine.climate import equilibrium_moisture
from formmaker.errors import MeasureError

# Wood Handbook, Table 4-2, the row of 70 F (21.1 C), 5 to 95 % humidity by fives; from memory, not confirmed.
ROW_70_F = (
    *(1.3, 2.5, 3.5, 4.5, 5.4, 6.2, 6.9, 7.7, 8.5, 9.2),
    *(10.1, 11.0, 12.0, 13.1, 14.4, 16.0, 17.9, 20.5, 23.9),
)


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


@pytest.mark.parametrize(("number", "printed"), list(enumerate(ROW_70_F, start=1)))
def test_the_row_of_70_f_is_met_within_six_hundredths(number: int, printed: float) -> None:
    assert equilibrium_moisture(celsius(70.0), 0.05 * number) == pytest.approx(printed, abs=0.0649)


@pytest.mark.parametrize(
    ("fahrenheit", "humidity", "moisture"), [(65, 0.60, 11.05), (65, 0.30, 6.22), (140, 0.55, 8.38)]
)
def test_other_published_figures_are_met(fahrenheit: float, humidity: float, moisture: float) -> None:
    """Wood Handbook equation 4-5, worked by others (check values 1.6)."""
    assert equilibrium_moisture(celsius(fahrenheit), humidity) == pytest.approx(moisture, abs=0.02)


@pytest.mark.parametrize("humidity", [0.30, 0.50, 0.65, 0.80])
def test_a_second_model_differs_by_half_a_point_at_room_temperature(humidity: float) -> None:
    """Equation 4-6 of the 2021 edition: 6.09, 9.47, 12.48 and 16.57 % at 20 C (check values 1.6)."""
    kelvin = 293.15
    base = -0.000612 * kelvin * (1.0 - kelvin / 647.1) ** 2.43 * math.log(1.0 - humidity)
    other = 100.0 * base ** (0.0577 * kelvin**0.430)
    assert equilibrium_moisture(20.0, humidity) == pytest.approx(other, abs=0.55)


def test_the_fahrenheit_form_of_the_equation_gives_the_same() -> None:
    """Same equation, coefficients in F (check values 1.6): within 0.02 points from 5 to 97 % at 70 F."""
    t = 70.0
    w = 330 + 0.452 * t + 0.00415 * t**2
    k = 0.791 + 0.000463 * t - 0.000000844 * t**2
    k1 = 6.34 + 0.000775 * t - 0.0000935 * t**2
    k2 = 1.09 + 0.0284 * t - 0.0000904 * t**2
    for percent in range(5, 98):
        kh = k * percent / 100.0
        inner = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
        whole = 1800.0 / w * (kh / (1 - kh) + inner)
        assert equilibrium_moisture(celsius(t), percent / 100.0) == pytest.approx(whole, abs=0.02)


@pytest.mark.parametrize(("temperature", "humidity"), [(-1.0, 0.5), (71.0, 0.5), (20.0, 0.0), (20.0, 1.0)])
def test_a_climate_out_of_range_is_refused(temperature: float, humidity: float) -> None:
    with pytest.raises(MeasureError, match=r"temperature|humidity"):
        equilibrium_moisture(temperature, humidity)
