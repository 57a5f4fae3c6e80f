"""The command move: from the mounting of a job to another."""

import json
from pathlib import Path

import click
import numpy as np
from numpy.typing import NDArray

from formmaker.cli.frame import AS_JSON, JOB, TARGET, progress
from formmaker.cli.mounting import HELD
from formmaker.cli.readings import PARTS
from formmaker.errors import MeasureError
from formmaker.files.job_file import read_job
from formmaker.files.move_json import move_to_json
from formmaker.files.spoken_move import spoken_move
from formmaker.files.spoken_steps import Tongue
from formmaker.model.ends import End
from formmaker.sources.tables import length_of
from formmaker.units import Units

_FARTHEST = 1_000_000.0  # mm; as in a job file


@click.command()
@JOB
@click.option("--to", "other", type=TARGET, metavar="JOB2", help="To the mounting of another job of the same wood.")
@click.option("--balance", is_flag=True, help="To the nearest axis through the centre of mass.")
@HELD
@click.option(
    "--foot-centre", metavar="X,Y,Z", help="To this foot centre, in the job's units and the scan's figures."
)
@click.option("--rim-centre", metavar="X,Y,Z", help="To this rim centre; one that is not given stays.")
@click.option("--write", is_flag=True, help="Put the new mounting into the job file, comments and order kept.")
@PARTS
@AS_JSON
def move(  # noqa: PLR0913, PLR0917  # click passes one argument for every option
    job: Path,
    other: Path | None,
    balance: bool,
    hold_end: str | None,
    foot_centre: str | None,
    rim_centre: str | None,
    write: bool,
    parts: str,
    as_json: bool,
) -> None:
    """Say how to shift the centres to another mounting.

    For each end: how far and which way, as steps and as divider settings from two witness marks; what to see before
    cutting; what will run differently. The new centres are where the new axis leaves the wood. The form keeps its
    place along the axis; with --to, JOB2's foot height, zero and rim end are taken over with its axis.
    """
    wish = read_job(job)
    centres = [_point(text, name, wish.units) for text, name in ((foot_centre, "foot"), (rim_centre, "rim"))]
    is_by_centres = any(point is not None for point in centres)
    if [other is not None, balance, is_by_centres].count(True) != 1:
        raise click.UsageError(
            "say where to: --to JOB2, or --balance, or --foot-centre and --rim-centre (one or both)"
        )
    if hold_end and not balance:
        raise click.UsageError("--hold-end goes with --balance; a centre that is not given stays anyway")
    from formmaker import pipeline  # noqa: PLC0415  # late: it leads to libraries that take seconds to load

    if other is not None:
        target = pipeline.to_job(other, wish.plan)
    elif balance:
        target = pipeline.to_balance(End(hold_end) if hold_end else None)
    else:
        target = pipeline.to_centres(*centres)
    with progress() as say:
        report = pipeline.move(job, target, say, write=write)
    if as_json:
        click.echo(json.dumps(move_to_json(report.move), allow_nan=False))
        return
    tongue = Tongue(units=report.job.units, parts=int(parts), index_count=report.job.index_count)
    click.echo(spoken_move(report.move, report.job, report.blank, report.verdict, tongue))
    if write:
        click.echo(f"Written into {job}.")


def _point(text: str | None, end: str, units: Units) -> NDArray[np.float64] | None:
    """A place X,Y,Z of the command line, mm."""
    if text is None:
        return None
    hint, parts = f"--{end}-centre", text.split(",")
    if len(parts) != 3:
        raise click.BadParameter(f"{text!r}: give three lengths with commas between, such as 2,-2,0", param_hint=hint)
    try:
        place = np.array([length_of(part.strip(), units) for part in parts])
    except MeasureError as error:
        raise click.BadParameter(str(error), param_hint=hint) from error
    if not np.abs(place).max() <= _FARTHEST:
        raise click.BadParameter(f"{text!r}: a length within 1000 m is wanted", param_hint=hint)
    return place
