"""What a blank weighs, how well that is known, and how the weight lies in it.

The wood is taken for even throughout; only bark that the turner has stated is weighed apart. How a body turns is in
``balance``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.balance import Body
from formmaker.errors import BlankError
from formmaker.geometry.meshes import MassProperties, Mesh, face_areas, face_normals, mass_properties
from formmaker.model.balance import Mass, WeighedBy
from formmaker.model.bark import bark_density
from formmaker.model.blank import Blank, FaceKind
from formmaker.model.timber import WEIGHT_SPREAD, density, find_species

SCALES_SPREAD = 0.02
"""How far a weighed piece may be off: ordinary household scales (ours, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weighing:
    """A blank's mass, and how each kilogram of it lies in the blank frame."""

    mass: Mass
    body: Body


def weigh(blank: Blank) -> Weighing:
    """Weigh a blank: by the scales where it was weighed, else by volume and timber.

    Parameters
    ----------
    blank : Blank

    Returns
    -------
    Weighing
        The mass is None where neither a weight nor a timber of the table is named. Bark of a stated thickness lies on
        the natural skin with its own weight where the table knows it; otherwise bark counts as wood.

    Raises
    ------
    BlankError
        If the bark would be more than the whole blank.

    Notes
    -----
    The spread of a mass from the table is that of the density and that of the volume together, not in squares: skin
    error times area over volume. A weighed mass has the spread of the scales alone, unless cuts have been taken off
    it by volume since.
    """
    timber, species = blank.timber, find_species(blank.timber.name)
    solid = mass_properties(blank.mesh)
    wood = density(species, timber.moisture) if species is not None else 1.0
    bark = bark_density(species, timber.moisture) if species is not None and timber.bark > 0.0 else None
    layer = _bark_layer(blank, solid)
    kilograms, body = _loaded(solid, wood, layer, 0.0 if bark is None else bark - wood)
    skin = blank.uncertainty * float(face_areas(blank.mesh).sum()) / solid.volume
    if timber.weight is not None:
        since = skin if blank.cuts else 0.0
        mass = Mass(kilograms=timber.weight, spread=SCALES_SPREAD + since, known_by=WeighedBy.SCALES)
    elif species is not None:
        mass = Mass(kilograms=kilograms, spread=WEIGHT_SPREAD + skin, known_by=WeighedBy.TIMBER)
    else:
        mass = Mass(kilograms=None, spread=None, known_by=WeighedBy.NOTHING)
    return Weighing(mass=mass, body=body)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Layer:
    """Bark as a skin in the middle of its thickness: corners (m, 3, 3) from the solid's centre, volumes (m,)."""

    corners: NDArray[np.float64]
    volumes: NDArray[np.float64]


def _bark_layer(blank: Blank, solid: MassProperties) -> _Layer:
    thick = blank.timber.bark
    mesh = Mesh(vertices=blank.mesh.vertices, faces=blank.mesh.faces[blank.face_kinds == FaceKind.NATURAL])
    volumes = thick * face_areas(mesh)
    if not float(volumes.sum()) < solid.volume:
        raise BlankError(
            f"bark {thick:.1f} mm thick on all of the natural skin would be more than the whole blank; give a "
            'thinner bark, or "ignored"'
        )
    inward = 0.5 * thick * face_normals(mesh)
    return _Layer(corners=mesh.corners - inward[:, None, :] - solid.centre, volumes=volumes)


def _loaded(solid: MassProperties, wood: float, layer: _Layer, more: float) -> tuple[float, Body]:
    """Mass (kg) of a solid of one density, kg/mm3, whose layer is heavier by ``more``, and its body.

    Second moments: of the solid those that its inertia stands for (inertia is their trace less themselves); of a
    triangle, with its corners a, b, c, a twelfth of aa + bb + cc + (a + b + c)(a + b + c).
    """
    second = np.trace(solid.inertia) / 2.0 * np.eye(3) - solid.inertia
    total = layer.corners.sum(axis=1)
    first_in_layer = layer.volumes @ total / 3.0
    points = np.concatenate([layer.corners, total[:, None, :]], axis=1)
    second_in_layer = np.einsum("i,ijk,ijl->kl", layer.volumes / 12.0, points, points)
    kilograms = wood * solid.volume + more * float(layer.volumes.sum())
    shift = more * first_in_layer / kilograms
    spread = (wood * second + more * second_in_layer) / kilograms - np.outer(shift, shift)
    return kilograms, Body(centre=solid.centre + shift, spread=spread)
