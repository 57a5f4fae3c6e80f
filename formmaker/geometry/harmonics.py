"""Waves and peaks of a figure that repeats every turn."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Harmonics:
    """A mean and the first waves round a turn: ``mean + sum(amplitudes[k] cos((k + 1) (theta - phases[k])))``."""

    mean: float
    amplitudes: NDArray[np.float64]
    phases: NDArray[np.float64]


def fit_harmonics(values: NDArray[np.float64], *, count: int = 2) -> Harmonics:
    """Least squares fit of the first harmonics to even samples of one turn.

    Parameters
    ----------
    values : (n,) float
        At n even angles from 0.
    count : int
        How many harmonics, below n / 2.

    Returns
    -------
    Harmonics
        Amplitudes 0 and up; phases in radians, from -pi / k to pi / k for wave k.

    Notes
    -----
    On even samples the least squares fit is the discrete Fourier sum (least-squares circle of ISO 12181-1, first
    harmonic).

    Examples
    --------
    >>> theta = 2 * np.pi * np.arange(8) / 8
    >>> waves = fit_harmonics(10 + 3 * np.cos(theta - 1.0))
    >>> round(waves.mean, 9), round(float(waves.amplitudes[0]), 9), round(float(waves.phases[0]), 9)
    (10.0, 3.0, 1.0)
    """
    orders = np.arange(1, count + 1)
    theta = 2.0 * np.pi * np.arange(len(values)) / len(values)
    waves = (2.0 / len(values)) * (values @ np.exp(1j * np.outer(theta, orders)))
    return Harmonics(mean=float(values.mean()), amplitudes=np.abs(waves), phases=np.angle(waves) / orders)


def periodic_peaks(values: NDArray[np.float64], prominence: float) -> NDArray[np.int64]:
    """Indices of the highs of a series that repeats, those that stand out by a prominence.

    Parameters
    ----------
    values : (n,) float
    prominence : float
        How far a high stands above the higher of the two saddles beside it, at least, in the unit of the values.

    Returns
    -------
    (k,) int
        Rising; one index in the middle of a plateau; empty for a series without such a high.

    Examples
    --------
    >>> periodic_peaks(np.array([5.0, 5.0, 1.0, 3.0, 1.0, 5.0]), 1.0)
    array([0, 3])
    """
    start = int(np.argmin(values))
    turned = np.concatenate([np.roll(values, -start), [values[start]]])
    found, _ = find_peaks(turned, prominence=max(prominence, 1e-12))
    return np.sort((found + start) % len(values))
