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
from formmaker.geometry.curves import Curve, points_on, polyline, polyline_parameters
from formmaker.model.section import Section
from formmaker.tolerances import DEFAULT, Tolerances

Floats = NDArray[np.float64]

_WALL_SAMPLES = 400
"""Places up the outer curve, beside those of its polyline, at which the wall is measured."""


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
        "outer curve dips to {z:.2f} mm, below the foot plane, at radius {r:.1f} mm; raise the handle next to the "
        "foot or draw the foot out",
    )
    _refuse_at(
        heights[heights[:, 1] > top + slack],
        "outer curve rises to {z:.2f} mm, above its own rim, at radius {r:.1f} mm; make that the rim or lower it",
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
    The nearest inside is sought from places all up the outer curve. Where the wall tapers, the inside leans by the
    angle of the taper and comes nearer than the normal thickness by the cosine of that angle.
    """
    outer = section.outer
    even = np.linspace(0.0, len(outer.pieces), _WALL_SAMPLES)
    places = np.unique(np.concatenate([polyline_parameters(outer, chord=tolerances.chord), even]))
    points, total = points_on(outer, places), length(outer)
    fractions = lengths_to(outer, places) / total
    lean = np.cos(np.arctan(_steepest_taper(law, fractions) / total))
    inside = shapely.LineString(polyline(section.inner, chord=tolerances.chord / 4.0))
    found = shapely.distance(shapely.points(points), inside)
    short = law.thickness(fractions) * lean - found
    worst = int(short.argmax())
    if short[worst] > tolerances.chord:
        r, z = points[worst]
        raise FormError(
            f"wall {found[worst]:.2f} mm at height {z:.1f} mm is thinner than the "
            f"{law.thickness(fractions[worst]):.2f} mm asked; open the form there or ask for a thinner wall",
            radius=float(r),
            height=float(z),
        )


def _steepest_taper(law: WallLaw, fractions: Floats) -> Floats:
    """The greater of the tapers on both sides of each fraction, mm."""
    around = np.abs(np.stack([law.taper(np.clip(fractions + step, 0.0, 1.0)) for step in (-0.02, 0.0, 0.02)]))
    return np.asarray(around.max(axis=0))


def _refuse_at(places: Floats, text: str) -> None:
    if len(places):
        r, z = (float(value) for value in places[0])
        raise FormError(text.format(r=r, z=z), radius=r, height=z)
