"""How much of a form is wood, by the field: the figure that the mesh boolean and the solid kernel are laid beside."""

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.cells import section_cells
from formmaker.engine.field import Field
from formmaker.engine.needed import held_outline
from formmaker.engine.preparation import PreparedForm
from formmaker.geometry.frames import Frame
from formmaker.geometry.rings import ring_depths
from formmaker.model.proof import ProofMethod, WoodFigures

_FINE_CELL = 1.0  # mm, with the half degree below: 0.1 % of a bowl's volume, what is promised beside the kernel
_FINE_TURNS = 720


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
