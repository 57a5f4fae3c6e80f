"""The commands that begin: a new job for a piece of wood, and the demo."""

from pathlib import Path

import click

from formmaker.cli.frame import TARGET, progress
from formmaker.files.job_blank import blank_from_words
from formmaker.files.job_faults import shown
from formmaker.files.targets import check_folder
from formmaker.model.shapes import SHAPES
from formmaker.units import MM_PER_UNIT, Units


@click.command()
@click.argument("folder", type=TARGET, metavar="DIR")
@click.option("--scan", type=TARGET, help="The wood as a scan: STL, OBJ, PLY, OFF, GLB or 3MF.")
@click.option("--unit", type=click.Choice(tuple(MM_PER_UNIT)), help="The unit of the scan's figures.")
@click.option("--readings", type=TARGET, help="The wood as readings at the lathe, a CSV file.")
@click.option("--index-count", type=click.IntRange(min=2), help="Index positions in one turn.")
@click.option("--shape", type=click.Choice(tuple(SHAPES)), help="The wood as a described shape.")
@click.option("--size", "sizes", multiple=True, metavar="NAME=LENGTH", help="A size of the shape; once for each.")
@click.option(
    "--units",
    type=click.Choice([unit.value for unit in Units]),
    default=Units.MM.value,
    help="Unit of the job file; mm if not said.",
)
@click.option("--wood", help='The timber, such as "elm, American".')
@click.option("--moisture", help="green, or a percentage of the dry weight.")
def new(folder: Path, sizes: tuple[str, ...], units: str, **words: object) -> None:
    """Look at a piece of wood and write a job file for it."""
    content = {_KEYS.get(key, key): _plain(value) for key, value in words.items() if value is not None}
    if sizes:
        content["size"] = _named_sizes(sizes)
    plan = blank_from_words(content, Units(units), Path())
    check_folder(folder)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.new(folder, plan, Units(units), say)
    for line in (*report.lines, f"Job file: {report.job_path}"):
        click.echo(line)


@click.command()
@click.option(
    "-o", "--output", "folder", type=TARGET, default=Path("exports", "demo"), help="exports/demo if not said."
)
def demo(folder: Path) -> None:
    """Check, draw and picture three samples of our own."""
    check_folder(folder)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.demo(folder, say)
    for line in (*report.lines, f"Page: {report.page}"):
        click.echo(line)


_KEYS = {"unit": "scan_unit"}


def _plain(value: object) -> object:
    """An option's text as a job file would have it: a number where it is one."""
    if isinstance(value, Path):
        return str(value)
    if not isinstance(value, str):
        return value
    try:
        return float(value)
    except ValueError:
        return value


def _named_sizes(texts: tuple[str, ...]) -> dict[str, object]:
    sizes: dict[str, object] = {}
    for text in texts:
        name, sign, size = (part.strip() for part in text.partition("="))
        if not sign:
            way_out = "write it as NAME=LENGTH, such as radius=120"
            raise click.BadParameter(f"{shown(text)}: {way_out}", param_hint="--size")
        if name in sizes:
            raise click.BadParameter(f"{shown(name)} is given twice", param_hint="--size")
        sizes[name] = _plain(size)
    return sizes
