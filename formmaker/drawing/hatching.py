"""Parallel lines across an area.

It knows no meaning of the shading; which areas are shaded, and how, is the drawing's business.
"""

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.drawing.marks import Hatch, Line


def hatch_lines(hatch: Hatch) -> tuple[Line, ...]:
    """The lines of a hatch.

    Parameters
    ----------
    hatch : Hatch
        Its rings count even-odd: a ring inside a ring is a hole.

    Returns
    -------
    tuple of Line
        Every stretch inside the area, from low to high.

    Notes
    -----
    Scan lines in a frame turned by the hatch's angle; each crosses the rings an even number of times, because an edge
    counts with its lower end and without its upper one.
    """
    cos, sin = np.cos(hatch.angle), np.sin(hatch.angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    rings = [np.asarray(ring) @ turn.T for ring in hatch.rings]
    starts = np.concatenate(rings)
    ends = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    levels = np.arange(starts[:, 1].min(), starts[:, 1].max(), hatch.spacing) + hatch.spacing / 2.0
    lines: list[Line] = []
    for level in levels:
        crossings = _crossings(starts, ends, float(level))
        for first, last in zip(crossings[::2], crossings[1::2], strict=True):
            a, b = np.array([[first, level], [last, level]]) @ turn
            lines.append(Line(start=(float(a[0]), float(a[1])), end=(float(b[0]), float(b[1])), style=hatch.style))
    return tuple(lines)


def _crossings(starts: NDArray[np.float64], ends: NDArray[np.float64], level: float) -> NDArray[np.float64]:
    crossing = (starts[:, 1] <= level) != (ends[:, 1] <= level)
    a, b = starts[crossing], ends[crossing]
    return np.sort(a[:, 0] + (level - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0]))


def area_rings(area: shapely.Geometry) -> tuple[NDArray[np.float64], ...]:
    """Rings of all pieces of an area for a hatch, holes too; crumbs under half a square millimetre left out."""
    pieces = [piece for piece in shapely.get_parts(area) if piece.geom_type == "Polygon" and piece.area > 0.5]
    return tuple(
        shapely.get_coordinates(ring)[:-1] for piece in pieces for ring in (piece.exterior, *piece.interiors)
    )
