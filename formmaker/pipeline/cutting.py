"""Cuts as they happen: one made in the job, or the last one taken back. No cut is written that frees the foot."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from formmaker.errors import BlankError
from formmaker.files.job_edit import rewrite_job, with_entry, without_last_entry
from formmaker.files.job_faults import read_text_of
from formmaker.files.job_file import job_from_text, read_job
from formmaker.files.spoken_cut import spoken_cut
from formmaker.model.blank import Blank
from formmaker.model.job import Job
from formmaker.pipeline.checking import Say
from formmaker.sources.blank import read_blank
from formmaker.tolerances import DEFAULT


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutOutcome:
    """A job whose cuts have changed, its blank as it now stands, and what is to be said."""

    job: Job
    blank: Blank
    lines: tuple[str, ...]


def cut(job_path: Path, entry: Mapping[str, object], say: Say) -> CutOutcome:
    """Make one more cut and write it into the job.

    Parameters
    ----------
    job_path : Path
    entry : mapping
        Keys and values of the ``[[cut]]`` table.
    say : callable

    Returns
    -------
    CutOutcome

    Raises
    ------
    JobFileError
        With every fault of the entry, or of the job.
    BlankError
        If the cut leaves no wood, frees the foot, or takes nothing off. Nothing is written then.
    """

    def change(text: str) -> str:
        return with_entry(text, "cut", entry)

    job = job_from_text(change(read_text_of(job_path)), job_path)
    say("reading the blank")
    blank = read_blank(job.plan, say)
    if blank.cuts[-1].removed <= DEFAULT.min_loose_volume:
        raise BlankError(
            f"cut {blank.cuts[-1].number} ({entry.get('kind')}) takes no wood off: it passes beside the wood; "
            "look at its places and units. Nothing was written"
        )
    return CutOutcome(job=rewrite_job(job_path, change), blank=blank, lines=spoken_cut(blank, job))


def uncut(job_path: Path) -> Job:
    """Take the last cut of a job back.

    Raises
    ------
    BlankError
        If there is none.
    JobFileError
        If the job has faults; it stays as it is then.
    """
    count = len(read_job(job_path).plan.cuts)
    if not count:
        raise BlankError(f"{job_path}: there is no cut to take back")
    text = read_text_of(job_path)
    shorter = without_last_entry(text, "cut")
    if len(job_from_text(shorter, job_path).plan.cuts) != count - 1:
        raise BlankError(f"{job_path}: its cuts are not [[cut]] tables; take the last one out by hand")
    return rewrite_job(job_path, lambda _text: shorter)
