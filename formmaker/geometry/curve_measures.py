"""What a plane curve measures: lengths, radii by height, areas, and the solids it turns.

Integrals are exact (Gauss quadrature of enough points for the polynomials) save for lengths, which carry their bound.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formmaker.errors import OffCurveError
from formmaker.geometry.curves import Curve, points_on, slopes_on
from formmaker.tolerances import DEFAULT, Tolerances

Floats = NDArray[np.float64]

_LENGTH_GAUSS = np.polynomial.legendre.leggauss(24)
"""Gauss points and weights for a length: 1e-9 of it on a fair piece, 1e-5 where one nearly stands still."""

_SOLID_GAUSS = np.polynomial.legendre.leggauss(6)
"""Gauss points and weights for areas and solids: exact to degree 11, that of r^2 z dz over a cubic."""

_POWERS = {
    3: np.array([[1.0, -2.0, 1.0], [-2.0, 2.0, 0.0], [1.0, 0.0, 0.0]]),
    4: np.array([[-1.0, 3.0, -3.0, 1.0], [3.0, -6.0, 3.0, 0.0], [-3.0, 3.0, 0.0, 0.0], [1.0, 0.0, 0.0, 0.0]]),
}
"""From Bernstein to power form, highest power first, by the number of control values."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """A solid of revolution: volume (mm3) and height of its centre (mm; NaN where there is no volume)."""

    volume: float
    centre_height: float


def lengths_to(curve: Curve, t: ArrayLike) -> Floats:
    """Length (...,) of a curve from its start to each parameter (...,), mm."""
    values = np.asarray(t, dtype=np.float64)
    whole = np.concatenate([[0.0], np.cumsum(_stretch(curve, np.arange(1.0, len(curve.pieces) + 1.0)))])
    piece = np.clip(np.ceil(values).astype(np.intp) - 1, 0, len(curve.pieces) - 1)
    return np.asarray(whole[piece] + _stretch(curve, values))


def _stretch(curve: Curve, t: Floats) -> Floats:
    """Length (...,) from the start of the piece that holds each parameter up to it."""
    nodes, weights = _LENGTH_GAUSS
    piece = np.clip(np.ceil(t) - 1.0, 0.0, len(curve.pieces) - 1.0)
    share = (t - piece)[..., None]
    # the last bit below the next whole number keeps every node on this piece
    places = np.minimum(piece[..., None] + share * (nodes + 1.0) / 2.0, np.nextafter(piece + 1.0, 0.0)[..., None])
    speeds = np.hypot(*np.moveaxis(slopes_on(curve, places), -1, 0))
    return np.asarray(share[..., 0] / 2.0 * (speeds @ weights))


def length(curve: Curve) -> float:
    """Length of a curve, mm.

    Examples
    --------
    >>> from formmaker.geometry.curves import straight_line
    >>> round(length(straight_line([0.0, 0.0], [3.0, 4.0])), 9)
    5.0
    """
    return float(_stretch(curve, np.arange(1.0, len(curve.pieces) + 1.0)).sum())


def parameters_by_length(curve: Curve, fractions: ArrayLike) -> Floats:
    """Parameters (...,) at fractions (...,) of a curve's length, from 0 at its start to 1 at its end."""
    wanted = np.asarray(fractions, dtype=np.float64) * length(curve)
    count = len(curve.pieces)
    grid = np.linspace(0.0, count, 16 * count + 1)
    t = np.interp(wanted, lengths_to(curve, grid), grid)
    for _ in range(3):  # Newton: the table is good to a thousandth, each step squares that
        speed = np.hypot(*np.moveaxis(slopes_on(curve, t), -1, 0))
        t = np.clip(t - (lengths_to(curve, t) - wanted) / np.maximum(speed, DEFAULT.same_point), 0.0, float(count))
    return np.asarray(t)


def points_by_length(curve: Curve, fractions: ArrayLike) -> Floats:
    """Points (..., 2) at fractions (...,) of a curve's length, mm."""
    return points_on(curve, parameters_by_length(curve, fractions))


def nearest_parameter(curve: Curve, point: ArrayLike) -> float:
    """Parameter at which a curve comes nearest to a point (2,), mm; the first where several are as near."""
    target, step = np.asarray(point, dtype=np.float64), 1.0 / 64.0
    grid = np.linspace(0.0, len(curve.pieces), 64 * len(curve.pieces) + 1)
    t = float(grid[np.hypot(*(points_on(curve, grid) - target).T).argmin()])
    while step > 1e-12:  # the nearest of three, ever closer together: sure, where Newton may leave a joint
        around = np.clip([t, t - step, t + step], 0.0, len(curve.pieces))
        t = float(around[np.hypot(*(points_on(curve, around) - target).T).argmin()])
        step *= 0.6
    return t


def crossings_at(curve: Curve, height: float, *, tolerances: Tolerances = DEFAULT) -> Floats:
    """Parameters (k,), rising, where a curve stands at a height; both ends of a level piece.

    An end that lies within ``same_point`` of the height counts.
    """
    found: list[float] = []
    for i, piece in enumerate(curve.pieces[:, :, 1] - height):
        if np.abs(piece).max() <= tolerances.same_point:
            found += [i, i + 1.0]
            continue
        found += [i + u for u in _roots(piece)]
        found += [i + u for u, gap in ((0.0, piece[0]), (1.0, piece[3])) if abs(gap) <= tolerances.same_point]
    return _distinct(np.sort(np.array(found, dtype=np.float64)))


def _distinct(values: Floats) -> Floats:
    return values[np.concatenate([[True], np.diff(values) > 1e-9])] if len(values) else values


def _roots(bernstein: Floats) -> list[float]:
    """Real roots from 0 to 1 of a quadratic (3,) or a cubic (4,) in Bernstein form."""
    if not bernstein.min() <= 0.0 <= bernstein.max():  # the values stay between the controls; NaN ends here too
        return []
    power = _POWERS[len(bernstein)] @ bernstein
    # a straight piece leaves rounding in the upper powers, which would make roots far away and spoil the near ones
    power[np.abs(power) < 1e-13 * np.abs(bernstein).max()] = 0.0
    roots = np.roots(power)
    real = roots.real[np.abs(roots.imag) < 1e-7]
    return [float(u) for u in real if 0.0 <= u <= 1.0]


def radius_at(curve: Curve, height: float) -> float:
    """Radius of a turned curve at one height.

    Parameters
    ----------
    curve : Curve
        Half section, in the plane of the axis.
    height : float
        mm.

    Returns
    -------
    float
        Distance from the axis, mm. At an undercut, the largest of the radii.

    Raises
    ------
    OffCurveError
        If the height lies off the curve.

    Examples
    --------
    >>> from formmaker.geometry.curves import straight_line
    >>> round(radius_at(straight_line([40.0, 0.0], [60.0, 90.0]), 45.0), 9)
    50.0
    """
    places = crossings_at(curve, height)
    if not len(places):
        low, high = height_range(curve)
        raise OffCurveError(f"height {height:.6g} mm lies off the curve; it runs from {low:.6g} to {high:.6g} mm")
    return float(points_on(curve, places)[:, 0].max())


def height_range(curve: Curve) -> tuple[float, float]:
    """Least and greatest height of a curve, exactly, mm."""
    heights = points_on(curve, turning_places(curve, axis=1))[:, 1]
    return float(heights.min()), float(heights.max())


def largest_radius(curve: Curve) -> float:
    """Greatest radius of a curve, exactly, mm."""
    return float(points_on(curve, turning_places(curve, axis=0))[:, 0].max())


def turning_places(curve: Curve, *, axis: int) -> Floats:
    """Parameters (k,) where radius (axis 0) or height (axis 1) may be greatest or least: joints, level places."""
    controls = curve.pieces[:, :, axis]
    found = [np.arange(len(controls) + 1.0)]
    for i, (a, b, c) in enumerate(np.diff(controls, axis=1)):
        found.append(i + np.array(_roots(np.array([a, b, c]))))
    return np.sort(np.concatenate(found))


def turned_solid(curve: Curve) -> Turned:
    """Solid between the axis and a curve, turned about the axis.

    Parameters
    ----------
    curve : Curve
        Run upward; where it runs down, what it encloses counts as taken away. A closed curve run counter-clockwise
        gives the ring that it sweeps.

    Returns
    -------
    Turned

    Notes
    -----
    V = pi integral of r^2 dz, its moment pi integral of r^2 z dz (Pappus's theorem over strips): polynomials of
    degree 8 and 11 over a cubic piece, exact with six Gauss points.

    Examples
    --------
    >>> from formmaker.geometry.curves import straight_line
    >>> round(turned_solid(straight_line([3.0, 0.0], [1.0, 4.0])).volume, 6)  # a frustum
    54.454273
    """
    r, z, step = _quadrature(curve)
    volume = np.pi * float((r * r * step).sum())
    moment = np.pi * float((r * r * z * step).sum())
    return Turned(volume=volume, centre_height=moment / volume if volume else float("nan"))


def area_beside(curve: Curve) -> float:
    """Area between the axis and a curve run upward, mm2; that enclosed, of a closed curve run counter-clockwise."""
    r, _, step = _quadrature(curve)
    return float((r * step).sum())


def _quadrature(curve: Curve) -> tuple[Floats, Floats, Floats]:
    """Radius, height and weighted dz at the Gauss points of every piece, each (n, k)."""
    nodes, weights = _SOLID_GAUSS
    places = np.arange(len(curve.pieces))[:, None] + (nodes + 1.0) / 2.0
    r, z = np.moveaxis(points_on(curve, places), -1, 0)
    return r, z, slopes_on(curve, places)[..., 1] * weights / 2.0
