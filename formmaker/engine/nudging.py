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

_LEVELLINGS = 6
"""Steps in which a rim is levelled: a tilt brings other bark to the rim, so one is not enough."""

_TRIAL = np.radians(1.0)
"""Tilt by which is tried how the lean answers: several millimetres at a rim, more than the bark is rough."""

_LARGEST = np.radians(6.0)
"""Largest tilt in one step: beyond it the first slope says nothing."""


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
    The lean as a vector (toward angle 0 and a quarter turn on) is brought to nought over the two tilts by Broyden's
    method, begun with a trial tilt each way; a rim on rough bark has no exact zero, so the best trial counts.
    """
    trials: list[tuple[float, NDArray[np.float64]]] = []

    def lean(tilt: NDArray[np.float64]) -> NDArray[np.float64]:
        rim = trace_rim(field, outer, _tilted_by(mounting, tilt).blank_from_form)
        trials.append((rim.lean, tilt))
        return rim.lean * np.array([np.cos(rim.lean_toward), np.sin(rim.lean_toward)])

    tilt = np.zeros(2)
    now = lean(tilt)
    slope = np.column_stack([(lean(step) - now) / _TRIAL for step in _TRIAL * np.eye(2)])
    for _ in range(_LEVELLINGS):
        if not abs(np.linalg.det(slope)) > 0.0:
            break
        step = np.clip(np.linalg.solve(slope, -now), -_LARGEST, _LARGEST)
        tilt = tilt + step
        after = lean(tilt)
        slope = slope + np.outer(after - now - slope @ step, step) / max(float(step @ step), 1e-12)
        now = after
    return _tilted_by(mounting, min(trials, key=lambda trial: trial[0])[1])


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
