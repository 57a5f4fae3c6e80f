"""Where the middle of a circle lies, from distances to it along rays from a point inside it.

The rays are known, the distances carry the error: so errors are measured along the rays, not square to the circle.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.slopes import Slope, fit_slope

_MOST_STEPS = 60
_SETTLED = 1e-13  # of the radius: rounding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OffCentre:
    """A circle seen from a point off its middle.

    Parameters
    ----------
    centre : (2,) float
        From the point to the middle, in the unit of the distances.
    radius : float
    residual : (n,) float
        Distance less circle, along each ray.
    harmonic : Slope
        The plain first harmonic of the distances, which takes the circle for the curve r = R + e cos.
    """

    centre: NDArray[np.float64]
    radius: float
    residual: NDArray[np.float64]
    harmonic: Slope


def directions(angles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points of the unit circle, (n, 2)."""
    return np.column_stack([np.cos(angles), np.sin(angles)])


def fit_off_centre(angles: NDArray[np.float64], distances: NDArray[np.float64]) -> OffCentre:
    """Circle of which the residual along the rays has neither a mean nor a first harmonic.

    Parameters
    ----------
    angles : (n,) float
        Radians, at least three that go all round the point.
    distances : (n,) float
        Above 0.

    Returns
    -------
    OffCentre
        Exact for a circle, at any angles. Where the angles are opposite pairs the centre is the plain first harmonic,
        and so linear in the distances: errors of mean zero leave no bias.

    Raises
    ------
    ValueError
        If no circle round the point has such distances.

    Notes
    -----
    A circle of radius R, e off, is r = e cos t + sqrt(R^2 - e^2 sin^2 t), t from the direction of e. The root has
    even harmonics only; three or five readings take some of them for a first one. They are taken off by Newton's
    method. ISO 12181-1 calls the plain fit the least-squares circle.
    """
    rays = directions(angles)
    harmonic = fit_slope(rays, distances)
    pick = np.linalg.pinv(np.column_stack([np.ones(len(angles)), rays]))
    centre, radius = harmonic.slope.copy(), float(np.mean(distances))
    for _ in range(_MOST_STEPS):
        across = rays[:, 1] * centre[0] - rays[:, 0] * centre[1]
        square = radius**2 - across**2
        if not (square > 0.0).all():
            break
        root = np.sqrt(square)
        residual = distances - rays @ centre - root
        lean = across / root
        change = np.column_stack([radius / root, rays[:, 0] - lean * rays[:, 1], rays[:, 1] + lean * rays[:, 0]])
        step = np.linalg.solve(pick @ change, pick @ residual)
        if np.abs(step).max() <= _SETTLED * radius:
            return OffCentre(centre=centre, radius=radius, residual=residual, harmonic=harmonic)
        radius, centre = radius + float(step[0]), centre + step[1:]
    raise ValueError("the readings lie on no circle round the axis")
