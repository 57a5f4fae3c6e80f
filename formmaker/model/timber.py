"""Timber: finding one by name; how heavy it is, how it shrinks and how strong it is at a stated moisture.

The figures are in ``timber_table``; what a whole bowl does as it dries is in ``engine.drying``.
"""

import difflib
from collections.abc import Iterable

from formmaker.model.species import Figure, Shrinkage, Source, Species, Strength
from formmaker.model.timber_table import SPECIES

__all__ = [
    "DENSITY_SPREAD",
    "DRY",
    "ESTIMATE_SPREAD",
    "LONGITUDINAL_SHRINKAGE",
    "SATURATION",
    "SHRINKAGE_SPREAD",
    "SPECIES",
    "WATER",
    "WEIGHT_SPREAD",
    "Species",
    "density",
    "estimated_shrinkage",
    "estimated_strength",
    "find_species",
    "highest_moisture",
    "matching_species",
    "meeting_moisture",
    "near_names",
    "shrinkage_spread",
    "shrinkage_to",
    "shrinks_by",
    "sinking_moisture",
    "strength_at",
]

WATER = 1e-6
"""Density of water at 4 C, kg/mm3 (Wood Handbook, FPL-GTR-282, 2021, chapter 4)."""

CELL_WALL = 1.54
"""Specific gravity of the wood of the cell walls (same, equation 4-3)."""

SATURATION = 30.0
"""Fibre saturation point, % (Wood Handbook 2021, chapter 4): above it wood keeps its size."""

WEIGHT_SPREAD = 0.10
"""A green weight is known to a tenth at best: the handbook gives a coefficient of variation of about 10 % for
density within a species, and published green moistures of one species differ by as much."""

DENSITY_SPREAD = 0.10
"""Coefficient of variation of the dry density within a species (Wood Handbook, chapter 4)."""

SHRINKAGE_SPREAD = 0.15
"""Coefficient of variation of shrinkage within a species (Wood Handbook, chapter 4; from memory, not confirmed)."""

ESTIMATE_SPREAD = 0.30
"""The same for a shrinkage that was estimated: over the 43 timbers of which the table knows it, the estimate of the
tangential figure is off by 25 % (root of the mean square), beside the 15 % of one piece."""

LONGITUDINAL_SHRINKAGE = (0.1, 0.2)
"""Shrinkage along the grain of normal wood, green to ovendry, % (same chapter); juvenile wood and reaction wood may
shrink by 2 % (from memory)."""

DRY = 12.0
"""Moisture at which the strength tables call wood dry, %."""

_MEETING = {"ash, white": 24.0, "birch, yellow": 27.0, "Douglas-fir, coast": 24.0}
_USUAL_MEETING = 25.0


def find_species(name: str) -> Species | None:
    """Timber of a name or another name of it, whatever its capitals and the order of its words.

    A part of a name is no name: "sycamore" is another tree on each side of an ocean. ``matching_species`` finds by
    parts.

    Returns
    -------
    Species or None
        None where the table has none of this name.

    Examples
    --------
    >>> find_species("American elm").name, find_species("hard maple").name, find_species("sycamore")
    ('elm, American', 'maple, sugar', None)
    """
    wanted = _words(name)
    return next((s for s in SPECIES if wanted in [frozenset(words) for words in _named(s)]), None)


def matching_species(name: str) -> tuple[Species, ...]:
    """Timbers whose name, or another name of them, has words that begin with every word asked for.

    Examples
    --------
    >>> [species.name for species in matching_species("cherry")]
    ['cherry, black']
    >>> [species.name for species in matching_species("ash")][:3]
    ['ash, black', 'ash, green', 'ash, Oregon']
    """
    whole = find_species(name)
    if whole is not None:
        return (whole,)
    wanted = _words(name)

    def has(words: Iterable[str]) -> bool:
        return all(any(word.startswith(part) for word in words) for part in wanted)

    return tuple(s for s in SPECIES if wanted and any(has(words) for words in _named(s)))


def near_names(name: str) -> tuple[str, ...]:
    """Names of the table that look like one which it has not, at most three.

    Examples
    --------
    >>> near_names("chery"), near_names("wallnut, black")
    (('cherry, black',), ('walnut, black',))
    """
    wanted = sorted(_words(name))
    every = sorted({word for species in SPECIES for words in _named(species) for word in words})
    near = [difflib.get_close_matches(word, every, n=1, cutoff=0.75) for word in wanted]
    if near and all(near):
        return tuple(species.name for species in matching_species(" ".join(words[0] for words in near)))[:3]
    whole = {species.name.lower(): species.name for species in SPECIES}
    return tuple(whole[found] for found in difflib.get_close_matches(name.lower(), whole, n=3))


def _named(species: Species) -> list[frozenset[str]]:
    return [_words(name) for name in (species.name, *species.also)]


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
    Wood Handbook 2021, equations 4-11 and 4-14; where the volumetric shrinkage is not known it is that of equation
    4-12, which makes 4-13 of 4-11. Above fibre saturation the volume stays that of green wood.

    Examples
    --------
    >>> round(1e9 * density(find_species("cherry, black"), None))
    721
    >>> round(1e9 * density(find_species("cherry, black"), 12.0))
    565
    """
    wet = species.green_moisture if moisture is None else moisture
    known = species.shrinkage.volumetric if species.shrinkage is not None else None
    volumetric = 26.5 * species.basic_gravity if known is None else known.value
    gravity = species.basic_gravity / (1.0 - shrinks_by(volumetric, wet) / 100.0)
    return WATER * gravity * (1.0 + wet / 100.0)


def highest_moisture(basic_gravity: float) -> float:
    """Moisture of wood whose every hollow is full of water, % (Wood Handbook 2021, equation 4-3)."""
    return 100.0 * (CELL_WALL - basic_gravity) / (CELL_WALL * basic_gravity)


def sinking_moisture(basic_gravity: float) -> float:
    """Moisture above which wood sinks in water, % (Wood Handbook 2021, equation 4-4)."""
    return 100.0 * (1.0 - basic_gravity) / basic_gravity


def shrinks_by(whole: float, moisture: float) -> float:
    """Shrinkage from green to a moisture, %, where ``whole`` is the one to ovendry (Wood Handbook, equation 4-9).

    Examples
    --------
    >>> round(shrinks_by(11.5, 12.0), 2), shrinks_by(11.5, 45.0)
    (6.9, 0.0)
    """
    return whole * (1.0 - min(moisture, SATURATION) / SATURATION)


def shrinkage_to(whole: float, start: float, end: float) -> float:
    """Share of its size at moisture ``start`` that wood loses on the way to ``end``; negative where it swells.

    Both are % of the dry weight; ``whole`` is the shrinkage from green to ovendry, %.

    Examples
    --------
    >>> round(300.0 * shrinkage_to(7.1, 12.0, 8.0), 4)
    2.9664
    """
    return 1.0 - (100.0 - shrinks_by(whole, end)) / (100.0 - shrinks_by(whole, start))


def estimated_shrinkage(species: Species) -> Shrinkage:
    """Shrinkage of a timber: the table's, or an estimate from its weight where no table has it.

    Notes
    -----
    The estimate: volumetric by Wood Handbook 2021, equation 4-12, and half as much across the rings as along them
    (the handbook's chapter 4: "about half"; FPL report R1650, 1947: "about one-half to two-thirds").
    """
    if species.shrinkage is not None:
        return species.shrinkage
    volumetric = 26.5 * species.basic_gravity
    # (1 - R)(1 - 2R) = 1 - V, so that R = (3 - sqrt(1 + 8 (1 - V))) / 4
    radial = 100.0 * (3.0 - (1.0 + 8.0 * (1.0 - volumetric / 100.0)) ** 0.5) / 4.0
    across, along, whole = (
        Figure(value=value, source=Source.ESTIMATE) for value in (radial, 2.0 * radial, volumetric)
    )
    return Shrinkage(radial=across, tangential=along, volumetric=whole)


def shrinkage_spread(species: Species) -> float:
    """Coefficient of variation of a timber's shrinkage, from piece to piece."""
    return SHRINKAGE_SPREAD if species.shrinkage is not None else ESTIMATE_SPREAD


def estimated_strength(species: Species) -> Strength:
    """Strength of a timber: the table's figures, and an estimate from its weight for each that is missing.

    Notes
    -----
    Wood Handbook, Table 5-11a, functions of the specific gravity at the same moisture; coefficients from memory, not
    confirmed. Hardwoods: shear 17.8 G^1.24 green and 21.9 G^1.13 dry, tension 10.5 G^1.37 and 10.1 G^1.3; softwoods:
    11.0 G^0.73, 16.6 G^0.85, 3.8 G^0.78 and 6.0 G^1.11 N/mm2.
    """
    green = species.basic_gravity
    dry = species.dry_gravity or density(species, DRY) / WATER / (1.0 + DRY / 100.0)
    given = species.strength
    if species.is_softwood:
        values = 11.0 * green**0.73, 16.6 * dry**0.85, 3.8 * green**0.78, 6.0 * dry**1.11
    else:
        values = 17.8 * green**1.24, 21.9 * dry**1.13, 10.5 * green**1.37, 10.1 * dry**1.3
    guess = [Figure(value=value, source=Source.ESTIMATE) for value in values]
    return Strength(
        shear_green=given.shear_green or guess[0],
        shear_dry=given.shear_dry or guess[1],
        tension_green=given.tension_green or guess[2],
        tension_dry=given.tension_dry or guess[3],
    )


def strength_at(green: float, dry: float, moisture: float, *, meeting: float = _USUAL_MEETING) -> float:
    """Strength at a moisture, from the figures green and at 12 %.

    Parameters
    ----------
    green, dry : float
        In any one unit.
    moisture : float
        %.
    meeting : float
        Moisture at which drying begins to tell on strength, % (Table 5-13; 25 where nothing else is known).

    Notes
    -----
    Wood Handbook 2021, equation 5-3, page 5-34. The handbook says not to use it for tension across the grain.

    Examples
    --------
    >>> round(strength_at(66.0, 103.0, 8.0, meeting=24.0), 1)  # the handbook's own example, modulus of rupture
    119.5
    """
    if moisture >= meeting:
        return green
    return dry * float((dry / green) ** ((DRY - moisture) / (meeting - DRY)))


def meeting_moisture(species: Species) -> float:
    """Moisture at which drying begins to tell on strength, % (Wood Handbook, Table 5-13)."""
    return _MEETING.get(species.name, _USUAL_MEETING)
