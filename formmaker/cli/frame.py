"""What every command shares: exit codes, refusals in one line, progress on the standard error."""

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

import click

from formmaker.errors import FormmakerError
from formmaker.model.job import Job
from formmaker.model.verdict import Answer

NOT_FITTING = 1
BAD_INPUT = 2
STOPPED = 130  # 128 + SIGINT, as a shell counts it

JOB = click.argument("job", type=click.Path(path_type=Path), metavar="JOB")
TARGET = click.Path(path_type=Path)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print the whole answer as one JSON object.")


class NumberRange(click.FloatRange):
    """Numbers from one to another; what is no number (nan) lies in no range, which click alone lets through."""

    def convert(self, value: float, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Read an option's text."""
        number = float(super().convert(value, param, ctx))
        if math.isnan(number):
            self.fail(f"{value} is no number; give one from {self.min:g} to {self.max:g}", param, ctx)
        return number


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
