"""How well the bowl of a job is held: read the job, make the wood, ask."""

from dataclasses import dataclass
from pathlib import Path

from formmaker.engine.held import hold_bowl
from formmaker.engine.mounted import balance_on
from formmaker.engine.preparation import prepare_form
from formmaker.files.job_file import read_job
from formmaker.model.holding import Holding
from formmaker.model.job import Job
from formmaker.pipeline.checking import Say, placed, wood_of


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldReport:
    """A job and how well its bowl is held."""

    job: Job
    holding: Holding


def hold(job_path: Path, say: Say, *, rpm: float | None = None, cut: float | None = None) -> HoldReport:
    """Say how well the bowl of a job is held.

    Parameters
    ----------
    job_path : Path
    say : callable
    rpm : float, optional
        Speed of the load case.
    cut : float, optional
        Force of a cut at the rim, N.

    Returns
    -------
    HoldReport

    Raises
    ------
    JobFileError, BlankError, FormError, MountingError
        As the parts of the job ask for it.
    """
    job = read_job(job_path)
    prepared = prepare_form(job.form, job.hold)
    wood = wood_of(job.plan, say)
    job = placed(job, wood.blank)
    say("weighing what holds it")
    balance = balance_on(wood.blank, job.mounting, job.lathe)
    return HoldReport(job=job, holding=hold_bowl(job, prepared, wood.field, balance, rpm=rpm, cut=cut))
