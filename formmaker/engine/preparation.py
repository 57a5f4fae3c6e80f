"""A form made ready for many checks: everything that does not depend on the blank or the mounting."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from formmaker.engine.cells import SectionCells, section_cells
from formmaker.engine.needed import NeededWood, held_outline, needed_wood
from formmaker.engine.section import build_section, largest_radius, section_outline
from formmaker.geometry.curve_measures import length, parameters_by_length
from formmaker.geometry.curves import Curve, points_on, slopes_on
from formmaker.model.form import Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.section import Section
from formmaker.tolerances import DEFAULT, Tolerances

_CELLS_IN_WALL = 3.0  # a wall of one cell could hang together by corners alone
_CELL_RANGE = (0.6, 2.0)  # mm: finer is slow, coarser would overlook a loose piece of a lentil's size
_WALL_STEP = 2.0  # mm along the curve: what windows and necks are seen at, about a degree of turn
_MOST_CELLS = 3000.0  # a bowl of half a metre has about this many; larger ones get larger cells, not more
_MOST_PLACES = 400


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallLine:
    """Places along the wall, foot to rim, evenly spaced along the outer curve; radius and height in mm.

    Parameters
    ----------
    outer, middle, inner : (m, 2) float
        On the outer curve, half way into the wall, and just short of its inside.
    thickness : (m,) float
    step : float
        Length along the outer curve between places, mm.
    cell : (m,) int
        Which cell of the section lies nearest to each place half way into the wall.
    """

    outer: NDArray[np.float64]
    middle: NDArray[np.float64]
    inner: NDArray[np.float64]
    thickness: NDArray[np.float64]
    step: float
    cell: NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PreparedForm:
    """A form with its holding, section, outline, must-be-wood and wall.

    ``solid`` is the outline with the tenon, where there is one; a recess is wood until it is cut. ``cells`` are those
    of the whole form, ``needed_cells`` (k,) says which of them must be wood; ``radius`` is the form's largest, mm.
    """

    form: Form
    hold: Hold
    section: Section
    outline: NDArray[np.float64]
    solid: NDArray[np.float64]
    needed: NeededWood
    cells: SectionCells
    needed_cells: NDArray[np.bool_]
    wall: WallLine
    radius: float


def prepare_form(form: Form, hold: Hold, *, tolerances: Tolerances = DEFAULT) -> PreparedForm:
    """Work out once what every check of this form needs.

    Parameters
    ----------
    form : Form
    hold : Hold
    tolerances : Tolerances

    Returns
    -------
    PreparedForm

    Raises
    ------
    FormError
        If the form contradicts itself.
    """
    section = build_section(form, tolerances=tolerances)
    outline = section_outline(section, chord=tolerances.chord)
    needed = needed_wood(form, section, hold, tolerances=tolerances)
    thinnest = float(form.wall[:, 1].min())
    fine = float(np.clip(thinnest / _CELLS_IN_WALL, *_CELL_RANGE))
    cells = section_cells(outline, max(fine, math.sqrt(shapely.Polygon(outline).area / _MOST_CELLS)))
    return PreparedForm(
        form=form,
        hold=hold,
        section=section,
        outline=outline,
        solid=held_outline(outline, hold) if hold.kind is HoldKind.TENON else outline,
        needed=needed,
        cells=cells,
        needed_cells=shapely.contains_xy(shapely.Polygon(needed.outline), cells.centres),
        wall=_wall_line(section.outer, form, cells),
        radius=largest_radius(section),
    )


def _wall_line(outer: Curve, form: Form, cells: SectionCells) -> WallLine:
    whole = length(outer)
    count = int(np.clip(np.ceil(whole / _WALL_STEP), 7, _MOST_PLACES)) + 1
    fractions = np.linspace(0.0, 1.0, count)
    places = parameters_by_length(outer, fractions)
    points, slopes = points_on(outer, places), slopes_on(outer, places)
    inward = np.column_stack([-slopes[:, 1], slopes[:, 0]]) / np.hypot(*slopes.T)[:, None]
    thickness = np.interp(fractions, form.wall[:, 0], form.wall[:, 1])
    inside = [_within(points + share * thickness[:, None] * inward, form.height) for share in (0.5, 0.9)]
    return WallLine(
        outer=points,
        middle=inside[0],
        inner=inside[1],
        thickness=thickness,
        step=whole / (count - 1),
        cell=np.asarray(cKDTree(cells.centres).query(inside[0])[1], dtype=np.int64),
    )


def _within(points: NDArray[np.float64], height: float) -> NDArray[np.float64]:
    """Keep places between the foot plane and the rim plane, and off the axis."""
    return np.column_stack([np.maximum(points[:, 0], 0.0), np.clip(points[:, 1], 0.0, height)])
