"""Where wood is wanting in one half section: what must be wood and is air at one angle."""

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.geometry.plane_loops import Loops


def wanting(needed: NDArray[np.float64], wood: Loops) -> Loops:
    """Parts of an outline that lie outside the wood.

    Parameters
    ----------
    needed : (n, 2) float
        Outline of what must be wood, radius and height, mm.
    wood : tuple of (n, 2) float
        Loops of the skin in the same plane; one inside another is a hollow.

    Returns
    -------
    tuple of (n, 2) float
        Their outlines, hollows left out, mm; empty where nothing is wanting.

    Examples
    --------
    >>> square = np.array([[0.0, 0], [10, 0], [10, 10], [0, 10]])
    >>> [part.max(axis=0).tolist() for part in wanting(square, (square - [4.0, 0.0],))]
    [[10.0, 10.0]]
    """
    solid = shapely.Polygon()
    for loop in wood:
        if len(loop) >= 3:
            solid = solid.symmetric_difference(shapely.make_valid(shapely.Polygon(loop)))
    left = shapely.Polygon(needed).difference(solid)
    parts = [part for part in shapely.get_parts(left) if isinstance(part, shapely.Polygon) and not part.is_empty]
    return tuple(np.asarray(shapely.get_coordinates(part.exterior)[:-1]) for part in parts)
