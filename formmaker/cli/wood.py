"""The commands about the timber itself: what is known of it, how it dries."""

import click

from formmaker.cli.frame import refuse
from formmaker.files.spoken import wrapped
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
