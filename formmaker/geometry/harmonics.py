"""Evenly spaced samples round a full turn: their mean, first and second harmonic, highs and lows.

Knows nothing of what was sampled.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Harmonic:
    """One wave round the turn, ``amplitude * cos(order * (theta - phase))``.

    Parameters
    ----------
    order : int
        Waves in a turn, from 1.
    amplitude : float
        Half of high to low, never negative, in the unit of the samples.
    phase : float
        Angle of a high, radians, from 0 up to 2 pi / order; 0 where the amplitude is 0.
    """

    order: int
    amplitude: float
    phase: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Harmonics:
    """Mean and first harmonics of samples round a turn, and what they leave over (n,), in the unit of the samples."""

    mean: float
    waves: tuple[Harmonic, ...]
    residual: NDArray[np.float64]


def fit_harmonics(values: NDArray[np.float64], count: int = 2) -> Harmonics:
    """Least-squares mean and harmonics of evenly spaced samples round a turn.

    Parameters
    ----------
    values : (n,) float
        Sample i stands at 2 pi i / n; n larger than twice ``count``.
    count : int
        How many harmonics.

    Returns
    -------
    Harmonics
        Exact for a sum of these harmonics. A higher harmonic h is mistaken for h - n, so take many samples.

    Raises
    ------
    ValueError
        If there are too few samples, or one of them is not finite.

    Notes
    -----
    a = 2/n sum v cos k t, b = 2/n sum v sin k t, for k = 1 the least-squares circle of ISO 12181-1.

    Examples
    --------
    >>> found = fit_harmonics(5.0 + 2.0 * np.cos(2.0 * np.pi * np.arange(8) / 8 - 1.0))
    >>> round(found.mean, 9), round(found.waves[0].amplitude, 9), round(found.waves[0].phase, 9)
    (5.0, 2.0, 1.0)
    """
    samples = np.asarray(values, dtype=np.float64)
    if samples.ndim != 1 or not samples.size > 2 * count:
        raise ValueError(f"{samples.size} samples are too few for {count} harmonics; give at least {2 * count + 1}")
    if not np.isfinite(samples).all():
        raise ValueError("harmonics need a finite sample at every angle; fill the gaps first")
    theta = 2.0 * np.pi * np.arange(samples.size) / samples.size
    mean = float(samples.mean())
    waves = tuple(_wave(samples - mean, theta, order) for order in range(1, count + 1))
    residual = samples - mean - sum(w.amplitude * np.cos(w.order * (theta - w.phase)) for w in waves)
    return Harmonics(mean=mean, waves=waves, residual=residual)


def _wave(samples: NDArray[np.float64], theta: NDArray[np.float64], order: int) -> Harmonic:
    a = float(samples @ np.cos(order * theta)) * 2.0 / samples.size
    b = float(samples @ np.sin(order * theta)) * 2.0 / samples.size
    turn = 2.0 * np.pi / order
    phase = float(np.arctan2(b, a) / order % turn) if np.hypot(a, b) > 0.0 else 0.0
    return Harmonic(order=order, amplitude=float(np.hypot(a, b)), phase=0.0 if phase == turn else phase)


def periodic_peaks(values: NDArray[np.float64], prominence: float) -> NDArray[np.int64]:
    """Highs of samples round a turn that stand out by a height; lows are the highs of ``-values``.

    Parameters
    ----------
    values : (n,) float
        Samples round a turn; the first follows the last. NaN samples are gaps, passed over.
    prominence : float
        A high counts when one must go down by at least this much, on either side, to reach anything higher; the
        highest of all when it stands this much above the lowest. Unit of the samples, above zero.

    Returns
    -------
    (k,) int
        Index of each high, ascending; of a level stretch its middle. Of two equal highs without a dip of
        ``prominence`` between them only the first is given. Empty where all is level.

    Raises
    ------
    ValueError
        If the prominence is not above zero.

    Examples
    --------
    >>> periodic_peaks(np.array([3.0, 3.0, 0.0, 2.0, 1.9, 2.1, 0.0, 3.0]), 1.0)
    array([0, 5])
    """
    if not prominence > 0.0:
        raise ValueError(f"a prominence of {prominence} would make every wiggle a high; give more than 0")
    samples = np.asarray(values, dtype=np.float64)
    known = np.flatnonzero(np.isfinite(samples))
    if not known.size or not np.ptp(samples[known]) >= prominence:
        return np.empty(0, dtype=np.int64)
    # From the lowest sample on, every high has a low before it, so the turn can be walked as a line.
    known = np.roll(known, -int(samples[known].argmin()))
    walk = _highs_of_walk(samples[known], prominence)
    return np.sort(np.array([known[place] for place in walk], dtype=np.int64))


def _highs_of_walk(samples: NDArray[np.float64], prominence: float) -> list[int]:
    """Walk up and down: a high is settled when the walk has come down from it by the prominence."""
    highs: list[int] = []
    low, top, climbing = float(samples[0]), 0, False
    for place in range(1, len(samples) + 1):
        value = float(samples[place % len(samples)])
        if climbing:
            if value > samples[top]:
                top = place
            elif samples[top] - value >= prominence:
                highs.append(_middle_of_level(samples, top))
                climbing, low = False, value
        elif value - low >= prominence:
            climbing, top = True, place
        else:
            low = min(low, value)
    return highs


def _middle_of_level(samples: NDArray[np.float64], start: int) -> int:
    stop = start
    while stop + 1 < len(samples) and samples[stop + 1] == samples[start]:
        stop += 1
    return (start + stop) // 2
