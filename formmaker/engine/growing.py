"""A bowl of no size as rings that grow with its diameter: what every size must surely have as wood.

Outer curve, foot and lowest rim grow in proportion; wall, floor and holding are real lengths, the holding narrower
where the foot is too narrow for it (``patterns``). It knows no wood.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.patterns import Pattern, hold_at, low_share_of
from formmaker.engine.sketching import form_from_profile
from formmaker.geometry.curve_measures import crossings_at
from formmaker.geometry.curves import Curve, curve_through, points_on
from formmaker.geometry.turned_points import Rings
from formmaker.model.hold import HoldKind

_UNIT = 1000.0  # mm: the diameter at which the curve is drawn
_RINGS = 24  # along the outer curve
_LINE = 160  # places along the whole outer curve, for marks that the rim has to pass
_IN_FOOT = np.array([0.0, 0.4, 0.75])

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Growing:
    """A pattern as rings.

    Parameters
    ----------
    pattern : Pattern
    reference : float
        Height of the rings' reference above the foot, as a share of the diameter.
    needed : Rings
        Inside or on must-be-wood in every diameter from the least on; sizes are diameters, mm.
    outer : Rings
        Along the whole outer curve.
    outer_gap : float
        No place of the outer curve lies farther from its nearest ring, as a share of the diameter.
    """

    pattern: Pattern
    reference: float
    needed: Rings
    outer: Rings
    outer_gap: float


def growing(pattern: Pattern, *, least: float) -> Growing:
    """Make a pattern into rings that stand for every diameter from ``least`` (mm) on.

    Notes
    -----
    The curve of one proportion is the same in every size, so its places grow in a straight line. Of the holding the
    rings take what the least diameter has: it never gets narrower with the foot.
    """
    curve = _unit_curve(pattern)
    low = low_share_of(pattern.job.form) * pattern.proportion
    places = _places_below(curve, low)
    reference = _middle_height(places)
    foot = np.column_stack([pattern.foot_share * _IN_FOOT, np.zeros(len(_IN_FOOT))])
    rows = np.vstack([_rows(np.vstack([places, foot]), reference), _hold_rows(pattern, least, reference)])
    line = points_on(curve, np.linspace(0.0, len(curve.pieces), _LINE))
    between = points_on(curve, np.linspace(0.0, len(curve.pieces), 8 * _LINE))
    gaps = np.hypot(*(between[:, None, :] - line[None]).transpose(2, 0, 1)).min(axis=1)
    return Growing(
        pattern=pattern,
        reference=reference,
        needed=Rings(rows=rows),
        outer=Rings(rows=_rows(line, reference)),
        outer_gap=1.01 * float(gaps.max()),
    )


def _unit_curve(pattern: Pattern) -> Curve:
    """The outer curve at a diameter of 1."""
    form = form_from_profile(pattern.profile, diameter=_UNIT, height=pattern.proportion * _UNIT, wall=1.0, floor=1.0)
    return Curve(pieces=curve_through(form.handles, form.corners).pieces / _UNIT)


def _places_below(curve: Curve, low: float) -> Floats:
    """Places along a curve up to a height, those at the height included, (n, 2)."""
    parameters = np.linspace(0.0, len(curve.pieces), 8 * _RINGS)
    points = points_on(curve, parameters)
    kept = points[points[:, 1] <= low]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(kept, axis=0).T))])
    chosen = np.unique(np.searchsorted(along, np.linspace(0.0, along[-1], _RINGS)))
    ends = points_on(curve, crossings_at(curve, low)).reshape(-1, 2)
    return np.vstack([kept[chosen], ends])


def _middle_height(places: Floats) -> float:
    """Height on the axis from which the farthest place is as near as can be: turns move the body least about it."""
    levels = np.linspace(0.0, float(places[:, 1].max()), 101)
    farthest = np.hypot(places[:, 0], places[:, 1] - levels[:, None]).max(axis=1)
    return float(levels[int(farthest.argmin())])


def _rows(places: Floats, reference: float) -> Floats:
    return np.column_stack([places[:, 0], places[:, 1] - reference, np.zeros((len(places), 2))])


def _hold_rows(pattern: Pattern, least: float, reference: float) -> Floats:
    if pattern.job.hold.kind is HoldKind.RECESS:
        return np.empty((0, 4))
    hold = hold_at(pattern, least)
    depth = hold.depth if hold.kind is HoldKind.TENON else 0.0
    shares = np.array([0.0, 0.6, 1.0])
    fixed = np.column_stack([hold.radius * shares, np.full(3, -depth)])
    return np.column_stack([np.zeros(3), np.full(3, -reference), fixed])
