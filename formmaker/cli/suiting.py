"""The command that compares forms: which of them the wood offers, and at what size."""

import json
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON, JOB, NOT_FITTING, progress
from formmaker.files.job_file import read_job
from formmaker.files.profile_file import profile_names
from formmaker.files.spoken import spoken
from formmaker.files.spoken_suit import spoken_suit
from formmaker.files.suit_json import suit_to_json
from formmaker.model.suit import OWN, Aim, Offer


@click.command()
@JOB
@AS_JSON
@click.option("--take", metavar="NAME", help="Write this form's size into the job; `own` for the job's own form.")
@click.option(
    "--aim",
    type=click.Choice([aim.value for aim in Aim]),
    default=Aim.WIDEST.value,
    help="With --take: its widest size or its fullest; widest if not said.",
)
@click.option("--sought", is_flag=True, help="On the mounting that seek finds; --take then writes it too.")
@click.pass_context
def suit(ctx: click.Context, job: Path, as_json: bool, take: str | None, aim: str, sought: bool) -> None:
    """List what each form would give on this axis, the best first.

    The job's own form and every profile, at the largest size that comes out. Leaves with 0 where one does, 1 where
    none does, 2 where the input is bad.
    """
    read_job(job)
    if take is not None and take not in {OWN, *profile_names()}:
        names = ", ".join([OWN, *profile_names()])
        raise click.BadParameter(f"{take!r} is no form; choose one of {names}", param_hint="--take")
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.suit(job, say, take=take or "", aim=Aim(aim), sought=sought)
    if as_json:
        click.echo(json.dumps(suit_to_json(report.suit), allow_nan=False))
    else:
        click.echo(spoken_suit(report.suit, report.job))
        if report.taken is not None:
            click.echo(f"\nWritten into {job}.\n{spoken(report.taken.verdict, report.job)}")
    if not any(isinstance(form.at(which), Offer) for form in report.suit.forms for which in Aim):
        ctx.exit(NOT_FITTING)
