"""Three looks at one size of a bowl in its wood, each closer than the one before: quick, exact, full.

A look lets a size pass or refuses it, and says how far below sizes are refused with it. What size to look at next is
for ``suit`` to say.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.engine.check import check_fit
from formmaker.engine.field import Field
from formmaker.engine.marks import check_marks
from formmaker.engine.needed import held_outline, needed_wood
from formmaker.engine.patterns import Bowl, Pattern, bowl_at, lowest_at, outer_at, outside_of, smallest_base
from formmaker.engine.preparation import prepare_form
from formmaker.engine.rim import trace_rim
from formmaker.engine.room import (
    depth_at_most,
    down_to,
    in_the_way,
    most_across,
    need_of,
    smallest_across,
    step_of,
    wood_inside,
)
from formmaker.engine.section import build_section, section_outline
from formmaker.errors import FormError, MountingError
from formmaker.geometry.curve_measures import crossings_at, turned_solid
from formmaker.geometry.curves import part_of, polyline
from formmaker.geometry.frames import Frame
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job
from formmaker.model.marks import MarkKind
from formmaker.model.section import Section
from formmaker.model.suit import Offer
from formmaker.model.verdict import Answer, Reason, RimLine, Verdict
from formmaker.tolerances import DEFAULT

QUICK, EXACT, FULL = range(3)
"""Places of the looks in ``LOOKS``."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Setting:
    """A blank on one mounting, asked for the bowls of one job; diameters run from ``smallest`` to ``most``, mm."""

    job: Job
    field: Field
    step: float
    smallest: float
    most: float

    @property
    def frame(self) -> Frame:
        """Blank from form."""
        return self.job.mounting.blank_from_form


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Refusal:
    """Why a size was refused.

    Parameters
    ----------
    pattern : Pattern
    diameter : float
        mm.
    look : int
        Which look refused it.
    short : float
        How much is short of an answer of FITS, mm; infinite where the form cannot be drawn.
    below : float
        Sizes down to this far below are refused with it, mm; 0 where nothing is known of them.
    problem : str
        Why it cannot be drawn.
    verdict : Verdict or None
        Of the full look.
    """

    pattern: Pattern
    diameter: float
    look: int
    short: float
    below: float = 0.0
    problem: str = ""
    verdict: Verdict | None = None

    @property
    def says_how_far(self) -> bool:
        """Whether it tells what is refused below it; a quick look that does not refuses one step."""
        return self.below > 0.0 or self.look == QUICK


def setting_of(job: Job, field: Field) -> Setting:
    """The setting of a job, whose mounting and marks are the blank's."""
    step = step_of(job.units)
    smallest = smallest_across(step)
    most = max(smallest, down_to(most_across(field, job.mounting.blank_from_form), step))
    return Setting(job=job, field=field, step=step, smallest=smallest, most=most)


def look_at_base(setting: Setting, pattern: Pattern) -> Refusal | None:
    """Foot and tenon of the smallest size: what is refused here is refused in every size, for feet are nested."""
    base = smallest_base(pattern, setting.smallest)
    place = in_the_way(base, setting.field, setting.frame, skin=setting.job.skin)
    if place is None:
        return None
    short = need_of(setting.field, setting.job.skin) + DEFAULT.margin_slack - place.value
    return Refusal(pattern=pattern, diameter=setting.smallest, look=EXACT, short=short, below=math.inf)


def look_quickly(setting: Setting, pattern: Pattern, diameter: float) -> Refusal | None:
    """Samples of the outer curve in the grid, and whether it passes the marks to keep at all."""
    outer, lowest = outer_at(pattern, diameter), lowest_at(pattern, diameter)
    top = [np.interp(lowest, outer[:, 1], outer[:, 0]), lowest]
    places = np.vstack([outer[outer[:, 1] < lowest], top])
    shorts = need_of(setting.field, setting.job.skin) - depth_at_most(places, setting.field, setting.frame)
    below = (shorts - setting.step) * diameter / np.hypot(*places.T)
    worst = int(below.argmax())
    kept = _short_of_marks(setting, outer)
    rules = max(float(below[worst]), (kept - setting.step) * diameter / float(np.hypot(*outer.T).max()))
    short = max(float(shorts.max()), kept)
    if not short > 0.0:
        return None
    return Refusal(pattern=pattern, diameter=diameter, look=QUICK, short=short, below=max(0.0, rules))


def _short_of_marks(setting: Setting, outer: NDArray[np.float64]) -> float:
    """How far the outer curve is from passing every mark to keep, mm; the rim lies on it and cannot pass nearer."""
    marks = [mark for mark in setting.field.blank.marks if mark.kind is MarkKind.KEEP]
    if not marks:
        return -math.inf
    places = setting.frame.inverse.carry(np.array([mark.at for mark in marks]))
    beside = shapely.points(np.hypot(places[:, 0], places[:, 1]), places[:, 2])
    gaps = shapely.distance(shapely.LineString(outer), beside) - [mark.radius for mark in marks]
    # the places of a quick look are straight lines apart: a step of grace for what the curve bulges between them
    return float(gaps.max()) + need_of(setting.field, 0.0) - setting.step


def look_exactly(setting: Setting, pattern: Pattern, diameter: float) -> Refusal | None:
    """Must-be-wood on the mesh, the outside first, and the marks on the rim as it runs."""
    refusal = Refusal(pattern=pattern, diameter=diameter, look=EXACT, short=math.inf)
    try:
        bowl = bowl_at(pattern, diameter)
        place = in_the_way(outside_of(bowl), setting.field, setting.frame, skin=setting.job.skin)
        section = build_section(bowl.form) if place is None else None
        if section is not None:
            needed = needed_wood(bowl.form, section, bowl.hold).segments
            place = in_the_way(needed, setting.field, setting.frame, skin=setting.job.skin)
    except FormError as error:
        return replace(refusal, problem=str(error))
    if place is not None:
        short = need_of(setting.field, setting.job.skin) + DEFAULT.margin_slack - place.value
        rate = math.hypot(place.radius, place.height) / diameter
        return replace(refusal, short=short, below=max(setting.step, (short - setting.step) / max(rate, 1e-9)))
    return _past_marks(setting, bowl, section, refusal) if section is not None else None


def _past_marks(setting: Setting, bowl: Bowl, section: Section, refusal: Refusal) -> Refusal | None:
    if not any(mark.kind is not MarkKind.WITNESS for mark in setting.field.blank.marks):
        return None
    rim = trace_rim(setting.field, section.outer, setting.frame)
    outline = section_outline(section)
    solid = held_outline(outline, bowl.hold) if bowl.hold.kind is HoldKind.TENON else outline
    checks = check_marks(setting.field.blank.marks, rim, solid, setting.frame, setting.job.units)
    worst = min(checks, key=lambda check: check.spare)
    short = need_of(setting.field, 0.0) + DEFAULT.margin_slack - worst.spare
    if not short > 0.0:
        return None
    is_flaw = worst.finding.reason in (Reason.FLAW_MET, Reason.FLAW_CLEAR)
    rate = float(np.hypot(*outline.T).max()) / refusal.diameter
    return replace(refusal, short=short, below=(short - setting.step) / rate if is_flaw else 0.0)


def look_fully(setting: Setting, pattern: Pattern, diameter: float) -> Offer | Refusal:
    """The full check, as a job of this size would get it."""
    refusal = Refusal(pattern=pattern, diameter=diameter, look=FULL, short=math.inf)
    try:
        bowl = bowl_at(pattern, diameter)
        prepared = prepare_form(bowl.form, bowl.hold)
        job = replace(setting.job, form=bowl.form, hold=bowl.hold)
        verdict = check_fit(job, prepared, setting.field)
    except (FormError, MountingError) as error:
        return replace(refusal, problem=str(error))
    if verdict.answer is not Answer.FITS:
        return replace(refusal, short=verdict.uncertainty - verdict.margin, verdict=verdict)
    return Offer(
        form=bowl.form,
        hold=bowl.hold,
        verdict=verdict,
        across=_across(prepared.section, verdict.rim),
        whole=wood_inside(outer_at(pattern, diameter), setting.field, setting.frame),
        holds=_holds(prepared.section, float(verdict.rim.height.min())),
    )


LOOKS = (look_quickly, look_exactly, look_fully)


def _across(section: Section, rim: RimLine) -> float:
    """Greatest diameter of the outer curve up to the rim, mm."""
    places = polyline(section.outer)
    low = places[places[:, 1] <= rim.height.max()]
    return 2.0 * float(np.max(low[:, 0], initial=float(rim.radius.max())))


def _holds(section: Section, level: float) -> float:
    """Volume of the hollow up to a level above its floor, mm3; 0 where the level lies below it."""
    crossings = crossings_at(section.inner, level)
    if level >= section.inner.end[1]:
        return turned_solid(section.inner).volume
    return turned_solid(part_of(section.inner, 0.0, float(crossings[0]))).volume if len(crossings) else 0.0
