"""The same question put to distance field, mesh boolean and solid kernel."""

from dataclasses import dataclass
from pathlib import Path

from formmaker.engine.amounts import field_figures
from formmaker.model.form import Edge
from formmaker.model.proof import Proof
from formmaker.model.verdict import Verdict
from formmaker.pipeline.checking import Say, check


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
