"""Where two plane curves cross, and where one crosses itself.

Found on polylines, then closed in on the exact cubics by Newton's method.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.curves import Curve, points_on, polyline_parameters, slopes_on
from formmaker.tolerances import DEFAULT, Tolerances

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """A point that two curves share: its parameter on each, radius and height, mm."""

    on_first: float
    on_second: float
    radius: float
    height: float


def last_crossing(first: Curve, second: Curve, *, tolerances: Tolerances = DEFAULT) -> Crossing | None:
    """Crossing of two curves that lies farthest along the first.

    Returns
    -------
    Crossing or None
        None where they do not cross. A touch without a crossing may be missed.
    """
    one, other = (polyline_parameters(curve, chord=tolerances.chord) for curve in (first, second))
    hits = _segment_crossings(points_on(first, one), points_on(second, other))
    if not len(hits):
        return None
    i, j = max(hits.tolist())
    return _refined(first, second, (one[i] + one[i + 1]) / 2.0, (other[j] + other[j + 1]) / 2.0)


def self_crossing(curve: Curve, *, tolerances: Tolerances = DEFAULT) -> Crossing | None:
    """First place where a curve crosses itself, to within the tolerance's chord; None where it does not."""
    places = polyline_parameters(curve, chord=tolerances.chord)
    points = points_on(curve, places)
    hits = _segment_crossings(points, points)
    hits = hits[hits[:, 1] > hits[:, 0] + 1]
    if not len(hits):
        return None
    i, j = min(hits.tolist())
    radius, height = _segments_meet(*points[[i, i + 1, j, j + 1]])
    return Crossing(on_first=float(places[i]), on_second=float(places[j]), radius=float(radius), height=float(height))


def _segment_crossings(one: Floats, other: Floats) -> NDArray[np.intp]:
    """Pairs (k, 2) of segments of two polylines that cross."""
    a, b = one[:-1, None], one[1:, None]
    c, d = other[None, :-1], other[None, 1:]
    across = _side(c, d, a) * _side(c, d, b) <= 0.0
    return np.argwhere(across & (_side(a, b, c) * _side(a, b, d) <= 0.0) & _boxes_meet(a, b, c, d))


def _segments_meet(a: Floats, b: Floats, c: Floats, d: Floats) -> Floats:
    """Where two segments that cross do so, (2,); the start of the first where they lie along each other."""
    whole = float(_side(c, d, b) - _side(c, d, a))
    return np.asarray(a - (b - a) * float(_side(c, d, a)) / whole if whole else a)


def _side(start: Floats, end: Floats, point: Floats) -> Floats:
    along, to = end - start, point - start
    return np.asarray(along[..., 0] * to[..., 1] - along[..., 1] * to[..., 0])


def _boxes_meet(a: Floats, b: Floats, c: Floats, d: Floats) -> NDArray[np.bool_]:
    apart = (np.minimum(a, b) > np.maximum(c, d)) | (np.minimum(c, d) > np.maximum(a, b))
    return np.asarray(~apart.any(axis=-1))


def _refined(first: Curve, second: Curve, s: float, t: float) -> Crossing:
    top = np.array([len(first.pieces), len(second.pieces)], dtype=np.float64)
    places = np.array([s, t])
    for _ in range(12):
        gap = points_on(first, places[0]) - points_on(second, places[1])
        slopes = np.column_stack([slopes_on(first, places[0]), -slopes_on(second, places[1])])
        if abs(np.linalg.det(slopes)) < DEFAULT.same_point**2:
            break
        places = np.clip(places - np.linalg.solve(slopes, gap), 0.0, top)
    radius, height = points_on(first, places[0])
    return Crossing(on_first=float(places[0]), on_second=float(places[1]), radius=float(radius), height=float(height))
