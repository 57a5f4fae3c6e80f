"""Correcting the scale of a scan by caliper distances between marks.

One factor for all, by least squares; what it leaves over tells how far the scan may be trusted.
"""

from dataclasses import dataclass

import numpy as np

from formmaker.errors import BlankError
from formmaker.model.job import KnownLength
from formmaker.model.marks import Mark
from formmaker.units import MM_PER_UNIT, Units, format_fine

MOST_CORRECTION = 0.05
"""Phone scans are off by a per cent or two; beyond 5 % a mark, a caliper reading or the unit is wrong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleFit:
    """Factor to multiply the scan by, and what each length is then still off (scan less caliper), mm."""

    factor: float
    residuals: tuple[float, ...]

    @property
    def worst(self) -> float:
        """Largest residual without its sign, mm."""
        return max((abs(residual) for residual in self.residuals), default=0.0)


def fit_scale(lengths: tuple[KnownLength, ...], marks: tuple[Mark, ...]) -> ScaleFit:
    """Least-squares factor s of the scan: the sum of (s d - L)^2 over the known lengths L is least.

    Parameters
    ----------
    lengths : tuple of KnownLength
        Caliper distances, mm.
    marks : tuple of Mark
        Places as scanned, mm.

    Returns
    -------
    ScaleFit
        Factor 1 without residuals where no length is known.

    Raises
    ------
    BlankError
        If a mark is unknown, a length is not above 0, two marks are one place, or the factor is off by over 5 %.
    """
    if not lengths:
        return ScaleFit(factor=1.0, residuals=())
    places = {mark.name: mark.at for mark in marks}
    scanned = np.array([_distance(known, places) for known in lengths])
    measured = np.array([known.length for known in lengths])
    factor = float(scanned @ measured / (scanned @ scanned))
    if not abs(factor - 1.0) <= MOST_CORRECTION:
        raise BlankError(_wrong_scale(factor))
    return ScaleFit(factor=factor, residuals=tuple((factor * scanned - measured).tolist()))


def say_fit(lengths: tuple[KnownLength, ...], fit: ScaleFit, units: Units = Units.MM) -> str:
    """Tell the correction and what is left over, in a sentence; ``units`` are the job's.

    Examples
    --------
    >>> say_fit((KnownLength(first="A", second="B", length=202.0),), ScaleFit(factor=1.01, residuals=(0.0,)))
    'The scan was scaled by 1.01000 to one known length; a single length leaves nothing over to check it by.'
    """
    if len(lengths) == 1:
        return (
            f"The scan was scaled by {fit.factor:.5f} to one known length; a single length leaves nothing over to "
            "check it by."
        )
    parts = (f"{k.first}-{k.second} {_signed(r, units)}" for k, r in zip(lengths, fit.residuals, strict=True))
    return (
        f"The scan was scaled by {fit.factor:.5f} to {len(lengths)} known lengths; left over (scan less caliper): "
        f"{', '.join(parts)}."
    )


def _signed(millimetres: float, units: Units) -> str:
    text = format_fine(millimetres, units)
    return text if text.startswith("-") else f"+{text}"


def _distance(known: KnownLength, places: dict[str, np.ndarray]) -> float:
    pair = f"known_length {known.first}-{known.second}"
    for name in (known.first, known.second):
        if name not in places:
            named = ", ".join(sorted(places)) or "none"
            raise BlankError(f"{pair}: there is no mark {name!r}; marks are {named}")
    if not 0.0 < known.length < float("inf"):
        raise BlankError(f"{pair} is {known.length} mm; give the caliper distance, above 0")
    distance = float(np.linalg.norm(places[known.first] - places[known.second]))
    if not distance > 0.0:
        raise BlankError(f"{pair}: both marks are at one place (0 mm apart); choose two marks far apart")
    return distance


def _wrong_scale(factor: float) -> str:
    text = f"known_length would scale the scan by {factor:.4g}, allowed is {MOST_CORRECTION:.0%} either way"
    names = list(MM_PER_UNIT)
    swaps = [
        f"{b} where it says {a}"
        for a in names
        for b in names
        if a != b and abs(factor * MM_PER_UNIT[a] / MM_PER_UNIT[b] - 1.0) <= MOST_CORRECTION
    ]
    way_out = "check the marks and the caliper readings"
    return f"{text}; scan_unit may be {' or '.join(swaps)}, or {way_out}" if swaps else f"{text}; {way_out}"
