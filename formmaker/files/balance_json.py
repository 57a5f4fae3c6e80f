"""A balance as plain data for programs: the object that ``formmaker balance --json`` prints.

Keys and units are fixed; what is not known or not finite is None.
"""

import numpy as np
from numpy.typing import NDArray

from formmaker.files.plain import Plain, degrees, figure, figures
from formmaker.files.spoken_balance import say_cautions, say_reasons
from formmaker.model.balance import Balance
from formmaker.model.blank import Blank
from formmaker.units import Units


def balance_to_json(balance: Balance, blank: Blank, units: Units) -> Plain:
    """Turn a balance into what ``json.dumps(..., allow_nan=False)`` takes.

    Parameters
    ----------
    balance : Balance
    blank : Blank
        Places are given as its job file gives them: in the scan's own figures, before known lengths scale it, mm.
        Lengths (offset, radius, height) are true ones.
    units : Units
        For the sentences.

    Returns
    -------
    dict

    Notes
    -----
    ``mass_spread`` is the share of the mass by which it may be off, one way or the other. ``static_kg_mm`` is mass
    times offset. ``couple_kg_mm2`` is the square root of Ixz^2 + Iyz^2, the products of inertia about axes through
    the middle between the two centres, where the axis leaves the skin; z runs along the axis. Angles are counted as
    the mounting counts them, ``z_mm`` from the plane the foot stands on. ``force_n`` is for the axis as it is.
    ``start_rpm`` is None where the blank is not to be started on this mounting at all; ``reasons`` and ``cautions``
    are sentences.
    """
    kilograms = balance.mass.kilograms
    return {
        "mass_kg": figure(kilograms),
        "mass_spread": figure(balance.mass.spread),
        "centre_of_mass_mm": _place(balance.centre, blank.scale),
        "offset_mm": figure(balance.offset),
        "heavy_toward_deg": degrees(balance.heavy_toward),
        "static_kg_mm": None if kilograms is None else figure(kilograms * balance.offset),
        "couple_kg_mm2": None if kilograms is None else figure(kilograms * balance.couple),
        "force_n": [{"rpm": figure(force.rpm), "n": figure(force.newtons)} for force in balance.forces],
        "swing": {
            "radius_mm": figure(balance.swing.radius),
            "theta_deg": degrees(balance.swing.theta),
            "z_mm": figure(balance.swing.height),
            "clears": balance.swing.clears,
        },
        "start_rpm": figure(balance.start.rpm),
        "reasons": list(say_reasons(balance, units)),
        "cautions": list(say_cautions(balance)),
        "balanced": {
            "foot_centre": _place(balance.balanced.mounting.foot_centre, blank.scale),
            "rim_centre": _place(balance.balanced.mounting.rim_centre, blank.scale),
        },
    }


def _place(place: NDArray[np.float64], scale: float) -> list[float | None]:
    return figures(place / scale)
