"""A first proposal for a blank nobody has judged yet: an axis through its centre of mass, a form that fits.

A start to work from, no search: what the best mounting is, is asked elsewhere.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.check import check_fit
from formmaker.engine.field import Field
from formmaker.engine.preparation import prepare_form
from formmaker.engine.sketching import form_from_profile
from formmaker.errors import FormError, MountingError
from formmaker.geometry.frames import frame_from_axis
from formmaker.geometry.meshes import face_areas, face_normals, mass_properties
from formmaker.geometry.tracing import ways_out
from formmaker.model.blank import FaceKind
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.model.profile import Profile
from formmaker.model.verdict import Answer, Verdict
from formmaker.units import MM_PER_INCH, Units

_SHRINK = 0.93  # from one size tried to the next: 50 tries from a big blank to a small bowl
_SMALLEST_BOWL = 50.0  # mm of diameter: below it, turning is another craft
_FOOT_SHARE = 0.36  # common practice, no source: a third to 40 % of the diameter
# the rest is a start to change, no source: an even green wall, a rim that may drop by a third, a skin for truing
# (mm), an ordinary block (mm), and bowls from upright (height over diameter) to flat (diameter over height)
_WALL_SHARE = 0.035
_LOW_RIM_SHARE = 0.65
_TRUING = 1.5
_BLOCK = 25.0
_TALLEST = 0.7
_FLATTEST = 4.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Proposal:
    """A job to begin with, the diameter its profile was scaled to (mm), and its verdict."""

    job: Job
    diameter: float
    verdict: Verdict


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
    height = field.blank.uncertainty + uneven + 2.0 * _TRUING
    zero = np.round(longest, 9) + 0.0  # no minus zero, no rounding dust in the job file
    return Mounting(foot_centre=foot, rim_centre=rim, zero=zero, foot_height=height)


def propose(plan: BlankPlan, profile: Profile, field: Field, *, title: str, units: Units) -> Proposal:
    """The largest bowl of a profile that fits on the first mounting, tried in steps from large to small.

    Parameters
    ----------
    plan : BlankPlan
        Of the field's blank.
    profile : Profile
    field : Field
    title : str
    units : Units
        Sizes are rounded to whole millimetres or sixteenths of an inch.

    Returns
    -------
    Proposal
        Natural edge where the rim side is bark, turned edge where it is sawn. The smallest one tried, with its
        honest verdict, where none fits.

    Raises
    ------
    MountingError
        If no axis can be proposed, or no bowl of this profile can be drawn at all.
    """
    step = 1.0 if units is Units.MM else MM_PER_INCH / 16.0
    mounting = _rounded(first_mounting(field), step)
    room = float(np.linalg.norm(mounting.axis)) - mounting.foot_height
    edge = Edge.NATURAL if _bark_on_top(field, mounting) else Edge.TURNED
    height = room if edge is Edge.NATURAL else room - field.blank.uncertainty - 2.0 * _TRUING
    bare = _Draft(plan=plan, mounting=mounting, edge=edge, step=step, title=title, units=units)
    if not height > 0.0:
        raise MountingError(
            f"the wood is {room + mounting.foot_height:.0f} mm thick on an axis through its centre of mass: nothing "
            "is left for a bowl above the foot; write a job file with a mounting of your own"
        )
    diameter = min(field.diagonal, _FLATTEST * height)
    best: Proposal | None = None
    while diameter > _SMALLEST_BOWL and (best is None or best.verdict.answer is not Answer.FITS):
        best = _try(bare, profile, field, diameter, min(height, _TALLEST * diameter)) or best
        diameter *= _SHRINK
    if best is None:
        raise MountingError(
            f"no bowl of profile {profile.name} can be drawn into the {height:.0f} mm of height on an axis through "
            "the centre of mass; describe the blank again or write a job file with a mounting of your own"
        )
    return best


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draft:
    plan: BlankPlan
    mounting: Mounting
    edge: Edge
    step: float
    title: str
    units: Units


def _try(draft: _Draft, profile: Profile, field: Field, diameter: float, height: float) -> Proposal | None:
    """The verdict on one size; None where the profile cannot be drawn at it."""
    step = draft.step
    wall = max(5.0, _WALL_SHARE * diameter)
    try:
        form = form_from_profile(
            profile,
            diameter=_to_step(diameter, step),
            height=_to_step(height, step),
            wall=np.array([[0.0, _to_step(wall, step)]]),
            floor=_to_step(wall + 2.0, step),
            edge=draft.edge,
            lowest_rim=_to_step(height * (1.0 if draft.edge is Edge.TURNED else _LOW_RIM_SHARE), step),
        )
        hold = _usual_hold(form, step)
        prepared = prepare_form(form, hold)
    except FormError:
        return None
    job = Job(
        title=draft.title,
        units=draft.units,
        plan=draft.plan,
        mounting=draft.mounting,
        form=form,
        hold=hold,
        skin=_to_step(_TRUING, step),
    )
    return Proposal(job=job, diameter=_to_step(diameter, step), verdict=check_fit(job, prepared, field))


def _rising(direction: NDArray[np.float64]) -> NDArray[np.float64]:
    """Turn a direction that has no sense of its own, so that every machine proposes the same one."""
    return np.asarray(direction * np.sign(direction[int(np.abs(direction).argmax())]))


def _to_step(length: float, step: float) -> float:
    return round(length / step) * step


def _rounded(mounting: Mounting, step: float) -> Mounting:
    """The foot plane on a whole step, the centres on hundredths of a millimetre: written as they are."""
    return replace(
        mounting,
        foot_centre=np.round(mounting.foot_centre, 2) + 0.0,
        rim_centre=np.round(mounting.rim_centre, 2) + 0.0,
        foot_height=float(np.ceil(mounting.foot_height / step)) * step,
    )


def _usual_hold(form: Form, step: float) -> Hold:
    widest = 2.0 * float(form.handles[:, 0].max())
    diameter = _to_step(min(_FOOT_SHARE * widest, 2.0 * form.foot_radius), step)
    return Hold(kind=HoldKind.GLUE_BLOCK, diameter=diameter, depth=_to_step(_BLOCK, step))


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


def _bark_on_top(field: Field, mounting: Mounting) -> bool:
    """Whether most of the skin that faces the rim end is natural."""
    axis = mounting.axis / np.linalg.norm(mounting.axis)
    facing = np.clip(face_normals(field.blank.mesh) @ axis, 0.0, None) * face_areas(field.blank.mesh)
    natural = field.blank.face_kinds == FaceKind.NATURAL
    return bool(facing[natural].sum() > 0.5 * facing.sum())
