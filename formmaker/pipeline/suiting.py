"""Which form the wood offers: the job's own and every profile fitted to the blank, and the one taken."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

from formmaker.engine.patterns import is_same_shape, low_share_of, own_profile
from formmaker.engine.preparation import prepare_form
from formmaker.engine.room import STRETCH, most_across, smallest_across, step_of
from formmaker.engine.suit import suiting_of
from formmaker.errors import MountingError
from formmaker.files.job_edit import rewrite_job, with_values
from formmaker.files.job_file import read_job
from formmaker.files.profile_file import find_profile, profile_names, read_profile
from formmaker.files.suit_take import offer_named, taken
from formmaker.model.job import Job
from formmaker.model.mounting import Mounting
from formmaker.model.profile import Profile
from formmaker.model.suit import Aim, Suit, Suiting
from formmaker.pipeline.checking import CheckReport, Say, Wood, check_in, placed, wood_of
from formmaker.pipeline.moving import written_mounting
from formmaker.pipeline.seeking import seek_in

_GAP = 0.05  # what is left unproven of the mounting sought: its proof is not told here
_SECONDS = 30.0
_AT_ONCE = 2  # forms fitted at the same time; a form is fitted the same way whatever the others do


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SuitReport:
    """A job with what each form would give, and the verdict on the form that was taken, if one was."""

    job: Job
    suit: Suit
    taken: CheckReport | None = None


def suit(job_path: Path, say: Say, *, take: str = "", aim: Aim = Aim.WIDEST, sought: bool = False) -> SuitReport:
    """Fit the job's own form and every profile to its blank, on its mounting or on the best that seek finds.

    Parameters
    ----------
    job_path : Path
    say : callable
        Told, one line each, what is being done.
    take : str
        Name of the form whose size is to be written into the job file; none if empty.
    aim : Aim
        Which of its two sizes.
    sought : bool
        On the mounting on which the job's own form comes out largest within the wishes of the job; with ``take``
        it is written too.

    Returns
    -------
    SuitReport

    Raises
    ------
    JobFileError, BlankError, FormError, MountingError
        As the parts of the job ask for it; also where the form to be taken has no size that comes out.
    OutputError
        If the job file cannot be written.
    """
    job = read_job(job_path)
    wood = wood_of(job.plan, say)
    stood = placed(job, wood.blank)
    if sought:
        stood = replace(stood, mounting=_sought_for(stood, wood, say))
    found = suit_in(stood, wood, say)
    if not take:
        return SuitReport(job=job, suit=found)
    offer = offer_named(found, take, aim)
    say(f"writing {job_path}")
    values = written_mounting(job, stood.mounting, wood.blank.scale) if sought else {}
    changed = rewrite_job(job_path, lambda text: with_values(taken(text, take, offer, job), values))
    report = check_in(placed(changed, wood.blank), prepare_form(changed.form, changed.hold), wood)
    return SuitReport(job=changed, suit=found, taken=report)


def _sought_for(job: Job, wood: Wood, say: Say) -> Mounting:
    say("seeking the mounting")
    found = seek_in(job, wood, gap=_GAP, seconds=_SECONDS)
    if found.best is None:
        raise MountingError("no mounting was found on which the job's own form comes out; leave --sought out")
    return found.best.mounting


def suit_in(job: Job, wood: Wood, say: Say) -> Suit:
    """Fit forms in wood that has been made; the job's mounting is in the blank's own millimetres (``placed``)."""
    say("checking the form as it stands")
    present = check_in(job, prepare_form(job.form, job.hold), wood).verdict
    own = own_profile(job.form)
    profiles = [read_profile(find_profile(name, Path())) for name in profile_names()]
    others = [profile for profile in profiles if not is_same_shape(profile, own)]
    step = step_of(job.units)
    return Suit(
        mounting=job.mounting,
        edge=job.form.edge,
        low_share=low_share_of(job.form),
        stretch=STRETCH,
        smallest=smallest_across(step),
        most=most_across(wood.field, job.mounting.blank_from_form),
        present=present,
        forms=_suitings([own, *others], job, wood, say),
    )


def _suitings(profiles: Sequence[Profile], job: Job, wood: Wood, say: Say) -> tuple[Suiting, ...]:
    def fit(number: int) -> Suiting:
        return suiting_of(profiles[number], job, wood.field, is_own=number == 0)

    found = []
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        for number, suiting in enumerate(pool.map(fit, range(len(profiles))), start=1):
            say(f"fitted {suiting.name or 'your own form'}, {number} of {len(profiles)}")
            found.append(suiting)
    return tuple(found)
