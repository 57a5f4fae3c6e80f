"""A new job: look at a blank, propose an axis and a bowl, write the commented file."""

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from formmaker.atomic import write_atomically
from formmaker.engine.beginning import propose
from formmaker.engine.check import check_fit
from formmaker.engine.preparation import prepare_form
from formmaker.errors import OutputError
from formmaker.files.job_file import read_job
from formmaker.files.job_template import job_text
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.files.spoken import spoken
from formmaker.files.spoken_blank import spoken_blank
from formmaker.model.job import BlankPlan
from formmaker.model.shapes import SHAPES
from formmaker.model.verdict import Verdict
from formmaker.pipeline.checking import Say, wood_of
from formmaker.units import Units

FIRST_PROFILES = ("open-bowl", "low-broad-bowl", "shallow-platter", "natural-edge-cup")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NewReport:
    """A job file that has been begun: where it is, and what was said about the blank and the first proposal."""

    job_path: Path
    lines: tuple[str, ...]
    verdict: Verdict


def new(
    folder: Path, plan: BlankPlan, units: Units, say: Say, *, profiles: Sequence[str] = FIRST_PROFILES
) -> NewReport:
    """Look at a blank and write a commented job file for it.

    Parameters
    ----------
    folder : Path
        Where ``job.toml`` goes; made if it is missing.
    plan : BlankPlan
        Paths as the user gave them.
    units : Units
        Of the job file.
    say : callable
    profiles : sequence of str
        Of ``profiles/``; the one that gives the largest bowl is taken.

    Returns
    -------
    NewReport
        The verdict is that of the file as it was written, figures rounded.

    Raises
    ------
    BlankError, MountingError
        If the wood cannot be read, or no axis can be proposed.
    OutputError
        If there is a job file already, or it cannot be written.
    """
    target = folder / "job.toml"
    if target.exists():
        raise OutputError(f"{target}: there is a job file already; choose another folder, or move that one away")
    wood = wood_of(plan, say)
    field = wood.field
    say("looking for a bowl that fits")
    shapes = [read_profile(find_profile(name, folder)) for name in profiles]
    proposal = propose(plan, shapes, field, title=_title(plan), units=units)
    lines = spoken_blank(wood.blank, units)
    near = replace(plan, path=_seen_from(folder, plan.path)) if plan.path is not None else plan
    text = job_text(replace(proposal.job, plan=near), diameter=proposal.diameter, remarks=lines)
    write_atomically(target, text.encode())
    job = read_job(target)
    verdict = check_fit(job, prepare_form(job.form, job.hold), field)
    return NewReport(job_path=target, lines=(*lines, *spoken(verdict, job, told=lines).splitlines()), verdict=verdict)


def _title(plan: BlankPlan) -> str:
    return plan.path.stem.replace("_", " ") if plan.path is not None else f"Bowl from a {_shape_name(plan)}"


def _shape_name(plan: BlankPlan) -> str:
    return next(name for name, kind in SHAPES.items() if isinstance(plan.shape, kind))


def _seen_from(folder: Path, path: Path) -> Path:
    """A path as a file in ``folder`` would name it; the full one where they share nothing (another drive)."""
    try:
        return Path(os.path.relpath(path.resolve(), folder.resolve()))
    except ValueError:
        return path.resolve()
