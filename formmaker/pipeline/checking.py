"""The main question: read a job, make its blank and field once, check the form in it."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from formmaker.engine.check import check_fit
from formmaker.engine.field import Field, build_field
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.files.job_file import read_job
from formmaker.geometry.grid import value_at
from formmaker.model.blank import Blank
from formmaker.model.job import BlankPlan, Job
from formmaker.model.verdict import Spin, Verdict
from formmaker.sources.blank import read_blank
from formmaker.tolerances import DEFAULT, Tolerances

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wood:
    """A blank as it stands, with its field: made once, asked many times."""

    blank: Blank
    field: Field


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckReport:
    """A job with its blank made, its form prepared, and the verdict."""

    job: Job
    blank: Blank
    field: Field
    prepared: PreparedForm
    verdict: Verdict


def check(job_path: Path, say: Say) -> CheckReport:
    """Read a job, make its blank and check its form.

    Parameters
    ----------
    job_path : Path
    say : callable
        Told, one line each, what is being done.

    Returns
    -------
    CheckReport

    Raises
    ------
    JobFileError, BlankError, FormError, MountingError
        As the parts of the job ask for it.
    """
    return check_job(read_job(job_path), say)


def check_job(job: Job, say: Say) -> CheckReport:
    """Make the blank of a job that has been read and check its form."""
    prepared = prepare_form(job.form, job.hold)
    wood = wood_of(job.plan, say)
    say("checking")
    return check_in(placed(job, wood.blank), prepared, wood)


def wood_of(plan: BlankPlan, say: Say) -> Wood:
    """Make the blank that a job asks for, and its field.

    Parameters
    ----------
    plan : BlankPlan
    say : callable

    Returns
    -------
    Wood

    Raises
    ------
    BlankError
        If the wood cannot be read, closed or described.
    """
    return wood_in(blank_of(plan, say), say)


def blank_of(plan: BlankPlan, say: Say) -> Blank:
    """Make the blank that a job asks for; raises as ``wood_of`` does."""
    say("reading the blank")
    return read_blank(plan, say)


def wood_in(blank: Blank, say: Say) -> Wood:
    """Build the field of a blank."""
    say(f"building the field of {len(blank.mesh.faces)} triangles{first_run()}")
    return Wood(blank=blank, field=build_field(blank))


def check_in(
    job: Job, prepared: PreparedForm, wood: Wood, *, seen: Spin | None = None, tolerances: Tolerances = DEFAULT
) -> CheckReport:
    """Check a form in wood that has been made; the job's mounting is in the blank's own millimetres (``placed``).

    ``seen`` is what is known of core and ghost from a check of the same wood on the same mounting.
    """
    verdict = check_fit(job, prepared, wood.field, seen=seen, tolerances=tolerances)
    return CheckReport(job=job, blank=wood.blank, field=wood.field, prepared=prepared, verdict=verdict)


def first_run(kernel: Any = value_at) -> str:
    """What to add to a line where a kernel, and those it comes with, are compiled on this run."""
    module = kernel.__module__.rpartition(".")[2]
    if any(Path(kernel.stats.cache_path).glob(f"{module}.{kernel.__name__}*.nbi")):
        return ""
    return "; this first run also compiles the kernels, about half a minute, and keeps them for the next"


def placed(job: Job, blank: Blank) -> Job:
    """The job with its axis in the wood: a scan that known lengths have scaled takes the mounting with it."""
    mounting = replace(
        job.mounting,
        foot_centre=job.mounting.foot_centre * blank.scale,
        rim_centre=job.mounting.rim_centre * blank.scale,
    )
    return replace(job, mounting=mounting)
