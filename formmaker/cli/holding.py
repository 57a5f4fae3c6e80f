"""The command about what holds the bowl."""

import json
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON, JOB, NOT_FITTING, NumberRange, progress, refuse
from formmaker.files.hold_json import holding_to_json
from formmaker.files.job_faults import UnfitError
from formmaker.files.job_file import read_job
from formmaker.files.job_keys import force_reader
from formmaker.files.job_lathe import FASTEST
from formmaker.files.spoken_hold import spoken_hold


@click.command()
@JOB
@click.option("--rpm", type=NumberRange(1.0, FASTEST), help="Speed to reckon its unbalance at.")
@click.option("--cut-force", metavar="FORCE", help="Force of a cut at the rim, such as 150, 150N or 30lbf.")
@AS_JSON
@click.pass_context
def hold(ctx: click.Context, job: Path, rpm: float | None, cut_force: str | None, as_json: bool) -> None:
    """Say how well the bowl is held, and what speaks against it.

    Tenon, recess or glue block beside the bowl, the chuck, the wood it stands in, and what it has to bear. The exit
    code is 0 where nothing that hinders was found, 1 where something was.
    """
    units = read_job(job).units
    try:
        cut = None if cut_force is None else force_reader(units)(_number_or_text(cut_force))
    except UnfitError as unfit:
        refuse(ctx, f"--cut-force {cut_force!r}: expected {unfit.expected}")
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.hold(job, say, rpm=rpm, cut=cut)
    if as_json:
        click.echo(json.dumps(holding_to_json(report.holding, report.job), allow_nan=False))
    else:
        click.echo(spoken_hold(report.holding, report.job))
    if report.holding.hindrances:
        ctx.exit(NOT_FITTING)


def _number_or_text(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text
