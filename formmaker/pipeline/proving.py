"""The same question put to distance field, mesh boolean and solid kernel."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from formmaker.engine.amounts import field_figures
from formmaker.model.form import Edge
from formmaker.model.hold import HoldKind
from formmaker.model.proof import Proof
from formmaker.model.verdict import Verdict
from formmaker.pipeline.checking import CheckReport, Say, check

if TYPE_CHECKING:  # cadquery takes seconds to load
    from formmaker.solids.proof import Proved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProofReport:
    """The verdict beside the proof."""

    verdict: Verdict
    proof: Proof


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
    proved = _proved(report, say)
    from formmaker.solids.export import write_step, write_stl  # noqa: PLC0415  # late: cadquery takes seconds to load

    if step is not None:
        write_step(proved.bowl_solid, step)
    if stl is not None:
        write_stl(proved.bowl_mesh, stl)
    return ProofReport(verdict=report.verdict, proof=proved.proof)


def _proved(report: CheckReport, say: Say) -> "Proved":
    say("loading the solid kernel")
    from formmaker.solids import proof  # noqa: PLC0415  # late: cadquery takes seconds to load

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
    return proof.prove(question, say=say)


def solids(job_path: Path, folder: Path, say: Say) -> tuple[Path, ...]:
    """Write bowl, blank as it stands and glue block as STEP and STL, bowl and blank as GLB too.

    Parameters
    ----------
    job_path : Path
    folder : Path
        Made if it is missing.
    say : callable

    Returns
    -------
    tuple of Path
        All bodies in the form frame, so that they lie in each other as in the wood. A glue block only where the job
        has one.

    Raises
    ------
    KernelError
        If the solid kernel gives no sound result.
    OutputError
        If a file cannot be written.
    """
    report = check(job_path, say)
    proved = _proved(report, say)
    from formmaker.solids.bodies import blank_body, block_body  # noqa: PLC0415  # late: cadquery takes seconds to load
    from formmaker.solids.export import write_glb, write_step, write_stl  # noqa: PLC0415

    job = report.job
    say("solid kernel: the blank as it stands")
    bodies = {
        "bowl": (proved.bowl_solid, proved.bowl_mesh),
        "blank": blank_body(report.blank, job.plan.shape, job.mounting.blank_from_form),
    }
    if job.hold.kind is HoldKind.GLUE_BLOCK:
        bodies["glue-block"] = block_body(job.hold)
    paths: list[Path] = []
    for name, (solid, mesh) in bodies.items():
        write_step(solid, folder / f"{name}.step")
        write_stl(mesh, folder / f"{name}.stl")
        write_glb(mesh, folder / f"{name}.glb")
        paths.extend(folder / f"{name}.{ending}" for ending in ("step", "stl", "glb"))
    return tuple(paths)
