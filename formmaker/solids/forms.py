"""The exact solid of a bowl form: its half section turned once round the axis, tenon or recess included.

The section's cubic pieces go to the kernel as they are; nothing is flattened. It does not know the blank.
"""

from itertools import pairwise

import cadquery as cq
import numpy as np
from numpy.typing import NDArray

from formmaker.errors import FormError, KernelError
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.section import Section
from formmaker.tolerances import DEFAULT, Tolerances

Points = NDArray[np.float64]


def form_solid(section: Section, *, hold: Hold | None = None, tolerances: Tolerances = DEFAULT) -> cq.Solid:
    """Solid of a form, form frame.

    Parameters
    ----------
    section : Section
        Outer and inner curve of the bowl.
    hold : Hold, optional
        A tenon stands below the foot plane and belongs to the solid; a recess is cut out of it; a glue block is
        other wood and changes nothing. None for the bowl without its holding.
    tolerances : Tolerances
        ``same_point``: shorter lines are left out, and pieces that leave a line by less are lines.

    Returns
    -------
    cadquery Solid
        Valid; z up the axis, the foot in z = 0, mm.

    Raises
    ------
    FormError
        If tenon or recess does not go with the foot and the floor.
    KernelError
        If the kernel makes no valid solid of it.
    """
    foot = _foot_corners(section, hold)
    edges = [
        *_curve_edges(section.outer.pieces, tolerances),
        *_line_edges(np.array([section.outer.end, section.inner.end]), tolerances),
        *_curve_edges(section.inner.pieces[::-1, ::-1], tolerances),
        *_line_edges(np.vstack([section.inner.start, foot, section.outer.start]), tolerances),
    ]
    return turned(edges)


def turned(edges: list[cq.Edge]) -> cq.Solid:
    """Turn a closed chain of edges in the plane y = 0 once round the z axis; KernelError where that is no solid."""
    face = cq.Face.makeFromWires(cq.Wire.assembleEdges(edges), [])
    solid = cq.Solid.revolve(face, 360.0, cq.Vector(0, 0, 0), cq.Vector(0, 0, 1))
    if not solid.isValid():
        raise KernelError("the solid kernel makes no valid solid of this form; check it for curves that touch")
    return solid


def _foot_corners(section: Section, hold: Hold | None) -> Points:
    """Corners from the axis out along the foot to where the flat of the foot begins."""
    if hold is None or hold.kind is HoldKind.GLUE_BLOCK:
        return np.array([[0.0, 0.0]])
    foot, floor = float(section.outer.start[0]), float(section.inner.start[1])
    if not hold.radius <= foot:
        raise FormError(
            f"{hold.kind} diameter {hold.diameter:g} mm is wider than the foot, {2 * foot:g} mm; "
            "make it narrower or the foot wider"
        )
    if hold.kind is HoldKind.RECESS and not hold.depth < floor:
        raise FormError(
            f"recess depth {hold.depth:g} mm goes through the floor of {floor:g} mm; "
            "make it shallower or the floor thicker"
        )
    level = -hold.depth if hold.kind is HoldKind.TENON else hold.depth
    return np.array([[0.0, level], [hold.radius, level], [hold.radius, 0.0]])


def _curve_edges(pieces: Points, tolerances: Tolerances) -> list[cq.Edge]:
    edges = []
    for piece in pieces:
        if _is_straight(piece, tolerances.same_point):
            edges += _line_edges(piece[[0, 3]], tolerances)
        else:
            edges.append(cq.Edge.makeBezier([_in_plane(point) for point in piece]))
    return edges


def _is_straight(piece: Points, same_point: float) -> bool:
    """Whether a piece runs along its chord without turning back: then the kernel gets a cone, not a spline."""
    chord = piece[3] - piece[0]
    length = float(np.hypot(*chord))
    if length <= same_point:
        return bool((np.hypot(*(piece - piece[0]).T) <= same_point).all())
    unit = chord / length
    along, across = (piece - piece[0]) @ unit, (piece - piece[0]) @ np.array([-unit[1], unit[0]])
    return bool((np.abs(across) <= same_point).all() and (np.diff(along) >= -same_point).all())


def _line_edges(points: Points, tolerances: Tolerances) -> list[cq.Edge]:
    steps = pairwise(points)
    return [
        cq.Edge.makeLine(_in_plane(a), _in_plane(b)) for a, b in steps if np.hypot(*(b - a)) > tolerances.same_point
    ]


def _in_plane(point: Points) -> cq.Vector:
    return cq.Vector(float(point[0]), 0.0, float(point[1]))
