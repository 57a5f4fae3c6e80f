"""What a change comes to in the words of a job file: from a sitting to the text that says it.

It changes no file and asks no verdict; ``sitting.with_text`` reads what comes out, and refuses what is unsound.
"""

import math
import tomllib
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.nudging import Centre, levelled, nudged, raised
from formmaker.engine.remounting import on_skin
from formmaker.engine.sketching import scale_to
from formmaker.files.cut_words import turn_entry
from formmaker.files.job_edit import (
    with_entry,
    with_values,
    without_entry,
    without_last_entry,
    written_length,
    written_point,
)
from formmaker.files.seek_take import taken
from formmaker.model.choices import Choice
from formmaker.model.form import Edge, Form
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.pipeline.moving import to_balance, written_mounting
from formmaker.pipeline.sitting import Sitting


def text_with_form(sitting: Sitting, form: Form) -> str:
    """Say a form handle by handle; a profile and its sizes are no longer asked for."""
    units = sitting.asked.units
    joints = ["corner" if corner else "smooth" for corner in form.corners.tolist()]
    values: dict[str, object] = {
        "form.outer": [written_point(handle, units) for handle in form.handles],
        "form.joints": joints,
        "form.profile": None,
        "form.diameter": None,
        "form.height": None,
    }
    if form.edge is Edge.NATURAL:
        values["form.lowest_rim"] = written_length(form.lowest_rim, units)
    return with_values(sitting.text, values)


def text_with_mounting(sitting: Sitting, mounting: Mounting) -> str:
    """Say a mounting, given in the blank frame, in the file's own figures."""
    units, scale = sitting.asked.units, sitting.wood.blank.scale
    return with_values(
        sitting.text,
        {
            "mounting.foot_centre": written_point(mounting.foot_centre / scale, units),
            "mounting.rim_centre": written_point(mounting.rim_centre / scale, units),
            "mounting.foot_height": written_length(mounting.foot_height, units),
        },
    )


def text_with_values(sitting: Sitting, values: Mapping[str, object]) -> str:
    """Set keys of the text; a length may be a text with its unit, such as ``"3/8 in"``."""
    return with_values(sitting.text, values)


def text_with_size(sitting: Sitting, *, diameter: float, height: float) -> str:
    """Make the bowl this wide and high, mm, in the keys that the text has for it."""
    form = tomllib.loads(sitting.text)["form"]
    if "diameter" not in form:
        return text_with_form(sitting, scale_to(sitting.report.job.form, diameter=diameter, height=height))
    units = sitting.asked.units
    sizes = {"form.diameter": written_length(diameter, units), "form.height": written_length(height, units)}
    return with_values(sitting.text, sizes)


def text_with_profile(sitting: Sitting, name: str, diameter: float, height: float) -> str:
    """Begin again from a profile in a size, mm."""
    units = sitting.asked.units
    values: dict[str, object] = {
        "form.outer": None,
        "form.joints": None,
        "form.profile": name,
        "form.diameter": written_length(diameter, units),
        "form.height": written_length(height, units),
    }
    return with_values(sitting.text, values)


def text_nudged(sitting: Sitting, centre: Centre, *, toward: float, by: float) -> str:
    """Move a centre by a step, mm, toward an angle, radians."""
    return text_with_mounting(sitting, nudged(sitting.report.job.mounting, centre, toward=toward, by=by))


def text_raised(sitting: Sitting, by: float) -> str:
    """Move the foot along the axis by a step, mm."""
    return text_with_mounting(sitting, raised(sitting.report.job.mounting, by))


def text_levelled(sitting: Sitting) -> str:
    """Tilt the axis until the rim leans as little as can be."""
    report = sitting.report
    return text_with_mounting(sitting, levelled(report.job.mounting, report.field, report.prepared.section.outer))


def text_balanced(sitting: Sitting) -> str:
    """Go to the nearest axis through the centre of mass."""
    job, blank = sitting.report.job, sitting.report.blank
    return text_with_mounting(sitting, on_skin(to_balance(None)(job, blank), blank))


def text_with_choice(sitting: Sitting, choice: Choice) -> str:
    """Take a choice of a search: its mounting, its size and its holding."""
    asked, form = sitting.asked, choice.form
    values = written_mounting(asked, choice.mounting, sitting.wood.blank.scale)
    if "diameter" in tomllib.loads(sitting.text)["form"]:
        return with_values(taken(sitting.text, choice, asked), values)
    if choice.hold != asked.hold:
        values["hold.diameter"] = written_length(choice.hold.diameter, asked.units)
    return with_values(text_with_form(sitting, form), values)


def text_sawn(sitting: Sitting, *, toward: NDArray[np.float64], at: float) -> str:
    """Saw off what lies beyond a plane.

    Parameters
    ----------
    sitting : Sitting
    toward : (3,) float
        Away from what stays, form frame.
    at : float
        Where the plane stands that way, from the middle of the foot, mm.
    """
    frame = sitting.report.job.mounting.blank_from_form
    unit = toward / np.linalg.norm(toward)
    point = frame.carry(at * unit) / sitting.wood.blank.scale
    entry = {
        "kind": "saw",
        "point": written_point(point, sitting.asked.units),
        "normal": [round(float(part), 9) + 0.0 for part in frame.turn(unit)],
    }
    return with_entry(sitting.text, "cut", entry)


def text_turned(sitting: Sitting, profile: str) -> str:
    """Turn the blank down to a profile, said as ``cut turn`` says it, about the present axis."""
    return with_entry(sitting.text, "cut", turn_entry(sitting.asked, profile, foot_centre=None, rim_centre=None))


def text_uncut(sitting: Sitting) -> str:
    """Take the last cut back."""
    return without_last_entry(sitting.text, "cut")


def text_with_mark(sitting: Sitting, mark: Mark) -> str:
    """Add a mark; its place is given in the blank frame, mm."""
    units = sitting.asked.units
    at = written_point(mark.at / sitting.wood.blank.scale, units)
    entry: dict[str, object] = {"name": mark.name, "kind": mark.kind.value, "at": at}
    if mark.kind is not MarkKind.WITNESS:
        entry["radius"] = written_length(mark.radius, units)
    return with_entry(sitting.text, "blank.mark", entry)


def text_without_mark(sitting: Sitting, number: int) -> str:
    """Take a mark away, counted from 0 in the order of the file."""
    marks = sitting.asked.plan.marks
    if not 0 <= number < len(marks):
        return sitting.text
    return without_entry(sitting.text, "blank.mark", number)


def free_mark_name(sitting: Sitting) -> str:
    """Find a name that no mark has yet: the next letter, or a number where all letters are taken."""
    taken = {mark.name for mark in sitting.asked.plan.marks}
    letters = (chr(code) for code in range(ord("A"), ord("Z") + 1))
    return next((letter for letter in letters if letter not in taken), f"mark {len(taken) + 1}")


def said_move(before: Mounting, after: Mounting) -> tuple[tuple[float, float], tuple[float, float]]:
    """How far and toward which angle foot and rim centre were moved, mm and radians, seen on the earlier mounting."""
    frame = before.blank_from_form.inverse
    return _sideways(frame.turn(after.foot_centre - before.foot_centre)), _sideways(
        frame.turn(after.rim_centre - before.rim_centre)
    )


def _sideways(step: NDArray[np.float64]) -> tuple[float, float]:
    return float(np.hypot(step[0], step[1])), math.atan2(step[1], step[0]) % (2.0 * math.pi)
