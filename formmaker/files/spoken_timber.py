"""A timber in a few lines: weight, moisture, shrinkage, strength, and where each figure comes from.

It chooses words only; figures come from the timber table and from what follows from it.
"""

from collections.abc import Iterable

from formmaker.files.job_faults import printable
from formmaker.model.species import Figure, Source, Species
from formmaker.model.timber import (
    DENSITY_SPREAD,
    DRY,
    LONGITUDINAL_SHRINKAGE,
    SPECIES,
    WEIGHT_SPREAD,
    density,
    estimated_shrinkage,
    estimated_strength,
    matching_species,
    near_names,
    shrinkage_spread,
    shrinkage_to,
)
from formmaker.units import MM_PER_INCH, Units, format_density, format_length, format_stress

_EXAMPLE = {Units.MM: 300.0, Units.INCH: 12.0 * MM_PER_INCH}
_EXAMPLE_END = 8.0


def spoken_matches(name: str, units: Units) -> tuple[str, ...]:
    """Say what the table has of a name: all of one timber, or a line for each of several.

    Parameters
    ----------
    name : str
        Of a timber or a part of it; empty for all.
    units : Units

    Returns
    -------
    tuple of str
        Empty where the table has nothing of that name.
    """
    found = matching_species(name) if name else SPECIES
    if len(found) == 1:
        return spoken_timber(found[0], units)
    return tuple(_brief(species, units) for species in found)


def say_unknown(name: str) -> str:
    """Say that a name is not in the table, and which are near it."""
    near = near_names(name)
    hint = f"did you mean {' or '.join(near)}?" if near else "`formmaker timber` lists all of them"
    return f"timber {printable(name)}: not in the table of {len(SPECIES)} timbers; {hint}"


def spoken_timber(species: Species, units: Units) -> tuple[str, ...]:
    """Say all that is known of one timber.

    Parameters
    ----------
    species : Species
    units : Units

    Returns
    -------
    tuple of str
        Paragraphs, to be wrapped.
    """
    also = f" (also {', '.join(species.also)})" if species.also else ""
    return (
        f"{species.name}{also}",
        _weight(species, units),
        _moisture(species),
        *_shrinkage(species, units),
        *_strength(species, units),
        "These are means of many trees. The piece on your bench may lie well off them: weigh it, measure it.",
    )


def _brief(species: Species, units: Units) -> str:
    shrinkage = species.shrinkage
    moves = (
        f"shrinks {shrinkage.radial.value:g} % across and {shrinkage.tangential.value:g} % along the rings"
        if shrinkage is not None
        else "shrinkage in no table here"
    )
    green, dry = (format_density(density(species, moisture), units) for moisture in (None, DRY))
    return f"{species.name}: {green} green, {dry} at {DRY:g} %; {moves}"


def _weight(species: Species, units: Units) -> str:
    green, dry, bone = (format_density(density(species, moisture), units) for moisture in (None, DRY, 0.0))
    return (
        f"- Weight: about {green} green, {dry} at {DRY:g} % moisture, {bone} ovendry; green weights are known to "
        f"{100.0 * WEIGHT_SPREAD:.0f} %, and the dry weight of one piece varies by {100.0 * DENSITY_SPREAD:.0f} % "
        f"from the mean of its kind. Basic specific gravity {species.basic_gravity:g} "
        f"({Source.FOREST_SERVICE.value})."
    )


def _moisture(species: Species) -> str:
    parts = [
        f"{name} {figure.value:g} %{_doubt(figure)}"
        for name, figure in (("heartwood", species.heartwood), ("sapwood", species.sapwood))
        if figure is not None
    ]
    table = f"; {Source.GREEN_TABLE.value}: {', '.join(parts)}" if parts else ""
    if species.green_source is not Source.FOREST_SERVICE:
        return f"- Green moisture: {', '.join(parts)} ({Source.GREEN_TABLE.value})."
    return f"- Green moisture: {species.green_moisture:.0f} % ({species.green_source.value}){table}."


def _shrinkage(species: Species, units: Units) -> Iterable[str]:
    shrinkage = estimated_shrinkage(species)
    across, along, volume = shrinkage.radial, shrinkage.tangential, shrinkage.volumetric
    spread = f"give or take {100.0 * shrinkage_spread(species):.0f} % of these from piece to piece"
    whole = f", by volume {volume.value:.1f} %{_doubt(volume)}" if volume is not None else ""
    low, high = LONGITUDINAL_SHRINKAGE
    lead = "Shrinkage, green to ovendry" if species.shrinkage else "No handbook value of its shrinkage here"
    yield (
        f"- {lead}: across the rings {across.value:.1f} %, along the rings {along.value:.1f} % "
        f"({along.source.value}){whole}, along the grain {low:g} to {high:g} %; {spread}."
    )
    size = _EXAMPLE[units]
    sizes = [
        format_length(size * (1.0 - shrinkage_to(part, 30.0, _EXAMPLE_END)), units)
        for part in (along.value, across.value, (low + high) / 2.0)
    ]
    yield (
        f"- A disc of {format_length(size, units)} turned green and dried to {_EXAMPLE_END:g} %: {sizes[0]} along "
        f"the rings, {sizes[1]} across them, {sizes[2]} along the grain."
    )


def _strength(species: Species, units: Units) -> Iterable[str]:
    known = estimated_strength(species)
    for name, green, dry in (
        ("Shear along the grain", known.shear_green, known.shear_dry),
        ("Tension across the grain", known.tension_green, known.tension_dry),
    ):
        said = [
            f"{format_stress(figure.value, units)} {state} ({figure.source.value})"
            for state, figure in (("green", green), (f"at {DRY:g} %", dry))
            if figure is not None
        ]
        yield f"- {name}: {', '.join(said)}; mean of small clear pieces."


def _doubt(figure: Figure) -> str:
    return f" ({figure.source.value})" if figure.source in (Source.MEMORY, Source.ESTIMATE) else ""
