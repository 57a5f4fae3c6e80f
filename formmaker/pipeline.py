"""One function for every wish of the user: paths in, report and files out. The only place that knows the whole chain.

It decides nothing about wood and prints nothing; libraries that take seconds to load come in where they are used.
"""

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formmaker.atomic import write_atomically
from formmaker.drawing.rim_sheet import PassMark
from formmaker.drawing.sheets import draw as draw_sheets
from formmaker.engine.amounts import field_figures
from formmaker.engine.beginning import propose
from formmaker.engine.check import check_fit
from formmaker.engine.field import Field, build_field
from formmaker.engine.needed import held_outline
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.errors import KernelError, OutputError
from formmaker.files.found_page import Found, found_page
from formmaker.files.job_file import read_job
from formmaker.files.job_template import job_text
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.files.spoken import say_answer, spoken
from formmaker.files.spoken_blank import spoken_blank
from formmaker.geometry.booleans import Cut, intersection_cut
from formmaker.geometry.grid import value_at
from formmaker.geometry.meshes import moved
from formmaker.geometry.pieces import largest_piece
from formmaker.geometry.revolve import revolved
from formmaker.model.blank import Blank, FaceKind
from formmaker.model.form import Edge
from formmaker.model.job import BlankPlan, Job
from formmaker.model.marks import MarkKind
from formmaker.model.proof import Proof
from formmaker.model.shapes import SHAPES
from formmaker.model.verdict import Verdict
from formmaker.sources.blank import read_blank
from formmaker.sources.samples import SAMPLES, SCAN_NAME, sample_job, write_sample_scan
from formmaker.units import Units, format_length, format_volume

Say = Callable[[str], None]

FIRST_PROFILES = ("open-bowl", "low-broad-bowl", "shallow-platter", "natural-edge-cup")

PICTURE_SEGMENTS = 360
"""Flats in one turn of a pictured bowl."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckReport:
    """A job with its blank made, its form prepared, and the verdict."""

    job: Job
    blank: Blank
    field: Field
    prepared: PreparedForm
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProofReport:
    """The verdict beside the proof."""

    verdict: Verdict
    proof: Proof


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
    say("reading the blank")
    blank = read_blank(job.plan, say)
    say(f"building the field of {len(blank.mesh.faces)} triangles{_first_run()}")
    field = build_field(blank)
    job = _placed(job, blank)
    say("checking")
    verdict = check_fit(job, prepared, field)
    return CheckReport(job=job, blank=blank, field=field, prepared=prepared, verdict=verdict)


def _first_run() -> str:
    if any(Path(value_at.stats.cache_path).glob("grid.value_at*.nbi")):
        return ""
    return "; this first run also compiles the kernels, about half a minute, and keeps them for the next"


def _placed(job: Job, blank: Blank) -> Job:
    """The job with its axis in the wood: a scan that known lengths have scaled takes the mounting with it."""
    mounting = replace(
        job.mounting,
        foot_centre=job.mounting.foot_centre * blank.scale,
        rim_centre=job.mounting.rim_centre * blank.scale,
    )
    return replace(job, mounting=mounting)


def prove(job_path: Path, say: Say, *, step: Path | None = None, stl: Path | None = None) -> ProofReport:
    """Ask field, mesh boolean and solid kernel the same question, and write the finished bowl.

    Parameters
    ----------
    job_path : Path
    say : callable
    step, stl : Path, optional
        Where to write the bowl as it would come out, form frame.

    Returns
    -------
    ProofReport

    Raises
    ------
    KernelError
        If the solid kernel gives no sound result.
    OutputError
        If a file cannot be written.
    """
    report = check(job_path, say)
    say("loading the solid kernel")
    from formmaker.solids import proof  # noqa: PLC0415  # late: cadquery takes seconds to load
    from formmaker.solids.export import write_step, write_stl  # noqa: PLC0415

    job, form = report.job, report.prepared.form
    question = proof.Question(
        blank=report.blank,
        shape=job.plan.shape,
        mounting=job.mounting,
        section=report.prepared.section,
        hold=job.hold,
        needed_height=form.height if form.edge is Edge.TURNED else form.lowest_rim,
        field=field_figures(report.prepared, report.field, job.mounting.blank_from_form),
    )
    proved = proof.prove(question, say=say)
    if step is not None:
        write_step(proved.bowl_solid, step)
    if stl is not None:
        write_stl(proved.bowl_mesh, stl)
    return ProofReport(verdict=report.verdict, proof=proved.proof)


def draw(job_path: Path, folder: Path, say: Say) -> tuple[Path, ...]:
    """Check a job and write its full-size sheets into a folder."""
    return draw_report(check(job_path, say), folder, say)


def draw_report(report: CheckReport, folder: Path, say: Say) -> tuple[Path, ...]:
    """Write the full-size sheets of a job that has been checked."""
    say("drawing")
    passes = _pass_marks(report)
    return draw_sheets(report.job, report.prepared.section, report.verdict, folder, passes=passes)


def _pass_marks(report: CheckReport) -> tuple[PassMark, ...]:
    form_from_blank = report.job.mounting.blank_from_form.inverse
    places = [
        (mark.name, *form_from_blank.carry(mark.at)) for mark in report.blank.marks if mark.kind is MarkKind.KEEP
    ]
    return tuple((name, float(np.arctan2(y, x) % (2.0 * np.pi)), float(z)) for name, x, y, z in places)


def picture(job_path: Path, target: Path, say: Say) -> Path:
    """Check a job and picture the bowl inside its wood."""
    return picture_report(check(job_path, say), target, say)


def picture_report(report: CheckReport, target: Path, say: Say, *, alone: Path | None = None) -> Path:
    """Picture the bowl of a job that has been checked; ``alone`` takes a second picture, without the blank."""
    say("picturing")
    from formmaker.pictures.scene import picture as write_picture  # noqa: PLC0415  # late: VTK

    bowl = bowl_as_it_comes(report)
    write_picture(
        report.blank, bowl.mesh, report.job.mounting, target, bowl_from_bark=_bark_of(bowl, report.blank), alone=alone
    )
    return target


def bowl_as_it_comes(report: CheckReport) -> Cut:
    """The bowl that the wood gives, blank frame: the form cut by the skin, without the pieces that would fly off."""
    form = revolved(held_outline(report.prepared.outline, report.job.hold), PICTURE_SEGMENTS)
    return largest_piece(intersection_cut(report.blank.mesh, moved(form, report.job.mounting.blank_from_form)))


def _bark_of(bowl: Cut, blank: Blank) -> NDArray[np.bool_]:
    from_bark = np.zeros(len(bowl.faces), dtype=np.bool_)
    from_bark[bowl.from_first] = blank.face_kinds[bowl.faces[bowl.from_first]] == FaceKind.NATURAL
    return from_bark


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
    say("reading the blank")
    blank = read_blank(plan, say)
    say(f"building the field of {len(blank.mesh.faces)} triangles{_first_run()}")
    field = build_field(blank)
    say("looking for a bowl that fits")
    shapes = [read_profile(find_profile(name, folder)) for name in profiles]
    proposal = propose(plan, shapes, field, title=_title(plan), units=units)
    lines = spoken_blank(blank, units)
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


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoReport:
    """Where the samples went, the page of what was found, and the first sentence about each."""

    folder: Path
    page: Path
    lines: tuple[str, ...]


def demo(folder: Path, say: Say) -> DemoReport:
    """Make the samples, and check, draw and picture each of them.

    Parameters
    ----------
    folder : Path
        Made if it is missing; files of the samples in it are made anew.
    say : callable

    Returns
    -------
    DemoReport

    Raises
    ------
    OutputError
        If a file cannot be written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    say("making the scan of the burr")
    write_sample_scan(folder / SCAN_NAME)
    found = tuple(_demo_sample(folder, name, _prefixed(say, name)) for name in SAMPLES)
    page = folder / "found.html"
    write_atomically(page, found_page(found).encode())
    lines = tuple(f"{sample.title}: {sample.sentences[0]}" for sample in found)
    return DemoReport(folder=folder, page=page, lines=lines)


def _demo_sample(folder: Path, name: str, say: Say) -> Found:
    stem = name.replace(" ", "-")
    job_path, sheets = folder / f"{stem}.toml", folder / stem
    write_atomically(job_path, sample_job(name).encode())
    report = check(job_path, say)
    drawings = draw_report(report, sheets, say)
    views = f"{stem}.png", f"{stem}-alone.png"
    try:
        picture_report(report, folder / views[0], say, alone=folder / views[1])
    except KernelError as error:  # a machine that cannot render still gets its answers and its drawings
        say(f"no picture: {error}")
        views = "", ""
    found = _found(report, stem, tuple(path.relative_to(folder) for path in drawings))
    return replace(found, picture=views[0], alone=views[1])


def _found(report: CheckReport, stem: str, drawings: tuple[Path, ...]) -> Found:
    """What the demo's page shows of one sample."""
    verdict, units = report.verdict, report.job.units
    heights = verdict.rim.height
    lengths = {
        "Diameter": verdict.diameter,
        "Height": verdict.height,
        "Foot": verdict.foot,
        "Rim, lowest": float(heights.min()),
        "Rim, highest": float(heights.max()),
        "Lean": verdict.rim.lean,
        "Sway": verdict.rim.sway,
        "To spare": verdict.margin,
        "Known to within": verdict.uncertainty,
    }
    volumes = {"Blank": verdict.volumes.blank, "Bowl": verdict.volumes.bowl}
    return Found(
        title=report.job.title,
        answer=str(verdict.answer),
        sentences=(_capital(say_answer(verdict, report.job)), *(finding.text for finding in verdict.findings)),
        figures=(
            *((name, format_length(length, units)) for name, length in lengths.items()),
            *((name, format_volume(volume, units)) for name, volume in volumes.items()),
        ),
        picture="",
        drawings=tuple((path.stem.replace("-", " ").capitalize(), path.as_posix()) for path in drawings),
        job=f"{stem}.toml",
        units=units,
        rim_theta=verdict.rim.theta,
        rim_height=heights,
        rim_kinds=verdict.rim.kinds,
    )


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]


def _prefixed(say: Say, name: str) -> Say:
    return lambda line: say(f"{name}: {line}")
