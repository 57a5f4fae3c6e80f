"""The choices worth weighing: what a search found, told with all that a turner would weigh it by."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.ground import Ground, frame_at, present_pose, problem_of
from formmaker.engine.marks import rim_distances
from formmaker.engine.patterns import outer_at
from formmaker.engine.rim_wishes import RimTest, level_of, quick_miss
from formmaker.engine.room import wood_inside
from formmaker.engine.seeking import Sought, apart_from_each_other
from formmaker.engine.settling import Miss, settle
from formmaker.engine.stands import Stand, stand_at
from formmaker.geometry.frames import Frame
from formmaker.geometry.pose_search import Pose
from formmaker.model.choices import Choice, KeptMark
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.verdict import RimLine

LARGEST = "largest"

LEVEL = 4.0
"""What counts as a level rim where the job says nothing, mm: its two highest points, and its two lowest, so near."""

COST = 0.2
"""Share of the diameter that a choice may cost against the largest."""

MOST_CHOICES = 6

_QUIETEST, _LEAST_MOVE = "runs quietest", "least move"
_ALIKE = 0.5  # kg mm, mm: what is nearer to another is told as no more and no less
_FROM = 4  # poses that a choice is looked for from


def choice_of(ground: Ground, stand: Stand, why: str, *, bound: float | None = None) -> Choice:
    """Tell of a stand all that it is weighed by."""
    old, new = ground.job.mounting, stand.mounting
    mesh = ground.field.blank.mesh
    before, after = (axis_ends(mesh, mounting.foot_centre, mounting.axis) for mounting in (old, new))
    move = max(float(np.linalg.norm(after.foot - before.foot)), float(np.linalg.norm(after.rim - before.rim)))
    tilt = math.atan2(float(np.linalg.norm(np.cross(old.axis, new.axis))), float(old.axis @ new.axis))
    frame = new.blank_from_form
    mass = ground.weighing.mass.kilograms
    offset = frame.inverse.carry(ground.weighing.body.centre)
    return Choice(
        why=why,
        form=stand.bowl.form,
        hold=stand.bowl.hold,
        mounting=new,
        verdict=stand.verdict,
        whole=wood_inside(outer_at(ground.body.pattern, stand.diameter), ground.field, frame),
        keep=kept_marks(ground.marks, stand.verdict.rim, frame),
        unbalance=None if mass is None else mass * float(np.hypot(offset[0], offset[1])),
        move=move,
        tilt=tilt,
        bound=bound,
    )


def kept_marks(marks: tuple[Mark, ...], rim: RimLine, blank_from_form: Frame) -> tuple[KeptMark, ...]:
    """How far the rim passes from every mark to keep, whether it was asked for or not."""
    form_from_blank = blank_from_form.inverse
    return tuple(
        KeptMark(name=mark.name, miss=float(rim_distances(rim, form_from_blank.carry(mark.at)).min()))
        for mark in marks
        if mark.kind is MarkKind.KEEP
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Aim:
    """One thing a turner may want beside size: its reason in words, and what a pose lacks of it, mm."""

    why: str
    miss: Miss


def choices_of(
    ground: Ground, sought: Sought, rng: np.random.Generator, *, stop: Callable[[], bool] = lambda: False
) -> tuple[Choice, ...]:
    """The choices worth weighing, the largest first; none is better than another in everything.

    Parameters
    ----------
    ground : Ground
    sought : Sought
        With a best.
    rng : numpy.random.Generator
    stop : callable
        Asked before each is looked for.

    Notes
    -----
    From the best poses that the search met, and the present mounting, a climb goes to the largest bowl that has one
    more thing: a rim as level as ``LEVEL``, a mark that was not asked for, balance, the least move. It gives up no
    more than ``COST`` of the diameter. Each is then put to the mesh and to the full check like the best.
    """
    if sought.best is None:
        return ()
    best = choice_of(ground, sought.best, LARGEST, bound=sought.bound)
    found = [best]
    for aim in _aims(ground, best):
        if not stop() and (stand := _stand_for(ground, sought, aim, rng)) is not None:
            is_largest = round(stand.diameter) >= round(best.verdict.diameter)
            why, bound = _reason(aim.why, best, stand), sought.bound if is_largest else None
            found.append(choice_of(ground, stand, f"{LARGEST}, {why}" if is_largest else why, bound=bound))
    return tuple(_as_true(_worth_weighing(found)))


def _aims(ground: Ground, best: Choice) -> list[_Aim]:
    """What is worth looking for: what the best lacks."""
    rim = ground.rim
    aims = []
    level = min(LEVEL, rim.level)
    if level_of(best.verdict.rim.height) > level:
        aims.append(_Aim(why="level rim", miss=_rim_miss(ground, replace(rim, level=level))))
    asked = {mark.name for mark in rim.keep}
    lost = {mark.name for mark in best.keep if mark.name not in asked}
    for mark in ground.marks:
        if mark.kind is MarkKind.KEEP and mark.name in lost:
            aims.append(_Aim(why=f"keeps {mark.name}", miss=_rim_miss(ground, replace(rim, keep=(*rim.keep, mark)))))
    aims.append(_Aim(why=_QUIETEST, miss=lambda pose: _off_centre(ground, pose) + ground_miss(ground, pose)))
    aims.append(_Aim(why=_LEAST_MOVE, miss=lambda pose: _moved(ground, pose) + ground_miss(ground, pose)))
    return aims


def ground_miss(ground: Ground, pose: Pose) -> float:
    """What a pose misses of the wishes for the rim, on the grid, mm."""
    return _rim_miss(ground, ground.rim)(pose) if ground.rim.asks else 0.0


def _rim_miss(ground: Ground, test: RimTest) -> Miss:
    def miss(pose: Pose) -> float:
        return quick_miss(test, outer_at(ground.body.pattern, pose.size), frame_at(ground, pose, pose.size))

    return miss


def _off_centre(ground: Ground, pose: Pose) -> float:
    """From the axis to the centre of mass, mm."""
    return float(np.linalg.norm(np.cross(ground.weighing.body.centre - pose.place, pose.direction)))


def _moved(ground: Ground, pose: Pose) -> float:
    """How far the axis passes from the present centres, the farther of the two, mm."""
    mounting = ground.job.mounting
    steps = np.stack([mounting.foot_centre, mounting.rim_centre]) - pose.place
    return float(np.linalg.norm(np.cross(steps, pose.direction), axis=1).max())


def _stand_for(ground: Ground, sought: Sought, aim: _Aim, rng: np.random.Generator) -> Stand | None:
    """The largest stand found that has what is aimed at, or comes as near to it as the cost allows."""
    problem, least = problem_of(ground), (1.0 - COST) * (sought.best.diameter if sought.best else 0.0)

    def miss(pose: Pose) -> float:
        return aim.miss(pose) + 2.0 * max(least - pose.size, 0.0)

    starts = np.vstack([present_pose(ground), sought.poses[np.argsort(-sought.poses[:, -1], kind="stable"), :7]])
    reached = [settle(problem, start, miss, rng) for start in apart_from_each_other(starts)[:_FROM]]
    for pose in sorted((pose for pose in reached if pose is not None), key=lambda pose: miss(pose) - pose.size):
        stand = stand_at(ground, pose, pose.size).stand
        if stand is not None:
            return stand
    return None


def _reason(why: str, best: Choice, stand: Stand) -> str:
    share = 100.0 * (1.0 - stand.diameter / best.verdict.diameter)
    return why if share < 0.5 else f"{why} for {share:.0f} % less"


def _worth_weighing(found: list[Choice]) -> list[Choice]:
    """Leave out what another is as good as or better than in everything; the largest first."""
    kept: list[Choice] = []
    for number, choice in enumerate(found):
        others = found[:number] + found[number + 1 :]
        if not any(_is_better(other, choice, is_first=other in found[:number]) for other in others):
            kept.append(choice)
    return sorted(kept, key=lambda choice: -choice.verdict.diameter)[:MOST_CHOICES]


def _as_true(choices: list[Choice]) -> list[Choice]:
    """The choices with what their reasons claim over the others put right: some came less far than was aimed at."""
    told = choices
    for claim, less in ((_QUIETEST, "runs quieter"), (_LEAST_MOVE, "less move")):
        figures = [choice.move if claim is _LEAST_MOVE else choice.unbalance or 0.0 for choice in choices]
        least = min(figures, default=0.0)
        told = [
            choice if figure <= least + _ALIKE else replace(choice, why=_without(choice.why, claim, less))
            for choice, figure in zip(told, figures, strict=True)
        ]
    return told


def _without(why: str, claim: str, less: str) -> str:
    return LARGEST if why == f"{LARGEST}, {claim}" else why.replace(claim, less)


def _is_better(one: Choice, other: Choice, *, is_first: bool) -> bool:
    """Whether one is as good as another in everything, and better in something or told of first."""
    mine, its = _merits(one), _merits(other)
    return bool((mine >= its).all() and ((mine > its).any() or is_first))


def _merits(choice: Choice) -> NDArray[np.float64]:
    """What a choice is weighed by, more is better: steps too small to see do not count."""
    weight = choice.unbalance if choice.unbalance is not None else 0.0
    keep = [-max(mark.miss, 1.0) for mark in choice.keep]
    figures = [choice.verdict.diameter, -level_of(choice.verdict.rim.height), -weight, -choice.move, *keep]
    return np.round(np.array(figures), 0)
