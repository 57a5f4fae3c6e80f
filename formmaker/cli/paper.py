"""The commands that print for the shop: draw and sheets; and what goes to other programs: solids."""

from collections.abc import Sequence
from pathlib import Path

import click

from formmaker.cli.frame import JOB, TARGET, progress
from formmaker.drawing.papers import paper_named
from formmaker.errors import MeasureError
from formmaker.files.job_faults import shown
from formmaker.files.job_file import read_job
from formmaker.files.targets import check_folder
from formmaker.model.job import Job
from formmaker.sources.tables import length_of
from formmaker.units import format_length

WIDEST_PENCIL = 10.0  # mm; a carpenter's pencil takes half of it

FOLDER = click.option(
    "-o", "--output", "folder", type=TARGET, default=Path("exports"), help="Folder; exports/ if not said."
)


@click.command()
@JOB
@FOLDER
def draw(job: Path, folder: Path) -> None:
    """Draw templates, section and rim strip, each on one large sheet."""
    read_job(job)
    check_folder(folder)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        paths = pipeline.draw(job, folder, say)
    for path in paths:
        click.echo(str(path))


@click.command()
@JOB
@FOLDER
@click.option("--paper", default="A4", help="A4, A3, letter, tabloid, ... or roll:WIDTH; A4 if not said.")
@click.option("--only", "only", multiple=True, metavar="NAME", help="This sheet, or all whose names begin so.")
@click.option("--format", "formats", default="svg,pdf,dxf", help="One or more of svg,pdf,dxf; all if not said.")
@click.option("--to", "other", type=TARGET, metavar="JOB2", help="Show how the centres go to another job's mounting.")
@click.option("--pencil", metavar="LENGTH", help="Set the inside template in, so that a pencil round it is true.")
def sheets(  # click passes one argument for every option
    job: Path, folder: Path, paper: str, only: tuple[str, ...], formats: str, other: Path | None, pencil: str | None
) -> None:
    """Write all sheets for the shop, full size, on your paper."""
    wish = read_job(job)
    chosen_paper = paper_named(paper, wish.units)
    set_in = _pencil(pencil, wish)
    check_folder(folder)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load
    from formmaker.drawing.sheets import SHEETS, Format, left_over  # noqa: PLC0415

    names = _chosen(only, tuple(SHEETS), "--only")
    kinds = [Format(word) for word in _listed(formats, tuple(Format), "--format")]
    target = None if other is None else pipeline.to_job(other, wish.plan)
    with progress() as say:
        paths = pipeline.sheets(
            job, folder, say, paper=chosen_paper, names=names, formats=kinds, target=target, pencil=set_in
        )
    for path in paths:
        click.echo(str(path))
    older = left_over(paths, names)
    if older:
        listed = ", ".join(path.name for path in older)
        click.echo(f"Of an earlier run, and no part of these sheets any more: {listed}. Take them away.", err=True)


@click.command()
@JOB
@FOLDER
def solids(job: Path, folder: Path) -> None:
    """Write bowl, blank and glue block as STEP, STL and GLB."""
    read_job(job)
    check_folder(folder)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        paths = pipeline.solids(job, folder, say)
    for path in paths:
        click.echo(str(path))


def _pencil(text: str | None, job: Job) -> float:
    """What the pencil takes, mm; 0 where none is given."""
    if text is None:
        return 0.0
    length = length_of(text, job.units)
    if not 0.0 < length <= WIDEST_PENCIL:
        most = format_length(WIDEST_PENCIL, job.units)
        raise MeasureError(f"--pencil {format_length(length, job.units)}; give more than 0 and at most {most}")
    return length


def _chosen(words: Sequence[str], names: Sequence[str], option: str) -> tuple[str, ...]:
    """All names that begin with one of the words, in their own order; all where there is no word."""
    for word in words:
        if not word.strip() or not any(name.startswith(word.strip()) for name in names):
            raise click.BadParameter(f"{shown(word)} is no sheet; there are {', '.join(names)}", param_hint=option)
    return tuple(name for name in names if not words or any(name.startswith(word.strip()) for word in words))


def _listed(text: str, words: Sequence[str], option: str) -> tuple[str, ...]:
    """Words separated by commas, each of them one of some words."""
    found = tuple(dict.fromkeys(word.strip().lower() for word in text.split(",")))
    for word in found:
        if word not in words:
            raise click.BadParameter(f"{shown(word)}: give one or more of {','.join(words)}", param_hint=option)
    return found
