"""Seek: the largest bowl of a form that a blank holds on any mounting, and a proof of how much larger none can be.

How boxes of mountings are ruled out is in ``geometry.pose_search``; what must be wood in ``growing``.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.check import check_fit
from formmaker.engine.field import Field
from formmaker.engine.growing import Growing, growing
from formmaker.engine.needed import needed_wood
from formmaker.engine.patterns import Bowl, bowl_at, outside_of, own_profile, pattern_of, proportion_of
from formmaker.engine.preparation import prepare_form
from formmaker.engine.room import SMALLEST_BOWL, down_to, in_the_way, need_of
from formmaker.engine.section import build_section
from formmaker.engine.weighing import Weighing, weigh
from formmaker.errors import BlankError, FormError, MountingError
from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.pose_limits import PoseLimits
from formmaker.geometry.pose_search import Pose, PoseProblem, PoseRange, Progress, pose_problem, search
from formmaker.model.blank import Blank
from formmaker.model.job import Job
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting, RimEnd
from formmaker.model.verdict import Answer, Verdict
from formmaker.model.wish import ANY, HeldEnd, Largest, Wish
from formmaker.tolerances import DEFAULT
from formmaker.units import MM_PER_INCH, Units

_CONTINUOUS = 1e-3  # mm: what heights and holdings are rounded to
_STEP = {Units.MM: 0.1, Units.INCH: 0.005 * MM_PER_INCH}  # what diameters are rounded down to
_LOOKS = 14  # exact looks at one mounting, each at a smaller size
_CHECKS = 4  # full ones
_ABOVE = 1.004  # the grid may think less of a mounting than the mesh does

Watch = Callable[[Progress], bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stand:
    """A bowl on a mounting that was checked: what comes out and how."""

    diameter: float
    bowl: Bowl
    mounting: Mounting
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sought:
    """What a search came to: the best stand, None where there is none, and the proof.

    ``bound`` is a diameter, mm, that no mounting of the range exceeds; ``gap`` the share by which it lies above the
    best; ``poses`` as of ``pose_search.Found``.
    """

    best: Stand | None
    bound: float
    gap: float
    proven: bool
    boxes: int
    poses: NDArray[np.float64]


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
    smallest: float


def ground_of(job: Job, wish: Wish, field: Field) -> Ground:
    """Make a job ready; its mounting is in the blank's own millimetres.

    Raises
    ------
    BlankError
        If unbalance is to be limited and nobody knows what the blank weighs.
    """
    if wish.level is not None or wish.no_sawn_rim or wish.largest is Largest.VOLUME:
        raise BlankError("seek does not know the wishes level, no_sawn_rim and volume yet; leave them out")
    weighing = weigh(field.blank)
    if wish.unbalance_limit is not None and weighing.mass.kilograms is None:
        raise BlankError(
            "wish.unbalance_limit needs the weight of the blank, which is not known; give blank.wood or blank.weight"
        )
    profile = own_profile(job.form)
    pattern = pattern_of(profile, proportion_of(profile), job, step=_CONTINUOUS)
    smallest = wish.least_diameter or SMALLEST_BOWL
    return Ground(
        job=job,
        wish=wish,
        field=replace(field, blank=asked_of(field.blank, wish)),
        body=growing(pattern, least=smallest),
        weighing=weighing,
        marks=field.blank.marks,
        smallest=smallest,
    )


def seek(ground: Ground, *, gap: float, rng: np.random.Generator, watch: Watch = lambda _: False) -> Sought:
    """Search all mountings.

    Parameters
    ----------
    ground : Ground
    gap : float
        Share of the diameter that may be left unproven.
    rng : numpy.random.Generator
    watch : callable
        Told the progress; True stops.

    Returns
    -------
    Sought
    """
    stands: dict[int, Stand] = {}

    def verify(pose: Pose) -> Pose | None:
        stand = stand_at(ground, pose)
        if stand is None:
            return None
        real = replace(pose, size=stand.diameter)
        stands[id(real)] = stand
        kept.append(real)
        return real

    kept: list[Pose] = []
    problem = problem_of(ground)
    found = search(problem, gap=gap, verify=verify, rng=rng, starts=_starts(ground), watch=watch)
    best = stands[id(found.best)] if found.best is not None else None
    share = found.bound / best.diameter - 1.0 if best else math.inf
    return Sought(
        best=best,
        bound=found.bound,
        gap=share,
        proven=found.is_complete and best is not None and share <= gap + 1e-9,
        boxes=found.boxes,
        poses=found.poses,
    )


def problem_of(ground: Ground) -> PoseProblem:
    """The geometry of the question."""
    job, wish, field = ground.job, ground.wish, ground.field
    bounds = field.blank.mesh.bounds
    needed = job.skin + field.blank.uncertainty + wish.setting_error
    held = need_of(field, job.skin) + DEFAULT.margin_slack + extra_at(ground, field.diagonal / 2.0, 0.0)
    most = min(wish.most_diameter or math.inf, field.diagonal)
    return pose_problem(
        field.skin,
        ground.body.needed,
        range_of(ground),
        needs=(needed, held),
        sizes=(ground.smallest, most),
        limits=limits_of(ground),
        bounds=np.asarray(bounds),
    )


def extra_at(ground: Ground, length: float, radius: float) -> float:
    """What a setting error may move any place of a bowl of this radius, its centres so far apart, mm.

    Each centre is off by ``e`` at most, any way. A place on the axis between them is off by no more; the axis turns
    by no more than what 2 e over the length is the sine of, and a place off the axis goes with it.
    """
    error = ground.wish.setting_error
    if not error > 0.0:
        return 0.0
    return error + radius * 2.0 * math.sin(0.5 * math.asin(min(2.0 * error / length, 1.0)))


def range_of(ground: Ground) -> PoseRange:
    """Where mountings are looked for: anywhere in the wood, or along a centre that stays."""
    axis = ground.job.mounting.axis / np.linalg.norm(ground.job.mounting.axis)
    tilt = ground.wish.tilt_limit if ground.wish.tilt_limit is not None else math.pi
    held = held_centre(ground)
    if held is None:
        return PoseRange(places=np.array(ground.field.blank.mesh.bounds), axis=axis, tilt=tilt)
    reach = ground.field.diagonal
    return PoseRange(places=np.stack([held, held]), axis=axis, tilt=tilt, along=(-reach, reach))


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
        shunning=body.needed.rows,
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


def _starts(ground: Ground) -> NDArray[np.float64]:
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


def stand_at(ground: Ground, pose: Pose) -> Stand | None:
    """The largest bowl that really comes out at a pose, by the mesh; None where none does.

    Rounded down to what a diameter is written in; answered with FITS by the full check.
    """
    size = min(pose.size * _ABOVE, ground.wish.most_diameter or math.inf)
    step, checks = _STEP[ground.job.units], 0
    for _ in range(_LOOKS):
        diameter = down_to(size, step)
        if not diameter >= ground.smallest:
            return None
        shorter = _exact_step(ground, pose, diameter)
        if shorter is None:
            found = _checked(ground, pose, diameter)
            checks += 1
            if isinstance(found, Stand) or checks == _CHECKS:
                return found if isinstance(found, Stand) else None
            shorter = found
        if not shorter > 0.0:
            return None
        size = diameter - max(shorter, step)
    return None


def _exact_step(ground: Ground, pose: Pose, diameter: float) -> float | None:
    """By how much a diameter has to shrink at least for must-be-wood to be wood, mm; None where it is."""
    try:
        bowl = bowl_at(ground.body.pattern, diameter)
        frame, skin = frame_at(ground, pose, diameter), ground.job.skin + _setting_extra(ground, pose, diameter)
        place = in_the_way(outside_of(bowl), ground.field, frame, skin=skin)
        if place is None:
            needed = needed_wood(bowl.form, build_section(bowl.form), bowl.hold).segments
            place = in_the_way(needed, ground.field, frame, skin=skin)
    except FormError:
        return 0.0
    if place is None:
        return None
    short = need_of(ground.field, skin) + DEFAULT.margin_slack - place.value
    height = place.height - ground.body.reference * diameter
    return short * diameter / max(math.hypot(place.radius, height), 1.0)


def _setting_extra(ground: Ground, pose: Pose, diameter: float) -> float:
    if not ground.wish.setting_error > 0.0:
        return 0.0
    mounting = mounting_at(ground, pose, diameter)
    return extra_at(ground, float(np.linalg.norm(mounting.axis)), diameter / 2.0)


def frame_at(ground: Ground, pose: Pose, diameter: float) -> Frame:
    """Blank from form."""
    origin = pose.place - ground.body.reference * diameter * pose.direction
    return frame_from_axis(origin, pose.direction, _towards(ground, pose))


def _towards(ground: Ground, pose: Pose) -> NDArray[np.float64]:
    zero = ground.job.mounting.zero
    across = np.cross(zero / np.linalg.norm(zero), pose.direction)
    if np.linalg.norm(across) > 0.05:
        return zero
    return np.asarray(np.eye(3)[int(np.abs(pose.direction).argmin())])


def mounting_at(ground: Ground, pose: Pose, diameter: float) -> Mounting:
    """The mounting of a pose: its centres where the axis leaves the skin, a centre that stays as it was given."""
    frame = frame_at(ground, pose, diameter)
    ends = axis_ends(ground.field.blank.mesh, frame.origin, pose.direction)
    foot, rim = ends.foot, ends.rim
    held, old = held_centre(ground), ground.job.mounting
    if held is not None:
        foot, rim = (foot, held) if held is old.rim_centre else (held, rim)
    return replace(
        old,
        foot_centre=foot,
        rim_centre=rim,
        foot_height=float((frame.origin - foot) @ pose.direction),
        zero=_towards(ground, pose),
        zero_name="",
    )


def _checked(ground: Ground, pose: Pose, diameter: float) -> Stand | float:
    """The stand, or by how much its diameter has to shrink at least, mm: 0 where shrinking is no cure."""
    bowl = bowl_at(ground.body.pattern, diameter)
    try:
        mounting = mounting_at(ground, pose, diameter)
        job = replace(ground.job, form=bowl.form, hold=bowl.hold, mounting=mounting)
        verdict = check_fit(job, prepare_form(bowl.form, bowl.hold), ground.field)
    except (FormError, MountingError):
        return 0.0
    if verdict.answer is Answer.FITS:
        return Stand(diameter=diameter, bowl=bowl, mounting=mounting, verdict=verdict)
    # along a skin that is round all over the margin is not known as closely as was asked (``geometry.least``)
    short, worst = verdict.uncertainty - verdict.margin, verdict.worst
    return short * diameter / math.hypot(worst.radius, worst.height - ground.body.reference * diameter)
