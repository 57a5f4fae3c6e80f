"""A body turned about an axis as rings of points that grow with a size, ready for the search of poses.

Of any body only a part is needed: what is proven of the points holds for the body. What it stands for is not known
here.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

_SECTORS = 12  # round the turn
_BANDS = 3  # along the half section: a contact is looked for in each sector of each band
BINS = _SECTORS * _BANDS
_GOLDEN = 0.6180339887498949


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """Rings about an axis whose radius and height grow in a straight line with a size.

    Parameters
    ----------
    rows : (n, 4) float
        Radius and height for each unit of size, then radius (mm) and height (mm) that stay whatever the size: a
        ring lies at ``size * radius + fixed radius``. Heights count from the body's reference on its axis.
    """

    rows: NDArray[np.float64]

    def __post_init__(self) -> None:
        rows = np.array(self.rows, dtype=np.float64).reshape(-1, 4)
        if not np.isfinite(rows).all():
            raise ValueError("a ring is not finite; give ordinary numbers")
        rows.flags.writeable = False
        object.__setattr__(self, "rows", rows)

    @property
    def growth(self) -> float:
        """The most that a place of the body moves when the size grows by one."""
        return float(np.hypot(self.rows[:, 0], self.rows[:, 1]).max())


def points_round(rings: Rings, count: int, *, size: float) -> NDArray[np.float64]:
    """Points of a body, about so many, the farthest from its reference first.

    Parameters
    ----------
    rings : Rings
    count : int
        Points wanted; a ring of no radius gives one.
    size : float
        At which the rings are measured: larger ones get more points.

    Returns
    -------
    (n, 8) float
        For each point: its ring's four figures, cosine and sine of its angle, the bin (sector and band) it belongs
        to, and how much more room than the others it needs, mm: none.

    Notes
    -----
    Farthest first settles most poses within a few points; angles along the list lie a golden section apart, so
    that neighbours in it are far from each other.
    """
    radius = np.abs(size * rings.rows[:, 0] + rings.rows[:, 2])
    share = radius / max(float(radius.sum()), 1e-12)
    turns = np.where(radius > 1e-9, np.maximum(5, np.round(count * share)), 1).astype(int)
    band = (np.arange(len(radius)) * _BANDS) // len(radius)
    rows = []
    for ring, many in enumerate(turns):
        angle = 2.0 * np.pi * ((np.arange(many) + ring * _GOLDEN) / many % 1.0)
        sector = (angle / (2.0 * np.pi) * _SECTORS).astype(int) % _SECTORS
        kept = np.tile(rings.rows[ring], (many, 1))
        bins = sector * _BANDS + band[ring]
        rows.append(np.column_stack([kept, np.cos(angle), np.sin(angle), bins, np.zeros(many)]))
    points = np.vstack(rows)
    far = np.hypot(size * points[:, 0] + points[:, 2], size * points[:, 1] + points[:, 3])
    spread = (np.arange(len(points)) * _GOLDEN) % 1.0
    order = np.lexsort([spread, -np.round(far / max(float(far.max()), 1e-12), 1)])
    return np.ascontiguousarray(points[order])
