"""Figures as JSON takes them: what is not known or not finite is None, never NaN."""

import math
from collections.abc import Iterable

from formmaker.units import degrees_round

Plain = dict[str, object]


def figure(value: float | None) -> float | None:
    """Make a plain float, None where there is no finite figure."""
    return float(value) if value is not None and math.isfinite(value) else None


def figures(values: Iterable[float]) -> list[float | None]:
    """Make plain floats of many."""
    return [figure(value) for value in values]


def degrees(theta: float | None) -> float | None:
    """Degrees from 0 up to 360 of an angle in radians, None where there is none."""
    return degrees_round(float(theta)) if theta is not None and math.isfinite(theta) else None
