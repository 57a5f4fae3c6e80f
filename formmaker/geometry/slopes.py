"""The plane of least squares over points round an axis: what is left of values when their slope is taken off.

Over points of the unit circle its slope is the first harmonic, at angles spaced as they come; over the points of a
rim it is the tilt. Knows nothing of what was read (see ``engine.centring``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_FLAT = (
    1e-6  # share of the longest way across the points: anything narrower is a line, rounding of an angle left aside
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slope:
    """Values over the plane, ``level + slope . place``.

    Parameters
    ----------
    level : float
        Value at the origin.
    slope : (2,) float
        Rise per unit along x and y; only its part along ``line`` where there is one.
    residual : (n,) float
        Value less plane.
    weights : (2, n) float
        ``slope`` is ``weights @ values``.
    line : (2,) float or None
        Unit direction, where all places lie on one line: nothing is known across it.
    """

    level: float
    slope: NDArray[np.float64]
    residual: NDArray[np.float64]
    weights: NDArray[np.float64]
    line: NDArray[np.float64] | None


def fit_slope(places: NDArray[np.float64], values: NDArray[np.float64]) -> Slope:
    """Plane of least squares through values over places.

    Parameters
    ----------
    places : (n, 2) float
        Two or more, not all the same.
    values : (n,) float

    Returns
    -------
    Slope

    Raises
    ------
    ValueError
        If all places are one.

    Notes
    -----
    Over opposite places p and -p every even function of the place drops out, whatever it is: half the difference of
    the two values is the slope along p. So pairs give the shift of a circle exactly, at any eccentricity.

    Examples
    --------
    >>> found = fit_slope(np.array([[1.0, 0.0], [-1.0, 0.0]]), np.array([19.0, 0.0]))
    >>> found.slope, found.line
    (array([9.5, 0. ]), array([1., 0.]))
    """
    middle = places.mean(axis=0)
    _, sizes, ways = np.linalg.svd(places - middle, full_matrices=False)
    if not sizes[0] > 0.0:
        raise ValueError("all places are one; a slope needs values at two or more")
    line = None
    if not sizes[1] > _FLAT * sizes[0]:
        line = ways[0] * (1.0 if (ways[0] @ (places[0] - middle)) >= 0.0 else -1.0)
    weights = np.linalg.pinv(places - middle, rcond=_FLAT)
    slope = weights @ values
    level = float(values.mean() - slope @ middle)
    return Slope(level=level, slope=slope, residual=values - level - places @ slope, weights=weights, line=line)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Squares left over, and how many readings more there are than waves that could explain them."""

    squares: float
    free: int


def scatter(angles: NDArray[np.float64], residual: NDArray[np.float64]) -> Scatter:
    """What of a residual round a turn is neither level nor a first nor a second harmonic.

    An oval, or two highs and two lows, is a shape and no error: over evenly spread places it leaves a slope alone.

    Examples
    --------
    >>> turn = np.arange(8) * np.pi / 4
    >>> found = scatter(turn, 3.0 * np.cos(2 * turn) + 0.5 * np.cos(4 * turn))
    >>> round(found.squares, 9), found.free
    (2.0, 3)
    """
    waves = [np.ones(len(angles)), *(wave(order * angles) for order in (1, 2) for wave in (np.cos, np.sin))]
    shapes = np.column_stack(waves)
    rank = int(np.linalg.matrix_rank(shapes, tol=_FLAT * len(angles)))
    left = residual - shapes @ (np.linalg.pinv(shapes, rcond=_FLAT) @ residual)
    return Scatter(squares=float(left @ left), free=len(angles) - rank)


def widest_gap(angles: NDArray[np.float64]) -> float:
    """Largest angle without a reading, radians; 2 pi for a single one.

    Examples
    --------
    >>> float(np.degrees(widest_gap(np.radians([0.0, 90.0, 180.0]))).round(9))
    180.0
    """
    turned = np.sort(np.mod(angles, 2.0 * np.pi))
    return float(np.diff(turned, append=turned[0] + 2.0 * np.pi).max())
