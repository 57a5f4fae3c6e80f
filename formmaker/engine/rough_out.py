"""The least rough-out: how much to leave on a green bowl so that the dried one still holds the finished form.

Geometry alone: it takes a section and a warp, and knows no timber.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.engine.section import section_outline
from formmaker.engine.warping import Warp, undried
from formmaker.geometry.curves import Curve, polyline, slopes_on
from formmaker.model.section import Section

Floats = NDArray[np.float64]

_TURNS = 120
_STEP = 2.5
_CHORD = 0.02
_CORNER = 16
"""Steps in a quarter of a rounded corner: 0.005 mm off the round at 2 mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowances:
    """What a rough-out has more than the finished bowl, mm.

    Parameters
    ----------
    outside, inside : float
        Square to the outer and to the inner curve.
    rim, foot : float
        Above the rim and below the foot plane.
    """

    outside: float
    inside: float
    rim: float
    foot: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SolidOutline:
    """A finished bowl in the half plane of radius and height: all within its outer curve, and its hollow."""

    whole: shapely.Polygon
    hollow: shapely.Polygon
    height: float


def least_allowances(section: Section, warp: Warp, skin: float) -> Allowances:
    """Least that a rough-out must have more than the finished bowl, to hold it with a skin when it has dried.

    Parameters
    ----------
    section : Section
        Of the finished bowl.
    warp : Warp
        What drying does to the wood.
    skin : float
        Wood wanted outside every surface of the finished bowl, in the dried rough-out, for truing, mm.

    Returns
    -------
    Allowances
        Each is exact by itself: a rough-out with less of any one of them does not hold the bowl.

    Notes
    -----
    The finished bowl, grown by the skin, is taken back to where its wood was when it was wet. A turned rough-out
    holds it if it holds each of its places by radius and height. The places are sampled at 120 angles and on chords
    0.02 mm off the curves: the figures come out low by less than 0.05 mm.
    """
    radius, height = _wet_places(section, warp, skin)
    top = float(section.outer.end[1])
    rim = max(float(height.max()) - top, 0.0)
    parts = solid_outline(section, rim)
    beyond = _farthest(parts.whole.exterior, radius, height, ~shapely.contains_xy(parts.whole, radius, height))
    within = _farthest(_wall_of(parts.hollow), radius, height, shapely.contains_xy(parts.hollow, radius, height))
    return Allowances(
        outside=beyond,
        inside=within,
        rim=rim,
        foot=max(-float(height.min()), 0.0),
    )


def solid_outline(section: Section, rim: float) -> SolidOutline:
    """A bowl's solid and its hollow, both drawn on above the rim along their own line, no flatter than 45 degrees."""
    height = float(section.outer.end[1]) + rim
    outer, inner = (_drawn_on(curve, height) for curve in (section.outer, section.inner))
    whole = shapely.Polygon(np.vstack([[0.0, outer[0, 1]], outer, [0.0, height]]))
    hollow = shapely.Polygon(np.vstack([inner, [0.0, height]]))
    whole, hollow = whole.buffer(0.0), hollow.buffer(0.0)
    shapely.prepare([whole, hollow])
    return SolidOutline(whole=whole, hollow=hollow, height=height)


def rough_outline(section: Section, allowances: Allowances) -> Floats:
    """Half section of a rough-out.

    Parameters
    ----------
    section : Section
        Of the finished bowl.
    allowances : Allowances
        As ``least_allowances`` gives them, or more.

    Returns
    -------
    (n, 2) float
        Radius and height, mm, a closed polygon, the first point not repeated.
    """
    parts = solid_outline(section, allowances.rim)
    body = parts.whole.buffer(allowances.outside, quad_segs=_CORNER)
    far = 2.0 * float(body.bounds[2]) + parts.height
    # the hollow goes on above the rim as a column: else its own lid would be offset too, and close it
    column = shapely.box(-far, parts.height, _mouth(parts.hollow, parts.height), parts.height + far)
    mirrored = shapely.affinity.scale(parts.hollow, xfact=-1.0, origin=(0.0, 0.0))
    hollow = shapely.union_all([parts.hollow, mirrored, column]).buffer(-allowances.inside, quad_segs=_CORNER)
    room = shapely.box(0.0, -allowances.foot, far, parts.height)
    rough = body.intersection(room).difference(hollow)
    largest = max(shapely.get_parts(rough), key=shapely.area)
    return np.asarray(shapely.get_coordinates(shapely.geometry.polygon.orient(largest).exterior)[:-1])


def _farthest(line: shapely.Geometry, radius: Floats, height: Floats, which: NDArray[np.bool_]) -> float:
    """Greatest distance from a line of some of the places; 0 where there are none."""
    if not which.any():
        return 0.0
    return float(shapely.distance(shapely.points(radius[which], height[which]), line).max())


def _mouth(hollow: shapely.Polygon, height: float) -> float:
    top = shapely.get_coordinates(hollow)
    return float(top[np.isclose(top[:, 1], height), 0].max())


def _wall_of(hollow: shapely.Polygon) -> shapely.Geometry:
    """Give the side of a hollow without its lid and without the axis."""
    ring = shapely.get_coordinates(hollow.exterior)
    edges = np.stack([ring[:-1], ring[1:]], axis=1)
    lid = np.isclose(edges[:, :, 1], hollow.bounds[3]).all(axis=1)
    axis = np.isclose(edges[:, :, 0], 0.0).all(axis=1)
    return shapely.multilinestrings(shapely.linestrings(edges[~(lid | axis)]))


def _drawn_on(curve: Curve, height: float) -> Floats:
    """A curve as points, drawn on to a height along its end."""
    points = polyline(curve, chord=_CHORD)
    rise = height - float(points[-1, 1])
    if rise <= 0.0:
        return points
    slope = slopes_on(curve, np.array(float(len(curve.pieces))))
    lean = float(np.clip(slope[0] / max(float(slope[1]), 1e-9), -1.0, 1.0))
    end = np.maximum(points[-1] + rise * np.array([lean, 1.0]), [0.0, 0.0])
    return np.vstack([points, end])


def _wet_places(section: Section, warp: Warp, skin: float) -> tuple[Floats, Floats]:
    """Radius and height, before drying, of the skin of the finished bowl grown by the truing skin."""
    grown = shapely.Polygon(section_outline(section, chord=_CHORD)).buffer(skin, quad_segs=_CORNER)
    ring = shapely.get_coordinates(shapely.segmentize(grown.exterior, _STEP))
    ring = ring[ring[:, 0] >= 0.0]
    angles = np.arange(_TURNS) * (2.0 * np.pi / _TURNS)
    across = ring[None, :, 0, None] * np.stack([np.cos(angles), np.sin(angles)], axis=-1)[:, None, :]
    heights = np.broadcast_to(ring[:, 1, None], (*across.shape[:2], 1))
    wet = undried(warp, np.concatenate([across, heights], axis=-1).reshape(-1, 3))
    return np.hypot(wet[:, 0], wet[:, 1]), wet[:, 2]
