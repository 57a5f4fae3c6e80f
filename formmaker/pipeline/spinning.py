"""What is seen while the blank spins: one ring, or the whole turn and its picture."""

from dataclasses import dataclass
from pathlib import Path

from formmaker.engine.preparation import prepare_form
from formmaker.engine.spin import ring_at, spin_map
from formmaker.files.job_file import read_job
from formmaker.model.job import Job
from formmaker.model.spin import Ring, SpinMap
from formmaker.pipeline.checking import Say, placed, wood_of
from formmaker.sources.blank import read_blank


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RingReport:
    """A job, a ring in its blank, and how far the skin may be off, mm."""

    job: Job
    ring: Ring
    uncertainty: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TurnReport:
    """A job, its whole turn, and how far the skin may be off, mm."""

    job: Job
    seen: SpinMap
    uncertainty: float


def spin_ring(job_path: Path, radius: float, height: float, say: Say) -> RingReport:
    """Wood and air on one ring of a job's blank; radius and height in the form frame, mm."""
    job = read_job(job_path)
    say("reading the blank")
    blank = read_blank(job.plan, say)
    job = placed(job, blank)
    ring = ring_at(blank.mesh, job.mounting.blank_from_form, radius, height)
    return RingReport(job=job, ring=ring, uncertainty=blank.uncertainty)


def spin_all(job_path: Path, say: Say, *, target: Path | None = None) -> TurnReport:
    """The whole turn of a job's blank.

    Parameters
    ----------
    job_path : Path
    say : callable
    target : Path, optional
        Where to write the picture, SVG or PNG.

    Returns
    -------
    TurnReport

    Raises
    ------
    OutputError
        If the picture cannot be written.
    """
    job = read_job(job_path)
    prepared = prepare_form(job.form, job.hold)
    wood = wood_of(job.plan, say)
    job = placed(job, wood.blank)
    say("turning it once round")
    seen = spin_map(wood.field, prepared.section.outer, job.mounting.blank_from_form)
    if target is not None:
        say("picturing")
        from formmaker.pictures.turn_map import turn_map  # noqa: PLC0415  # late: matplotlib

        turn_map(seen, job, target)
    return TurnReport(job=job, seen=seen, uncertainty=wood.blank.uncertainty)
