"""The best mountings for a job's form: found, proven, told as choices, and one of them taken."""

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from formmaker.engine.choosing import choices_of
from formmaker.engine.clashing import clash_of
from formmaker.engine.fullest import seek_fullest
from formmaker.engine.ground import ground_of, problem_of, widest_tilt
from formmaker.engine.seeking import seek as seek_on
from formmaker.errors import MountingError
from formmaker.files.job_edit import rewrite_job, with_values
from formmaker.files.job_file import read_job
from formmaker.files.seek_take import taken
from formmaker.geometry.pose_boxes import bound_boxes
from formmaker.geometry.pose_search import Progress, make_ready
from formmaker.model.choices import Choice, Choices, Searched
from formmaker.model.job import Job
from formmaker.model.wish import Largest
from formmaker.pipeline.checking import Say, Wood, first_run, placed, wood_of
from formmaker.pipeline.moving import written_mounting

SEED = 1
"""Of every search: the same job gives the same answer."""

Watch = Callable[[float, float, float], None]
"""Told the best size so far, the proven bound, both diameters in mm, and the gap between them as a share."""

Stop = Callable[[], bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeekReport:
    """A job with what a search came to, and the choice that was taken, if one was."""

    job: Job
    found: Choices
    taken: Choice | None = None


def seek(
    job_path: Path,
    say: Say,
    *,
    gap: float,
    seconds: float = math.inf,
    watch: Watch = lambda *_: None,
    stop: Stop = lambda: False,
    take: int = 0,
) -> SeekReport:
    """Search the mountings of a job for the largest bowl of its form.

    Parameters
    ----------
    job_path : Path
    say : callable
        Told, one line each, what is being done.
    gap : float
        Share of the diameter that may be left unproven.
    seconds : float
        After which the search ends with what is known by then; the choices take a little longer.
    watch : callable
    stop : callable
        Asked now and then; True ends it as well, and no further choices are looked for.
    take : int
        Number of the choice, from 1, that is to be written into the job file; none if 0.

    Returns
    -------
    SeekReport

    Raises
    ------
    JobFileError, BlankError, FormError, MountingError
        As the parts of the job ask for it; also where there is no choice of that number.
    OutputError
        If the job file cannot be written.
    """
    written = read_job(job_path)
    wood = wood_of(written.plan, say)
    job = placed(written, wood.blank)
    say(f"seeking{first_run(bound_boxes)}")
    found = seek_in(job, wood, gap=gap, seconds=seconds, watch=watch, stop=stop)
    if not take:
        return SeekReport(job=job, found=found)
    if take > len(found.choices):
        raise MountingError(f"--take {take}: there are {len(found.choices)} choices; the job file stays as it is")
    choice = found.choices[take - 1]
    values = written_mounting(written, choice.mounting, wood.blank.scale)
    rewrite_job(job_path, lambda text: with_values(taken(text, choice, written), values))
    return SeekReport(job=job, found=found, taken=choice)


def seek_in(
    job: Job,
    wood: Wood,
    *,
    gap: float,
    seconds: float = math.inf,
    watch: Watch = lambda *_: None,
    stop: Stop = lambda: False,
) -> Choices:
    """Search in wood that has been made; the job's mounting is in the blank's own millimetres (``placed``).

    Parameters and errors as of ``seek``.
    """
    ground = ground_of(job, job.wish, wood.field)
    make_ready(problem_of(ground), np.random.default_rng(SEED))
    began, is_stopped = time.monotonic(), False

    def told(progress: Progress) -> bool:
        nonlocal is_stopped
        watch(progress.size, progress.bound, progress.bound / progress.size - 1.0 if progress.size else math.inf)
        is_stopped = stop() or time.monotonic() - began > seconds
        return is_stopped

    rng = np.random.default_rng(SEED)
    if job.wish.largest is Largest.VOLUME:
        fullest = seek_fullest(job, job.wish, wood.field, gap=gap, rng=rng, watch=told)
        ground, sought = fullest.ground, fullest.sought
    else:
        sought = seek_on(ground, gap=gap, rng=rng, watch=told)
    choices = choices_of(ground, sought, rng, stop=stop)
    clash = None if choices else clash_of(job, job.wish, wood.field, rng=rng, stop=stop)
    searched = Searched(
        tilt=widest_tilt(job.wish),
        shift=job.wish.shift_limit,
        boxes=sought.boxes,
        seconds=time.monotonic() - began,
        is_stopped=is_stopped,
    )
    return Choices(
        best=choices[0] if choices else None,
        bound=sought.bound,
        gap=sought.gap,
        asked=gap,
        searched=searched,
        choices=choices,
        clash=clash,
    )
