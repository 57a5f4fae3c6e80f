"""How well a bowl is held, as a record: sizes, grip, the wood it stands in, loads, stresses, what hinders.

Lengths mm, forces N, moments N mm, stresses N/mm2, angles radians.
"""

import math
from dataclasses import dataclass
from enum import StrEnum


class HoldCode(StrEnum):
    """What a point is about; the code that programs read."""

    SIZE = "size"
    DEPTH = "depth"
    FLOOR = "floor"
    INSIDE = "inside"
    SHOULDER = "shoulder"
    JAWS = "jaws"
    CIRCLE = "true circle"
    BOTTOM = "bottom of the chuck"
    BLOCK = "block"
    SCREWS = "screws"
    THREAD = "thread"
    CHUCK = "chuck not known"
    AIR = "not in wood"
    BARK = "bark"
    FLAW = "flaw"
    WET = "moisture"
    END_GRAIN = "end grain"
    GRAIN = "grain"
    STRESS = "stress"
    STRENGTH = "strength not known"
    START = "no starting speed"


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldPoint:
    """One thing the turner should know of the holding: a sentence, and whether it speaks against going on."""

    code: HoldCode
    text: str
    hinders: bool = False


class GripWay(StrEnum):
    """How the holding goes on the spindle."""

    CLOSING = "jaws close on it"
    OPENING = "jaws open in it"
    SCREWS = "screws of a faceplate"
    THREAD = "thread cut in the block"
    UNKNOWN = "not said"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grip:
    """Holding and chuck together; None for what is not known.

    Parameters
    ----------
    way : GripWay
    ends : tuple of float or None
        Smallest and largest diameter that the jaws grip in this way.
    length : float
        How much of the holding's depth is gripped: all of it, or the height of the jaws.
    below : float or None
        Air between the end of a tenon and the bottom of the chuck; 0 or less where it bottoms.
    """

    way: GripWay
    ends: tuple[float, float] | None
    length: float
    below: float | None

    @property
    def is_known(self) -> bool:
        """Whether anything is known of how it goes on the spindle."""
        return self.way is not GripWay.UNKNOWN


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """The wood that the holding is made in or glued to.

    Parameters
    ----------
    depth : float
        Least signed distance of its surface to the skin, positive in the wood.
    slack : float
        How far ``depth`` may be off.
    theta, radius, height : float
        Where it is least.
    in_wood : float
        Share of the surface that lies in the wood of the model.
    bark : float or None
        Share that lies within the bark's thickness of natural skin; None where that thickness is not stated.
    natural : float
        From the surface to the nearest natural skin; inf where the blank has none.
    flaws : tuple of str
        Names of the flaw marks that reach into it.
    """

    depth: float
    slack: float
    theta: float
    radius: float
    height: float
    in_wood: float
    bark: float | None
    natural: float
    flaws: tuple[str, ...]

    @property
    def is_in_wood(self) -> bool:
        """Whether all of it lies in wood by more than it may be off."""
        return self.depth >= self.slack


class SpeedFrom(StrEnum):
    """Where the speed of the load case was taken from."""

    ASKED = "asked"
    START = "starting speed"
    LOWEST = "lowest speed of the lathe"


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """The load case, at the middle of the section that holds the bowl.

    Parameters
    ----------
    cut : float
        Force of a cut at the rim.
    is_assumed : bool
        Whether nobody has said another force.
    lever : float
        From the middle of the section to the outside of the rim.
    weight : float or None
        Of the whole piece, at most; None where it is not known.
    rpm : float or None
        None where no speed is known.
    speed_from : SpeedFrom or None
    unbalance : float or None
        Out-of-balance force at that speed, at most; None where weight or speed is not known.
    pull, side : float
        Force along the axis and across it.
    moment, torque : float
        Bending, and turning about the axis.
    """

    cut: float
    is_assumed: bool
    lever: float
    weight: float | None
    rpm: float | None
    speed_from: SpeedFrom | None
    unbalance: float | None
    pull: float
    side: float
    moment: float
    torque: float


class StressKind(StrEnum):
    """Which stress."""

    TENSION = "tension"
    SHEAR = "shear"
    STRIPPING = "stripping"


STRESSES = {
    StressKind.TENSION: "tension along the axis",
    StressKind.SHEAR: "shear in the plane of the foot",
    StressKind.STRIPPING: "shear along the side that the jaws hold",
}


def say_factor(factor: float) -> str:
    """Say a factor to two figures and not finer, rounded down: it is an estimate.

    Examples
    --------
    >>> say_factor(4.98), say_factor(12.7), say_factor(387.0)
    ('4.9', '12', '380')
    """
    step = 10.0 ** (math.floor(math.log10(factor)) - 1)
    return f"{math.floor(factor / step + 1e-9) * step:.10g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Stress:
    """A stress and what clear wood bears on the mean.

    Parameters
    ----------
    kind : StressKind
        Tension along the axis; shear in the plane of the foot; stripping along the side that the jaws hold.
    area : float
        mm2.
    value : float
        N/mm2.
    strength : float or None
        Of the handbook; None where it has no value for this.
    source : str
        Where that was read; empty without it.
    """

    kind: StressKind
    area: float
    value: float
    strength: float | None
    source: str

    @property
    def factor(self) -> float | None:
        """How many times the stress the handbook's mean is; None where either is nothing."""
        return self.strength / self.value if self.strength is not None and self.value > 0.0 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """The holding beside its bowl.

    Parameters
    ----------
    bowl, foot : float
        Diameters.
    shoulder : float
        Ring of wood round the holding: in the plane of the foot, or where it is narrowest round a recess.
    floor_left : float
        Wood above it on the axis.
    inside : float
        From the holding to the inside curve, where they come nearest.
    glued : float or None
        Area that a block is glued on, mm2.
    """

    bowl: float
    foot: float
    shoulder: float
    floor_left: float
    inside: float
    glued: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """The whole answer; ``points`` with what hinders first, ``wood`` empty and ``moisture`` None where not known."""

    sizes: Sizes
    grip: Grip
    seat: Seat
    load: Load
    stresses: tuple[Stress, ...]
    wood: str
    moisture: float | None
    is_green: bool
    lean: float
    points: tuple[HoldPoint, ...]

    @property
    def hindrances(self) -> tuple[HoldPoint, ...]:
        """The points that speak against going on."""
        return tuple(point for point in self.points if point.hinders)
