"""Readings taken at the lathe to find a better axis by, and the shifts of the centres that they ask for."""

from dataclasses import dataclass
from enum import StrEnum

from formmaker.model.ends import End


class ReadingKind(StrEnum):
    """What was read.

    A gap from the tool rest to the wood is small where the wood stands out, a radius is large there; a height runs
    along the axis, from the foot toward the rim.
    """

    GAP = "gap"
    RADIUS = "radius"
    HEIGHT = "height"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One reading.

    Parameters
    ----------
    angle : float
        Of the place on the wood that was read, radians from the index mark.
    size : float
        Gap, radius or height, mm.
    station : float or None
        Where along the axis, mm from the foot's centre mark toward the rim's; None where it was not said.
    at_radius : float or None
        Gap: how far from the axis the rest stood. Height: how far from the axis it was read. mm.
    """

    angle: float
    size: float
    station: float | None = None
    at_radius: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift:
    """How far a centre mark goes on the wood, mm, and which way, radians; NaN for no way where it stays."""

    end: End
    distance: float
    toward: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Recentring:
    """What readings ask for.

    Parameters
    ----------
    shifts : tuple of Shift
        The ends that move, the foot first.
    held : End or None
        The end that stays, where only one moves.
    tilt : float
        Between the old axis and the new one, radians.
    high_toward : float
        Heights: where the high side was, radians; NaN otherwise, or where all is level.
    residual : float
        The farthest that a reading will still be off when the centres have moved, mm: no move cures it.
    known_to : float
        How far a shift may be off by what is left over and is no oval or sway (two standard deviations), mm; NaN
        where the readings are too few to tell, under six.
    warnings : tuple of str
        Sentences.
    """

    shifts: tuple[Shift, ...]
    held: End | None
    tilt: float
    high_toward: float
    residual: float
    known_to: float
    warnings: tuple[str, ...] = ()
