"""The command about cuts as they happen: one more, or the last one taken back."""

from collections.abc import Mapping
from pathlib import Path

import click

from formmaker.cli.frame import JOB, progress
from formmaker.files.cut_words import saw_entry, turn_entry
from formmaker.files.job_file import read_job

PLACE = "X,Y,Z"


@click.group()
@JOB
@click.pass_context
def cut(ctx: click.Context, job: Path) -> None:
    """Take a cut off the blank as it stands, or take the last one back."""
    ctx.obj = job


@cut.command()
@click.option("--point", required=True, metavar=PLACE, help="A place on the plane, in the blank's own frame.")
@click.option("--normal", required=True, metavar=PLACE, help="The direction away from what stays.")
@click.pass_obj
def saw(job: Path, point: str, normal: str) -> None:
    """Saw off what lies beyond a plane."""
    read_job(job)
    _make(job, saw_entry(point, normal))


@cut.command()
@click.option(
    "--profile",
    required=True,
    metavar='"Z:R Z:R ..."',
    help="Radii by heights from the foot centre, low to high; with blanks inside, separated by commas.",
)
@click.option("--foot-centre", metavar=PLACE, help="The axis turned about; the job's present one if not said.")
@click.option("--rim-centre", metavar=PLACE, help="Its other end.")
@click.pass_obj
def turn(job: Path, profile: str, foot_centre: str | None, rim_centre: str | None) -> None:
    """Turn the blank down to a profile about an axis."""
    _make(job, turn_entry(read_job(job), profile, foot_centre=foot_centre, rim_centre=rim_centre))


@cut.command()
@click.pass_obj
def undo(job: Path) -> None:
    """Take the last cut out of the job."""
    count = len(read_job(job).plan.cuts)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    left = len(pipeline.uncut(job).plan.cuts)
    click.echo(f"Cut {count} is taken back; the job has {left or 'none'} left.")


def _make(job: Path, entry: Mapping[str, object]) -> None:
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        outcome = pipeline.cut(job, entry, say)
    for line in outcome.lines:
        click.echo(line)
