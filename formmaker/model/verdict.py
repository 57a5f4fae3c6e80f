"""The answer to the main question, as a record: does this form come out of this blank on this mounting."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray


class Answer(StrEnum):
    """FITS beyond the uncertainty, TIGHT inside it, or MISSES."""

    FITS = "fits"
    TIGHT = "tight"
    MISSES = "misses"


class Part(StrEnum):
    """Which part of the bowl a place belongs to."""

    WALL = "wall"
    RIM = "rim"
    FLOOR = "floor"
    FOOT = "foot"
    TENON = "tenon"
    GLUE_FACE = "glue face"


class RimKind(StrEnum):
    """How the wood ends at the rim at one angle."""

    NATURAL = "natural"
    SAWN = "sawn"
    TURNED = "turned"


class Reason(StrEnum):
    """Why a finding was made; the code that programs read."""

    WOOD_MISSING = "wood missing"
    WOOD_THIN = "wood thin"
    LOOSE_PIECE = "loose piece"
    WEAK_NECK = "weak neck"
    WINDOW = "window"
    SAWN_RIM = "sawn rim"
    RIM_LOW = "rim low"
    KEEP_LOST = "keep lost"
    KEEP_MET = "keep met"
    FLAW_MET = "flaw met"
    FLAW_CLEAR = "flaw clear"
    HOLD_SIZE = "hold size"
    HOLD_DEPTH = "hold depth"
    HOLD_FLOOR = "hold floor"
    BLANK_NOTE = "blank note"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Somewhere on the bowl, form frame: angle in radians, radius and height in mm."""

    theta: float
    radius: float
    height: float
    part: Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing the turner should know.

    Parameters
    ----------
    reason : Reason
    text : str
        A whole sentence in the job's units.
    part : Part or None
    theta, height : float or None
        Where, radians and mm, where there is a place.
    amount : float or None
        How much, mm, where it is a length.
    """

    reason: Reason
    text: str
    part: Part | None = None
    theta: float | None = None
    height: float | None = None
    amount: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Extremum:
    """A high or low point of the rim: angle in radians, height in mm."""

    theta: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RimLine:
    """Where the wood first ends going up the outer curve from the foot, over one turn.

    Parameters
    ----------
    theta : (n,) float
        Angles, radians, from 0, even steps.
    radius, height : (n,) float
        The rim's outside at each angle, form frame, mm.
    kinds : tuple of RimKind
    lean, lean_toward : float
        First harmonic of the height: amplitude (mm) and the angle of its high side (radians).
    sway : float
        Second harmonic of the height: amplitude, mm.
    highs, lows : tuple of Extremum
    """

    theta: NDArray[np.float64]
    radius: NDArray[np.float64]
    height: NDArray[np.float64]
    kinds: tuple[RimKind, ...]
    lean: float
    lean_toward: float
    sway: float
    highs: tuple[Extremum, ...]
    lows: tuple[Extremum, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spin:
    """What is seen while the blank spins: radius of the core and of the ghost by height, (n,) each, mm."""

    height: NDArray[np.float64]
    core: NDArray[np.float64]
    ghost: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class LoosePiece:
    """A part of the turned body not joined to the foot; mm3 and its middle (radians, mm)."""

    volume: float
    theta: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WeakNeck:
    """A part of the rim held by little wood: area of the neck (mm2), volume held (mm3), the neck's middle."""

    area: float
    volume: float
    theta: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Wood missing below the rim: area on the outside (mm2) and its middle (radians, mm)."""

    area: float
    theta: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Volumes:
    """Volumes of blank, of the bowl as it comes out, and of what is cut away, mm3."""

    blank: float
    bowl: float
    waste: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldCheck:
    """What was found about the holding; ``ratio`` is its diameter over the bowl's."""

    kind: str
    diameter: float
    ratio: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Verdict:
    """The whole answer of a check; lengths mm, angles radians.

    Parameters
    ----------
    answer : Answer
    margin : float
        Least signed distance of must-be-wood to the skin, allowance already taken off, mm.
    uncertainty : float
        How far the margin may be off, mm: blank, search slack and chord together.
    worst : Place
        Where the margin is least.
    diameter, height, foot : float
        Largest diameter, height and foot diameter of the form, mm.
    rim : RimLine
    spin : Spin
    loose_pieces, weak_necks, windows : tuple
    volumes : Volumes
    hold : HoldCheck
    findings : tuple of Finding
        Worst first.
    """

    answer: Answer
    margin: float
    uncertainty: float
    worst: Place
    diameter: float
    height: float
    foot: float
    rim: RimLine
    spin: Spin
    loose_pieces: tuple[LoosePiece, ...]
    weak_necks: tuple[WeakNeck, ...]
    windows: tuple[Window, ...]
    volumes: Volumes
    hold: HoldCheck
    findings: tuple[Finding, ...]
