"""A first axis for a blank nobody has judged yet: through its centre of mass, the foot on its largest sawn face.

No search and no form: what bowl goes on the axis is asked in ``beginning``.
"""

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.errors import MountingError
from formmaker.geometry.frames import frame_from_axis
from formmaker.geometry.meshes import face_areas, face_normals, mass_properties
from formmaker.geometry.tracing import ways_out
from formmaker.model.blank import FaceKind
from formmaker.model.mounting import Mounting

TRUING = 1.5
"""Wood left for truing outside a proposed bowl, mm (common practice, no source)."""


def first_mounting(field: Field) -> Mounting:
    """Axis through the centre of mass, foot on the largest sawn face if there is one.

    Parameters
    ----------
    field : Field

    Returns
    -------
    Mounting
        Square to the largest planar sawn face; without one, along the direction in which the wood is shortest (the
        principal axis of the largest moment of inertia), the way in which its largest coordinate rises. Centres
        stand where that axis leaves the wood, zero along the longest direction square to it; the foot stands on the
        first plane that leaves a truing skin.

    Raises
    ------
    MountingError
        If the centre of mass lies in air: then only the user can say where the axis goes.
    """
    mesh = field.blank.mesh
    mass = mass_properties(mesh)
    directions = np.linalg.eigh(mass.inertia)[1]
    sawn = _largest_sawn(field)
    planes = field.skin.planes
    axis = -planes.normals[sawn] if sawn is not None else _rising(directions[:, 2])
    longest = directions[:, 0] if abs(directions[:, 0] @ axis) < 0.9 else directions[:, 1]
    foot, rim = _ends(field, mass.centre, axis)
    uneven = float(planes.bulges[sawn]) if sawn is not None else 0.0
    height = field.blank.uncertainty + uneven + 2.0 * TRUING
    zero = np.round(longest, 9) + 0.0  # no minus zero, no rounding dust in the job file
    return Mounting(foot_centre=foot, rim_centre=rim, zero=zero, foot_height=height)


def _rising(direction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Turn a direction that has no sense of its own, so that every machine proposes the same one."""
    return np.asarray(direction * np.sign(direction[int(np.abs(direction).argmax())]))


def _largest_sawn(field: Field) -> int | None:
    """Patch of the largest sawn face."""
    patches, areas = field.blank.face_patches, face_areas(field.blank.mesh)
    sawn = (patches >= 0) & (field.blank.face_kinds == FaceKind.SAWN)
    if not sawn.any():
        return None
    totals = np.bincount(patches[sawn], weights=areas[sawn])
    return int(totals.argmax())


def _ends(
    field: Field, centre: NDArray[np.float64], axis: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Where the axis leaves the wood below and above the centre of mass."""
    reach = field.diagonal
    ends = []
    for direction in (-axis, axis):
        frame = frame_from_axis(centre, direction, np.eye(3)[int(np.abs(direction).argmin())])
        line = np.array([[0.0, 0.0], [0.0, reach]])
        out = float(ways_out(field.skin, line, frame, np.zeros(1), exact=True).place[0])
        ends.append(centre + out * direction)
    if float(np.linalg.norm(ends[1] - ends[0])) < 1.0:
        raise MountingError(
            "the centre of mass lies outside the wood, so no axis can be proposed through it; "
            "write a job file with foot_centre and rim_centre of your own"
        )
    return ends[0], ends[1]


def has_bark_on_top(field: Field, mounting: Mounting) -> bool:
    """Whether most of the skin that faces the rim end is natural."""
    axis = mounting.axis / np.linalg.norm(mounting.axis)
    facing = np.clip(face_normals(field.blank.mesh) @ axis, 0.0, None) * face_areas(field.blank.mesh)
    natural = field.blank.face_kinds == FaceKind.NATURAL
    return bool(facing[natural].sum() > 0.5 * facing.sum())
