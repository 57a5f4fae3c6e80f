"""The commands about the wood on its mounting: balance."""

import json
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON, JOB, progress
from formmaker.files.balance_json import balance_to_json
from formmaker.files.job_file import read_job
from formmaker.files.spoken_balance import spoken_balance
from formmaker.model.ends import End

HELD = click.option(
    "--hold-end",
    type=click.Choice([end.value for end in End]),
    help="The centre that stays where it is when the blank is balanced.",
)


@click.command()
@JOB
@HELD
@AS_JSON
def balance(job: Path, hold_end: str | None, as_json: bool) -> None:
    """Say how the blank is balanced, and at what speed to begin.

    Weight, centre of mass, out-of-balance force, swing, a speed to begin with, and the nearest balanced mounting.
    """
    read_job(job)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.balance(job, say, held=End(hold_end) if hold_end else None)
    if as_json:
        click.echo(json.dumps(balance_to_json(report.balance, report.blank, report.job.units), allow_nan=False))
    else:
        click.echo(spoken_balance(report.balance, report.job, report.blank))
