"""A first proposal for a blank nobody has judged yet: an axis through its centre of mass, a form that fits.

A start to work from: sizes are searched for on one axis; what the best axis is, is asked elsewhere.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import chain, product

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.check import check_fit
from formmaker.engine.field import Field
from formmaker.engine.first_axis import TRUING, first_mounting, has_bark_on_top
from formmaker.engine.needed import needed_wood
from formmaker.engine.preparation import prepare_form
from formmaker.engine.room import (
    SMALLEST_BOWL,
    STRETCH,
    TURNS,
    curve_places,
    down_to,
    most_across,
    need_of,
    spare_of,
    step_of,
    wood_inside,
)
from formmaker.engine.section import build_section
from formmaker.engine.sketching import form_from_profile
from formmaker.errors import FormError, MountingError
from formmaker.geometry.rings import ring_depths
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.model.profile import Profile
from formmaker.model.verdict import Answer, Verdict
from formmaker.units import Units

_FOOT_SHARE = 0.36  # common practice, no source: a third to 40 % of the diameter
# the rest is a start to change, no source: an even green wall, a rim that may drop by a third, a skin for truing
# (mm), an ordinary block (mm), and bowls from upright (height over diameter) to flat (diameter over height)
_WALL_SHARE = 0.035
_BLOCK = 25.0
_TALLEST = 0.75
_LOWEST = 14.0  # mm of rim: the hollow at least as deep as the thinnest floor is thick
_SKIN = 2.0  # mm: the truing skin as it is asked for, rounded; in inches it is less

# what is tried: foot above the truing height (share of the axis), height (share of the room), lowest rim (of height)
_RAISED = (0.0, 0.1, 0.2, 0.3)
_HEIGHTS = (1.0, 0.8, 0.6, 0.45)
_LOW_RIMS = (0.65, 0.55)
_RUNGS = 20  # diameters on the ladder of a first look, about a tenth apart
_MEASURED = 6  # looks measured on the mesh and ranked again, 0.2 s each
_TRIED = 16  # looks tried in all
_UNFIT = 3  # of them checked, where none fits
_ANSWERS = (Answer.MISSES, Answer.TIGHT, Answer.FITS)
_BISECTIONS = 6
_BRACKET = 1.1  # times the sampled diameter: the most that the grid is off
_NEAR = 0.3  # mm of margin to spare that no further search is worth
_STEPS_DOWN = 12  # 12 mm, or 3/4 in, of diameter


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Proposal:
    """A job to begin with, the diameter its profile was scaled to (mm), and its verdict."""

    job: Job
    diameter: float
    verdict: Verdict


def propose(plan: BlankPlan, profiles: Sequence[Profile], field: Field, *, title: str, units: Units) -> Proposal:
    """The largest bowl of some profiles that fits on the first mounting.

    Parameters
    ----------
    plan : BlankPlan
        Of the field's blank.
    profiles : sequence of Profile
    field : Field
    title : str
    units : Units
        Sizes are rounded to whole millimetres or sixteenths of an inch, after everything has been chosen.

    Returns
    -------
    Proposal
        Natural edge where the rim side is bark, turned edge where it is sawn. Where none fits, the best of those
        tried with its honest verdict.

    Raises
    ------
    MountingError
        If no axis can be proposed, or no bowl of these profiles can be drawn at all.

    Notes
    -----
    Every profile is tried at several heights of foot and of form, each as wide as the wood lets it be; largest is
    the most wood inside the outer curve, hollow included. The volume of the bowl's own body would set a thick wall
    before a big bowl, and diameter^2 x height would count air where the bark falls away. The first look is at
    samples of the grid, half a millisecond each; the few best are measured on the mesh, and the full check confirms.
    """
    step = step_of(units)
    looks = _looks(profiles, field)
    draft = _Draft(plan=plan, field=field, step=step, title=title, units=units)
    few = [_measured(look, field) for look in looks[:_MEASURED]]
    unfit: list[_Look] = []
    best: Proposal | None = None
    rest = (_measured(look, field) for look in looks[_MEASURED:_TRIED])
    for look in chain(sorted(few, key=_merit, reverse=True), rest):
        if look.spare < 0.0:
            unfit.append(look)
            continue
        best = _better(best, _try(draft, look))
        if best is not None and best.verdict.answer is Answer.FITS:
            return best
    for look in sorted(unfit, key=_merit, reverse=True)[: 0 if best else _UNFIT]:
        best = _better(best, _try(draft, look))
    if best is None:
        raise MountingError(
            f"no bowl of profile {' or '.join(profile.name for profile in profiles)} can be drawn into the wood on "
            "an axis through the centre of mass; describe the blank again or write a job file with a mounting of "
            "your own"
        )
    return best


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Look:
    """A bowl to look at, sizes not yet rounded, mm; ``spare`` is the margin beyond the uncertainty."""

    profile: Profile
    mounting: Mounting
    edge: Edge
    height: float
    lowest_rim: float
    diameter: float = 0.0
    spare: float = -np.inf
    wood: float = 0.0

    @property
    def own_width(self) -> float:
        """Diameter that goes with the height as the profile was drawn, mm."""
        return float(2.0 * self.height * self.profile.handles[:, 0].max() / self.profile.handles[-1, 1])

    @property
    def narrowest(self) -> float:
        return max(SMALLEST_BOWL, self.own_width / STRETCH, self.height / _TALLEST)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Draft:
    plan: BlankPlan
    field: Field
    step: float
    title: str
    units: Units


def _merit(look: _Look) -> tuple[bool, float]:
    """The most wood among those that fit; the least short of it where none does."""
    return (True, look.wood) if look.spare >= 0.0 else (False, look.spare)


def _better(best: Proposal | None, other: Proposal | None) -> Proposal | None:
    if best is None or other is None:
        return best or other
    return max(best, other, key=lambda found: (_ANSWERS.index(found.verdict.answer), found.verdict.margin))


def _looks(profiles: Sequence[Profile], field: Field) -> list[_Look]:
    """Every bowl worth a look, as large as samples of the grid let it be, the best first."""
    first = first_mounting(field)
    axis = float(np.linalg.norm(first.axis))
    edge = Edge.NATURAL if has_bark_on_top(field, first) else Edge.TURNED
    skin = 0.0 if edge is Edge.NATURAL else field.blank.uncertainty + 2.0 * TRUING
    if not axis - first.foot_height - skin > 0.0:
        raise MountingError(
            f"the wood is {axis:.0f} mm thick on an axis through its centre of mass: nothing "
            "is left for a bowl above the foot; write a job file with a mounting of your own"
        )
    looks = []
    for profile, raised, share, low in product(profiles, _RAISED, _HEIGHTS, _LOW_RIMS):
        mounting = replace(first, foot_height=first.foot_height + raised * axis)
        height = share * (axis - mounting.foot_height - skin)
        lowest = height if edge is Edge.TURNED else low * height
        if lowest < _LOWEST or (edge is Edge.TURNED and low != _LOW_RIMS[0]):
            continue
        look = _Look(profile=profile, mounting=mounting, edge=edge, height=height, lowest_rim=lowest)
        if look.narrowest < _widest(look, field):
            looks.append(_looked_at(look, field))
    return sorted(looks, key=_merit, reverse=True)


def _widest(look: _Look, field: Field) -> float:
    """Greatest diameter that is still this profile and within the wood's reach, mm."""
    return min(most_across(field, look.mounting.blank_from_form), STRETCH * look.own_width)


def _looked_at(look: _Look, field: Field) -> _Look:
    """The widest of a ladder of diameters that samples of the grid let through, and the wood inside it."""
    frame, grid = look.mounting.blank_from_form, field.skin.grid
    diameters = np.geomspace(look.narrowest, _widest(look, field), _RUNGS)
    radii, heights = _unit_curve(look)
    low = np.linspace(0.0, look.lowest_rim, len(heights))
    outer = np.interp(low, heights, radii)
    places = np.column_stack([np.outer(diameters / 2.0, outer).ravel(), np.tile(low, _RUNGS)])
    depths = ring_depths(grid, places, frame, TURNS).min(axis=0).reshape(_RUNGS, -1).min(axis=1)
    spares = depths - need_of(field, _SKIN)
    short = np.flatnonzero(spares < 0.0)
    rung = int(short[0]) if len(short) else _RUNGS
    diameter, spare = diameters[max(rung - 1, 0)], spares[max(rung - 1, 0)]
    if 0 < rung < _RUNGS:
        drop = spares[rung - 1] - spares[rung]
        diameter += (diameters[rung] - diameter) * spares[rung - 1] / drop
        spare = 0.0
    return _with_wood(replace(look, diameter=float(diameter), spare=float(spare)), field)


def _unit_curve(look: _Look) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Radii, the largest 1, and rising heights (mm) along the outer curve, as the profile was drawn."""
    handles = look.profile.handles * (look.height / look.profile.handles[-1, 1])
    radii, heights = curve_places(handles, look.profile.corners).T
    return radii / radii.max(), heights


def _with_wood(look: _Look, field: Field) -> _Look:
    """The look with the volume of wood inside its outer curve, mm3, hollow included."""
    radii, heights = _unit_curve(look)
    outer = np.column_stack([radii * look.diameter / 2.0, heights])
    return replace(look, wood=wood_inside(outer, field, look.mounting.blank_from_form))


def _measured(look: _Look, field: Field) -> _Look:
    """The look with its diameter bisected on the mesh itself, from a bracket about the sampled one."""
    low, high = look.narrowest, min(_widest(look, field), _BRACKET * look.diameter)
    middle = look.diameter
    best = replace(look, diameter=low, spare=-np.inf)
    for _ in range(_BISECTIONS):
        sized = replace(look, diameter=middle)
        spare = _exact_spare(sized, _drawn(sized, 0.0), field)
        if spare >= 0.0:
            best, low = replace(sized, spare=spare), middle
        else:
            best = best if best.spare >= 0.0 else replace(sized, spare=spare)
            high = middle
        if 0.0 <= spare < _NEAR:
            break
        # a wall that leans gives way more slowly than its radius grows; aimed inside, so that what is found fits
        guess = middle + 3.0 * (spare - _NEAR / 2.0) if np.isfinite(spare) else 0.0
        middle = guess if low < guess < high else (low + high) / 2.0
    return _with_wood(best, field)


def _exact_spare(look: _Look, drawn: tuple[Form, Hold] | None, field: Field, skin: float = _SKIN) -> float:
    """Margin beyond the uncertainty, as the full check has it; minus infinity where the form cannot be drawn."""
    if drawn is None:
        return -np.inf
    form, hold = drawn
    try:
        needed = needed_wood(form, build_section(form), hold)
    except FormError:
        return -np.inf
    return spare_of(needed, field, look.mounting.blank_from_form, skin=skin)


def _drawn(look: _Look, step: float) -> tuple[Form, Hold] | None:
    """The form and its holding, rounded where there is a step; None where it cannot be drawn so."""
    wall = max(5.0, _WALL_SHARE * look.diameter)
    try:
        form = form_from_profile(
            look.profile,
            diameter=look.diameter,
            height=look.height,
            wall=np.array([[0.0, _to_step(wall, step)]]),
            floor=_to_step(wall + 2.0, step),
            edge=look.edge,
            lowest_rim=look.lowest_rim,
        )
        return form, _usual_hold(form, step)
    except FormError:
        return None


def _try(draft: _Draft, look: _Look) -> Proposal | None:
    """The verdict on a look in whole steps, made narrower until it is no worse for them; None if it cannot be."""
    step, field = draft.step, draft.field
    skin = _to_step(TRUING, step)
    rounded = replace(
        look,
        mounting=_rounded(look.mounting, step),
        height=down_to(look.height, step),
        lowest_rim=down_to(look.lowest_rim, step),
        diameter=down_to(look.diameter, step),
    )
    for fewer in range(_STEPS_DOWN):
        sized = replace(rounded, diameter=rounded.diameter - fewer * step)
        drawn = _drawn(sized, step)
        if look.spare < 0.0 or _exact_spare(sized, drawn, field, skin) >= 0.0:
            break
    if drawn is None:
        return None
    form, hold = drawn
    job = Job(
        title=draft.title,
        units=draft.units,
        plan=draft.plan,
        mounting=sized.mounting,
        form=form,
        hold=hold,
        skin=skin,
    )
    try:
        verdict = check_fit(job, prepare_form(form, hold), field)
    except FormError:
        return None
    return Proposal(job=job, diameter=sized.diameter, verdict=verdict)


def _to_step(length: float, step: float) -> float:
    return round(length / step) * step if step else length


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
