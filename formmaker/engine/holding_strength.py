"""What a holding has to bear, and what clear wood bears: an estimate that replaces neither judgement nor sound wood.

Sections are round and even; loads are added as if all met at once, each turned the way that makes a stress greatest.
"""

import math
from collections.abc import Iterator

import numpy as np

from formmaker.engine.balance import centre_slack, force_at
from formmaker.engine.grain import END_GRAIN
from formmaker.engine.gripping import glued_radius
from formmaker.engine.preparation import PreparedForm
from formmaker.engine.weighing import weigh
from formmaker.model.balance import Balance
from formmaker.model.blank import Blank
from formmaker.model.hold import HoldKind
from formmaker.model.holding import Load, SpeedFrom, Stress, StressKind
from formmaker.model.job import Job
from formmaker.model.species import Figure, Species
from formmaker.model.timber import DRY, meeting_moisture, strength_at
from formmaker.units import GRAVITY

USUAL_CUT = 100.0
"""Force of a firm cut at the rim where nobody says another, N: ten kilograms of pressure (ours, no source)."""

LEAST_FACTOR = 5.0
"""What is asked of the handbook's mean over a stress: the low end of 5 to 10 (our own choice, no source)."""


def load_on(
    job: Job, prepared: PreparedForm, blank: Blank, balance: Balance, *, rpm: float | None, cut: float | None
) -> Load:
    """Add up what the holding has to bear.

    Parameters
    ----------
    job : Job
        Its mounting is in the blank's own millimetres.
    prepared : PreparedForm
    blank : Blank
        As it stands: the whole of it hangs on the holding.
    balance : Balance
        Of the blank on this mounting.
    rpm : float or None
        None for the speed to begin with, or where there is none the lathe's lowest.
    cut : float or None
        Force of the cut, N; None for the job's own, or ``USUAL_CUT``.

    Returns
    -------
    Load

    Notes
    -----
    About the middle of the foot's plane. A force F at a rim of radius R and height h bends by at most
    F sqrt(R^2 + h^2) and turns by at most F R. Weight bends by its height over the plane. The unbalance bends by
    the square of the angular speed times the sum of mass, offset and height over all parts of the piece. Weight and
    offset are taken at the most that they may be.
    """
    speed, speed_from = _speed(job, balance, rpm)
    asked = job.hold.cut_force if cut is None else cut
    force = USUAL_CUT if asked is None else asked
    lever = math.hypot(prepared.radius, prepared.form.height)
    mass = None
    if balance.mass.kilograms is not None and balance.mass.spread is not None:
        mass = balance.mass.kilograms * (1.0 + balance.mass.spread)
    side, moment = force, force * lever
    weight = unbalance = None
    if mass is not None:
        weight = mass * GRAVITY
        side, moment = side + weight, moment + weight * abs(balance.height)
    if mass is not None and speed is not None:
        unbalance = force_at(mass, balance.offset + balance.slack, speed)
        side = side + unbalance
        moment += force_at(mass, _first_product(job, blank), speed)
    return Load(
        cut=force,
        is_assumed=asked is None,
        lever=lever,
        weight=weight,
        rpm=speed,
        speed_from=speed_from,
        unbalance=unbalance,
        pull=force,
        side=side,
        moment=moment,
        torque=force * prepared.radius,
    )


def _speed(job: Job, balance: Balance, rpm: float | None) -> tuple[float | None, SpeedFrom | None]:
    if rpm is not None:
        return rpm, SpeedFrom.ASKED
    if balance.start.rpm is not None:
        return balance.start.rpm, SpeedFrom.START
    return (None, None) if job.lathe.lowest_speed is None else (job.lathe.lowest_speed, SpeedFrom.LOWEST)


def _first_product(job: Job, blank: Blank) -> float:
    """Mean over the mass of offset times height over the foot's plane, at the most, mm2."""
    body, frame = weigh(blank).body, job.mounting.blank_from_form
    centre = frame.inverse.carry(body.centre)
    products = (frame.rotation.T @ body.spread @ frame.rotation)[:2, 2] + centre[:2] * centre[2]
    doubt = centre_slack(blank.mesh, body.centre, job.mounting.axis, blank.uncertainty)
    return float(np.linalg.norm(products)) + doubt * abs(float(centre[2]))


def stresses_of(
    prepared: PreparedForm, load: Load, grip: float, *, species: Species | None, moisture: float | None, lean: float
) -> tuple[Stress, ...]:
    """Stresses in the wood of a holding.

    Parameters
    ----------
    prepared : PreparedForm
    load : Load
    grip : float
        How much of its depth is gripped, mm.
    species : Species or None
    moisture : float or None
        %, None for green.
    lean : float
        Angle between fibres and axis, radians.

    Returns
    -------
    tuple of Stress
        A tenon or a block: tension and shear in the plane of the foot. A tenon or a recess: stripping along the side
        that the jaws hold.

    Notes
    -----
    Round section of diameter d: tension 32 M / (pi d^3) + 4 N / (pi d^2), shear 16 T / (pi d^3) + 16 V / (3 pi d^2).
    A side of height h takes an axial force over pi d h; a moment as q cos t round it, of which the greatest is
    4 M / (pi d^2 h). Shear along the fibres is compared with all shear; where it rolls them, wood bears far less.
    """
    hold, wide = prepared.hold, 2.0 * glued_radius(prepared)
    stresses = []
    if hold.kind is not HoldKind.RECESS:
        area = math.pi * wide**2 / 4.0
        tension = bending_stress(load.moment, wide) + load.pull / area
        shear = 16.0 * load.torque / (math.pi * wide**3) + 4.0 * load.side / (3.0 * area)
        across = None if lean < END_GRAIN else tension_strength(species, moisture)
        stresses += [
            _stress(StressKind.TENSION, area, tension, across),
            _stress(StressKind.SHEAR, area, shear, shear_strength(species, moisture)),
        ]
    if hold.kind is not HoldKind.GLUE_BLOCK:
        side = math.pi * hold.diameter * grip
        stripping = load.pull / side + 4.0 * load.moment / (hold.diameter * side)
        stresses.append(_stress(StressKind.STRIPPING, side, stripping, shear_strength(species, moisture)))
    return tuple(stresses)


def bending_stress(moment: float, diameter: float) -> float:
    """Greatest tension in a round section that is bent, N/mm2.

    Examples
    --------
    >>> round(bending_stress(161_500.0, 75.0), 2)
    3.9
    """
    return 32.0 * moment / (math.pi * diameter**3)


def _stress(kind: StressKind, area: float, value: float, strength: Figure | None) -> Stress:
    return Stress(
        kind=kind,
        area=area,
        value=value,
        strength=None if strength is None else strength.value,
        source="" if strength is None else strength.source.value,
    )


def shear_strength(species: Species | None, moisture: float | None) -> Figure | None:
    """The handbook's mean shear strength along the grain at a moisture (None: green), or None."""
    if species is None:
        return None
    green, dry = species.strength.shear_green, species.strength.shear_dry
    if green is None or dry is None or moisture is None:
        return _lower(green, dry, moisture)
    value = strength_at(green.value, dry.value, moisture, meeting=meeting_moisture(species))
    return Figure(value=value, source=max((green, dry), key=lambda figure: figure.source.name == "MEMORY").source)


def tension_strength(species: Species | None, moisture: float | None) -> Figure | None:
    """The handbook's mean strength across the grain at a moisture (None: green), or None.

    Notes
    -----
    The handbook gives no way to reckon it between green and dry: the lower of the two is taken.
    """
    if species is None:
        return None
    return _lower(species.strength.tension_green, species.strength.tension_dry, moisture)


def _lower(green: Figure | None, dry: Figure | None, moisture: float | None) -> Figure | None:
    """The figure for a moisture: green for green wood, dry for dry, the lower for what lies between."""
    if moisture is None:
        return green
    if moisture <= DRY:
        return dry
    known = list(_known(green, dry))
    return min(known, key=lambda figure: figure.value) if len(known) == 2 else green


def _known(*figures: Figure | None) -> Iterator[Figure]:
    yield from (figure for figure in figures if figure is not None)
