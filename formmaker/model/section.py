"""The half section of a form: what its handles, wall and floor come to as curves."""

from dataclasses import dataclass

from formmaker.geometry.curves import Curve


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """Outer and inner curve of a bowl in the half plane of radius and height, form frame.

    Parameters
    ----------
    outer : Curve
        From the edge of the foot (foot radius, 0) up to the rim's outside (., height).
    inner : Curve
        From the axis (0, floor) out and up to the rim's inside (., height).
    """

    outer: Curve
    inner: Curve
