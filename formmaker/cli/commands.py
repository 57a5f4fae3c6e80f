"""The command ``formmaker`` and the list of what it can be told to do, in the order its help tells them."""

import io
import sys

import click

from formmaker.cli.bowl import check, picture, prove
from formmaker.cli.cutting import cut
from formmaker.cli.desk import desk
from formmaker.cli.frame import CommandGroup
from formmaker.cli.holding import hold
from formmaker.cli.mounting import balance
from formmaker.cli.moving import move
from formmaker.cli.paper import draw, sheets, solids
from formmaker.cli.readings import centre, level
from formmaker.cli.seeking import seek
from formmaker.cli.spinning import spin
from formmaker.cli.starting import demo, new
from formmaker.cli.suiting import suit
from formmaker.cli.wood import dry, timber


@click.group(cls=CommandGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="formmaker")
def main() -> None:
    """Plan a turned bowl inside one irregular piece of wood.

    A job file says what the wood is, the bowl you wish for and where the turning axis goes. `formmaker new` writes
    one for a scan, for readings at the lathe or for a described shape.
    """
    for stream in (sys.stdout, sys.stderr):
        # A title may hold letters that this terminal cannot show; that must not cost the answer.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


COMMANDS = (
    new,
    check,
    prove,
    draw,
    sheets,
    solids,
    picture,
    suit,
    seek,
    spin,
    balance,
    move,
    centre,
    level,
    cut,
    hold,
    dry,
    timber,
    desk,
    demo,
)

for command in COMMANDS:
    main.add_command(command)
