"""Which form the wood offers: the largest size of a form that comes out on one axis.

Sizes come out or not in no order (a hollow, a mark to keep), so the search walks down from the largest that the wood
could hold and leaves out only what cannot come out. No axis is searched for.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from formmaker.engine.field import Field
from formmaker.engine.looks import (
    FULL,
    LOOKS,
    QUICK,
    Refusal,
    Setting,
    look_at_base,
    look_fully,
    setting_of,
)
from formmaker.engine.patterns import Pattern, height_at, outer_at, pattern_of, proportion_of
from formmaker.engine.room import STRETCH, down_to, wood_inside
from formmaker.errors import FormError
from formmaker.model.job import Job
from formmaker.model.profile import Profile
from formmaker.model.suit import Aim, NearMiss, Offer, Suiting

_RUNGS = 8
"""Proportions tried to either side of a form's own, 6 % apart; the best is then grown step by step."""

_NEIGHBOURS = ((1, 0), (0, 1), (1, -1), (-1, 1))
"""Steps of diameter and height to a size that may give more wood."""

_LONGEST_STRIDE = 0.125
"""Where nothing says how far to go down, strides double up to this share of the size."""

_MOST_CHECKS = 24
"""Full checks that may fail in one search before it gives up."""


def suiting_of(profile: Profile, job: Job, field: Field, *, is_own: bool = False) -> Suiting:
    """The largest sizes of one form that come out of a blank on a job's mounting.

    Parameters
    ----------
    profile : Profile
    job : Job
        Its mounting, allowance, holding, walls, floor and edge are kept; its marks are the blank's.
    field : Field
    is_own : bool
        Whether it is the job's own form.

    Returns
    -------
    Suiting
        Sizes in whole steps of the job's units. Each was answered with FITS by the full check; the next size up was
        refused, or is wider than the wood reaches across the axis. No size beside the fullest, a step
        wider, higher or both ways, comes out and gives more wood.

    Notes
    -----
    A size is looked at quickly (samples of the grid), then exactly (must-be-wood on the mesh, marks), then checked in
    full. Distance changes by no more than one moves, so a place that is short of wood by ``s`` and moves by ``m`` for
    each millimetre of diameter rules out the next ``s / m`` millimetres below as well: nothing is assumed about
    the order of sizes. Of several proportions the one that promises most is looked at more closely, until the most
    promising has been checked. Only where the wood is there but hangs loose, by a neck or round a window, where a
    form cannot be drawn or a keep mark is missed, do strides double, and smaller sizes between may go unseen.
    """
    setting = setting_of(job, field)
    proportion = proportion_of(profile)
    trail: list[Refusal] = []
    own = pattern_of(profile, proportion, job, step=setting.step)
    widest = _largest(setting, [own], trail, aim=Aim.WIDEST)
    widest_or_miss = widest or _nearest(setting, trail)
    shares = [STRETCH ** (rung / _RUNGS) for rung in range(-_RUNGS, _RUNGS + 1) if rung]
    patterns = [pattern for share in shares if (pattern := _pattern(setting, profile, share * proportion))]
    fullest = _largest(setting, patterns, trail, aim=Aim.FULLEST, known=widest)
    return Suiting(
        name=profile.name,
        is_own=is_own,
        proportion=proportion,
        widest=widest_or_miss,
        fullest=_polished(setting, profile, fullest) if fullest else _nearest(setting, trail),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Candidate:
    """A pattern at the largest diameter not yet ruled out, mm.

    ``look`` is the closest look at it still to come; ``promise`` what it would give at most; ``refused`` the smallest
    diameter above it that was refused without a word on the sizes below; ``stride`` how far to go down then.
    """

    pattern: Pattern
    diameter: float
    look: int = QUICK
    promise: float
    stride: float
    refused: float = math.inf


def _pattern(setting: Setting, profile: Profile, proportion: float) -> Pattern | None:
    """The profile in another proportion; None where its curve cannot be drawn so."""
    try:
        return pattern_of(profile, proportion, setting.job, step=setting.step)
    except FormError:
        return None


def _largest(
    setting: Setting, patterns: Sequence[Pattern], trail: list[Refusal], *, aim: Aim, known: Offer | None = None
) -> Offer | None:
    """The best offer; ``known`` where none promises more wood than it holds. Refusals go into the trail."""
    waiting = []
    for pattern in patterns:
        refusal = look_at_base(setting, pattern)
        trail += [refusal] if refusal else []
        waiting += [] if refusal else [_candidate(setting, pattern, setting.most, aim)]
    checks = 0
    while waiting and checks < _MOST_CHECKS:
        best = max(waiting, key=lambda candidate: candidate.promise)
        if known is not None and known.whole >= best.promise:
            break
        waiting.remove(best)
        found = LOOKS[best.look](setting, best.pattern, best.diameter)
        if isinstance(found, Offer):
            return _grown(setting, best, found)
        if found is None:
            waiting.append(_closer(setting, best, aim))
            continue
        trail.append(found)
        checks += found.look == FULL
        smaller = _smaller(setting, best, found, aim)
        waiting += [smaller] if smaller.diameter >= setting.smallest else []
    return known


def _candidate(setting: Setting, pattern: Pattern, diameter: float, aim: Aim) -> _Candidate:
    """A size that nobody has looked at yet: full of wood, for all that is known."""
    promise = diameter if aim is Aim.WIDEST else pattern.volume * diameter**3
    return _Candidate(pattern=pattern, diameter=diameter, promise=promise, stride=setting.step)


def _closer(setting: Setting, candidate: _Candidate, aim: Aim) -> _Candidate:
    """The same size for the next look; what it gives is known better after the first."""
    promise = candidate.promise
    if aim is Aim.FULLEST and candidate.look == QUICK:
        promise = wood_inside(outer_at(candidate.pattern, candidate.diameter), setting.field, setting.frame)
    return replace(candidate, look=candidate.look + 1, promise=promise)


def _smaller(setting: Setting, candidate: _Candidate, refusal: Refusal, aim: Aim) -> _Candidate:
    """The next size down that the refusal does not rule out; in doubling strides where it says nothing of them."""
    step, diameter = setting.step, candidate.diameter
    if refusal.says_how_far:
        lower = min(diameter - step, -down_to(refusal.below - diameter, step))
        stride, refused = candidate.stride, candidate.refused
    else:
        lower = diameter - candidate.stride
        longest = max(step, down_to(_LONGEST_STRIDE * diameter, step))
        stride, refused = min(2.0 * candidate.stride, longest), diameter
    return replace(_candidate(setting, candidate.pattern, lower, aim), stride=stride, refused=refused)


def _grown(setting: Setting, candidate: _Candidate, offer: Offer) -> Offer:
    """The offer, made larger until the next size up is one that was refused: strides may have left some out."""
    step, low, high = setting.step, candidate.diameter, candidate.refused
    while math.isfinite(high) and high - low > 1.5 * step:
        middle = down_to((low + high) / 2.0, step)
        found = next((found for look in LOOKS if (found := look(setting, candidate.pattern, middle))), None)
        if isinstance(found, Offer):
            offer, low = found, middle
        else:
            high = middle
    return offer


def _polished(setting: Setting, profile: Profile, offer: Offer) -> Offer:
    """The offer changed by single steps of diameter and height while that gives more wood: rungs leave some out."""
    size = tuple(round(length / setting.step) for length in (offer.verdict.diameter, offer.form.height))
    whole, tried = offer.whole, 0
    while tried < len(_NEIGHBOURS):
        wider, higher = _NEIGHBOURS[tried]
        other = size[0] + wider, size[1] + higher
        more = _wood_of_next(setting, profile, other, whole)
        size, whole, tried = (other, more, 0) if more else (size, whole, tried + 1)
    pattern = _pattern(setting, profile, size[1] / size[0])
    if whole == offer.whole or pattern is None:
        return offer
    found = look_fully(setting, pattern, size[0] * setting.step)
    return found if isinstance(found, Offer) else offer


def _wood_of_next(setting: Setting, profile: Profile, steps: tuple[int, int], whole: float) -> float | None:
    """Wood inside a size, in steps of diameter and height, where that is more and passes all looks but the last."""
    diameter, proportion = steps[0] * setting.step, steps[1] / steps[0]
    stretch = proportion / proportion_of(profile)
    pattern = _pattern(setting, profile, proportion)
    if pattern is None or diameter > setting.most or not 1.0 / STRETCH <= stretch <= STRETCH:
        return None
    wood = wood_inside(outer_at(pattern, diameter), setting.field, setting.frame)
    if not wood > whole or any(look(setting, pattern, diameter) for look in LOOKS[:FULL]):
        return None
    return wood


def _nearest(setting: Setting, trail: Sequence[Refusal]) -> Offer | NearMiss:
    """What came nearest, with the full check's word on it."""
    closest = max(trail, key=lambda refusal: (refusal.look if math.isfinite(refusal.short) else 0, -refusal.short))
    found = closest if closest.verdict else look_fully(setting, closest.pattern, closest.diameter)
    if isinstance(found, Offer):
        return found
    return NearMiss(
        diameter=found.diameter,
        height=height_at(found.pattern, found.diameter),
        verdict=found.verdict,
        problem=found.problem,
        all_ruled_out=all(refusal.says_how_far for refusal in trail),
    )
