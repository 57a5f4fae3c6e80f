"""A form cut into small ring cells: the sampling on which volumes and loose pieces are counted.

Knows the form only; what of it is wood is asked of the field elsewhere.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionCells:
    """A half section laid out on a square raster and clipped to its outline.

    Parameters
    ----------
    centres : (n, 2) float
        Centroid (radius, height) of each clipped cell, mm.
    areas : (n,) float
        Area of each clipped cell, mm2.
    index : (n, 2) int
        Column (outward) and row (upward) of each cell in the raster.
    size : float
        Side of a whole cell, mm.
    """

    centres: NDArray[np.float64]
    areas: NDArray[np.float64]
    index: NDArray[np.int64]
    size: float

    def __post_init__(self) -> None:
        for name, kind in (("centres", np.float64), ("areas", np.float64), ("index", np.int64)):
            array = np.array(getattr(self, name), dtype=kind)
            array.flags.writeable = False
            object.__setattr__(self, name, array)

    @property
    def ring_areas(self) -> NDArray[np.float64]:
        """Volume per radian of each cell by Pappus, (n,), mm3."""
        return np.asarray(self.areas * self.centres[:, 0])

    @property
    def shape(self) -> tuple[int, int]:
        """Columns and rows of the raster."""
        columns, rows = self.index.max(axis=0) + 1
        return int(columns), int(rows)


def section_cells(outline: NDArray[np.float64], size: float) -> SectionCells:
    """Cut a half section into square cells, the last ones clipped at its outline.

    Parameters
    ----------
    outline : (n, 2) float
        Closed polygon (radius, height), mm.
    size : float
        Side of a cell, mm.

    Returns
    -------
    SectionCells
        Areas and first moments add up to the outline's own, so volumes by Pappus are exact for the polygon.

    Examples
    --------
    >>> cells = section_cells(np.array([[0.0, 0], [30, 0], [30, 10], [0, 10]]), 4.0)
    >>> round(float(2 * np.pi * cells.ring_areas.sum()), 6) == round(np.pi * 30**2 * 10, 6)
    True
    """
    polygon = shapely.Polygon(outline)
    low_r, low_z, high_r, high_z = polygon.bounds
    columns = np.arange(int(np.ceil((high_r - low_r) / size)))
    rows = np.arange(int(np.ceil((high_z - low_z) / size)))
    column, row = (grid.ravel() for grid in np.meshgrid(columns, rows, indexing="ij"))
    r, z = low_r + column * size, low_z + row * size
    boxes = shapely.box(r, z, r + size, z + size)
    shapely.prepare(polygon)
    met = shapely.intersects(polygon, boxes)  # most of the raster is the hollow, and clipping is what costs
    column, row, boxes = column[met], row[met], boxes[met]
    whole = shapely.contains_properly(polygon, boxes)
    clipped = boxes.copy()
    clipped[~whole] = shapely.intersection(polygon, boxes[~whole])
    areas = shapely.area(clipped)
    inside = areas > 0.0
    centroids = shapely.get_coordinates(shapely.centroid(clipped[inside]))
    return SectionCells(
        centres=centroids, areas=areas[inside], index=np.column_stack([column, row])[inside], size=size
    )
