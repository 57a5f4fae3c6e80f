"""A mounting put on other centres: where the form goes along the new axis, and where zero lies.

The form keeps its place: the middle of the foot's plane moves square to the mean of the two axes, so that the same
move back brings back the same mounting.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.axis_ends import axis_ends
from formmaker.errors import MountingError
from formmaker.model.blank import Blank
from formmaker.model.marks import Mark
from formmaker.model.mounting import Mounting
from formmaker.tolerances import DEFAULT

Point = NDArray[np.float64]


def remounted(mounting: Mounting, marks: tuple[Mark, ...], *, foot_centre: Point, rim_centre: Point) -> Mounting:
    """Put a mounting on two other centres.

    Parameters
    ----------
    mounting : Mounting
        In the blank's own millimetres.
    marks : tuple of Mark
        The blank's; zero is taken anew from the mark that names it.
    foot_centre, rim_centre : (3,) float
        Blank frame, mm.

    Returns
    -------
    Mounting
        ``foot_height`` such that the line from the old middle of the foot's plane to the new one is square to the sum
        of the two unit axes. That rule is the same both ways; keeping the figure instead would let the form jump
        along the axis by what the skin rises from the old centre to the new one.

    Raises
    ------
    MountingError
        If the two centres are one point, or the axes are more than a right angle apart.
    """
    axis = rim_centre - foot_centre
    length = float(np.linalg.norm(axis))
    if not length > DEFAULT.same_point:
        raise MountingError("the two new centres are one point; the axis runs from one to the other")
    new = axis / length
    old = mounting.axis / np.linalg.norm(mounting.axis)
    if not float(new @ old) > 0.0:
        raise MountingError(
            "the new axis points the other way; foot_centre is the one under the foot, rim_centre the one on the "
            "rim's side: change them over"
        )
    middle = mounting.foot_centre + mounting.foot_height * old
    mean = new + old
    return replace(
        mounting,
        foot_centre=foot_centre,
        rim_centre=rim_centre,
        foot_height=float((middle - foot_centre) @ mean / (new @ mean)),
        zero=_zero_from(mounting, marks, foot_centre),
    )


def _zero_from(mounting: Mounting, marks: tuple[Mark, ...], foot_centre: Point) -> Point:
    place = next((mark.at for mark in marks if mark.name == mounting.zero_name), None)
    return mounting.zero if place is None else place - foot_centre


def on_skin(mounting: Mounting, blank: Blank) -> Mounting:
    """The same axis and form, with a foot centre that can be measured from: where the axis leaves the wood.

    A foot centre within the uncertainty of the skin is as good as one on it and stays as it was given; one on an
    imagined end plane goes to the skin, and ``foot_height``, which counts from it, with it. The rim centre gives the
    axis its direction alone and stays as it was given.

    Raises
    ------
    MountingError
        If the axis passes beside the wood.
    """
    foot = axis_ends(blank.mesh, mounting.foot_centre, mounting.axis).foot
    step = foot - mounting.foot_centre
    if np.linalg.norm(step) <= max(blank.uncertainty, DEFAULT.chord):
        return mounting
    slip = float(step @ mounting.axis / np.linalg.norm(mounting.axis))
    return replace(mounting, foot_centre=foot, foot_height=mounting.foot_height - slip)
