"""The commands that need no scan: centre and level, from a few readings at the lathe.

They go from the readings to the answer by themselves: no wood is loaded, so the answer comes at once.
"""

import json
from collections.abc import Callable
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON
from formmaker.engine.centring import Held
from formmaker.engine.centring import centre as centre_on
from formmaker.engine.levelling import level as level_by
from formmaker.errors import MeasureError
from formmaker.files.recentring_json import recentring_to_json
from formmaker.files.spoken_recentring import spoken_recentring
from formmaker.files.spoken_steps import SIXTEENTHS, THIRTY_SECONDS, Tongue
from formmaker.model.ends import End
from formmaker.model.recentring import ReadingKind, Recentring
from formmaker.sources.few_readings import FewReadings, ReadingRules, is_file, pairs_of, read_few
from formmaker.sources.tables import length_of
from formmaker.units import Units

MOST_POSITIONS = 720

PARTS = click.option(
    "--parts",
    type=click.Choice((str(SIXTEENTHS), str(THIRTY_SECONDS))),
    default=str(THIRTY_SECONDS),
    help="Finest part of the inch that is marked; 32 if not said.",
)


def reading_options(command: Callable[..., None]) -> Callable[..., None]:
    """Options that both commands take."""
    for option in reversed(
        (
            click.argument("readings", nargs=-1, required=True, metavar="READINGS"),
            click.option(
                "--unit",
                type=click.Choice([unit.value for unit in Units]),
                default=Units.MM.value,
                help="Of plain numbers, and of the answer; mm if not said. 3/8in or 12mm says its own.",
            ),
            click.option(
                "--index-count", type=click.IntRange(2, MOST_POSITIONS), help="Angles are index positions of so many."
            ),
            click.option(
                "--at-radius", metavar="LENGTH", help="How far from the axis the rest stood, or a height was read."
            ),
            PARTS,
            AS_JSON,
        )
    ):
        command = option(command)
    return command


@click.command()
@reading_options
@click.option("--radius", "as_radii", is_flag=True, help="Pairs are radii, not gaps (a table says so itself).")
@click.option(
    "--length", metavar="LENGTH", help="Between the two centre marks; needed for two stations or --hold-end."
)
@click.option(
    "--hold-end",
    "--hold",
    "hold",
    type=click.Choice([end.value for end in End]),
    help="This centre stays; only the other moves.",
)
def centre(  # noqa: PLR0913, PLR0917  # click passes one argument for every option
    readings: tuple[str, ...],
    unit: str,
    index_count: int | None,
    at_radius: str | None,
    parts: str,
    as_json: bool,
    as_radii: bool,
    length: str | None,
    hold: str | None,
) -> None:
    """Say how far to shift the centres, from gaps or radii.

    Lock the index, read the gap between the tool rest and the wood, turn on, read again: from two opposite readings
    up. READINGS is a CSV table with the columns index_deg (or index, with --index-count), gap or radius, and station
    where there are several; at_radius is how far from the axis the rest stood. Or pairs ANGLE:GAP, and @STATION:

    \b
      formmaker centre 0:3/4 180:0 --unit in
      formmaker centre 0:9@40 180:3@40 0:8@200 180:4@200 --length 240

    Angles are on the wood: 90 is the place that stood at the rest when 90 was read. Stations are counted from the
    centre mark of the foot toward that of the rim. The centre mark goes on the wood toward the small gap, by half of
    what two opposite gaps differ. At one station both ends move alike, unless one is held.
    """  # noqa: D301  # the letter itself keeps click from filling the lines
    kinds = (ReadingKind.RADIUS, ReadingKind.GAP) if as_radii else (ReadingKind.GAP, ReadingKind.RADIUS)
    units = Units(unit)
    rules = ReadingRules(
        kinds=kinds, units=units, index_count=index_count or 0, at_radius=_length(at_radius, "--at-radius", units)
    )
    few = _read(readings, rules)
    held = Held(length=_length(length, "--length", units), end=End(hold) if hold else None)
    found = centre_on(few.readings, few.kind, held, units)
    _tell(found, Tongue(units=units, parts=int(parts), index_count=index_count or 0), as_json)


@click.command()
@reading_options
@click.option("--length", metavar="LENGTH", required=True, help="Between the two centre marks.")
@click.option(
    "--hold-end",
    "--hold",
    "hold",
    type=click.Choice([end.value for end in End]),
    default=End.RIM.value,
    help="This centre stays, the other moves; rim if not said.",
)
def level(  # noqa: PLR0913, PLR0917  # click passes one argument for every option
    readings: tuple[str, ...],
    unit: str,
    index_count: int | None,
    at_radius: str | None,
    parts: str,
    as_json: bool,
    length: str,
    hold: str,
) -> None:
    """Say how to tilt the axis so that the rim's points are level.

    Measure along the axis how high points of the rim stand, from two opposite ones up. Larger is farther from the
    foot; from which mark it is counted does not matter. READINGS is a CSV table with the columns index_deg (or index,
    with --index-count), height, and at_radius (how far from the axis); or pairs ANGLE:HEIGHT with --at-radius:

    \b
      formmaker level 0:62 180:50 --at-radius 100 --length 150

    With the rim's centre held, the foot's mark goes on the wood toward the high side; with the foot's held, the rim's
    goes toward the low side. The shift is measured square to the old axis.
    """  # noqa: D301  # the letter itself keeps click from filling the lines
    units = Units(unit)
    rules = ReadingRules(
        kinds=(ReadingKind.HEIGHT,),
        units=units,
        index_count=index_count or 0,
        at_radius=_length(at_radius, "--at-radius", units),
    )
    few = _read(readings, rules)
    found = level_by(few.readings, length=_length(length, "--length", units) or 0.0, held=End(hold), units=units)
    _tell(found, Tongue(units=units, parts=int(parts), index_count=index_count or 0), as_json)


def _read(texts: tuple[str, ...], rules: ReadingRules) -> FewReadings:
    """A table where one name is given that is no pair, pairs otherwise."""
    if len(texts) == 1 and (":" not in texts[0] or is_file(Path(texts[0]))):
        return read_few(Path(texts[0]), rules)
    return pairs_of(texts, rules)


def _length(text: str | None, option: str, units: Units) -> float | None:
    """A length above 0 of the command line, mm."""
    if text is None:
        return None
    try:
        size = length_of(text.strip(), units)
    except MeasureError as error:
        raise click.BadParameter(str(error), param_hint=option) from error
    if not 0.0 < size <= 10_000.0:
        raise click.BadParameter(f"{text}: give a length above 0, at most 10 m", param_hint=option)
    return size


def _tell(found: Recentring, tongue: Tongue, as_json: bool) -> None:
    if as_json:
        click.echo(json.dumps(recentring_to_json(found), allow_nan=False))
    else:
        click.echo(spoken_recentring(found, tongue))
