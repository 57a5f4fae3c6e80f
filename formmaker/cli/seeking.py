"""The command that searches for the best mounting: the largest bowl, a proof, and choices to weigh."""

import json
import math
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from formmaker.cli.frame import AS_JSON, JOB, NOT_FITTING
from formmaker.files.job_file import read_job
from formmaker.files.seek_json import seek_to_json
from formmaker.files.spoken_seek import spoken_seek
from formmaker.model.job import Job
from formmaker.units import format_length

GAP = 0.02
SECONDS = 20.0
EVERY = 2.0  # seconds between lines where there is no bar

Say = Callable[[str], None]
Watch = Callable[[float, float, float], None]


@click.command()
@JOB
@AS_JSON
@click.option(
    "--gap",
    type=click.FloatRange(0.001, 1.0),
    default=GAP,
    help="Share of the diameter that may be left unproven; 0.02 if not said.",
)
@click.option(
    "--time",
    "seconds",
    type=click.FloatRange(0.0, min_open=True),
    default=SECONDS,
    help="Seconds after which it stops with what it has; 20 if not said.",
)
@click.option("--take", type=click.IntRange(1, 6), help="Write this choice into the job: its mounting and its size.")
@click.pass_context
def seek(ctx: click.Context, job: Path, as_json: bool, gap: float, seconds: float, take: int | None) -> None:
    """Find the mounting that gives the largest bowl, with a proof.

    Tries every axis within the wishes of the job. Ctrl-C ends it early with the best so far. Leaves with 0 where a
    mounting is found, 1 where none is, 2 where the input is bad.
    """
    wish = read_job(job)
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    with searching(wish, gap) as (say, watch), stopping() as stop:
        report = pipeline.seek(job, say, gap=gap, seconds=seconds, watch=watch, stop=stop, take=take or 0)
    if as_json:
        click.echo(json.dumps(seek_to_json(report.found), allow_nan=False))
    else:
        click.echo(spoken_seek(report.found, report.job))
        if report.taken is not None:
            click.echo(f"\nChoice {take} written into {job}.")
    if report.found.best is None:
        ctx.exit(NOT_FITTING)


@contextmanager
def searching(job: Job, goal: float) -> Iterator[tuple[Say, Watch]]:
    """Show what is being done, then size, bound and gap: a bar at a terminal, a line now and then elsewhere.

    The bar is full where the gap has come down to the goal; half way it has come half way down in powers of ten.
    """
    from rich.console import Console  # noqa: PLC0415  # late: help and refusals need none of it
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn  # noqa: PLC0415

    console = Console(stderr=True, highlight=False)
    columns = (TextColumn("{task.description}", markup=False), BarColumn(bar_width=24), TimeElapsedColumn())
    with Progress(*columns, console=console, disable=not console.is_terminal, transient=True) as bar:
        task, last = bar.add_task("reading", total=None), -math.inf

        def say(line: str) -> None:
            bar.update(task, description=line)
            if not console.is_terminal:
                click.echo(line, err=True)

        def watch(size: float, bound: float, gap: float) -> None:
            nonlocal last
            done = 1.0 - min(math.log(max(gap, goal) / goal) / math.log(1.0 / goal), 1.0)
            bar.update(task, description=told(size, bound, gap, job), total=1.0, completed=done)
            if not console.is_terminal and time.monotonic() - last > EVERY:
                last = time.monotonic()
                click.echo(told(size, bound, gap, job), err=True)

        yield say, watch


def told(size: float, bound: float, gap: float, job: Job) -> str:
    """Say how far a search is."""
    above = f"none above {format_length(bound, job.units)}"
    if not size:
        return f"seeking: none yet, {above}"
    return f"seeking: {format_length(size, job.units)}, {above}, gap {100.0 * gap:.1f} %"


@contextmanager
def stopping() -> Iterator[Callable[[], bool]]:
    """Ask whether Ctrl-C was pressed; a second one ends the command."""
    is_asked = False

    def on_interrupt(_number: int, _frame: object) -> None:
        nonlocal is_asked
        is_asked = True
        signal.signal(signal.SIGINT, before)

    before = signal.signal(signal.SIGINT, on_interrupt)
    try:
        yield lambda: is_asked
    finally:
        signal.signal(signal.SIGINT, before)
