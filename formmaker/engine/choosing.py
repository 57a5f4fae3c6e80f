"""The choices worth weighing: what a search found, told with all that a turner would weigh it by."""

import math

import numpy as np

from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.ground import Ground
from formmaker.engine.marks import rim_distances
from formmaker.engine.patterns import outer_at
from formmaker.engine.room import wood_inside
from formmaker.engine.stands import Stand
from formmaker.geometry.frames import Frame
from formmaker.model.choices import Choice, KeptMark
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.verdict import RimLine

LARGEST = "largest"


def choice_of(ground: Ground, stand: Stand, why: str, *, bound: float | None = None) -> Choice:
    """Tell of a stand all that it is weighed by."""
    old, new = ground.job.mounting, stand.mounting
    mesh = ground.field.blank.mesh
    before, after = (axis_ends(mesh, mounting.foot_centre, mounting.axis) for mounting in (old, new))
    move = max(float(np.linalg.norm(after.foot - before.foot)), float(np.linalg.norm(after.rim - before.rim)))
    tilt = math.atan2(float(np.linalg.norm(np.cross(old.axis, new.axis))), float(old.axis @ new.axis))
    frame = new.blank_from_form
    mass = ground.weighing.mass.kilograms
    offset = frame.inverse.carry(ground.weighing.body.centre)
    return Choice(
        why=why,
        form=stand.bowl.form,
        hold=stand.bowl.hold,
        mounting=new,
        verdict=stand.verdict,
        whole=wood_inside(outer_at(ground.body.pattern, stand.diameter), ground.field, frame),
        keep=kept_marks(ground.marks, stand.verdict.rim, frame),
        unbalance=None if mass is None else mass * float(np.hypot(offset[0], offset[1])),
        move=move,
        tilt=tilt,
        bound=bound,
    )


def kept_marks(marks: tuple[Mark, ...], rim: RimLine, blank_from_form: Frame) -> tuple[KeptMark, ...]:
    """How far the rim passes from every mark to keep, whether it was asked for or not."""
    form_from_blank = blank_from_form.inverse
    return tuple(
        KeptMark(name=mark.name, miss=float(rim_distances(rim, form_from_blank.carry(mark.at)).min()))
        for mark in marks
        if mark.kind is MarkKind.KEEP
    )
