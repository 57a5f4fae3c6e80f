"""A job's wood, form and wishes as a question of geometry: where mountings are looked for, and what limits them."""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.field import Field
from formmaker.engine.growing import Growing, growing
from formmaker.engine.patterns import own_profile, pattern_of, proportion_of
from formmaker.engine.rim_wishes import RimTest, rim_test
from formmaker.engine.room import SMALLEST_BOWL, need_of
from formmaker.engine.weighing import Weighing, weigh
from formmaker.errors import BlankError
from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.pose_limits import PoseLimits
from formmaker.geometry.pose_problem import Ceiling, PoseProblem, PoseRange, ceiling_of, pose_problem
from formmaker.geometry.pose_search import Pose
from formmaker.model.blank import Blank
from formmaker.model.job import Job
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting, RimEnd
from formmaker.model.wish import ANY, HeldEnd, Wish
from formmaker.tolerances import DEFAULT

_CONTINUOUS = 1e-3  # mm: what heights and holdings are rounded to
_ASKEW = 0.05  # sine of the angle from the axis below which a direction tells no angle
_SPARSE = 4  # every so many places along the outer curve stand for it where fewer are as true


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """A job's wood, form and wish, ready to be sought in.

    The field's blank has those marks alone that the wish asks for; ``marks`` are all.
    """

    job: Job
    wish: Wish
    field: Field
    body: Growing
    weighing: Weighing
    marks: tuple[Mark, ...]
    rim: RimTest
    smallest: float
    ceiling: Ceiling


def ground_of(job: Job, wish: Wish, field: Field, *, stretch: float = 1.0) -> Ground:
    """Make a job ready; its mounting is in the blank's own millimetres.

    ``stretch`` is how much higher than the job's form the form sought is for its width.

    Raises
    ------
    BlankError
        If unbalance is to be limited and nobody knows what the blank weighs.
    """
    weighing = weigh(field.blank)
    if wish.unbalance_limit is not None and weighing.mass.kilograms is None:
        raise BlankError(
            "wish.unbalance_limit needs the weight of the blank, which is not known; give blank.wood or blank.weight"
        )
    profile = own_profile(job.form)
    pattern = pattern_of(profile, stretch * proportion_of(profile), job, step=_CONTINUOUS)
    smallest = wish.least_diameter or SMALLEST_BOWL
    asked = replace(field, blank=asked_of(field.blank, wish))
    return Ground(
        job=job,
        wish=wish,
        field=asked,
        body=growing(pattern, least=smallest),
        weighing=weighing,
        marks=field.blank.marks,
        rim=rim_test(asked, wish, tuple(marks_asked(asked.blank, None, MarkKind.KEEP))),
        smallest=smallest,
        ceiling=ceiling_of(field.skin, np.asarray(field.blank.mesh.bounds)),
    )


def problem_of(ground: Ground) -> PoseProblem:
    """The geometry of the question."""
    job, wish, field = ground.job, ground.wish, ground.field
    needed = job.skin + field.blank.uncertainty + wish.setting_error
    held = need_of(field, job.skin) + DEFAULT.margin_slack + extra_at(ground, field.diagonal / 2.0, 0.0)
    most = min(wish.most_diameter or math.inf, field.diagonal)
    return pose_problem(
        ground.ceiling,
        ground.body.needed,
        range_of(ground),
        needs=(needed, held),
        sizes=(ground.smallest, most),
        limits=limits_of(ground),
    )


def extra_at(ground: Ground, length: float, radius: float) -> float:
    """What a setting error may move any place of a bowl of this radius, its centres so far apart, mm.

    Each centre is off by ``e`` at most, any way. The axis turns by no more than what 2 e
    over the length is the sine of, and a place off the axis goes with it. Sideways by one centre and along the axis
    by the other add up in squares; what the turn bends is of second order.
    """
    error = ground.wish.setting_error
    if not error > 0.0:
        return 0.0
    turn = math.asin(min(2.0 * error / length, 1.0))
    return math.sqrt(2.0) * error + radius * 2.0 * math.sin(0.5 * turn) + length * (1.0 - math.cos(turn))


def range_of(ground: Ground) -> PoseRange:
    """Where mountings are looked for: anywhere in the wood, or along a centre that stays."""
    axis = ground.job.mounting.axis / np.linalg.norm(ground.job.mounting.axis)
    tilt = ground.wish.tilt_limit if ground.wish.tilt_limit is not None else math.pi
    held = held_centre(ground)
    if held is None:
        return PoseRange(places=np.array(ground.field.blank.mesh.bounds), axis=axis, tilt=tilt)
    reach = ground.field.diagonal
    return PoseRange(places=np.stack([held, held]), axis=axis, tilt=tilt, along=(-reach, reach))


def widest_tilt(wish: Wish) -> float:
    """How far the axis may be turned, where no mark or direction of its own is given for the rim's side, radians."""
    limit = math.pi if wish.rim_side is not None else 0.5 * math.pi
    return limit if wish.tilt_limit is None else min(wish.tilt_limit, limit)


def held_centre(ground: Ground) -> NDArray[np.float64] | None:
    """The centre that stays, blank frame; None where both may move."""
    if ground.wish.hold_end is None:
        return None
    mounting = ground.job.mounting
    rim_stays = (mounting.rim_end is RimEnd.HEADSTOCK) == (ground.wish.hold_end is HeldEnd.HEADSTOCK)
    return mounting.rim_centre if rim_stays else mounting.foot_centre


def limits_of(ground: Ground) -> PoseLimits:
    """The wishes that bind a mounting, as limits of the search itself."""
    job, wish, body = ground.job, ground.wish, ground.body
    axis = job.mounting.axis / np.linalg.norm(job.mounting.axis)
    passed = []
    if wish.shift_limit is not None:
        passed += [[*centre, wish.shift_limit] for centre in (job.mounting.foot_centre, job.mounting.rim_centre)]
    kilograms = ground.weighing.mass.kilograms
    if wish.unbalance_limit is not None and kilograms is not None:
        passed += [[*ground.weighing.body.centre, wish.unbalance_limit / kilograms]]
    keep = [[*mark.at, mark.radius] for mark in marks_asked(ground.field.blank, None, MarkKind.KEEP)]
    avoid = [[*mark.at, mark.radius] for mark in marks_asked(ground.field.blank, None, MarkKind.FLAW)]
    return PoseLimits(
        axis=axis,
        tilt=wish.tilt_limit if wish.tilt_limit is not None else np.inf,
        side=_side_of(ground),
        passed=np.array(passed).reshape(-1, 4),
        touched=np.array(keep).reshape(-1, 4),
        touching=body.outer.rows,
        gap=body.outer_gap,
        shunned=np.array(avoid).reshape(-1, 4),
        shunning=body.outer.rows[::_SPARSE],
    )


def marks_asked(blank: Blank, names: tuple[str, ...] | None, kind: MarkKind) -> list[Mark]:
    """Marks of a blank of one kind, those named or all."""
    return [mark for mark in blank.marks if mark.kind is kind and (names is None or mark.name in names)]


def asked_of(blank: Blank, wish: Wish) -> Blank:
    """The blank with those keep marks and flaws alone that the wish asks for."""
    kept = {id(mark) for mark in marks_asked(blank, wish.keep, MarkKind.KEEP)}
    kept |= {id(mark) for mark in marks_asked(blank, wish.avoid, MarkKind.FLAW)}
    marks = tuple(mark for mark in blank.marks if mark.kind is MarkKind.WITNESS or id(mark) in kept)
    return replace(blank, marks=marks)


def _side_of(ground: Ground) -> NDArray[np.float64]:
    side = ground.wish.rim_side
    if isinstance(side, str) and side == ANY:
        return np.zeros(3)
    if side is None:
        side = ground.job.mounting.axis
    elif isinstance(side, str):
        marks = [mark for mark in ground.field.blank.marks if mark.name == side]
        side = marks[0].at - np.asarray(ground.field.blank.mesh.bounds).mean(axis=0)
    return np.asarray(side / np.linalg.norm(side))


def present_pose(ground: Ground) -> NDArray[np.float64]:
    """The present mounting, as a pose to begin with."""
    job = ground.job
    frame = job.mounting.blank_from_form
    diameter = 2.0 * float(job.form.handles[:, 0].max())
    axis = frame.rotation[:, 2]
    reference = frame.origin + ground.body.reference * diameter * axis
    held = held_centre(ground)
    if held is None:
        return np.array([[*reference, *axis, 0.0]])
    return np.array([[*held, *axis, float((reference - held) @ axis)]])


def frame_at(ground: Ground, pose: Pose, diameter: float) -> Frame:
    """Blank from form."""
    origin = pose.place - ground.body.reference * diameter * pose.direction
    return frame_from_axis(origin, pose.direction, _towards(ground, pose)[0])


def _towards(ground: Ground, pose: Pose) -> tuple[NDArray[np.float64], str]:
    """Where angles are counted from, and the mark that this is: as before, where the axis does not run that way."""
    old = ground.job.mounting
    place = next((mark.at for mark in ground.marks if mark.name == old.zero_name), None)
    zero, name = (old.zero, "") if place is None else (place - pose.place, old.zero_name)
    across = np.cross(zero / np.linalg.norm(zero), pose.direction)
    if np.linalg.norm(across) > _ASKEW:
        return np.asarray(zero), name
    return np.asarray(np.eye(3)[int(np.abs(pose.direction).argmin())]), ""


def mounting_at(ground: Ground, pose: Pose, diameter: float) -> Mounting:
    """The mounting of a pose: its centres where the axis leaves the skin, a centre that stays as it was given."""
    frame = frame_at(ground, pose, diameter)
    ends = axis_ends(ground.field.blank.mesh, frame.origin, pose.direction)
    foot, rim = ends.foot, ends.rim
    held, old = held_centre(ground), ground.job.mounting
    if held is not None:
        foot, rim = (foot, held) if held is old.rim_centre else (held, rim)
    zero, name = _towards(ground, pose)
    return replace(
        old,
        foot_centre=foot,
        rim_centre=rim,
        foot_height=float((frame.origin - foot) @ pose.direction),
        zero=zero,
        zero_name=name,
    )
