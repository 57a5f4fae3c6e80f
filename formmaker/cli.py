"""The command line: paths and options in, lines or JSON out, an exit code.

It alone prints and exits: 0 fits, 1 tight or misses, 2 bad input, 130 stopped by Ctrl-C. Answers go to the standard
output, progress and refusals to the standard error. The work is done in ``pipeline``, which is imported only when
the job file has been found sound: help and refusals come at once, at the price of reading the file twice.
"""

import io
import json
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

import click

from formmaker.errors import FormmakerError
from formmaker.files.job_blank import blank_from_words
from formmaker.files.job_faults import shown
from formmaker.files.job_file import read_job
from formmaker.files.spoken import spoken
from formmaker.files.spoken_proof import spoken_proof
from formmaker.files.targets import check_folder, check_target
from formmaker.files.verdict_json import verdict_to_json
from formmaker.model.job import Job
from formmaker.model.shapes import SHAPES
from formmaker.model.verdict import Answer
from formmaker.tolerances import DEFAULT
from formmaker.units import MM_PER_UNIT, Units

NOT_FITTING = 1
BAD_INPUT = 2
STOPPED = 130  # 128 + SIGINT, as a shell counts it

JOB = click.argument("job", type=click.Path(path_type=Path), metavar="JOB")
TARGET = click.Path(path_type=Path)


class CommandGroup(click.Group):
    """Commands whose refusals are lines on the standard error and an exit code, never a traceback."""

    def invoke(self, ctx: click.Context) -> object:
        """Run the command that was asked for."""
        try:
            return super().invoke(ctx)
        except FormmakerError as error:
            refuse(ctx, str(error))
        except MemoryError:
            refuse(ctx, "the memory of this computer is not enough for this; give a scan with fewer triangles")
        except KeyboardInterrupt:
            click.echo("stopped", err=True)
            ctx.exit(STOPPED)


def refuse(ctx: click.Context, message: str) -> NoReturn:
    """Print why there is no answer, and leave."""
    click.echo(message, err=True)
    ctx.exit(BAD_INPUT)


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


@main.command()
@JOB
@click.option("--json", "as_json", is_flag=True, help="Print the whole answer as one JSON object.")
@click.pass_context
def check(ctx: click.Context, job: Path, as_json: bool) -> None:
    """Say whether the bowl comes out, and where its rim runs.

    Leaves with 0 where it fits, 1 where it is tight or misses, 2 where the input is bad.
    """
    read_job(job)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.check(job, say)
    if as_json:
        click.echo(json.dumps(verdict_to_json(report.verdict), allow_nan=False))
    else:
        click.echo(spoken(report.verdict, report.job))
    leave_with(ctx, report.verdict.answer)


@main.command()
@JOB
@click.option("--step", type=TARGET, help="Write the finished bowl as a STEP file.")
@click.option("--stl", type=TARGET, help="Write the finished bowl as an STL file.")
@click.pass_context
def prove(ctx: click.Context, job: Path, step: Path | None, stl: Path | None) -> None:
    """Ask the solid kernel too; lay the answers side by side.

    Leaves with 0 where it fits and no method finds wood missing, with 1 otherwise, with 2 where the input is bad.
    """
    wish = read_job(job)
    inputs = sources_of(job, wish)
    if step is not None:
        check_target(step, endings=(".step", ".stp"), inputs=inputs)
    if stl is not None:
        check_target(stl, endings=(".stl",), inputs=inputs)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        report = pipeline.prove(job, say, step=step, stl=stl)
    click.echo(spoken_proof(report.proof, wish))
    if report.proof.missed_by(DEFAULT.min_loose_volume):
        ctx.exit(NOT_FITTING)
    leave_with(ctx, report.verdict.answer)


@main.command()
@JOB
@click.option("-o", "--output", "folder", type=TARGET, default=Path("exports"), help="Folder; exports/ if not said.")
def draw(job: Path, folder: Path) -> None:
    """Draw templates, section and rim line at full size."""
    read_job(job)
    check_folder(folder)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        paths = pipeline.draw(job, folder, say)
    for path in paths:
        click.echo(str(path))


@main.command()
@JOB
@click.option("-o", "--output", "target", type=TARGET, required=True, help="The picture, a PNG file.")
def picture(job: Path, target: Path) -> None:
    """Show the bowl as it would come out, inside its wood."""
    check_target(target, endings=(".png",), inputs=sources_of(job, read_job(job)))
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with progress() as say:
        path = pipeline.picture(job, target, say)
    click.echo(str(path))


@main.command()
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


@main.command()
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


def sources_of(path: Path, job: Job) -> tuple[Path, ...]:
    """Files that an answer is made from: the job's own, and its scan or readings."""
    return (path, job.plan.path) if job.plan.path is not None else (path,)


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Show what is being done on the standard error: one line a step, a spinner at a terminal."""
    from rich.console import Console  # noqa: PLC0415  # late: help and refusals need none of it
    from rich.text import Text  # noqa: PLC0415

    console = Console(stderr=True, highlight=False)

    def say(line: str) -> None:
        if console.is_terminal:
            status.update(Text(line))
        else:
            click.echo(line, err=True)

    with console.status(Text("reading")) as status:
        yield say


def leave_with(ctx: click.Context, answer: Answer) -> None:
    """Leave with 0 where it fits and 1 where it is tight or misses."""
    if answer is not Answer.FITS:
        ctx.exit(NOT_FITTING)
