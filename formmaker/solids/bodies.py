"""The bodies beside the bowl, form frame: the blank as it stands, and the block that is glued to the foot."""

import cadquery as cq
import numpy as np

from formmaker.errors import KernelError
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh, moved
from formmaker.geometry.revolve import revolved
from formmaker.model.blank import Blank
from formmaker.model.hold import Hold
from formmaker.model.shapes import Shape
from formmaker.solids.blanks import blank_solid
from formmaker.solids.kernel import placed

SEGMENTS = 360
"""Flats in one turn of the block's mesh."""

Body = tuple[cq.Shape, Mesh]
"""The same body as a solid and as a mesh."""


def blank_body(blank: Blank, shape: Shape | None, blank_from_form: Frame) -> Body:
    """The blank with its cuts.

    Parameters
    ----------
    blank : Blank
    shape : Shape or None
        What it was described as; its exact solid is taken where the kernel can make the cuts on it.
    blank_from_form : Frame

    Returns
    -------
    (cadquery Shape, Mesh)
        The solid of a scan is reduced (``solids.blanks``), its mesh is whole.
    """
    try:
        solid = blank_solid(blank.mesh, shape, cuts=blank.cuts).solid
    except KernelError:
        if shape is None or not blank.cuts:
            raise
        solid = blank_solid(blank.mesh).solid  # the cut skin of triangles instead
    here = blank_from_form.inverse
    return placed(solid, here), moved(blank.mesh, here)


def block_body(hold: Hold) -> Body:
    """The glue block under the foot's plane."""
    solid = cq.Solid.makeCylinder(hold.radius, hold.depth, cq.Vector(0, 0, -hold.depth))
    outline = np.array([[0.0, -hold.depth], [hold.radius, -hold.depth], [hold.radius, 0.0], [0.0, 0.0]])
    return solid, revolved(outline, SEGMENTS)
