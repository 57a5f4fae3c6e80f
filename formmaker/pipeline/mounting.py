"""A blank on its mounting before anything is cut: how it is balanced."""

from dataclasses import dataclass
from pathlib import Path

from formmaker.engine.mounted import balance_on
from formmaker.files.job_file import read_job
from formmaker.model.balance import Balance
from formmaker.model.blank import Blank
from formmaker.model.ends import End
from formmaker.model.job import Job
from formmaker.pipeline.checking import Say, placed
from formmaker.sources.blank import read_blank


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BalanceReport:
    """A job with its blank made, and how it turns on its mounting."""

    job: Job
    blank: Blank
    balance: Balance


def balance(job_path: Path, say: Say, *, held: End | None = None) -> BalanceReport:
    """Read a job, make its blank and balance it.

    Parameters
    ----------
    job_path : Path
    say : callable
        Told, one line each, what is being done.
    held : End or None
        The end that stays where it is.

    Returns
    -------
    BalanceReport

    Raises
    ------
    JobFileError, BlankError, MountingError
        As the parts of the job ask for it.
    """
    job = read_job(job_path)
    say("reading the blank")
    blank = read_blank(job.plan, say)
    job = placed(job, blank)
    say("balancing")
    return BalanceReport(job=job, blank=blank, balance=balance_on(blank, job.mounting, job.lathe, held=held))
