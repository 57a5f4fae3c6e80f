"""One sitting over a job: its text, its wood made once, and the answer to what it says now.

A sitting never changes; every change gives a new one. The text of the job file is the truth: what is dragged is
tried on records first and comes into the text when it is let go. Nothing is written to disk but by ``save``.
"""

import json
import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np

from formmaker.atomic import write_atomically
from formmaker.engine.cuts import say_cut, say_gone
from formmaker.engine.preparation import prepare_form
from formmaker.files.job_faults import read_text_of
from formmaker.files.job_file import job_from_text
from formmaker.files.spoken_cut import SAW_CAUTION, TURN_CAUTION
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.reduce import reduced
from formmaker.model.cut import SawCut
from formmaker.model.form import Form
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.pipeline.checking import CheckReport, Say, Wood, blank_of, check_in, placed, wood_in
from formmaker.tolerances import DEFAULT, Tolerances
from formmaker.units import Units

SHOWN_TRIANGLES = 20_000
"""Most triangles of the blank that is shown; answers come from the whole one."""


IN_THE_HAND = replace(DEFAULT, margin_slack=0.4)
"""While the hands are moving the worst place is sought to 0.4 mm, in a third of the time; the answer says so itself,
its margin being known less well, and the usual check (``settled``) follows when they are still."""

MANY_TRIANGLES = 100_000
"""From here on each question costs so much more that in the hand 1.5 mm has to do."""

IN_THE_HAND_OF_MANY = replace(DEFAULT, margin_slack=1.5)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sitting:
    """A job as it stands in a sitting.

    Parameters
    ----------
    path : Path
        Of the job file.
    text : str
        What the file would say.
    asked : Job
        What the text says, its axis in the file's own figures.
    units : Units
        In which answers are given; the file keeps its own.
    wood : Wood
    shown : Mesh
        The blank with at most ``SHOWN_TRIANGLES``, to be looked at only.
    report : CheckReport
    tolerances : Tolerances
        To which the report was made.
    """

    path: Path
    text: str
    asked: Job
    units: Units
    wood: Wood
    shown: Mesh
    report: CheckReport
    tolerances: Tolerances = DEFAULT


def open_sitting(path: Path, say: Say) -> Sitting:
    """Read a job and make its wood.

    Raises
    ------
    JobFileError, BlankError, FormError, MountingError
        As the parts of the job ask for it.
    """
    text = read_text_of(path)
    asked = job_from_text(text, path)
    wood, shown = _wood_to_see(asked.plan, say)
    say("checking")
    return _checked(path, text, asked, asked.units, wood, shown)


def settled(sitting: Sitting) -> Sitting:
    """Answer as well as can be, where the answer was made in the hand."""
    if sitting.tolerances is DEFAULT:
        return sitting
    report = sitting.report
    checked = check_in(report.job, report.prepared, sitting.wood, seen=report.verdict.spin)
    return replace(sitting, report=checked, tolerances=DEFAULT)


def with_text(sitting: Sitting, text: str, say: Say, *, tolerances: Tolerances = DEFAULT) -> Sitting:
    """Take another text of the job file; wood is made anew only where the text asks for other wood.

    Raises
    ------
    JobFileError, BlankError, FormError, MountingError
        As the text asks for it; the sitting stays as it was.
    """
    asked = job_from_text(text, sitting.path)
    units = asked.units if asked.units is not sitting.asked.units else sitting.units
    if _wood_asked(text) != _wood_asked(sitting.text):
        return _checked(sitting.path, text, asked, units, *_wood_to_see(asked.plan, say))
    blank = replace(
        sitting.wood.blank,
        marks=tuple(replace(mark, at=mark.at * sitting.wood.blank.scale) for mark in asked.plan.marks),
        timber=asked.plan.timber,
    )
    wood = Wood(blank=blank, field=replace(sitting.wood.field, blank=blank))
    changed = replace(sitting, text=text, asked=asked, units=units, wood=wood, tolerances=tolerances)
    return replace(changed, report=_report_again(changed, sitting.report))


def in_units(sitting: Sitting, units: Units) -> Sitting:
    """Give the answers in another unit; the file keeps its own."""
    changed = replace(sitting, units=units)
    return replace(changed, report=_report_again(changed, sitting.report))


def with_form(sitting: Sitting, form: Form) -> Sitting:
    """Try another form, without a word in the text yet.

    Raises
    ------
    FormError
        If the form contradicts itself.
    """
    job = replace(sitting.report.job, form=form)
    seen = sitting.report.verdict.spin  # the wood and its axis stand as they stood
    tolerances = in_the_hand(sitting)
    report = check_in(job, prepare_form(form, job.hold), sitting.wood, seen=seen, tolerances=tolerances)
    return replace(sitting, report=report, tolerances=tolerances)


def in_the_hand(sitting: Sitting) -> Tolerances:
    """To what a check is made while the hands are moving."""
    return IN_THE_HAND if len(sitting.wood.blank.mesh.faces) < MANY_TRIANGLES else IN_THE_HAND_OF_MANY


def last_cut_is_empty(sitting: Sitting) -> bool:
    """Whether the last cut takes no wood off."""
    return sitting.wood.blank.cuts[-1].removed <= DEFAULT.min_loose_volume


def last_cut_words(sitting: Sitting) -> tuple[str, ...]:
    """Say what the last cut came to, with its cautions."""
    blank = sitting.wood.blank
    report = blank.cuts[-1]
    gone = (say_gone(mark) for mark in blank.marks if mark.cut_away == report.number)
    caution = SAW_CAUTION if isinstance(report.cut, SawCut) else TURN_CAUTION
    return (say_cut(report, sitting.units), *gone, caution)


def save(sitting: Sitting) -> None:
    """Put the text in the job file's place, whole or not at all.

    Raises
    ------
    JobFileError, OutputError
        If the text has faults, or the file cannot be written; then the file stays as it was.
    """
    job_from_text(sitting.text, sitting.path)
    write_atomically(sitting.path, sitting.text.encode())


def _wood_to_see(plan: BlankPlan, say: Say) -> tuple[Wood, Mesh]:
    """Make the wood that is asked for, and its light picture beside the field."""
    blank = blank_of(plan, say)
    with ThreadPoolExecutor(1) as beside:
        shown = beside.submit(reduced, blank.mesh, SHOWN_TRIANGLES)
        return wood_in(blank, say), shown.result()


def _checked(path: Path, text: str, asked: Job, units: Units, wood: Wood, shown: Mesh) -> Sitting:
    job = replace(placed(asked, wood.blank), units=units)
    report = check_in(job, prepare_form(job.form, job.hold), wood)
    return Sitting(path=path, text=text, asked=asked, units=units, wood=wood, shown=shown, report=report)


def _report_again(sitting: Sitting, before: CheckReport) -> CheckReport:
    """Check again in the same wood, with what need not be worked out anew."""
    job = replace(placed(sitting.asked, sitting.wood.blank), units=sitting.units)
    is_same_form = job.hold == before.job.hold and _figures(job.form) == _figures(before.job.form)
    is_same_axis = _figures(job.mounting) == _figures(before.job.mounting)
    prepared = before.prepared if is_same_form else prepare_form(job.form, job.hold)
    seen = before.verdict.spin if is_same_axis else None
    return check_in(job, prepared, sitting.wood, seen=seen, tolerances=sitting.tolerances)


def _figures(record: Form | Mounting) -> list[object]:
    """All that a record says, its arrays as lists, so that two of them can be compared."""
    values = (getattr(record, field.name) for field in fields(record))
    return [value.tolist() if isinstance(value, np.ndarray) else value for value in values]


def _wood_asked(text: str) -> str:
    """All that the wood is made from, as one text: marks count only where known lengths are measured between them."""
    document = tomllib.loads(text)
    blank = dict(document.get("blank", {}))
    measured = {name for row in blank.get("known_length", ()) for name in row[:2]}
    blank["mark"] = [mark for mark in blank.get("mark", ()) if mark.get("name") in measured]
    asked = {"blank": blank, "cut": document.get("cut"), "units": document.get("units")}
    return json.dumps(asked, sort_keys=True, default=str)
