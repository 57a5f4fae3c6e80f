"""A move of the centres from one mounting to another, and what will run differently after it."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from formmaker.model.balance import Bearing
from formmaker.model.ends import End
from formmaker.model.mounting import Mounting


class WhichCrossing(StrEnum):
    """Which crossing of two arcs on the skin is the new centre."""

    ONLY = "only"
    NEARER = "nearer the old centre"
    FARTHER = "farther from the old centre"
    SIDE = "side"


@dataclass(frozen=True, slots=True, kw_only=True)
class Divider:
    """A setting of dividers: from a mark to the new centre straight through the air, mm."""

    mark: str
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DividerPair:
    """Two settings whose arcs cross at the new centre.

    Parameters
    ----------
    settings : tuple of Divider
        Two.
    crossing : WhichCrossing
        Which of the crossings it is.
    side : float
        As seen from the line between the two marks, the direction in which it lies, radians, old mounting.
    blur : float
        How far the crossing is off, at most, for each mm that both settings are off.
    """

    settings: tuple[Divider, Divider]
    crossing: WhichCrossing
    side: float
    blur: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EndMove:
    """What happens at one end.

    Parameters
    ----------
    end : End
    before, after : (3,) float
        Where the old and the new axis leave the skin, blank frame, mm.
    toward : float
        From the old centre to the new one, about the old axis, radians; NaN where it stays.
    across : float
        How far, square to the old axis, mm.
    rise : float
        How far along the old axis, toward the rim, mm: the wood is not flat.
    bearing : Bearing or None
        The mark that lies nearest to the way, before or behind.
    dividers : DividerPair or None
    usable : tuple of str
        Witness marks near this end.
    """

    end: End
    before: NDArray[np.float64]
    after: NDArray[np.float64]
    toward: float
    across: float
    rise: float
    bearing: Bearing | None
    dividers: DividerPair | None
    usable: tuple[str, ...]

    @property
    def shift(self) -> float:
        """Straight from the old centre mark to the new one, as a rule measures it, mm."""
        return float(np.linalg.norm(self.after - self.before))


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepChange:
    """Clearance of a keep mark, mm: how near the rim must pass less how near it does; below 0 the mark is lost."""

    name: str
    before: float
    after: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckGap:
    """Air between a pointer and the wood at one angle of the new mounting, radians and mm; NaN where is no wood."""

    theta: float
    gap: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRing:
    """Gaps to be seen on the new mounting before anything is cut.

    Parameters
    ----------
    height : float
        Form frame of the new mounting, mm.
    from_foot : float
        The same from the foot's centre mark, along the axis, mm.
    touching : float
        Angle at which the pointer is set to touch the wood, radians.
    gaps : tuple of CheckGap
        At four angles.
    """

    height: float
    from_foot: float
    touching: float
    gaps: tuple[CheckGap, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunOut:
    """Total run-out that a circle cut about the old axis will show at a height (new form frame), mm."""

    height: float
    total: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Move:
    """From one mounting to another.

    Parameters
    ----------
    old, new : Mounting
        In the blank's own millimetres.
    ends : tuple of EndMove
        Foot, rim.
    tilt : float
        Between the two axes, radians.
    foot_slip : float
        How far the middle of the foot goes along the mean of the two axes, mm, toward the rim.
    run_out : tuple of RunOut
        At the foot and at the rim.
    keep : tuple of KeepChange
    ring : CheckRing
    """

    old: Mounting
    new: Mounting
    ends: tuple[EndMove, ...]
    tilt: float
    foot_slip: float
    run_out: tuple[RunOut, ...]
    keep: tuple[KeepChange, ...]
    ring: CheckRing
