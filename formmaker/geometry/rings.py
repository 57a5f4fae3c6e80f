"""Places of a half section carried round the turn and looked up in a distance grid, all at once."""

import numpy as np
from numba import njit

from formmaker.geometry.frames import Frame, Points
from formmaker.geometry.grid import DistanceGrid, value_at
from formmaker.geometry.workers import in_halves


def ring_depths(grid: DistanceGrid, places: Points, frame: Frame, turns: int) -> Points:
    """Look up the depth under the skin of places of a half section, carried round the turn.

    Parameters
    ----------
    grid : DistanceGrid
    places : (n, 2) float
        Radius and height, mm.
    frame : Frame
        ``skin_from_section``.
    turns : int
        Even angles from 0.

    Returns
    -------
    (turns, n) float
        Signed distance by lookup, positive inside, mm; off by the grid's error at most.
    """
    depths = np.empty((turns, len(places)))
    lookup = (grid.values, grid.origin, grid.spacing)
    pose = (frame.rotation, frame.origin)

    def run(start: int, stop: int) -> None:
        _look_round(np.ascontiguousarray(places), pose, lookup, (start, stop), depths)

    in_halves(run, turns, least=max(2, 20_000 // max(len(places), 1)))
    return depths


@njit(nogil=True, cache=True)
def _look_round(places, pose, lookup, part, out):  # type: ignore[no-untyped-def]
    rotation, origin = pose
    values, grid_origin, spacing = lookup
    for i in range(part[0], part[1]):
        angle = 2.0 * np.pi * i / out.shape[0]
        cosine, sine = np.cos(angle), np.sin(angle)
        for j in range(places.shape[0]):
            x, y, h = places[j, 0] * cosine, places[j, 0] * sine, places[j, 1]
            out[i, j] = value_at(
                values,
                grid_origin,
                spacing,
                rotation[0, 0] * x + rotation[0, 1] * y + rotation[0, 2] * h + origin[0],
                rotation[1, 0] * x + rotation[1, 1] * y + rotation[1, 2] * h + origin[1],
                rotation[2, 0] * x + rotation[2, 1] * y + rotation[2, 2] * h + origin[2],
            )
