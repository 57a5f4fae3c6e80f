"""Timber: how heavy a wood is, green or at a stated moisture.

Shrinkage and drying are not asked here.
"""

from dataclasses import dataclass

WATER = 1e-6
"""Density of water at 4 C, kg/mm3 (Wood Handbook, FPL-GTR-282, 2021, chapter 4)."""

SATURATION = 30.0
"""Fibre saturation point, % (Wood Handbook 2021, chapter 4): above it wood keeps its size."""

WEIGHT_SPREAD = 0.10
"""A green weight is known to a tenth at best: the handbook gives a coefficient of variation of about 10 % for
density within a species, and published green moistures of one species differ by as much."""


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
    """

    name: str
    basic_gravity: float
    green_moisture: float


SPECIES = (
    Species(name="alder, red", basic_gravity=0.37, green_moisture=99.24),
    Species(name="apple", basic_gravity=0.61, green_moisture=78.0),
    Species(name="ash, green", basic_gravity=0.53, green_moisture=57.23),
    Species(name="ash, white", basic_gravity=0.55, green_moisture=45.69),
    Species(name="basswood, American", basic_gravity=0.32, green_moisture=105.34),
    Species(name="beech, American", basic_gravity=0.56, green_moisture=54.54),
    Species(name="birch, paper", basic_gravity=0.48, green_moisture=73.6),
    Species(name="birch, yellow", basic_gravity=0.55, green_moisture=71.91),
    Species(name="boxelder", basic_gravity=0.42, green_moisture=90.79),
    Species(name="butternut", basic_gravity=0.36, green_moisture=104.78),
    Species(name="cherry, black", basic_gravity=0.47, green_moisture=53.45),
    Species(name="elm, American", basic_gravity=0.46, green_moisture=94.0),
    Species(name="hackberry", basic_gravity=0.49, green_moisture=63.53),
    Species(name="hickory, pecan", basic_gravity=0.60, green_moisture=65.6),
    Species(name="honeylocust", basic_gravity=0.60, green_moisture=60.25),
    Species(name="locust, black", basic_gravity=0.66, green_moisture=40.83),
    Species(name="madrone, Pacific", basic_gravity=0.58, green_moisture=65.78),
    Species(name="maple, bigleaf", basic_gravity=0.44, green_moisture=71.18),
    Species(name="maple, red", basic_gravity=0.49, green_moisture=63.53),
    Species(name="maple, silver", basic_gravity=0.44, green_moisture=67.55),
    Species(name="maple, sugar", basic_gravity=0.56, green_moisture=57.39),
    Species(name="mulberry, red", basic_gravity=0.52, green_moisture=75.13),
    Species(name="oak, northern red", basic_gravity=0.56, green_moisture=83.14),
    Species(name="oak, white", basic_gravity=0.60, green_moisture=68.27),
    Species(name="Osage-orange", basic_gravity=0.76, green_moisture=30.74),
    Species(name="redcedar, eastern", basic_gravity=0.44, green_moisture=34.75),
    Species(name="sassafras", basic_gravity=0.42, green_moisture=67.88),
    Species(name="sweetgum", basic_gravity=0.46, green_moisture=74.2),
    Species(name="sycamore, American", basic_gravity=0.46, green_moisture=81.15),
    Species(name="tanoak", basic_gravity=0.58, green_moisture=79.6),
    Species(name="walnut, black", basic_gravity=0.51, green_moisture=79.12),
    Species(name="yellow-poplar", basic_gravity=0.40, green_moisture=95.0),
)
"""Basic specific gravity and green moisture of wood: US Forest Service FIADB ``REF_SPECIES`` (public domain; figures
of Research Note NRS-38, 2009)."""


def find_species(name: str) -> Species | None:
    """Timber of a name, whatever its capitals and the order of its words; None where the table has none.

    Examples
    --------
    >>> find_species("American elm").name
    'elm, American'
    """
    wanted = _words(name)
    return next((species for species in SPECIES if _words(species.name) == wanted), None)


def _words(name: str) -> frozenset[str]:
    return frozenset(name.lower().replace(",", " ").replace("-", " ").split())


def density(species: Species, moisture: float | None) -> float:
    """Weight of a volume of wood at a moisture.

    Parameters
    ----------
    species : Species
    moisture : float or None
        % of the dry weight, 0 or more; None for green.

    Returns
    -------
    float
        kg/mm3, without bark; known to ``WEIGHT_SPREAD``.

    Notes
    -----
    Wood Handbook 2021, equations 4-13 and 4-14; above fibre saturation the volume stays that of green wood.

    Examples
    --------
    >>> round(1e9 * density(find_species("cherry, black"), None))
    721
    """
    wet = species.green_moisture if moisture is None else moisture
    dried = 1.0 - min(wet, SATURATION) / SATURATION
    gravity = species.basic_gravity / (1.0 - 0.265 * species.basic_gravity * dried)
    return WATER * gravity * (1.0 + wet / 100.0)
