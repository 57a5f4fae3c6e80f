"""What a set of sheets is drawn from, in one record, so that every sheet is asked for in the same way."""

from dataclasses import dataclass

from formmaker.model.job import Job
from formmaker.model.section import Section
from formmaker.model.verdict import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class PassMark:
    """A keep mark as a strip shows it: its name, angle (radians) and height (mm), form frame."""

    name: str
    theta: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subject:
    """A job that has been checked, and all that its sheets show.

    Parameters
    ----------
    job : Job
    section : Section
    verdict : Verdict
    passes : tuple of PassMark
        Keep marks.
    """

    job: Job
    section: Section
    verdict: Verdict
    passes: tuple[PassMark, ...] = ()
