"""How the bowl of a job dries: read the job, settle the moisture, reckon."""

from dataclasses import dataclass
from pathlib import Path

from formmaker.engine.climate import equilibrium_moisture
from formmaker.engine.drying import dry_bowl
from formmaker.engine.section import build_section
from formmaker.files.job_file import read_job
from formmaker.geometry.meshes import mass_properties
from formmaker.model.blank import Blank
from formmaker.model.drying import Drying, DryWish
from formmaker.model.job import Job
from formmaker.model.section import Section
from formmaker.pipeline.checking import Say
from formmaker.sources.blank import read_blank

USUAL_CLIMATE = (20.0, 0.50)
"""Room air where nobody says another: 20 C and 50 % (common practice, no source); wood comes to about 9 % in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DryReport:
    """A job and what drying does to its bowl; ``climate`` is temperature (C) and humidity where one was used."""

    job: Job
    drying: Drying
    climate: tuple[float, float] | None


def dry(
    job_path: Path, say: Say, *, to: float | None = None, climate: tuple[float, float] | None = None
) -> DryReport:
    """Say what drying does to the bowl of a job.

    Parameters
    ----------
    job_path : Path
    say : callable
    to : float, optional
        Moisture to dry to, %.
    climate : tuple of float, optional
        Temperature (C) and humidity (share) to dry in. What is said here stands before the job's ``[dry]``; with
        nothing said anywhere it is a room of 20 C and 50 %.

    Returns
    -------
    DryReport

    Raises
    ------
    JobFileError, BlankError, FormError, MeasureError
        As the parts of the job ask for it.
    """
    job = read_job(job_path)
    if to is not None or climate is not None:
        wish = DryWish(to=to, temperature=climate and climate[0], humidity=climate and climate[1])
    else:
        wish = job.dry
    scale, weighed = _of_the_blank(job, say)
    say("drying")
    drying = dry_bowl(job, build_section(job.form), end=moisture_wished(wish), scale=scale, weighed=weighed)
    return DryReport(job=job, drying=drying, climate=air_of(wish))


def air_of(wish: DryWish) -> tuple[float, float] | None:
    """Temperature (C) and humidity (share) of the air to dry in; None where a moisture is wished instead."""
    if wish.to is not None:
        return None
    return USUAL_CLIMATE if wish.temperature is None or wish.humidity is None else (wish.temperature, wish.humidity)


def moisture_wished(wish: DryWish) -> float:
    """Moisture to dry to, %."""
    air = air_of(wish)
    return equilibrium_moisture(*air) if air is not None else wish.to or 0.0


def drying_in(job: Job, section: Section, blank: Blank) -> Drying:
    """What drying does to a bowl, by the job's own wish, in wood that has been made."""
    return dry_bowl(job, section, end=moisture_wished(job.dry), scale=blank.scale, weighed=_weighed(blank))


def _of_the_blank(job: Job, say: Say) -> tuple[float, float | None]:
    """Scale of the blank and what its wood weighs, kg/mm3; the wood is read only where one of them asks for it."""
    plan = job.plan
    if plan.timber.weight is None and not (plan.known_lengths and plan.grain.pith is not None):
        return 1.0, None
    say("reading the blank")
    blank = read_blank(plan, say)
    return blank.scale, _weighed(blank)


def _weighed(blank: Blank) -> float | None:
    """What wood that was weighed weighs, kg/mm3; cuts since have gone off weight and volume alike."""
    weight = blank.timber.weight
    return None if weight is None else weight / mass_properties(blank.mesh).volume
