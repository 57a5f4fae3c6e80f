"""What is printed for the shop: full-size sheets of a job that has been checked."""

import tempfile
from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from formmaker.drawing.papers import Paper
from formmaker.drawing.sheets import PLAIN, SETUP, SHEETS, Format
from formmaker.drawing.sheets import draw as draw_sheets
from formmaker.drawing.subject import PassMark, Subject
from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.held import hold_bowl
from formmaker.engine.mounted import balance_on
from formmaker.engine.moves import plan_move
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.engine.remounting import on_skin
from formmaker.engine.wood_sections import end_outline, quarter_sections
from formmaker.errors import BlankError, KernelError
from formmaker.files.job_file import read_job
from formmaker.files.spoken_balance import say_hindrances
from formmaker.files.spoken_dry import say_in_brief
from formmaker.files.spoken_hold import say_on_sheet
from formmaker.model.blank import Blank
from formmaker.model.job import Job
from formmaker.model.marks import MarkKind
from formmaker.pictures.renderer import Renderer, ready_renderer
from formmaker.pipeline.checking import CheckReport, Say, blank_of, check, check_in, placed, wood_in
from formmaker.pipeline.drying import drying_in
from formmaker.pipeline.moving import Target
from formmaker.pipeline.showing import Shown, picture_report

PIN_UP = (480, 360)
"""Pixels of a picture on the set-up sheet: 254 to the inch."""

DRY_ENOUGH = 2.0
"""Wood within so much of the moisture it dries to, %, hardly moves: the sheet is silent on it."""


def sheets(  # noqa: PLR0913  # each is a choice of the turner's
    job_path: Path,
    folder: Path,
    say: Say,
    *,
    paper: Paper,
    names: Sequence[str] = tuple(SHEETS),
    formats: Sequence[Format] = tuple(Format),
    target: Target | None = None,
    pencil: float = 0.0,
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
    target : callable, optional
        Where the centres go, as for a move.
    pencil : float
        What the inside template is set in by, mm.

    Returns
    -------
    tuple of Path

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    job = read_job(job_path)
    prepared = prepare_form(job.form, job.hold)
    # pictures are rendered in a process of its own, from the time on that the wood is there
    with _ready(names) as renderer, ThreadPoolExecutor(max_workers=1) as beside:
        blank = blank_of(job.plan, say)
        job = placed(job, blank)
        shown = _Pictured(job=job, blank=blank, prepared=prepared)
        rendering = beside.submit(_pictures, shown, say, renderer) if SETUP in names else None
        wood = wood_in(blank, say)
        say("checking")
        report = check_in(job, prepared, wood)
        return _written(
            report,
            folder,
            say,
            _Choice(paper=paper, names=names, formats=formats, target=target, pencil=pencil),
            rendering,
        )


def sheets_report(  # noqa: PLR0913  # each is a choice of the turner's
    report: CheckReport,
    folder: Path,
    say: Say,
    *,
    paper: Paper,
    names: Sequence[str] = tuple(SHEETS),
    formats: Sequence[Format] = tuple(Format),
    target: Target | None = None,
    pencil: float = 0.0,
) -> tuple[Path, ...]:
    """Write the sheets of a job that has been checked, laid out on paper."""
    with _ready(names) as renderer, ThreadPoolExecutor(max_workers=1) as beside:
        rendering = beside.submit(_pictures, report, say, renderer) if SETUP in names else None
        return _written(
            report,
            folder,
            say,
            _Choice(paper=paper, names=names, formats=formats, target=target, pencil=pencil),
            rendering,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Choice:
    """What the turner asks of the sheets."""

    paper: Paper
    names: Sequence[str]
    formats: Sequence[Format]
    target: Target | None
    pencil: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pictured:
    """What the pictures are made of, before the check."""

    job: Job
    blank: Blank
    prepared: PreparedForm


def _written(
    report: CheckReport, folder: Path, say: Say, choice: _Choice, rendering: Future[tuple[bytes, ...]] | None
) -> tuple[Path, ...]:
    """All sheets; the one with the pictures last, for they are waited for."""
    say("drawing")
    paper, formats = choice.paper, choice.formats
    subject = replace(_subject(report, choice.target), pencil=choice.pencil)
    others = [name for name in choice.names if name != SETUP]
    paths = draw_sheets(subject, folder, names=others, paper=paper, formats=formats)
    if rendering is None:
        return paths
    subject = replace(subject, pictures=_rendered(rendering, say))
    return (*paths, *draw_sheets(subject, folder, names=(SETUP,), paper=paper, formats=formats))


def draw(job_path: Path, folder: Path, say: Say) -> tuple[Path, ...]:
    """Check a job and write its plain sheets into a folder."""
    return draw_report(check(job_path, say), folder, say)


def draw_report(report: CheckReport, folder: Path, say: Say) -> tuple[Path, ...]:
    """Write the plain sheets of a job that has been checked: SVG, each as large as its drawing."""
    say("drawing")
    return draw_sheets(_plain_subject(report), folder, names=PLAIN)


def _ready(names: Sequence[str]) -> AbstractContextManager[Renderer | None]:
    """A renderer that loads its libraries while the check is at work, where there will be pictures."""
    return ready_renderer() if SETUP in names else nullcontext()


def _pictures(shown: Shown, say: Say, renderer: Renderer | None) -> tuple[bytes, ...]:
    """The bowl inside its wood and alone, for the set-up sheet.

    Names of marks would be too small to read there: they are left out.
    """
    shown = _Pictured(job=shown.job, blank=replace(shown.blank, marks=()), prepared=shown.prepared)
    with tempfile.TemporaryDirectory() as folder:
        paths = Path(folder, "inside.png"), Path(folder, "alone.png")
        picture_report(shown, paths[0], say, alone=paths[1], size=PIN_UP, renderer=renderer)
        return tuple(path.read_bytes() for path in paths)


def _rendered(rendering: Future[tuple[bytes, ...]], say: Say) -> tuple[bytes, ...]:
    """The pictures when they are there; a machine that cannot render goes without."""
    try:
        return rendering.result()
    except KernelError as error:
        say(f"no picture: {error}")
        return ()


def _plain_subject(report: CheckReport) -> Subject:
    return Subject(
        job=report.job, section=report.prepared.section, verdict=report.verdict, passes=_pass_marks(report)
    )


def _subject(report: CheckReport, target: Target | None) -> Subject:
    """All that the sheets show; without a target the centres stay, and the end sheets show how to find them again."""
    job, blank = report.job, report.blank
    pose = job.mounting.blank_from_form
    ends = axis_ends(blank.mesh, job.mounting.foot_centre, job.mounting.axis)
    low, high = (float(pose.inverse.carry(place)[2]) for place in (ends.foot, ends.rim))
    balance = balance_on(blank, job.mounting, job.lathe)
    new = job.mounting if target is None else on_skin(target(job, blank), blank)
    return replace(
        _plain_subject(report),
        axis_top=high,
        quarters=quarter_sections(blank.mesh, pose),
        witnesses=blank.marks,
        move=plan_move(report.field, report.prepared, job.mounting, new),
        outline=end_outline(blank.mesh, pose, low=low, high=high),
        balance=balance,
        hindrances=say_hindrances(balance),
        holding=say_on_sheet(hold_bowl(job, report.prepared, report.field, balance), job),
        drying=_drying(report),
    )


def _drying(report: CheckReport) -> str:
    """What becomes of the bowl if it is turned to finish at once; nothing of wood that is dry or not known."""
    try:
        drying = drying_in(report.job, report.prepared.section, report.blank)
    except BlankError:
        return ""
    return say_in_brief(drying, report.job) if drying.start > drying.end + DRY_ENOUGH else ""


def _pass_marks(report: CheckReport) -> tuple[PassMark, ...]:
    form_from_blank = report.job.mounting.blank_from_form.inverse
    places = [
        (mark.name, *form_from_blank.carry(mark.at)) for mark in report.blank.marks if mark.kind is MarkKind.KEEP
    ]
    return tuple(
        PassMark(name=name, theta=float(np.arctan2(y, x) % (2.0 * np.pi)), height=float(z))
        for name, x, y, z in places
    )
