"""The commands about the timber itself: what is known of it, how it dries."""

import json
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON, JOB, NumberRange, progress, refuse
from formmaker.files.dry_json import drying_to_json
from formmaker.files.job_dry import DRIEST, WETTEST, read_climate
from formmaker.files.job_file import read_job
from formmaker.files.spoken import wrapped
from formmaker.files.spoken_dry import say_climate, spoken_dry
from formmaker.files.spoken_timber import say_unknown, spoken_matches
from formmaker.units import Units

UNITS = click.option(
    "--units",
    type=click.Choice([unit.value for unit in Units]),
    default=Units.MM.value,
    help="mm (with kg) or in (with lb); mm if not said.",
)


@click.command()
@click.argument("name", nargs=-1, metavar="[NAME]")
@UNITS
@click.pass_context
def timber(ctx: click.Context, name: tuple[str, ...], units: str) -> None:
    """Say what is known of a timber: weight, shrinkage, strength.

    A part of a name finds all that have it; without a name the whole table is told.
    """
    asked = " ".join(name)
    lines = spoken_matches(asked, Units(units))
    if not lines:
        refuse(ctx, say_unknown(asked))
    for line in wrapped(lines):
        click.echo(line)


@click.command()
@JOB
@click.option("--to", type=NumberRange(DRIEST, WETTEST), help="Moisture to dry to, % of the dry weight.")
@click.option("--climate", metavar="T,H", help="Air to dry in, such as 20C,50% or 68F,50%.")
@AS_JSON
@click.pass_context
def dry(ctx: click.Context, job: Path, to: float | None, climate: str | None, as_json: bool) -> None:
    """Say how the bowl dries: its oval, its rough-out, its weight."""
    if to is not None and climate is not None:
        refuse(ctx, "--to and --climate are both given; leave one of the two out")
    air = read_climate(climate) if climate is not None else None
    read_job(job)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.dry(job, say, to=to, climate=air)
    if as_json:
        click.echo(json.dumps(drying_to_json(report.drying, report.climate), allow_nan=False))
        return
    for line in wrapped((*say_climate(report.climate), *spoken_dry(report.drying, report.job))):
        click.echo(line)
