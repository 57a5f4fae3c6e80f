"""What is known of one timber, as records: each figure with the place it was taken from.

The figures themselves are in ``timber_table``, what follows from them in ``timber``.
"""

from dataclasses import dataclass
from enum import StrEnum


class Source(StrEnum):
    """Where a figure was read, or how it was come to."""

    FOREST_SERVICE = "US Forest Service, REF_SPECIES"
    SHRINKAGE_TABLE = "Wood Handbook, Table 4-3"
    CHANGE_TABLE = "Wood Handbook, Table 13-5, worked back to green to ovendry"
    GREEN_TABLE = "Wood Handbook, Table 4-1"
    STRENGTH_TABLE = "Wood Handbook, Table 5-3"
    MEMORY = "from memory, not confirmed"
    ESTIMATE = "estimated from its weight"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A value and where it comes from."""

    value: float
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrinkage:
    """Shrinkage from green to ovendry, % of the green size.

    Parameters
    ----------
    radial, tangential : Figure
        Across the growth rings and along them.
    volumetric : Figure or None
    """

    radial: Figure
    tangential: Figure
    volumetric: Figure | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """Mean strength of small, clear, straight-grained pieces, N/mm2; None where there is no figure.

    Parameters
    ----------
    shear_green, shear_dry : Figure or None
        Along the grain, green and at 12 % moisture.
    tension_green, tension_dry : Figure or None
        Across the grain, green and at 12 % moisture.
    """

    shear_green: Figure | None = None
    shear_dry: Figure | None = None
    tension_green: Figure | None = None
    tension_dry: Figure | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Species:
    """One timber.

    Parameters
    ----------
    name : str
    basic_gravity : float
        Ovendry weight over green volume, relative to water.
    green_moisture : float
        Mean moisture of green wood, % of the dry weight.
    green_source : Source
        Where ``green_moisture`` was read.
    dry_gravity : float or None
        Ovendry weight over volume at 12 % moisture, relative to water.
    heartwood, sapwood : Figure or None
        Green moisture of either, %.
    shrinkage : Shrinkage or None
        None where no table has it.
    strength : Strength
    also : tuple of str
        Other names of the same timber in the trade.
    is_softwood : bool
    """

    name: str
    basic_gravity: float
    green_moisture: float
    green_source: Source = Source.FOREST_SERVICE
    dry_gravity: float | None = None
    heartwood: Figure | None = None
    sapwood: Figure | None = None
    shrinkage: Shrinkage | None = None
    strength: Strength = Strength()
    also: tuple[str, ...] = ()
    is_softwood: bool = False
