"""Small moves of the axis, as the hand at the lathe makes them: a centre sideways, the foot up, the rim level."""

from dataclasses import replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.engine.rim import trace_rim
from formmaker.geometry.curves import Curve
from formmaker.geometry.frames import frame_from_axis
from formmaker.model.mounting import Mounting

_FIRST_STEP = np.radians(2.0)
"""First step of a levelling: some millimetres at a rim, more than bark is rough."""

_LAST_STEP = np.radians(0.02)
"""A levelling ends here: 0.04 mm at a radius of 120 mm, finer than a centre is marked."""

_WAYS = np.array([[x, y] for x in (-1.0, 0.0, 1.0) for y in (-1.0, 0.0, 1.0) if x or y])


class Centre(Enum):
    """Which centre is moved."""

    FOOT = "foot"
    RIM = "rim"
    BOTH = "both"


def nudged(mounting: Mounting, centre: Centre, *, toward: float, by: float) -> Mounting:
    """Move a centre square to the axis.

    Parameters
    ----------
    mounting : Mounting
    centre : Centre
    toward : float
        Angle of the side it moves to, radians.
    by : float
        mm.

    Returns
    -------
    Mounting
    """
    step = by * mounting.blank_from_form.turn(np.array([np.cos(toward), np.sin(toward), 0.0]))
    return replace(
        mounting,
        foot_centre=mounting.foot_centre + (step if centre is not Centre.RIM else 0.0),
        rim_centre=mounting.rim_centre + (step if centre is not Centre.FOOT else 0.0),
    )


def raised(mounting: Mounting, by: float) -> Mounting:
    """Move the plane the foot stands on along the axis, toward the rim, mm."""
    return replace(mounting, foot_height=mounting.foot_height + by)


def levelled(mounting: Mounting, field: Field, outer: Curve) -> Mounting:
    """Tilt the axis about the middle of the foot until the rim line leans as little as can be.

    Parameters
    ----------
    mounting : Mounting
    field : Field
    outer : Curve
        Outer curve of the form.

    Returns
    -------
    Mounting
        The one that leaned least; the same mounting where no tilt leans less.

    Notes
    -----
    A rim on rough bark jumps as it is tilted, so slopes say little: from no tilt, and from the tilt that would level
    a plane, the eight neighbours of the best are tried in steps that are halved once none of them is better.
    """

    def lean(tilt: NDArray[np.float64]) -> float:
        rim = trace_rim(field, outer, _tilted_by(mounting, tilt).blank_from_form)
        return rim.lean if (rim.height > 0.0).all() else np.inf

    rim = trace_rim(field, outer, mounting.blank_from_form)
    away = -np.arctan2(rim.lean, rim.radius.mean())
    guess = away * np.array([np.cos(rim.lean_toward), np.sin(rim.lean_toward)])
    best = min((lean(tilt), tuple(tilt)) for tilt in (np.zeros(2), guess))
    step = _FIRST_STEP
    while step > _LAST_STEP:
        near = min((lean(np.array(best[1]) + step * way), tuple(np.array(best[1]) + step * way)) for way in _WAYS)
        if near[0] < best[0]:
            best = near
        else:
            step /= 2.0
    return _tilted_by(mounting, np.array(best[1])) if best[0] < rim.lean else mounting


def _tilted_by(mounting: Mounting, tilt: NDArray[np.float64]) -> Mounting:
    if not tilt.any():
        return mounting
    return tilted(mounting, toward=float(np.arctan2(tilt[1], tilt[0])), by=float(np.hypot(tilt[0], tilt[1])))


def tilted(mounting: Mounting, *, toward: float, by: float) -> Mounting:
    """Tilt the axis about the middle of the foot, its rim end toward an angle, radians; the foot stays in place."""
    frame = mounting.blank_from_form
    aim = np.array([np.sin(by) * np.cos(toward), np.sin(by) * np.sin(toward), np.cos(by)])
    axis = frame.turn(aim)
    reach = float(np.linalg.norm(mounting.axis))
    foot_centre = frame.origin - mounting.foot_height * axis
    return replace(
        mounting, foot_centre=foot_centre, rim_centre=foot_centre + reach * axis, zero=_kept(mounting, axis)
    )


def _kept(mounting: Mounting, axis: NDArray[np.float64]) -> NDArray[np.float64]:
    """The zero direction as it was given, where it still points away from the axis."""
    frame_from_axis(mounting.foot_centre, axis, mounting.zero)
    return mounting.zero
