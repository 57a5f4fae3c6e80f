"""What to know of readings before they are trusted: how many there are, how they are spread, what they mistake."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import BlankError
from formmaker.geometry.slopes import Slope, widest_gap
from formmaker.units import Units, degrees_round, format_fine, format_length

_HALF_TURN = math.pi + 1e-6
_MISTAKEN = 0.1  # of a wave is taken for a first harmonic: from here on it is said
_STRETCHED = 2.0  # times an error of the readings: evenly spread ones come to under 1
_ODD_COUNTS = (3, 5)  # even harmonics of a circle fall on the first; from seven on they are microns

_WAVES = {2: "an oval", 4: "a four-cornered shape"}
_RIM_WAVES = {2: "a sway of the rim (two highs, two lows)", 4: "a rim with four highs"}


def require_spread(angles: NDArray[np.float64], what: str) -> None:
    """Refuse readings that cannot tell a shift from a size.

    Raises
    ------
    BlankError
        If there are fewer than two, or all of them lie on one side.
    """
    if len(angles) < 2:
        raise BlankError(f"{what}: {len(angles)} reading; take at least two that lie opposite, 180 degrees apart")
    gap = widest_gap(angles)
    if gap > _HALF_TURN:
        raise BlankError(
            f"{what}: all {len(angles)} readings lie on one side, none over {math.degrees(gap):.0f} degrees of the "
            "turn (allowed are 180); take one on the other side too, best opposite another"
        )


def spread_remarks(angles: NDArray[np.float64], slope: Slope, *, rim: bool) -> Iterator[str]:
    """Say what this number and spread of readings cannot tell.

    Parameters
    ----------
    angles : (n,) float
    slope : Slope
        Of the readings over the unit circle.
    rim : bool
        The readings are heights of a rim, not distances from an axis.
    """
    what = "lean" if rim else "shift"
    if slope.line is not None:
        way = degrees_round(math.atan2(slope.line[1], slope.line[0]))
        yield (
            f"Two opposite readings tell the {what} along the line from {way:g} to {(way + 180.0) % 360.0:g} deg "
            "only; nothing is known across it: take two more, a quarter turn on."
        )
        return
    waves = _RIM_WAVES if rim else _WAVES
    for order, name in waves.items():
        share = mistaken_share(angles, slope, order)
        if share > _MISTAKEN:
            yield (
                f"{len(angles)} readings spread like this take {name} for a {what}, {100.0 * share:.0f} % of it. An "
                "even number, evenly spread, does not."
            )
            break
    stretch = float(np.linalg.norm(slope.weights, ord=2))
    if stretch > _STRETCHED:
        yield (
            f"The readings lie close to one line or one side: an error in them counts {stretch:.1f} times in the "
            f"{what}. Spread them over the whole turn."
        )


def mistaken_share(angles: NDArray[np.float64], slope: Slope, order: int) -> float:
    """How much of a wave of an order, 1 high, is at most taken for a slope over the unit circle."""
    waves = np.column_stack([np.cos(order * angles), np.sin(order * angles)])
    return float(np.linalg.norm(slope.weights @ waves, ord=2))


def bias_of_circle(
    count: int, plain: NDArray[np.float64], centre: NDArray[np.float64], units: Units
) -> Iterator[str]:
    """Say by how much the plain first harmonic is off for a true circle, where the count makes it so."""
    bias = float(np.linalg.norm(plain - centre))
    if count in _ODD_COUNTS or bias > 0.01:
        yield (
            f"{count} readings spread like this bias the plain first harmonic: for a true circle it would be off by "
            f"{_fine(bias, units)}, which is taken off here."
        )


def bias_of_gaps(angles: NDArray[np.float64], slope: Slope, units: Units) -> Iterator[str]:
    """Say the same where the radius is not known, so that nothing can be taken off."""
    e_across = np.sin(angles) * slope.slope[0] - np.cos(angles) * slope.slope[1]
    bias = float(np.linalg.norm(slope.weights @ (e_across**2 / 2.0)))  # sqrt(R^2 - s^2) = R - s^2 / 2R + ...
    if slope.line is None and (len(angles) in _ODD_COUNTS or bias > 1.0):
        radius = 100.0 if units is Units.MM else 101.6
        yield (
            f"{len(angles)} readings spread like this bias the answer: for a true circle of "
            f"{format_length(radius, units)} radius it is off by {_fine(bias / radius, units)}, for half the radius "
            "by twice that. Say how far from the axis the rest stands (at_radius), and it is taken off; or take an "
            "even number, evenly spread."
        )


def _fine(millimetres: float, units: Units) -> str:
    text = format_fine(millimetres, units)
    nothing = format_fine(0.0, units)
    return text if text != nothing else f"less than {nothing.replace('0 ', '1 ')}"
