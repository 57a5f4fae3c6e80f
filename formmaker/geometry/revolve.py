"""A closed outline in the half plane of radius and height, turned once round the axis: a closed mesh.

Curves know nothing of it: it takes polygons. Exact solids are made in ``solids``.
"""

import math
from enum import StrEnum

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.errors import FormError
from formmaker.geometry.meshes import Mesh
from formmaker.tolerances import DEFAULT, Tolerances


class Facets(StrEnum):
    """Where the flats of a many-sided ring stand against the circle they stand for.

    ``even`` keeps every circle's area, so that the volume is that of the revolved outline; ``inside`` never leaves
    a convex circle, ``outside`` never enters it.
    """

    EVEN = "even"
    INSIDE = "inside"
    OUTSIDE = "outside"

    def widening(self, segments: int) -> float:
        """Factor on the radius of the ring's corners."""
        step = 2.0 * math.pi / segments
        if self is Facets.EVEN:
            return math.sqrt(step / math.sin(step))
        return 1.0 if self is Facets.INSIDE else 1.0 / math.cos(step / 2.0)


def revolved(
    outline: NDArray[np.float64],
    segments: int,
    *,
    facets: Facets = Facets.EVEN,
    tolerances: Tolerances = DEFAULT,
) -> Mesh:
    """Turn a closed outline round the axis.

    Parameters
    ----------
    outline : (n, 2) float
        Corners (radius, height) of a polygon that does not cross itself, either way round, mm; the last corner joins
        the first. Radius 0 or more.
    segments : int
        Flats in one turn, 3 or more; the first row of corners stands at angle 0.
    facets : Facets
        Where the flats stand. With ``even`` a corner stands outside its circle by the fraction
        ``(2 pi / segments)**2 / 12``: 0.0025 mm at a radius of 100 mm and 360 flats.
    tolerances : Tolerances
        Corners nearer to the axis than ``same_point`` are on it.

    Returns
    -------
    Mesh
        Closed, wound outward; one vertex for each corner on the axis. With ``even`` its volume is that of
        Pappus for the outline, up to rounding.

    Raises
    ------
    FormError
        If the outline is no polygon, crosses itself or the axis; or there are too few segments.

    Examples
    --------
    >>> cup = revolved(np.array([[0, 0], [3, 0], [3, 5], [0, 5]]), 64)
    >>> from formmaker.geometry.meshes import mass_properties
    >>> round(mass_properties(cup).volume, 9) == round(math.pi * 9 * 5, 9)
    True
    """
    if segments < 3:
        raise FormError(f"{segments} segments; one turn needs 3 or more")
    polygon = _checked_outline(np.asarray(outline, dtype=np.float64), tolerances)
    on_axis = polygon[:, 0] <= tolerances.same_point
    rows = _rows(on_axis, segments)
    angles = np.arange(segments) * (2.0 * math.pi / segments)
    radii = np.where(on_axis, 0.0, polygon[:, 0] * facets.widening(segments))
    ring = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    vertices = np.empty((int(rows.max()) + 1, 3))
    vertices[rows, :2] = radii[:, None, None] * ring
    vertices[rows, 2] = polygon[:, 1, None]
    return _compact(vertices, _faces(rows))


def _checked_outline(outline: NDArray[np.float64], tolerances: Tolerances) -> NDArray[np.float64]:
    if outline.ndim != 2 or outline.shape[1:] != (2,) or not np.isfinite(outline).all():
        raise FormError("an outline needs corners of radius and height, all finite")
    gaps = np.linalg.norm(outline - np.roll(outline, 1, axis=0), axis=1)
    outline = outline[gaps > tolerances.same_point]
    if len(outline) < 3:
        raise FormError(f"an outline of {len(outline)} different corners encloses nothing; give 3 or more")
    low = outline[outline[:, 0].argmin()]
    if not low[0] >= -tolerances.same_point:
        raise FormError(
            f"radius {low[0]:g} mm at height {low[1]:g} mm crosses the axis", radius=low[0], height=low[1]
        )
    if not shapely.Polygon(outline).is_valid:
        raise FormError(f"the outline crosses itself: {shapely.is_valid_reason(shapely.Polygon(outline))}")
    ahead = np.roll(outline, -1, axis=0)
    area = float((outline[:, 0] * ahead[:, 1] - outline[:, 1] * ahead[:, 0]).sum())
    return outline if area > 0.0 else outline[::-1]


def _rows(on_axis: NDArray[np.bool_], segments: int) -> NDArray[np.int64]:
    """Vertex number of each corner at each angle, (n, segments); a corner on the axis has one for all angles."""
    counts = np.where(on_axis, 1, segments)
    starts = np.concatenate([[0], np.cumsum(counts)[:-1]])
    return np.asarray(starts[:, None] + np.where(on_axis[:, None], 0, np.arange(segments)[None, :]), dtype=np.int64)


def _faces(rows: NDArray[np.int64]) -> NDArray[np.int64]:
    low, high = rows, np.roll(rows, -1, axis=0)
    low_next, high_next = np.roll(low, -1, axis=1), np.roll(high, -1, axis=1)
    first = np.stack([low, low_next, high_next], axis=-1).reshape(-1, 3)
    second = np.stack([low, high_next, high], axis=-1).reshape(-1, 3)
    faces = np.concatenate([first, second])
    a, b, c = faces.T
    # on the axis two corners are one: half of each quad there, or all of it, is no triangle
    return np.asarray(faces[(a != b) & (b != c) & (c != a)])


def _compact(vertices: NDArray[np.float64], faces: NDArray[np.int64]) -> Mesh:
    used, renumbered = np.unique(faces, return_inverse=True)
    return Mesh(vertices=vertices[used], faces=renumbered.reshape(-1, 3).astype(np.int32))
