"""How much room the wood has for a form on one axis: what a first proposal and a comparison of forms both ask.

Quick looks at a curve and exact ones at a form; which sizes to look at is for the searches to say.
"""

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.engine.needed import NeededWood
from formmaker.geometry.curves import curve_through, points_on
from formmaker.geometry.frames import Frame
from formmaker.geometry.grid import grid_distance
from formmaker.geometry.least import LeastDistance, least_distance
from formmaker.geometry.rings import ring_depths
from formmaker.tolerances import DEFAULT
from formmaker.units import MM_PER_INCH, Units

SMALLEST_BOWL = 50.0
"""Diameter, mm: below it, turning is another craft."""

STRETCH = 1.6
"""A profile drawn wider or narrower than by this is another profile."""

TURNS = 48
"""Angles of a quick look: its figures are checked on the mesh afterwards."""

PLACES = 16
"""Places of a quick look along a curve, and rows of samples inside it."""

Floats = NDArray[np.float64]


def step_of(units: Units) -> float:
    """What sizes are rounded to, mm: whole millimetres, or sixteenths of an inch."""
    return 1.0 if units is Units.MM else MM_PER_INCH / 16.0


def down_to(length: float, step: float) -> float:
    """The whole step below a length, or the length itself where it is one."""
    return float(np.floor(length / step + 1e-9)) * step


def need_of(field: Field, skin: float) -> float:
    """How deep must-be-wood has to lie for an answer of FITS, the search's own slack left out, mm."""
    return skin + field.blank.uncertainty + DEFAULT.chord


def smallest_across(step: float) -> float:
    """Least diameter worth trying, a whole step, mm."""
    return float(np.ceil(SMALLEST_BOWL / step)) * step


def most_across(field: Field, frame: Frame) -> float:
    """Greatest diameter worth drawing, mm: what the wood reaches across the axis.

    Above the bark a natural edge is only thought of, and could be drawn wider; such a form would lie in air.
    """
    places = frame.inverse.carry(field.blank.mesh.vertices)
    return 2.0 * float(np.hypot(places[:, 0], places[:, 1]).max())


def curve_places(handles: Floats, corners: NDArray[np.bool_], *, count: int = PLACES) -> Floats:
    """Places (count, 2) along the outer curve through handles, foot to rim, never falling."""
    curve = curve_through(handles, corners)
    points = points_on(curve, np.linspace(0.0, len(handles) - 1.0, count))
    return np.column_stack([points[:, 0], np.maximum.accumulate(points[:, 1])])


def wood_inside(outer: Floats, field: Field, frame: Frame) -> float:
    """Volume of the wood inside an outer curve, hollow included, by samples of the grid.

    Parameters
    ----------
    outer : (n, 2) float
        Places along the curve, radius and height, the heights rising from 0, mm.
    field : Field
    frame : Frame
        ``blank_from_form``.

    Returns
    -------
    float
        mm3. Air where the bark falls away is not counted.
    """
    height = float(outer[-1, 1])
    rows = (np.arange(PLACES) + 0.5) / PLACES
    level, share = (grid.ravel() for grid in np.meshgrid(rows * height, rows, indexing="ij"))
    radii = np.interp(level, outer[:, 1], outer[:, 0])
    inside = ring_depths(field.skin.grid, np.column_stack([share * radii, level]), frame, TURNS) > 0.0
    rings = 2.0 * np.pi * share * radii**2 * height / PLACES**2
    return float((inside.mean(axis=0) * rings).sum())


def depth_at_most(places: Floats, field: Field, frame: Frame) -> Floats:
    """Upper bound on how deep each place of a half section lies where it lies least deep in its turn, (n,), mm.

    Parameters
    ----------
    places : (n, 2) float
        Radius and height, mm.
    field : Field
    frame : Frame
        ``blank_from_form``.

    Notes
    -----
    At a few angles, so the least over the whole turn may lie lower, but not higher: what this rules out is ruled
    out. Beyond the grid the truth may lie above the lookup by twice the way back, and lies below minus that way.
    """
    grid = field.skin.grid
    theta = 2.0 * np.pi * np.arange(TURNS) / TURNS
    ring = np.stack([np.cos(theta), np.sin(theta)], axis=1)
    level = np.broadcast_to(places[:, 1, None, None], (len(places), TURNS, 1))
    points = frame.carry(np.concatenate([places[:, 0, None, None] * ring, level], axis=2).reshape(-1, 3))
    low, high = grid.bounds
    beyond = np.linalg.norm(np.maximum(np.maximum(low - points, points - high), 0.0), axis=1)
    depths = grid_distance(grid, points) + grid.error
    at_most = np.where(beyond > 0.0, np.minimum(depths + 2.0 * beyond, -beyond), depths)
    return np.asarray(at_most.reshape(len(places), TURNS).min(axis=1))


def spare_of(needed: NeededWood, field: Field, frame: Frame, *, skin: float) -> float:
    """Margin beyond the uncertainty, as the full check has it, mm; 0 or more where the margin is met.

    Parameters
    ----------
    needed : NeededWood
    field : Field
    frame : Frame
        ``blank_from_form``.
    skin : float
        Allowance for truing, mm.
    """
    least = least_distance(field.skin, needed.segments, frame, slack=DEFAULT.margin_slack)
    return least.value - need_of(field, skin) - least.slack


def in_the_way(segments: Floats, field: Field, frame: Frame, *, skin: float) -> LeastDistance | None:
    """A place where wood is short of what an answer of FITS needs; None where there is none, mostly in 3 ms.

    Parameters
    ----------
    segments : (k, 4) float
        Of must-be-wood, or of a part of it, as in ``NeededWood``.
    field : Field
    frame : Frame
        ``blank_from_form``.
    skin : float
        Allowance for truing, mm.

    Returns
    -------
    LeastDistance or None
        Some such place, not the worst of them.
    """
    below = need_of(field, skin) + DEFAULT.margin_slack
    least = least_distance(field.skin, segments, frame, slack=DEFAULT.margin_slack, below=below)
    return least if least.value < below else None
