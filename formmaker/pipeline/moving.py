"""Moving the centres: from the mounting of a job to another, and into the job file if wished."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.mounted import balanced_from
from formmaker.engine.moves import plan_move
from formmaker.engine.preparation import prepare_form
from formmaker.engine.remounting import on_skin, remounted
from formmaker.engine.weighing import weigh
from formmaker.errors import MountingError
from formmaker.files.job_edit import rewrite_job, with_values, written_point
from formmaker.files.job_file import read_job
from formmaker.model.blank import Blank
from formmaker.model.ends import End
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.model.move import Move
from formmaker.model.verdict import Verdict
from formmaker.pipeline.checking import Say, check_in, placed, wood_of
from formmaker.tolerances import DEFAULT
from formmaker.units import MM_PER_UNIT

_AS_WRITTEN = 1e-9  # mm or inches; nearer than this a figure is the one that stands there already

Target = Callable[[Job, Blank], Mounting]
"""From a job, its mounting in the blank's own millimetres, and its blank to the mounting to go to."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MoveReport:
    """The job as it was, mounting in the blank's own millimetres; its blank; the move; the verdict after it."""

    job: Job
    blank: Blank
    move: Move
    verdict: Verdict


def move(job_path: Path, target: Target, say: Say, *, write: bool = False) -> MoveReport:
    """Plan a move of the centres.

    Parameters
    ----------
    job_path : Path
    target : callable
        Such as ``to_job``, ``to_centres`` or ``to_balance`` gives.
    say : callable
    write : bool
        Put the new mounting into the job file.

    Returns
    -------
    MoveReport

    Raises
    ------
    JobFileError, BlankError, FormError, MountingError
        As the parts of the job, and of the target, ask for it.
    OutputError
        If the file cannot be written.
    """
    written = read_job(job_path)
    prepared = prepare_form(written.form, written.hold)
    wood = wood_of(written.plan, say)
    job = placed(written, wood.blank)
    say("moving")
    new = on_skin(target(job, wood.blank), wood.blank)
    planned = plan_move(wood.field, prepared, job.mounting, new)
    say("checking")
    after = check_in(replace(job, mounting=new), prepared, wood)
    if write:
        values = written_mounting(written, new, wood.blank.scale)
        rewrite_job(job_path, lambda text: with_values(text, values))
    return MoveReport(job=job, blank=wood.blank, move=planned, verdict=after.verdict)


def to_centres(foot: NDArray[np.float64] | None, rim: NDArray[np.float64] | None) -> Target:
    """Go to centres given as a job file gives them: the scan's own figures, mm; None for one that stays."""

    def target(job: Job, blank: Blank) -> Mounting:
        old = job.mounting
        return remounted(
            old,
            blank.marks,
            foot_centre=old.foot_centre if foot is None else foot * blank.scale,
            rim_centre=old.rim_centre if rim is None else rim * blank.scale,
        )

    return target


def to_job(path: Path, plan: BlankPlan) -> Target:
    """Go to the mounting of another job of the same wood (``plan``), its zero and its foot height too.

    Raises
    ------
    JobFileError
        If the other job has faults.
    MountingError
        If it is about other wood.
    """
    other = read_job(path)
    _require_same_wood(plan, other.plan, path)

    def target(_: Job, blank: Blank) -> Mounting:
        mounting = placed(other, blank).mounting
        if mounting.zero_name and not _same_mark(mounting.zero_name, plan, other.plan):
            return replace(mounting, zero_name="")  # a mark that this job does not know: its direction will do
        return mounting

    return target


def to_balance(held: End | None) -> Target:
    """Go to the nearest axis through the centre of mass; an end that is held stays."""

    def target(job: Job, blank: Blank) -> Mounting:
        new = balanced_from(blank, job.mounting, weigh(blank).body, held=held).mounting
        return remounted(job.mounting, blank.marks, foot_centre=new.foot_centre, rim_centre=new.rim_centre)

    return target


def _require_same_wood(plan: BlankPlan, other: BlankPlan, path: Path) -> None:
    """Refuse a mounting in other wood: its places would mean nothing here."""
    for name, what in (("source", "made from"), ("shape", "shape"), ("scan_unit", "scan_unit")):
        here, there = getattr(plan, name), getattr(other, name)
        if here != there:
            raise MountingError(
                f"{path} is about another blank ({what} {there}, here {here}); give a job of this wood"
            )
    if plan.path is not None and other.path is not None and not _same_file(plan.path, other.path):
        raise MountingError(
            f"{path} is about another blank ({other.path}, here {plan.path}); give a job of this wood"
        )
    names = {name for known in plan.known_lengths for name in (known.first, known.second)}
    if plan.known_lengths != other.known_lengths or not all(_same_mark(name, plan, other) for name in names):
        raise MountingError(
            f"{path} scales the scan by other known lengths, so its places are others; give both jobs the same "
            "known_length and the same marks for it"
        )


def _same_file(one: Path, other: Path) -> bool:
    """One file, or two of the same bytes."""
    return one.samefile(other) or one.read_bytes() == other.read_bytes()


def _same_mark(name: str, plan: BlankPlan, other: BlankPlan) -> bool:
    places = [mark.at for marks in (plan.marks, other.marks) for mark in marks if mark.name == name]
    return len(places) == 2 and bool(np.linalg.norm(places[0] - places[1]) <= DEFAULT.same_point)


def written_mounting(job: Job, new: Mounting, scale: float) -> dict[str, object]:
    """What has to change in the file; what stays is left as the turner wrote it."""
    old, values = job.mounting, dict[str, object]()
    for name in ("foot_centre", "rim_centre"):
        place = getattr(new, name) / scale
        if not np.allclose(place, getattr(old, name), rtol=0.0, atol=_AS_WRITTEN):
            values[name] = written_point(place, job.units)
    if abs(new.foot_height - old.foot_height) > _AS_WRITTEN:
        values["foot_height"] = _tidy(new.foot_height / MM_PER_UNIT[job.units])
    if new.rim_end is not old.rim_end:
        values["rim_end"] = new.rim_end.value
    if new.zero_name != old.zero_name or (not new.zero_name and not np.allclose(_unit(new.zero), _unit(old.zero))):
        values["zero"] = new.zero_name or [_tidy(part) for part in _unit(new.zero)]
    return {f"mounting.{name}": value for name, value in values.items()}


def _unit(direction: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(direction / np.linalg.norm(direction))


def _tidy(figure: float) -> float:
    """A figure to twelve digits, so that a move back restores it; a round one without the dust of rounding."""
    near = round(float(figure), 6)
    return (near if abs(near - figure) < _AS_WRITTEN else round(float(figure), 12)) + 0.0
