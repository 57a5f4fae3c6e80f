"""What is printed for the shop: full-size sheets of a job that has been checked."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from formmaker.drawing.papers import Paper
from formmaker.drawing.sheets import PLAIN, SHEETS, Format
from formmaker.drawing.sheets import draw as draw_sheets
from formmaker.drawing.subject import PassMark, Subject
from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.wood_sections import quarter_sections
from formmaker.model.marks import MarkKind
from formmaker.pipeline.checking import CheckReport, Say, check


def sheets(
    job_path: Path,
    folder: Path,
    say: Say,
    *,
    paper: Paper,
    names: Sequence[str] = tuple(SHEETS),
    formats: Sequence[Format] = tuple(Format),
) -> tuple[Path, ...]:
    """Check a job and write its sheets, laid out on paper.

    Parameters
    ----------
    job_path : Path
    folder : Path
    say : callable
    paper : Paper
    names : sequence of str
        Of the sheets.
    formats : sequence of Format

    Returns
    -------
    tuple of Path

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    return sheets_report(check(job_path, say), folder, say, paper=paper, names=names, formats=formats)


def sheets_report(
    report: CheckReport,
    folder: Path,
    say: Say,
    *,
    paper: Paper,
    names: Sequence[str] = tuple(SHEETS),
    formats: Sequence[Format] = tuple(Format),
) -> tuple[Path, ...]:
    """Write the sheets of a job that has been checked, laid out on paper."""
    say("drawing")
    return draw_sheets(_subject(report), folder, names=names, paper=paper, formats=formats)


def draw(job_path: Path, folder: Path, say: Say) -> tuple[Path, ...]:
    """Check a job and write its plain sheets into a folder."""
    return draw_report(check(job_path, say), folder, say)


def draw_report(report: CheckReport, folder: Path, say: Say) -> tuple[Path, ...]:
    """Write the plain sheets of a job that has been checked: SVG, each as large as its drawing."""
    say("drawing")
    return draw_sheets(_subject(report), folder, names=PLAIN)


def _subject(report: CheckReport) -> Subject:
    job, mesh = report.job, report.blank.mesh
    pose = job.mounting.blank_from_form
    ends = axis_ends(mesh, job.mounting.foot_centre, job.mounting.axis)
    return Subject(
        job=job,
        section=report.prepared.section,
        verdict=report.verdict,
        passes=_pass_marks(report),
        axis_top=float(pose.inverse.carry(ends.rim)[2]),
        quarters=quarter_sections(mesh, pose),
    )


def _pass_marks(report: CheckReport) -> tuple[PassMark, ...]:
    form_from_blank = report.job.mounting.blank_from_form.inverse
    places = [
        (mark.name, *form_from_blank.carry(mark.at)) for mark in report.blank.marks if mark.kind is MarkKind.KEEP
    ]
    return tuple(
        PassMark(name=name, theta=float(np.arctan2(y, x) % (2.0 * np.pi)), height=float(z))
        for name, x, y, z in places
    )
