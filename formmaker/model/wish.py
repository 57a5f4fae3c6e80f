"""What a turner wishes of a mounting: the largest of what, and what it has to keep to."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

ANY = "any"
"""A rim on any side."""


class Largest(StrEnum):
    """What the search makes as large as it can."""

    DIAMETER = "diameter"
    VOLUME = "volume"


class HeldEnd(StrEnum):
    """Which centre stays, by the end of the lathe that it faces."""

    HEADSTOCK = "headstock"
    TAILSTOCK = "tailstock"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wish:
    """The wishes of a job; whatever is None, empty or False asks nothing.

    Parameters
    ----------
    largest : Largest
        Diameter, the height in proportion; or volume inside the outer curve, the height free.
    least_diameter, most_diameter : float or None
        mm.
    level : float or None
        The two highest points of the rim lie within this of each other, and so do the two lowest, mm.
    keep, avoid : tuple of str or None
        Names of marks that the rim must pass, and of flaws that the form must stay clear of; None for all there are.
    no_sawn_rim : bool
        No piece of the rim may end at a sawn face.
    tilt_limit : float or None
        From the present axis, radians.
    shift_limit : float or None
        Neither present centre lies farther from the new axis, mm.
    hold_end : HeldEnd or None
        The centre at this end of the lathe stays.
    setting_error : float
        How far off each centre may be marked, any way, mm: the bowl still comes out.
    unbalance_limit : float or None
        Weight times distance from the axis, kg mm.
    rim_side : (3,) float or str or None
        The rim faces this side, less than a right angle away: a direction, the name of a mark seen from the middle
        of the blank, or ``ANY``; None for the side that it faces now.
    """

    largest: Largest = Largest.DIAMETER
    least_diameter: float | None = None
    most_diameter: float | None = None
    level: float | None = None
    keep: tuple[str, ...] | None = None
    avoid: tuple[str, ...] | None = None
    no_sawn_rim: bool = False
    tilt_limit: float | None = None
    shift_limit: float | None = None
    hold_end: HeldEnd | None = None
    setting_error: float = 0.0
    unbalance_limit: float | None = None
    rim_side: NDArray[np.float64] | str | None = None


NO_WISH = Wish()
