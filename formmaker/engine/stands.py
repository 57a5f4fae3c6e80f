"""A mounting that the search proposes, put to the mesh itself and to the full check."""

import math
from dataclasses import dataclass, replace

from formmaker.engine.check import check_fit
from formmaker.engine.ground import Ground, extra_at, frame_at, mounting_at
from formmaker.engine.needed import needed_wood
from formmaker.engine.patterns import Bowl, bowl_at, outside_of
from formmaker.engine.preparation import prepare_form
from formmaker.engine.rim_wishes import true_miss
from formmaker.engine.room import down_to, in_the_way, need_of
from formmaker.engine.section import build_section
from formmaker.errors import FormError, MountingError
from formmaker.geometry.pose_search import Pose
from formmaker.model.mounting import Mounting
from formmaker.model.verdict import Answer, Verdict
from formmaker.tolerances import DEFAULT
from formmaker.units import MM_PER_INCH, Units

_STEP = {Units.MM: 0.1, Units.INCH: 0.005 * MM_PER_INCH}  # what diameters are rounded down to
_LOOKS = 14  # exact looks at one mounting, each at a smaller size
_SMALL = 4  # of them go down by the least step; along a face growth tells too little, so then strides double
_CHECKS = 4  # full ones
_OTHER = 0.004  # share of the diameter: a little smaller, the wall ends elsewhere and nothing may hang loose


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stand:
    """A bowl on a mounting that was checked: what comes out and how."""

    diameter: float
    bowl: Bowl
    mounting: Mounting
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outcome:
    """What a pose came to: the diameter at which must-be-wood is wood, or 0; the stand, if all is as wished."""

    holds: float
    stand: Stand | None


def stand_at(ground: Ground, pose: Pose, most: float) -> Outcome:
    """The largest bowl that really comes out at a pose, up to a diameter, by the mesh.

    Rounded down to what a diameter is written in; answered with FITS by the full check, its rim as wished.
    """
    size = min(most, ground.wish.most_diameter or math.inf)
    step, checks, holds = _STEP[ground.job.units], 0, 0.0
    for look in range(_LOOKS):
        diameter = down_to(size, step)
        if not diameter >= ground.smallest:
            break
        shorter = _exact_step(ground, pose, diameter)
        if shorter is None:
            found = _checked(ground, pose, diameter)
            holds, checks = max(holds, diameter), checks + 1
            if isinstance(found, Stand):
                return Outcome(holds=holds, stand=found)
            shorter = found if checks < _CHECKS else 0.0
        if not shorter > 0.0:
            break
        size = diameter - max(shorter, step * 2.0 ** max(0, look - _SMALL))
    return Outcome(holds=holds, stand=None)


def lacking(ground: Ground, pose: Pose) -> float:
    """How much deeper in the wood a bowl would have to lie at a pose to come out, mm; 0 where that is no cure."""
    diameter = down_to(pose.size, _STEP[ground.job.units])
    try:
        short, _ = _short(ground, pose, diameter)
        if short > 0.0:
            return short
        bowl = bowl_at(ground.body.pattern, diameter)
        job = replace(ground.job, form=bowl.form, hold=bowl.hold, mounting=mounting_at(ground, pose, diameter))
        verdict = check_fit(job, prepare_form(bowl.form, bowl.hold), ground.field)
    except (FormError, MountingError):
        return 0.0
    return max(verdict.uncertainty - verdict.margin, 0.0)


def _short(ground: Ground, pose: Pose, diameter: float) -> tuple[float, float]:
    """How much depth must-be-wood lacks where it was found to lack it, and how far that is from the reference, mm."""
    bowl = bowl_at(ground.body.pattern, diameter)
    frame, skin = frame_at(ground, pose, diameter), ground.job.skin + _setting_extra(ground, pose, diameter)
    place = in_the_way(outside_of(bowl), ground.field, frame, skin=skin)
    if place is None:
        needed = needed_wood(bowl.form, build_section(bowl.form), bowl.hold).segments
        place = in_the_way(needed, ground.field, frame, skin=skin)
    if place is None:
        return 0.0, 1.0
    short = need_of(ground.field, skin) + DEFAULT.margin_slack - place.value
    return short, math.hypot(place.radius, place.height - ground.body.reference * diameter)


def _exact_step(ground: Ground, pose: Pose, diameter: float) -> float | None:
    """By how much a diameter has to shrink at least for must-be-wood to be wood, mm; None where it is."""
    try:
        short, far = _short(ground, pose, diameter)
    except FormError:
        return 0.0
    return short * diameter / max(far, 1.0) if short > 0.0 else None


def _setting_extra(ground: Ground, pose: Pose, diameter: float) -> float:
    if not ground.wish.setting_error > 0.0:
        return 0.0
    mounting = mounting_at(ground, pose, diameter)
    return extra_at(ground, math.dist(mounting.foot_centre, mounting.rim_centre), diameter / 2.0)


def _checked(ground: Ground, pose: Pose, diameter: float) -> Stand | float:
    """The stand, or by how much its diameter has to shrink at least, mm: 0 where shrinking is no cure."""
    bowl = bowl_at(ground.body.pattern, diameter)
    try:
        mounting = mounting_at(ground, pose, diameter)
        job = replace(ground.job, form=bowl.form, hold=bowl.hold, mounting=mounting)
        verdict = check_fit(job, prepare_form(bowl.form, bowl.hold), ground.field)
    except (FormError, MountingError):
        return 0.0
    if verdict.answer is Answer.FITS and true_miss(ground.rim, verdict.rim) > 0.0:
        return 0.0
    if verdict.answer is Answer.FITS:
        return Stand(diameter=diameter, bowl=bowl, mounting=mounting, verdict=verdict)
    # along a skin that is round all over the margin is not known as closely as was asked (``geometry.least``)
    short, worst = verdict.uncertainty - verdict.margin, verdict.worst
    cure = short * diameter / math.hypot(worst.radius, worst.height - ground.body.reference * diameter)
    return max(cure, _OTHER * diameter)
