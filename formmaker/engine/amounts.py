"""How much of a form is wood, by the field: the figure that the mesh boolean and the solid kernel are laid beside."""

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.engine.cells import section_cells
from formmaker.engine.field import Field
from formmaker.engine.preparation import PreparedForm
from formmaker.errors import FormError
from formmaker.geometry.frames import Frame
from formmaker.geometry.rings import ring_depths
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.proof import ProofMethod, WoodFigures

_FINE_CELL = 1.0  # mm, with the half degree below: 0.1 % of a bowl's volume, what is promised beside the kernel
_FINE_TURNS = 720


def held_outline(outline: NDArray[np.float64], hold: Hold) -> NDArray[np.float64]:
    """Outline of a half section with the tenon added or the recess taken off.

    Parameters
    ----------
    outline : (n, 2) float
        Closed polygon (radius, height), mm.
    hold : Hold
        A glue block is other wood and changes nothing.

    Returns
    -------
    (m, 2) float
        The largest part, where a recess as wide as the foot leaves several.

    Raises
    ------
    FormError
        If a recess leaves nothing.
    """
    if hold.kind is HoldKind.GLUE_BLOCK:
        return outline
    body = shapely.Polygon(outline)
    if hold.kind is HoldKind.TENON:
        body = body.union(shapely.box(0.0, -hold.depth, hold.radius, 0.0))
    else:
        body = body.difference(shapely.box(0.0, 0.0, hold.radius, hold.depth))
    largest = max(shapely.get_parts(body), key=shapely.area, default=None)
    if largest is None:
        raise FormError(
            f"a recess of diameter {hold.diameter:g} mm and depth {hold.depth:g} mm takes the whole bowl away; "
            "make it smaller"
        )
    return np.array(largest.exterior.coords)[:-1]


def field_figures(prepared: PreparedForm, field: Field, blank_from_form: Frame) -> WoodFigures:
    """Wood in the bowl and wood missing from must-be-wood, sampled on the distance field.

    Parameters
    ----------
    prepared : PreparedForm
    field : Field
    blank_from_form : Frame

    Returns
    -------
    WoodFigures
        On cells of a millimetre at every half degree; a cell at the skin counts by the share that its depth says.
        Tenon added, recess taken off. No pieces are told apart.
    """
    wood = _wood_in(held_outline(prepared.outline, prepared.hold), field, blank_from_form)
    needed = _wood_in(held_outline(prepared.needed.outline, prepared.hold), field, blank_from_form)
    return WoodFigures(method=ProofMethod.FIELD, bowl=wood[0], missing=needed[1] - needed[0])


def _wood_in(outline: NDArray[np.float64], field: Field, frame: Frame) -> tuple[float, float]:
    """Volume of wood inside an outline's turned body, and the volume of that body, mm3."""
    cells = section_cells(outline, _FINE_CELL)
    depths = ring_depths(field.skin.grid, cells.centres, frame, _FINE_TURNS)
    shares = np.clip(0.5 + depths / _FINE_CELL, 0.0, 1.0)
    whole = float(cells.ring_areas.sum()) * 2.0 * np.pi
    return float((shares @ cells.ring_areas).sum()) * 2.0 * np.pi / _FINE_TURNS, whole
