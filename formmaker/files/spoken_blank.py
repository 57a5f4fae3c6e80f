"""What a blank is, in a few lines: size, volume, weight, what was repaired, which faces are sawn.

It chooses words only; figures come from the blank and from the timber table.
"""

import numpy as np

from formmaker.engine.weighing import weigh
from formmaker.files.job_faults import shown
from formmaker.geometry.meshes import face_areas, mass_properties
from formmaker.model.balance import Mass, WeighedBy
from formmaker.model.bark import bark_density
from formmaker.model.blank import Blank, BlankSource, FaceKind
from formmaker.model.species import Species
from formmaker.model.timber import find_species, matching_species, near_names
from formmaker.units import Units, format_length, format_volume, format_weight

_MADE_FROM = {
    BlankSource.SCAN: "A solid from a scan",
    BlankSource.READINGS: "A solid from readings",
    BlankSource.SHAPE: "A solid from a described shape",
}


def spoken_blank(blank: Blank, units: Units) -> tuple[str, ...]:
    """Say what a blank is.

    Parameters
    ----------
    blank : Blank
    units : Units

    Returns
    -------
    tuple of str
        One sentence or two each.
    """
    mass = mass_properties(blank.mesh)
    length, width, height = (format_length(float(size), units) for size in np.ptp(blank.mesh.bounds, axis=0))
    middle = ", ".join(format_length(float(value), units) for value in mass.centre)
    size = f"{length} along x, {width} along y, {height} along z; {format_volume(mass.volume, units)}"
    return (
        f"{_MADE_FROM[blank.source]}, {len(blank.mesh.faces)} triangles: {size}.",
        say_weight(blank, weigh(blank).mass, units),
        f"Its centre of mass lies at x, y, z = {middle}.",
        _faces(blank),
        f"Its skin is taken to be known to within {format_length(blank.uncertainty, units)}.",
        *(f"Repaired: {repair.text}" for repair in blank.repairs if repair.text not in blank.notes),
        *blank.notes,
    )


def say_weight(blank: Blank, mass: Mass, units: Units) -> str:
    """Say what a blank weighs, from what that is known and how well, or why it is not known."""
    if mass.kilograms is None or mass.spread is None:
        unnamed = _unnamed(blank.timber.name)
        return f"Its weight is not known: {unnamed}{'' if unnamed.endswith('?') else '.'}"
    known = f"{format_weight(mass.kilograms, units)}, give or take {100.0 * mass.spread:.0f} %"
    if mass.known_by is WeighedBy.SCALES:
        return f"It weighs {known}, by the scales{' and what has been cut away since' if blank.cuts else ''}."
    species = find_species(blank.timber.name)
    name = species.name if species is not None else blank.timber.name
    state = "green" if blank.timber.moisture is None else f"at {blank.timber.moisture:g} % moisture"
    return f"As {name}, {state}, it weighs about {known}; {_bark(blank, species, units)}."


def _bark(blank: Blank, species: Species | None, units: Units) -> str:
    if not blank.timber.bark > 0.0:
        return "bark counts as wood"
    if species is None or bark_density(species, blank.timber.moisture) is None:
        return "bark counts as wood, for the table has no bark of this timber"
    return f"its {format_length(blank.timber.bark, units)} of bark are weighed as bark"


def _unnamed(name: str) -> str:
    if not name:
        return 'no timber is named; the table has names such as "ash, white"'
    near = tuple(species.name for species in matching_species(name)) or near_names(name)
    hint = f"did you mean {' or '.join(map(shown, near[:3]))}?" if near else "`formmaker timber` lists its names"
    return f"{shown(name)} is not in the timber table; {hint}"


def _faces(blank: Blank) -> str:
    areas = face_areas(blank.mesh)
    shares = [100.0 * float(areas[blank.face_kinds == kind].sum() / areas.sum()) for kind in FaceKind]
    count = len(np.unique(blank.face_patches[(blank.face_patches >= 0) & (blank.face_kinds == FaceKind.SAWN)]))
    turned = f", {shares[FaceKind.TURNED]:.0f} % turned" if shares[FaceKind.TURNED] > 0.0 else ""
    natural = f"{shares[FaceKind.NATURAL]:.0f} % of its skin is natural{turned}"
    if not shares[FaceKind.SAWN] > 0.0:
        return f"{natural}; it has no sawn face."
    # the side of a round is sawn but not flat, and belongs to no face that could be counted
    faces = {0: "sawn skin makes", 1: "one sawn face makes"}.get(count, f"{count} sawn faces make")
    return f"{natural}; {faces} up {shares[FaceKind.SAWN]:.0f} %."
