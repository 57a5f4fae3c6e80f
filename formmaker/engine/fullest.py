"""Seek the fullest bowl: most wood inside the outer curve, hollow included, the height free in a range."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from formmaker.engine.field import Field
from formmaker.engine.ground import Ground, ground_of, present_pose, problem_of
from formmaker.engine.patterns import outer_at
from formmaker.engine.room import STRETCH, wood_inside
from formmaker.engine.seeking import Sought, seek
from formmaker.engine.stands import Stand
from formmaker.errors import FormError
from formmaker.geometry.pose_problem import chance_poses
from formmaker.geometry.pose_search import Progress, climb
from formmaker.model.job import Job
from formmaker.model.wish import Wish

_RUNGS = 4
"""Proportions tried to either side of the job's own, 12 % apart, as far as ``STRETCH``."""

_GUESSES = 8  # climbs that say which proportion to look at first


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fullest:
    """The proportion that was found to give most, and what its search came to."""

    ground: Ground
    sought: Sought


def seek_fullest(
    job: Job, wish: Wish, field: Field, *, gap: float, rng: np.random.Generator, watch: Callable[[Progress], bool]
) -> Fullest:
    """Search all mountings in each of the proportions.

    Parameters
    ----------
    job, wish, field
        As of ``ground.ground_of``.
    gap : float
        Share of the diameter, at the volume's cube root, that may be left unproven.
    rng : numpy.random.Generator
    watch : callable
        Told the progress; True stops.

    Returns
    -------
    Fullest
        Its bound is the diameter that the best form would have to have for as much wood as no mounting, in none of
        the proportions, exceeds. That bound counts all inside the outer curve, so bark that falls away within a
        natural edge is part of the gap. No bowl holds more than the whole blank, which is the bound of
        proportions that there was no time for.
    """
    grounds = _by_promise([ground for stretch in _stretches() if (ground := _drawn(job, wish, field, stretch))], rng)
    best: Fullest | None = None
    wood, bound, boxes, is_complete = 0.0, 0.0, 0, True
    for ground in grounds:
        if not is_complete:
            bound = field.volume
            break
        full = ground.body.pattern.volume
        enough = (wood / full) ** (1.0 / 3.0) * (1.0 + gap)
        sought = seek(ground, gap=gap, rng=rng, watch=watch, enough=enough)
        boxes, bound = boxes + sought.boxes, max(bound, full * sought.bound**3)
        is_complete = sought.is_complete
        holds = _wood_of(ground, sought.best) if sought.best is not None else 0.0
        if best is None or holds > wood:
            best, wood = Fullest(ground=ground, sought=sought), max(wood, holds)
    if best is None:
        raise FormError("the form cannot be drawn in any proportion; change its handles")
    return replace(best, sought=_told(best.sought, wood, min(bound, field.volume), boxes, is_complete=is_complete))


def _told(sought: Sought, wood: float, bound: float, boxes: int, *, is_complete: bool) -> Sought:
    if sought.best is not None:
        bound = sought.best.diameter**3 * bound / wood
    return replace(sought, bound=bound ** (1.0 / 3.0), boxes=boxes, is_complete=is_complete)


def _stretches() -> list[float]:
    rungs = sorted(range(-_RUNGS, _RUNGS + 1), key=abs)
    return [float(STRETCH ** (rung / _RUNGS)) for rung in rungs]


def _drawn(job: Job, wish: Wish, field: Field, stretch: float) -> Ground | None:
    """The ground in one proportion; None where the curve cannot be drawn so."""
    try:
        return ground_of(job, wish, field, stretch=stretch)
    except FormError:
        return None


def _by_promise(grounds: list[Ground], rng: np.random.Generator) -> list[Ground]:
    """The proportion that promises most first: its search leaves the others little to prove."""
    promises = []
    for ground in grounds:
        problem = problem_of(ground)
        poses = np.vstack([present_pose(ground), chance_poses(problem, rng, _GUESSES)])
        _, sizes = climb(problem, poses, rng)
        promises.append(ground.body.pattern.volume * max(float(sizes[0]), 0.0) ** 3)
    return [grounds[number] for number in np.argsort(-np.array(promises), kind="stable")]


def _wood_of(ground: Ground, stand: Stand) -> float:
    return wood_inside(outer_at(ground.body.pattern, stand.diameter), ground.field, stand.mounting.blank_from_form)
