"""A blank between the centres of its lathe: balance, swing, force by speed, and a speed to begin with.

It joins what ``weighing`` and ``balance`` find with what the turner has said of the lathe.
"""

import math
from dataclasses import replace

import numpy as np

from formmaker.engine.axis_ends import axis_ends
from formmaker.engine.balance import (
    Body,
    balanced_ends,
    centre_slack,
    force_at,
    speed_at,
    unbalance_about,
    weights_at,
)
from formmaker.engine.weighing import weigh
from formmaker.geometry.frames import Frame
from formmaker.model.balance import (
    Balance,
    Balanced,
    Bearing,
    Force,
    Hindrance,
    Mass,
    Span,
    SpeedBound,
    SpeedRule,
    Start,
    Swing,
)
from formmaker.model.blank import Blank
from formmaker.model.ends import End
from formmaker.model.lathe import Lathe
from formmaker.model.marks import Mark
from formmaker.model.mounting import Mounting
from formmaker.tolerances import DEFAULT
from formmaker.units import MM_PER_INCH

PRODUCT = (6000.0, 9000.0)
"""Diameter in inches times rpm, for round and sound wood only (common practice, no source); the lower end is used."""

WEIGHT_SHARE = 0.25
"""The start asks for a speed at which the centres hold less than this share of the weight (ours, no source)."""

REST_AIR = 10.0
"""Air between the tool rest and the farthest wood where the job asks for none, mm (ours, no source)."""

_ROUND_SPEEDS = (50, 100, 150, 200, 300, 400, 500, 600, 800, 1000, 1200, 1500, 2000, 2500, 3000, 4000, 5000, 7000)
_USUAL = (100.0, 1000.0)  # rpm: where the list of forces begins and ends while the lathe's own speeds are not known


def balance_on(blank: Blank, mounting: Mounting, lathe: Lathe, *, held: End | None = None) -> Balance:
    """Find how a blank turns on a mounting, and the balanced mounting nearest to it.

    Parameters
    ----------
    blank : Blank
    mounting : Mounting
        In the blank's own millimetres.
    lathe : Lathe
    held : End or None
        The end that stays where it is when the blank is balanced.

    Returns
    -------
    Balance

    Raises
    ------
    MountingError
        If the axis passes beside the wood, or no balanced axis can be had with that end held.
    BlankError
        If the bark that is stated would be more than the whole blank.
    """
    weighing = weigh(blank)
    body, mesh = weighing.body, blank.mesh
    ends = axis_ends(mesh, mounting.foot_centre, mounting.axis)
    lack = unbalance_about(body, ends, mounting.zero)
    slack = centre_slack(mesh, body.centre, mounting.axis, blank.uncertainty)
    form_from_blank = mounting.blank_from_form.inverse
    is_on_axis = not lack.distance > DEFAULT.same_point
    toward = math.nan if is_on_axis else float(np.arctan2(*lack.offset[::-1]) % (2.0 * np.pi))
    swing = _swing(blank, form_from_blank, lathe)
    length = float(np.linalg.norm(ends.rim - ends.foot))
    span = Span(length=length, slack=2.0 * blank.uncertainty, room=lathe.between_centres)
    return Balance(
        mass=weighing.mass,
        centre=body.centre,
        height=float(form_from_blank.carry(body.centre)[2]),
        offset=lack.distance,
        heavy_toward=toward,
        slack=slack,
        mark=None if is_on_axis else nearest_mark(blank.marks, form_from_blank, toward),
        couple=lack.couple,
        pull=lack.pull,
        span=span,
        forces=tuple(_force(weighing.mass, lack.distance, slack, rpm) for rpm in speeds_of(lathe)),
        swing=swing,
        start=_start(lack.pull + slack, swing, span, lathe),
        balanced=balanced_from(blank, mounting, weighing.body, held=held),
    )


def balanced_from(blank: Blank, mounting: Mounting, body: Body, *, held: End | None = None) -> Balanced:
    """The balanced mounting nearest to a mounting; arguments and errors as of ``balance_on``, body of the blank."""
    ends = axis_ends(blank.mesh, mounting.foot_centre, mounting.axis)
    new = balanced_ends(blank.mesh, ends, body.centre, held)
    lack = unbalance_about(body, new, mounting.zero)
    frame = mounting.blank_from_form
    # shifts are seen where the new axis passes the present centres, not where it leaves the skin: the skin slopes
    z, along = frame.rotation[:, 2], new.rim - new.foot
    steps = [new.foot - end - ((new.foot - end) @ z) / (along @ z) * along for end in (ends.foot, ends.rim)]
    foot_shift, rim_shift = (frame.inverse.turn(step)[:2] for step in steps)
    moved = replace(mounting, foot_centre=new.foot, rim_centre=new.rim)
    return Balanced(
        mounting=moved,
        foot_shift=foot_shift,
        rim_shift=rim_shift,
        held=held,
        distance=lack.distance,
        couple=lack.couple,
        reach=float(np.hypot(*moved.blank_from_form.inverse.carry(blank.mesh.vertices)[:, :2].T).max()),
    )


def nearest_mark(marks: tuple[Mark, ...], form_from_blank: Frame, toward: float) -> Bearing | None:
    """The mark that lies nearest to a direction or to the one across; None where all lie on the axis."""
    places = [(mark.name, form_from_blank.carry(mark.at)) for mark in marks]
    turns = {
        name: math.remainder(toward - math.atan2(y, x), 2.0 * math.pi)
        for name, (x, y, _) in places
        if math.hypot(x, y) > DEFAULT.level
    }
    if not turns:
        return None
    name = min(turns, key=lambda name: abs(math.sin(turns[name])))
    return Bearing(name=name, turn=turns[name])


def _swing(blank: Blank, form_from_blank: Frame, lathe: Lathe) -> Swing:
    """The farthest wood: distance from an axis is convex, so it is largest at a corner of the mesh."""
    places = form_from_blank.carry(blank.mesh.vertices)
    radii = np.hypot(places[:, 0], places[:, 1])
    farthest = int(radii.argmax())
    x, y, height = (float(value) for value in places[farthest])
    radius = float(radii[farthest])
    rest = REST_AIR if lathe.tool_rest is None else lathe.tool_rest
    return Swing(
        radius=radius,
        theta=math.atan2(y, x) % (2.0 * math.pi),
        height=height,
        slack=blank.uncertainty,
        room=None if lathe.swing is None else lathe.swing / 2.0,
        rest=radius + blank.uncertainty + rest,
    )


def _force(mass: Mass, offset: float, slack: float, rpm: float) -> Force:
    weights, most = (weights_at(arm, rpm) for arm in (offset, offset + slack))
    if mass.kilograms is None or mass.spread is None:
        return Force(rpm=rpm, newtons=None, most_newtons=None, weights=weights, most_weights=most)
    return Force(
        rpm=rpm,
        newtons=force_at(mass.kilograms, offset, rpm),
        most_newtons=force_at(mass.kilograms * (1.0 + mass.spread), offset + slack, rpm),
        weights=weights,
        most_weights=most,
    )


def speeds_of(lathe: Lathe) -> tuple[float, ...]:
    """Speeds to say the force at: the lathe's lowest and highest, and the round ones between, rpm.

    Examples
    --------
    >>> speeds_of(Lathe(lowest_speed=60.0, highest_speed=250.0))
    (60.0, 100.0, 150.0, 200.0, 250.0)
    """
    low = lathe.lowest_speed or min(_USUAL[0], lathe.highest_speed or math.inf)
    high = lathe.highest_speed or max(_USUAL[1], low)
    return tuple(sorted({low, high, *(float(rpm) for rpm in _ROUND_SPEEDS if low < rpm < high)}))


def _start(arm: float, swing: Swing, span: Span, lathe: Lathe) -> Start:
    """The speed to begin with; ``arm`` is what the centres hold as an offset, its uncertainty added, mm."""
    arm = arm if arm > DEFAULT.same_point else 0.0
    bounds = [
        SpeedBound(rule=SpeedRule.PRODUCT, rpm=PRODUCT[0] * MM_PER_INCH / (2.0 * (swing.radius + swing.slack))),
        SpeedBound(rule=SpeedRule.FORCE, rpm=speed_at(arm, WEIGHT_SHARE)),
    ]
    if lathe.highest_speed is not None:
        bounds.append(SpeedBound(rule=SpeedRule.HIGHEST, rpm=lathe.highest_speed))
    least = min(bound.rpm for bound in bounds)
    lowest = lathe.lowest_speed
    hindered = {
        Hindrance.SWING: swing.clears is False,
        Hindrance.LENGTH: span.goes is False,
        Hindrance.SPEED: lowest is not None and not lowest <= least,
    }
    hindrances = tuple(hindrance for hindrance, is_so in hindered.items() if is_so)
    return Start(
        rpm=None if hindrances else max(_rounded_down(least), lowest or 0.0),
        bounds=tuple(sorted(bounds, key=lambda bound: bound.rpm)),
        lowest=lowest,
        hindrances=hindrances,
    )


def _rounded_down(rpm: float) -> float:
    """A speed that can be set: tens of rpm, fives below a hundred."""
    step = 10.0 if rpm >= 100.0 else 5.0
    return math.floor(rpm / step) * step
