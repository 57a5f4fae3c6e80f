"""What a blank does when it turns between centres, as a record: weight, balance, swing, force, a speed to begin with.

Lengths mm, angles radians counted as the mounting counts them, heights above the plane the foot stands on.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from formmaker.model.ends import End
from formmaker.model.mounting import Mounting


class WeighedBy(StrEnum):
    """Where a mass is known from."""

    SCALES = "scales"
    TIMBER = "timber"
    NOTHING = "nothing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mass:
    """A mass in kg and the share of it by which it may be off; both None where nothing is known."""

    kilograms: float | None
    spread: float | None
    known_by: WeighedBy


@dataclass(frozen=True, slots=True, kw_only=True)
class Force:
    """Out-of-balance force at one speed.

    Parameters
    ----------
    rpm : float
    newtons, most_newtons : float or None
        As the figures stand, and at most, where mass and offset are off by all that is not known of them; None where
        the mass is not known.
    weights, most_weights : float
        The same in multiples of the blank's weight.
    """

    rpm: float
    newtons: float | None
    most_newtons: float | None
    weights: float
    most_weights: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Swing:
    """The wood farthest from the axis, against what the lathe swings.

    Parameters
    ----------
    radius, theta, height : float
        Where the farthest wood is.
    slack : float
        How far the skin may be off.
    room : float or None
        Half of the lathe's swing; None where it is not known.
    rest : float
        From the axis to a tool rest that leaves the air wanted, the skin's uncertainty taken off.
    """

    radius: float
    theta: float
    height: float
    slack: float
    room: float | None
    rest: float

    @property
    def clears(self) -> bool | None:
        """Whether it clears the bed by more than the skin may be off; None where the lathe's swing is not known."""
        return None if self.room is None else self.radius + self.slack < self.room


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """Length of the blank between its centres, how far it may be off, and the lathe's room for it (None: unknown)."""

    length: float
    slack: float
    room: float | None

    @property
    def goes(self) -> bool | None:
        """Whether it goes between the lathe's centres; None where the room is not known."""
        return None if self.room is None else self.length + self.slack < self.room


class SpeedRule(StrEnum):
    """What sets a bound to the starting speed."""

    PRODUCT = "product"
    FORCE = "force"
    HIGHEST = "highest"


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedBound:
    """One rule and the speed that it ends at, rpm; inf where it sets no bound."""

    rule: SpeedRule
    rpm: float


class Hindrance(StrEnum):
    """Why a blank is not to be started on a mounting at all."""

    SWING = "swing"
    LENGTH = "length"
    SPEED = "speed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Start:
    """A speed to begin with.

    Parameters
    ----------
    rpm : float or None
        The least of the bounds, rounded down; None where something hinders.
    bounds : tuple of SpeedBound
        The lowest first.
    lowest : float or None
        The lathe's lowest speed, where it is known.
    hindrances : tuple of Hindrance
    """

    rpm: float | None
    bounds: tuple[SpeedBound, ...]
    lowest: float | None
    hindrances: tuple[Hindrance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """A mark seen from a direction: its name, and by how much it lies counter-clockwise of it, within half a turn."""

    name: str
    turn: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Balanced:
    """The balanced mounting nearest to the present one.

    Parameters
    ----------
    mounting : Mounting
        Its centres are where the new axis leaves the skin.
    foot_shift, rim_shift : (2,) float
        How far each centre goes, square to the present axis, along angle 0 and along 90 degrees.
    held : End or None
        The end that stays.
    distance : float
        From the new axis to the centre of mass.
    couple : float
        What is left of the couple on the new axis, for each kilogram, mm2.
    reach : float
        From the new axis to the farthest wood.
    """

    mounting: Mounting
    foot_shift: NDArray[np.float64]
    rim_shift: NDArray[np.float64]
    held: End | None
    distance: float
    couple: float
    reach: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Balance:
    """The whole answer.

    Parameters
    ----------
    mass : Mass
    centre : (3,) float
        Centre of mass, blank frame.
    height : float
        Of the centre of mass.
    offset, heavy_toward : float
        From the axis to the centre of mass, and on which side it lies: that side swings down. NaN for the side where
        the two coincide.
    slack : float
        How far the offset may be off by the skin's uncertainty alone.
    mark : Bearing or None
        The mark nearest to the heavy side or to the one across; None where the wood has none off the axis.
    couple : float
        Products of inertia about axes through the middle between the centres, for each kilogram, mm2.
    pull : float
        Offset and couple together: what both centres hold, as an offset.
    span : Span
    forces : tuple of Force
    swing : Swing
    start : Start
    balanced : Balanced
    """

    mass: Mass
    centre: NDArray[np.float64]
    height: float
    offset: float
    heavy_toward: float
    slack: float
    mark: Bearing | None
    couple: float
    pull: float
    span: Span
    forces: tuple[Force, ...]
    swing: Swing
    start: Start
    balanced: Balanced

    @property
    def is_side_known(self) -> bool:
        """Whether the heavy side is known: the centre of mass lies farther off the axis than it may be off."""
        return math.isfinite(self.heavy_toward) and self.offset > self.slack
