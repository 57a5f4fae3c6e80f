"""What may be said of a rim line, the same in sentences and on sheets: where it is highest, and what a tilt cures.

It chooses no words.
"""

import numpy as np

from formmaker.model.verdict import Extremum, RimKind, RimLine

TRUE_RIM = 0.75
"""Share of the turn that has to end in the wood's own edge before its lean is taken for a tilt of the wood (ours)."""


def highest_place(rim: RimLine) -> Extremum:
    """The first of the highs, which stands in the middle of a flat one; the highest angle where none stands out."""
    return rim.highs[0] if rim.highs else _at(rim, int(np.nanargmax(rim.height)))


def lowest_place(rim: RimLine) -> Extremum:
    """The first of the lows, which stands in the middle of a flat one; the lowest angle where none stands out."""
    return rim.lows[0] if rim.lows else _at(rim, int(np.nanargmin(rim.height)))


def _at(rim: RimLine, index: int) -> Extremum:
    return Extremum(theta=float(rim.theta[index]), height=float(rim.height[index]))


def tilt_levels(rim: RimLine) -> bool:
    """Whether the lean is one of the wood: no angle without a rim, three quarters of the turn natural edge."""
    natural = rim.kinds.count(RimKind.NATURAL) / len(rim.kinds)
    return bool(np.all(rim.height > 0.0)) and natural >= TRUE_RIM
