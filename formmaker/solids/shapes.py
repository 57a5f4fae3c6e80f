"""Exact solids of the blanks that can be described in a few sizes, each in the frame that its record states.

Their meshes are made in ``sources``; scans and readings become solids in ``blanks``.
"""

import math

import cadquery as cq

from formmaker.model.shapes import Board, CapBurr, Crotch, HalfLog, Log, Round, Shape
from formmaker.solids.forms import turned


def shape_solid(shape: Shape) -> cq.Shape:
    """Solid of a described blank, blank frame, mm.

    Parameters
    ----------
    shape : Shape
        Log, half log, cap burr, crotch, board or round.

    Returns
    -------
    cadquery Shape
        One solid with planes, cylinders and balls as its faces.

    Examples
    --------
    >>> round(shape_solid(Board(length=300.0, width=200.0, thickness=50.0)).Volume())
    3000000
    """
    match shape:
        case Log():
            return cq.Solid.makeCylinder(shape.radius, shape.length, cq.Vector(0, 0, 0), cq.Vector(1, 0, 0))
        case HalfLog():
            return _half_cylinder(shape.radius, shape.length).moved(cq.Location((-shape.length / 2.0, 0, 0)))
        case CapBurr():
            return _cap(shape.diameter / 2.0, shape.height)
        case Crotch():
            return _fork(shape)
        case Board():
            low = cq.Vector(-shape.length / 2.0, -shape.width / 2.0, 0)
            return cq.Solid.makeBox(shape.length, shape.width, shape.thickness, low)
        case Round():
            return cq.Solid.makeCylinder(shape.diameter / 2.0, shape.thickness)


def _half_cylinder(radius: float, length: float) -> cq.Solid:
    """Along x from 0, flat side in z = 0, round side up."""
    side, top, other = (cq.Vector(0, y, z) for y, z in ((radius, 0), (0, radius), (-radius, 0)))
    ring = cq.Wire.assembleEdges([cq.Edge.makeThreePointArc(side, top, other), cq.Edge.makeLine(other, side)])
    return cq.Solid.extrudeLinear(ring, [], cq.Vector(length, 0, 0))


def _cap(rim: float, height: float) -> cq.Solid:
    ball = (rim * rim + height * height) / (2.0 * height)
    half_angle = math.asin(min(1.0, rim / ball)) / 2.0
    between = cq.Vector(ball * math.sin(half_angle), 0, height - ball + ball * math.cos(half_angle))
    edge, foot, top = cq.Vector(rim, 0, 0), cq.Vector(0, 0, 0), cq.Vector(0, 0, height)
    arc = cq.Edge.makeThreePointArc(edge, between, top)
    return turned([cq.Edge.makeLine(foot, edge), arc, cq.Edge.makeLine(top, foot)])


def _fork(shape: Crotch) -> cq.Shape:
    stem = _half_cylinder(shape.stem_radius, shape.stem_length).moved(cq.Location((-shape.stem_length, 0, 0)))
    branch = _half_cylinder(shape.branch_radius, shape.branch_length)
    up = cq.Vector(0, 0, 1)
    turn = math.degrees(shape.angle)
    left, right = (branch.rotate(cq.Vector(0, 0, 0), up, angle) for angle in (turn, -turn))
    return stem.fuse(left, right)
