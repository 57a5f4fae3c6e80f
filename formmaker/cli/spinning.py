"""The command about what is seen while the blank spins."""

import json
from collections.abc import Callable
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON, JOB, TARGET, progress, sources_of
from formmaker.errors import MeasureError
from formmaker.files.cut_words import plain_value
from formmaker.files.job_faults import UnfitError, shown
from formmaker.files.job_file import read_job
from formmaker.files.job_keys import length_reader, size_reader
from formmaker.files.spoken_spin import ring_to_json, spoken_ring, spoken_turn, turn_to_json
from formmaker.files.targets import check_target
from formmaker.model.job import Job


@click.command()
@JOB
@click.option("--radius", metavar="LENGTH", help="Of the ring, from the axis.")
@click.option("--height", metavar="LENGTH", help="Of the ring, above the foot.")
@click.option("--all", "whole", is_flag=True, help="The whole turn: core, ghost, air, and the wood at the curve.")
@click.option("-o", "--output", "target", type=TARGET, help="With --all: the picture, an SVG or PNG file.")
@AS_JSON
def spin(job: Path, radius: str | None, height: str | None, whole: bool, target: Path | None, as_json: bool) -> None:
    """Tell wood from air on the spinning blank."""
    wish = read_job(job)
    if whole == (radius is not None or height is not None):
        raise click.UsageError("give either --radius and --height, or --all")
    if whole:
        _whole(job, wish, target, as_json=as_json)
        return
    if target is not None:
        raise click.UsageError("-o goes with --all: a single ring is told in words")
    _ring(job, wish, (radius, height), as_json=as_json)


def _ring(path: Path, wish: Job, place: tuple[str | None, str | None], *, as_json: bool) -> None:
    radius, height = place
    if radius is None or height is None:
        raise click.UsageError("a ring needs both --radius and --height")
    size = _length("--radius", radius, size_reader(wish.units))
    level = _length("--height", height, length_reader(wish.units))
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.spin_ring(path, size, level, say)
    if as_json:
        click.echo(json.dumps({"ring": ring_to_json(report.ring, report.job, report.uncertainty)}, allow_nan=False))
    else:
        click.echo(spoken_ring(report.ring, report.job, report.uncertainty))


def _length(option: str, text: str, read: Callable[[object], float]) -> float:
    value = plain_value(text)
    try:
        return read(value)
    except UnfitError as unfit:
        raise MeasureError(f"{option} = {shown(value)}: expected {unfit.expected}") from unfit


def _whole(path: Path, wish: Job, target: Path | None, *, as_json: bool) -> None:
    if target is not None:
        check_target(target, endings=(".svg", ".png"), inputs=sources_of(path, wish))
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.spin_all(path, say, target=target)
    if as_json:
        click.echo(json.dumps({"all": turn_to_json(report.seen, report.job, report.uncertainty)}, allow_nan=False))
        return
    click.echo(spoken_turn(report.seen, report.job, report.uncertainty))
    if target is not None:
        click.echo(str(target))
