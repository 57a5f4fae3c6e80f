"""The commands about the bowl in its wood: check, prove, picture."""

import json
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON, JOB, NOT_FITTING, TARGET, leave_with, progress, sources_of
from formmaker.files.job_file import read_job
from formmaker.files.spoken import spoken
from formmaker.files.spoken_proof import spoken_proof
from formmaker.files.targets import check_target
from formmaker.files.verdict_json import verdict_to_json
from formmaker.tolerances import DEFAULT


@click.command()
@JOB
@AS_JSON
@click.pass_context
def check(ctx: click.Context, job: Path, as_json: bool) -> None:
    """Say whether the bowl comes out, and where its rim runs.

    Leaves with 0 where it fits, 1 where it is tight or misses, 2 where the input is bad.
    """
    read_job(job)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.check(job, say)
    if as_json:
        click.echo(json.dumps(verdict_to_json(report.verdict), allow_nan=False))
    else:
        click.echo(spoken(report.verdict, report.job))
    leave_with(ctx, report.verdict.answer)


@click.command()
@JOB
@click.option("--step", type=TARGET, help="Write the finished bowl as a STEP file.")
@click.option("--stl", type=TARGET, help="Write the finished bowl as an STL file.")
@click.pass_context
def prove(ctx: click.Context, job: Path, step: Path | None, stl: Path | None) -> None:
    """Ask the solid kernel too; lay the answers side by side.

    Leaves with 0 where it fits and no method finds wood missing, with 1 otherwise, with 2 where the input is bad.
    """
    wish = read_job(job)
    inputs = sources_of(job, wish)
    if step is not None:
        check_target(step, endings=(".step", ".stp"), inputs=inputs)
    if stl is not None:
        check_target(stl, endings=(".stl",), inputs=inputs)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.prove(job, say, step=step, stl=stl)
    click.echo(spoken_proof(report.proof, wish))
    if report.proof.missed_by(DEFAULT.min_loose_volume):
        ctx.exit(NOT_FITTING)
    leave_with(ctx, report.verdict.answer)


@click.command()
@JOB
@click.option("-o", "--output", "target", type=TARGET, required=True, help="The picture, a PNG file.")
def picture(job: Path, target: Path) -> None:
    """Show the bowl as it would come out, inside its wood."""
    check_target(target, endings=(".png",), inputs=sources_of(job, read_job(job)))
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        path = pipeline.picture(job, target, say)
    click.echo(str(path))
