"""From a form to its half section: the outer curve, the inner curve, the solid between them.

The checks that may refuse a section are in ``section_checks``. Nothing here has heard of a blank.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.engine.section_checks import check_inner, check_outer, check_wall
from formmaker.errors import FormError
from formmaker.geometry import curve_measures
from formmaker.geometry.curve_measures import crossings_at, turned_solid
from formmaker.geometry.curve_offsets import WallLaw, offset_above
from formmaker.geometry.curves import (
    Curve,
    arc_about,
    curve_through,
    joined,
    part_of,
    points_on,
    polyline,
    polyline_parameters,
    slopes_on,
    straight_line,
)
from formmaker.model.form import Form
from formmaker.model.section import Section
from formmaker.tolerances import DEFAULT, Tolerances

Floats = NDArray[np.float64]

FILLET_SHARE = 0.125
"""Radius of the fillet from floor to wall, as a share of the largest diameter: 25 mm in a 200 mm bowl, what the
nose of a bowl gouge sweeps without a catch (common practice, no source)."""

_FILLET_STEP = 0.8
"""A fillet that does not fit is tried again smaller by this."""

_LEAST_FILLET = 0.5
"""Below this radius, mm, floor and wall meet in a plain corner: no tool cuts less."""

_STEEPEST_LEAN = 0.05
"""A wall whose inside rises less than this (sine of the angle) is not prolonged to the rim or to the floor."""


def outer_curve(form: Form) -> Curve:
    """Outer curve of a form through its handles, from the edge of the foot to the rim, unchecked."""
    return curve_through(form.handles, form.corners)


def build_section(form: Form, *, tolerances: Tolerances = DEFAULT) -> Section:
    """Outer and inner curve of a form.

    Parameters
    ----------
    form : Form
    tolerances : Tolerances

    Returns
    -------
    Section

    Raises
    ------
    FormError
        If the outer curve crosses itself, the axis, the foot plane or the rim plane; bends more tightly than the
        wall allows; or the inside is not one open hollow with a wall as thick as asked. Radius and height say where.

    Notes
    -----
    The inside runs from the axis along the flat floor, through a fillet, and up at the true normal distance of the
    wall from the outer curve. The fillet is the arc of a rolling ball that touches floor and wall from the hollow,
    so that it only ever leaves wood; its radius is an eighth of the largest diameter, or what fits. In a
    round-bottomed form, where the inside comes down to the floor nearly level, the ball touches both close to where
    they meet and the form flows on. Where the inside never comes down as far as the floor it is prolonged along its
    tangent, or, where that would meet the axis first, let down to the axis in one level-ended sweep. At the rim the
    inside is cut at the rim plane, or prolonged to it along its tangent.
    """
    return _built(_Asked(form=form, tolerances=tolerances))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """A form to build, the same as another where all its figures are."""

    form: Form
    tolerances: Tolerances

    @property
    def _figures(self) -> tuple[object, ...]:
        form = self.form
        curves = (form.handles.tobytes(), form.corners.tobytes(), form.wall.tobytes())
        return (*curves, form.floor, self.tolerances)

    def __hash__(self) -> int:
        return hash(self._figures)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self._figures == other._figures


@lru_cache(maxsize=4)  # reading a job asks for its section, and so does making its form ready: 25 ms each
def _built(asked: _Asked) -> Section:
    form, tolerances = asked.form, asked.tolerances
    outer = outer_curve(form)
    check_outer(outer, tolerances=tolerances)
    law = WallLaw(rows=form.wall)
    wall = offset_above(outer, law, level=form.floor, tolerances=tolerances)
    wall = _to_rim(wall, outer)
    diameter = 2.0 * curve_measures.largest_radius(outer)
    wall = _to_floor(wall, outer, form.floor)
    section = Section(outer=outer, inner=_with_floor(wall, form.floor, FILLET_SHARE * diameter, tolerances))
    check_inner(section, tolerances=tolerances)
    check_wall(section, law, tolerances=tolerances)
    return section


def section_outline(section: Section, *, chord: float = DEFAULT.chord) -> Floats:
    """Half section as a polygon.

    Parameters
    ----------
    section : Section
    chord : float
        Its straight steps leave the curves by no more than this, mm.

    Returns
    -------
    (n, 2) float
        Radius and height, mm, counter-clockwise from (0, 0) along the foot, up the outer curve, across the rim, down
        the inner curve to the axis; the first point is not repeated at the end.
    """
    outer, inner = polyline(section.outer, chord=chord), polyline(section.inner, chord=chord)
    return np.concatenate([[[0.0, 0.0]], outer, inner[::-1]])


def section_volume(section: Section) -> float:
    """Volume of the solid that a section turns, exactly, mm3."""
    return turned_solid(section.outer).volume - turned_solid(section.inner).volume


def largest_radius(section: Section) -> float:
    """Greatest radius of the outer curve, exactly, mm."""
    return curve_measures.largest_radius(section.outer)


def outline_below(section: Section, height: float, *, chord: float = DEFAULT.chord) -> Floats:
    """The part of a half section that stands on the foot and lies below a height: what must be wood.

    Parameters
    ----------
    section : Section
    height : float
        mm above the foot plane, above 0.
    chord : float
        As in ``section_outline``.

    Returns
    -------
    (n, 2) float
        Counter-clockwise, the first point not repeated, mm. A part of the wall that hangs below the height elsewhere
        without being joined to the foot below it is left out.

    Raises
    ------
    FormError
        If the height is not above the foot plane.
    """
    if not height > 0.0:
        raise FormError(f"height {height} mm is not above the foot; nothing of the bowl lies below it", height=height)
    outline = shapely.Polygon(section_outline(section, chord=chord))
    reach = 2.0 * largest_radius(section)
    below = outline.intersection(shapely.box(-1.0, -1.0, reach, height))
    parts = [part for part in shapely.get_parts(below) if isinstance(part, shapely.Polygon)]
    standing = max(parts, key=lambda part: -part.distance(shapely.Point(0.0, 0.0)))
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(standing).exterior)[:-1]
    first = int(np.hypot(*ring.T).argmin())
    return np.asarray(np.roll(ring, -first, axis=0))


def _to_rim(wall: Curve, outer: Curve) -> Curve:
    """The inside of the wall cut at the rim plane, or prolonged to it."""
    height = float(outer.end[1])
    crossings = crossings_at(wall, height)
    if len(crossings):
        return _ending_at(part_of(wall, 0.0, float(crossings[0])), height)
    end, slope = wall.end, _onward(wall, outer, -1)
    if not slope[1] > _STEEPEST_LEAN:
        raise FormError(
            f"outer curve arrives at the rim almost level, at radius {end[0]:.1f} mm; the inside of its wall ends at "
            f"height {end[1]:.1f} mm and never reaches the rim at {height:.1f} mm: let the rim rise more steeply",
            radius=float(end[0]),
            height=float(end[1]),
        )
    return joined([wall, straight_line(end, end + slope * (height - end[1]) / slope[1])])


def _ending_at(curve: Curve, height: float) -> Curve:
    """The same curve with the last point's height rounded to exactly this."""
    pieces = curve.pieces.copy()
    pieces[-1, 3, 1] = height
    return Curve(pieces=pieces)


def _onward(wall: Curve, outer: Curve, end: int) -> Floats:
    """Unit direction (2,), upward along the wall, in which its inside is prolonged at its start (0) or end (-1).

    Where that end stands square across from the outer curve's own, it is the outer curve's direction: a taper would
    otherwise lead the prolonged inside nearer than the wall is thick there.
    """
    slopes = [slopes_on(curve, float(len(curve.pieces) if end else 0)) for curve in (outer, wall)]
    beside, own = (slope / np.hypot(*slope) for slope in slopes)
    across = wall.pieces[end, end] - outer.pieces[end, end]
    return np.asarray(beside if abs(across @ beside) <= 10.0 * DEFAULT.same_point else own)


def _to_floor(wall: Curve, outer: Curve, floor: float) -> Curve:
    """The inside prolonged down to the floor, or in one sweep to the axis; as it is where it gets there itself."""
    drop = float(wall.start[1]) - floor
    if drop <= 10.0 * DEFAULT.same_point:
        return wall
    slope = _onward(wall, outer, 0)
    landing = wall.start - slope * drop / slope[1] if slope[1] > _STEEPEST_LEAN else np.zeros(2)
    if landing[0] > 0.0:
        return joined([straight_line([landing[0], floor], wall.start), wall])
    return joined([_sweep_from_axis(wall.start, slope, floor), wall])


def _with_floor(wall: Curve, floor: float, fillet: float, tolerances: Tolerances) -> Curve:
    """The inside from the axis along the floor into the wall."""
    r, z = wall.start
    if r == 0.0:
        return wall
    if not r > tolerances.same_point:
        raise FormError(
            f"inside of the wall meets the floor at radius {r:.1f} mm, height {z:.1f} mm, across the axis: there is "
            "no hollow; thin the wall or lower the floor",
            radius=float(r),
            height=float(z),
        )
    return _filleted(wall, floor, fillet, tolerances)


def _sweep_from_axis(end: Floats, slope: Floats, floor: float) -> Curve:
    """One cubic from the axis, level there, into the lower end (2,) of an inside that leaves in a direction (2,)."""
    if not (slope[0] > 0.0 and end[0] > 0.0):
        raise FormError(
            f"inside of the wall ends at radius {end[0]:.1f} mm, height {end[1]:.1f} mm and does not come down to "
            f"the floor at {floor:.1f} mm; raise the floor or thin the wall",
            radius=float(end[0]),
            height=float(end[1]),
        )
    arm = float(end[0]) / 3.0
    pieces = [[0.0, floor], [arm, floor], end - slope * arm / max(slope[0], 0.5), end]
    return Curve(pieces=np.array(pieces)[None])


def _filleted(wall: Curve, floor: float, fillet: float, tolerances: Tolerances) -> Curve:
    """Floor, rolling-ball arc and wall, with the largest arc up to ``fillet`` that fits."""
    places = polyline_parameters(wall, chord=tolerances.chord)
    # a coarse polyline would hide where the ball touches: at least 40 places on the way up
    places = np.unique(np.concatenate([places, np.linspace(0.0, len(wall.pieces), 41)]))
    radius = fillet
    while radius >= _LEAST_FILLET:
        place = _touching_place(wall, places, floor, radius)
        if place is not None:
            return _with_arc(wall, place, floor, radius)
        radius *= _FILLET_STEP
    return joined([straight_line([0.0, floor], wall.start), _starting_at(wall, floor)])


def _starting_at(curve: Curve, height: float) -> Curve:
    pieces = curve.pieces.copy()
    pieces[0, 0, 1] = height
    return Curve(pieces=pieces)


def _ball_centres(wall: Curve, places: Floats, radius: float) -> Floats:
    """Centres (..., 2) of balls that touch the wall from the hollow at these places."""
    slopes = slopes_on(wall, places)
    side = np.stack([-slopes[..., 1], slopes[..., 0]], axis=-1) / np.hypot(slopes[..., 0], slopes[..., 1])[..., None]
    return np.asarray(points_on(wall, places) + radius * side)


def _touching_place(wall: Curve, places: Floats, floor: float, radius: float) -> float | None:
    """Where on the wall a ball touches that also lies on the floor and meets nothing else; None where none does."""
    above = _ball_centres(wall, places, radius)[:, 1] - floor - radius
    rising = np.flatnonzero((above[:-1] < 0.0) & (above[1:] >= 0.0))
    if not len(rising):
        return None
    low, high = float(places[rising[0]]), float(places[rising[0] + 1])
    for _ in range(60):
        middle = (low + high) / 2.0
        if _ball_centres(wall, np.array(middle), radius)[1] < floor + radius:
            low = middle
        else:
            high = middle
    centre = _ball_centres(wall, np.array(high), radius)
    nearest = np.hypot(*(points_on(wall, places) - centre).T).min()
    # at a corner of the inside the ball's centre jumps past the floor: no touch there
    lies = abs(centre[1] - floor - radius) <= 10.0 * DEFAULT.same_point
    fits = lies and centre[0] > 0.0 and nearest >= radius * (1.0 - 1e-4) and high < len(wall.pieces)
    return high if fits else None


def _with_arc(wall: Curve, place: float, floor: float, radius: float) -> Curve:
    centre = _ball_centres(wall, np.array(place), radius)
    rest = part_of(wall, place, len(wall.pieces))
    spoke = rest.start - centre
    # from straight below the centre, counter-clockwise, to where the ball touches the wall
    turn = float(np.arctan2(spoke[0], -spoke[1])) % (2.0 * np.pi)
    arc = arc_about(centre, radius, start=-np.pi / 2.0, end=turn - np.pi / 2.0)
    flat = straight_line([0.0, floor], [centre[0], floor])
    return joined([flat, arc, rest])
