"""What makes a section a bowl that can be turned: each rule with its refusal and its place.

No curve is made here; see ``section``.
"""

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.errors import FormError
from formmaker.geometry.curve_crossings import last_crossing, self_crossing
from formmaker.geometry.curve_measures import length, lengths_to, turning_places
from formmaker.geometry.curve_offsets import WallLaw
from formmaker.geometry.curves import Curve, bends_on, points_on, polyline_parameters, slopes_on
from formmaker.model.section import Section
from formmaker.tolerances import DEFAULT, Tolerances

Floats = NDArray[np.float64]

_WALL_SAMPLES = 400
"""Places along the inner curve, beside those of its polyline, from which the wall is measured."""


def check_outer(outer: Curve, *, tolerances: Tolerances = DEFAULT) -> None:
    """Refuse an outer curve that leaves the room between axis, foot plane and rim plane, or crosses itself.

    Raises
    ------
    FormError
    """
    slack = tolerances.same_point
    sides = points_on(outer, turning_places(outer, axis=0))
    heights = points_on(outer, turning_places(outer, axis=1))
    top = float(outer.end[1])
    _refuse_at(
        sides[sides[:, 0] <= slack],
        "outer curve comes to the axis (radius {r:.1f} mm) at height {z:.1f} mm; move its handles outward",
    )
    _refuse_at(
        heights[heights[:, 1] < -slack],
        "outer curve dips to {z:.3g} mm, below the foot plane, at radius {r:.1f} mm; raise the handle next to the "
        "foot or draw the foot out",
    )
    _refuse_at(
        heights[heights[:, 1] > top + slack],
        "outer curve rises to {z:.6g} mm, above its own rim, at radius {r:.1f} mm; make that the rim or lower it",
    )
    crossing = self_crossing(outer, tolerances=tolerances)
    if crossing is not None:
        raise FormError(
            f"outer curve crosses itself at radius {crossing.radius:.1f} mm, height {crossing.height:.1f} mm; move "
            "the handles there apart",
            radius=crossing.radius,
            height=crossing.height,
        )


def check_inner(section: Section, *, tolerances: Tolerances = DEFAULT) -> None:
    """Refuse an inside that is not one open hollow within the outer curve.

    Raises
    ------
    FormError
    """
    sides = points_on(section.inner, turning_places(section.inner, axis=0))[1:]
    _refuse_at(
        sides[sides[:, 0] <= tolerances.same_point],
        "inside of the wall comes to the axis at height {z:.1f} mm: the wall is thicker than the radius there; thin "
        "the wall or open the form",
    )
    crossing = self_crossing(section.inner, tolerances=tolerances)
    if crossing is not None:
        raise FormError(
            f"inner curve crosses itself at radius {crossing.radius:.1f} mm, height {crossing.height:.1f} mm; thin "
            "the wall or open the form there",
            radius=crossing.radius,
            height=crossing.height,
        )
    crossing = last_crossing(section.inner, section.outer, tolerances=tolerances)
    if crossing is not None:
        raise FormError(
            f"inner curve comes out through the outer curve at radius {crossing.radius:.1f} mm, height "
            f"{crossing.height:.1f} mm; lower the floor or move the outer curve out there",
            radius=crossing.radius,
            height=crossing.height,
        )


def check_wall(section: Section, law: WallLaw, *, tolerances: Tolerances = DEFAULT) -> None:
    """Refuse a wall that is anywhere thinner than asked.

    Parameters
    ----------
    section : Section
    law : WallLaw
        What was asked.
    tolerances : Tolerances
        ``chord`` is the slack.

    Raises
    ------
    FormError

    Notes
    -----
    From places all along the inner curve the nearest place of the outer curve is sought. The way between them is
    square to the outer curve there, so that it is the normal thickness which the law speaks of, tapered or not.
    """
    even = np.linspace(0.0, len(section.inner.pieces), _WALL_SAMPLES)
    places = np.unique(np.concatenate([polyline_parameters(section.inner, chord=tolerances.chord), even]))
    inside = points_on(section.inner, places)
    beside = _nearest_parameters(section.outer, inside, tolerances)
    found = np.hypot(*(points_on(section.outer, beside) - inside).T)
    asked = law.thickness(lengths_to(section.outer, beside) / length(section.outer))
    worst = int((asked - found).argmax())
    if asked[worst] - found[worst] > tolerances.chord:
        r, z = points_on(section.outer, beside[worst])
        raise FormError(
            f"wall {found[worst]:.2f} mm at height {z:.1f} mm is thinner than the {asked[worst]:.2f} mm asked; open "
            "the form there, raise the floor or ask for a thinner wall",
            radius=float(r),
            height=float(z),
        )


def _nearest_parameters(outer: Curve, points: Floats, tolerances: Tolerances) -> Floats:
    """Parameters (n,) of a curve nearest to points (n, 2): from its polyline, closed in by Newton's method."""
    places = polyline_parameters(outer, chord=tolerances.chord / 4.0)
    corners = points_on(outer, places)
    run = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    along = shapely.line_locate_point(shapely.LineString(corners), shapely.points(points))
    first = best = np.interp(along, run, places)
    for _ in range(3):
        gap, slope = points_on(outer, best) - points, slopes_on(outer, best)
        steep = (slope * slope).sum(axis=1) + (gap * bends_on(outer, best)).sum(axis=1)
        step = (gap * slope).sum(axis=1) / np.maximum(steep, 1e-3 * (slope * slope).sum(axis=1))
        best = np.clip(best - step, 0.0, float(len(outer.pieces)))
    # at a corner of the curve, or the centre of a bend, Newton may go astray: the polyline's place is then as good
    nearer = np.hypot(*(points_on(outer, best) - points).T) <= np.hypot(*(points_on(outer, first) - points).T)
    return np.asarray(np.where(nearer, best, first))


def _refuse_at(places: Floats, text: str) -> None:
    if len(places):
        r, z = (float(value) for value in places[0])
        raise FormError(text.format(r=r, z=z), radius=r, height=z)
