"""Cuts made on exact solids: the half space beyond a saw, the turned body that a tool takes away.

The same cuts on skins of triangles are made in ``engine.cuts``, which also decides which piece stays.
"""

from collections.abc import Sequence
from itertools import pairwise

import cadquery as cq
import numpy as np
from numpy.typing import NDArray

from formmaker.engine.cuts import across, turn_frame, turned_off
from formmaker.errors import KernelError
from formmaker.geometry.frames import frame_from_axis
from formmaker.model.cut import CutReport, SawCut, TurnCut
from formmaker.solids.forms import turned
from formmaker.solids.kernel import boxed, measure, parted, placed
from formmaker.tolerances import DEFAULT


def cut_solid(solid: cq.Shape, cuts: Sequence[CutReport]) -> cq.Shape:
    """Make cuts on a solid.

    Parameters
    ----------
    solid : cadquery Shape
        Blank frame, mm.
    cuts : sequence of CutReport
        As they were made on the mesh; where one leaves several pieces, the one whose volume comes nearest to what was
        left there is kept.

    Returns
    -------
    cadquery Shape

    Raises
    ------
    KernelError
        If the kernel gives no sound result, or nothing is left.
    """
    for report in cuts:
        pieces = parted(solid, _tool(report.cut, boxed(solid))).rest.Solids()
        if not pieces:
            raise KernelError(f"the solid kernel leaves no wood at cut {report.number}; go by the mesh boolean alone")
        left = report.left
        solid = min(pieces, key=lambda piece: abs(measure(piece).volume - left))
    return solid


def _tool(cut: SawCut | TurnCut, box: NDArray[np.float64]) -> cq.Shape:
    corners = np.stack(np.meshgrid(*box.T, indexing="ij"), axis=-1).reshape(-1, 3)
    if isinstance(cut, TurnCut):
        frame = turn_frame(cut)
        reach = float(np.hypot(*frame.inverse.carry(corners)[:, :2].T).max())
        outline = turned_off(cut.profile, reach)
        ends = pairwise(np.vstack([outline, outline[:1]]))
        edges = [_edge(a, b) for a, b in ends if np.hypot(*(b - a)) > DEFAULT.same_point]
        return placed(turned(edges), frame)
    frame = frame_from_axis(cut.point, cut.normal, across(cut.normal))
    reach = float(np.linalg.norm(corners - cut.point, axis=1).max()) + 1.0
    beyond = cq.Solid.makeBox(2.0 * reach, 2.0 * reach, reach, cq.Vector(-reach, -reach, 0.0))
    return placed(beyond, frame)


def _edge(start: NDArray[np.float64], end: NDArray[np.float64]) -> cq.Edge:
    (r0, z0), (r1, z1) = start.tolist(), end.tolist()
    return cq.Edge.makeLine(cq.Vector(r0, 0.0, z0), cq.Vector(r1, 0.0, z1))
