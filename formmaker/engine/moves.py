"""From one mounting to another: how each centre goes, and what will run differently.

Both axes are followed to where they really leave the skin; an imagined end plane is nowhere used. Which mounting to
go to is not decided here (see ``remounting``).
"""

import math

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.dividers import divider_pair, usable_marks
from formmaker.engine.field import Field
from formmaker.engine.marks import check_marks
from formmaker.engine.mounted import nearest_mark
from formmaker.engine.preparation import PreparedForm
from formmaker.engine.rim import trace_rim
from formmaker.geometry.frames import Frame
from formmaker.geometry.lines import line_crossings
from formmaker.geometry.meshes import Mesh
from formmaker.model.ends import End
from formmaker.model.marks import MarkKind
from formmaker.model.mounting import Mounting
from formmaker.model.move import CheckGap, CheckRing, EndMove, KeepChange, Move, RunOut
from formmaker.tolerances import DEFAULT
from formmaker.units import Units

Point = NDArray[np.float64]

_QUARTERS = np.array([0.0, 0.5, 1.0, 1.5]) * np.pi
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
"""Of the height of the form: where the pointer is set; half way up if there is wood at all four angles."""


def plan_move(field: Field, prepared: PreparedForm, old: Mounting, new: Mounting) -> Move:
    """Find how to get from one mounting to another.

    Parameters
    ----------
    field : Field
        Of the blank.
    prepared : PreparedForm
        Of the form, for what becomes of keep marks.
    old, new : Mounting
        In the blank's own millimetres.

    Returns
    -------
    Move

    Raises
    ------
    MountingError
        If one of the axes passes beside the wood.
    """
    return Move(
        old=old,
        new=new,
        ends=_ends(field, old, new),
        tilt=_angle_between(old.axis, new.axis),
        foot_slip=_foot_slip(old, new),
        run_out=tuple(_run_out(old, new, height) for height in (0.0, prepared.form.height)),
        keep=_keep(field, prepared, old, new),
        ring=_ring(field.blank.mesh, new, prepared.form.height),
    )


def _angle_between(first: Point, second: Point) -> float:
    """Exact for the small angles that a cosine cannot tell from none."""
    return math.atan2(float(np.linalg.norm(np.cross(first, second))), float(first @ second))


def _foot_slip(old: Mounting, new: Mounting) -> float:
    """How far the foot goes along the mean of the two axes; nothing by the rule of ``remounted``."""
    mean = _unit(old.axis) + _unit(new.axis)
    return float((new.blank_from_form.origin - old.blank_from_form.origin) @ _unit(mean))


def _unit(direction: Point) -> Point:
    return np.asarray(direction / np.linalg.norm(direction))


def _ends(field: Field, old: Mounting, new: Mounting) -> tuple[EndMove, ...]:
    mesh, old_from_blank = field.blank.mesh, old.blank_from_form.inverse
    before, after = axis_ends(mesh, old.foot_centre, old.axis), axis_ends(mesh, new.foot_centre, new.axis)
    sides = {End.FOOT: (before.foot, after.foot), End.RIM: (before.rim, after.rim)}
    witnesses = [mark for mark in field.blank.marks if mark.kind is MarkKind.WITNESS]
    moves = []
    for end, (start, stop) in sides.items():
        far = sides[end.other][1]
        here = [mark for mark in witnesses if np.linalg.norm(mark.at - stop) <= np.linalg.norm(mark.at - far)]
        usable = usable_marks(here, stop)
        step = old_from_blank.turn(stop - start)
        across = float(np.hypot(step[0], step[1]))
        stays = not across > DEFAULT.same_point
        toward = math.nan if stays else math.atan2(step[1], step[0]) % (2.0 * math.pi)
        moves.append(
            EndMove(
                end=end,
                before=start,
                after=stop,
                toward=toward,
                across=across,
                rise=float(step[2]),
                bearing=None if stays else nearest_mark(field.blank.marks, old_from_blank, toward),
                dividers=divider_pair(usable, stop, start, field.skin.tree, old_from_blank),
                usable=tuple(mark.name for mark in usable),
            )
        )
    return tuple(moves)


def _run_out(old: Mounting, new: Mounting, height: float) -> RunOut:
    """Twice the distance at which the old axis passes a point of the new one, in the plane square to the new one."""
    frame = new.blank_from_form
    start, way = frame.inverse.carry(old.foot_centre), frame.inverse.turn(old.axis)
    met = start + way * ((height - start[2]) / way[2])
    return RunOut(height=height, total=2.0 * float(np.hypot(met[0], met[1])))


def _keep(field: Field, prepared: PreparedForm, old: Mounting, new: Mounting) -> tuple[KeepChange, ...]:
    marks = tuple(mark for mark in field.blank.marks if mark.kind is MarkKind.KEEP)
    if not marks:
        return ()
    spares = []
    for mounting in (old, new):
        rim = trace_rim(field, prepared.section.outer, mounting.blank_from_form)
        checks = check_marks(marks, rim, prepared.solid, mounting.blank_from_form, Units.MM)
        spares.append([check.spare for check in checks])
    return tuple(
        KeepChange(name=mark.name, before=before, after=after)
        for mark, before, after in zip(marks, *spares, strict=True)
    )


def _ring(mesh: Mesh, new: Mounting, form_height: float) -> CheckRing:
    """Gaps at the first of the heights that has wood at all four angles; else at the one that has most."""
    rings = []
    for share in _SHARES:
        radii = _reaches(mesh, new.blank_from_form, share * form_height)
        rings.append((share * form_height, radii))
        if np.isfinite(radii).all():
            break
    height, radii = max(rings, key=lambda ring: int(np.isfinite(ring[1]).sum()))
    gaps = np.fmax.reduce(radii) - radii
    foot = axis_ends(mesh, new.foot_centre, new.axis).foot
    return CheckRing(
        height=height,
        from_foot=height - float(new.blank_from_form.inverse.carry(foot)[2]),
        touching=float(_QUARTERS[int(np.nanargmax(radii))]) if np.isfinite(radii).any() else math.nan,
        gaps=tuple(CheckGap(theta=float(theta), gap=float(gap)) for theta, gap in zip(_QUARTERS, gaps, strict=True)),
    )


def _reaches(mesh: Mesh, frame: Frame, height: float) -> NDArray[np.float64]:
    """How far the wood reaches at the four quarters of a height; NaN where there is none."""
    start = frame.carry(np.array([0.0, 0.0, height]))
    reaches = []
    for theta in _QUARTERS:
        places = line_crossings(mesh, start, frame.turn(np.array([math.cos(theta), math.sin(theta), 0.0])))
        reaches.append(float(places[-1]) if len(places) and places[-1] > 0.0 else math.nan)
    return np.array(reaches)
