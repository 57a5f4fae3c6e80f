"""Parts of the rim that hang by little wood: where they would break, and what they carry.

Works on the wall unrolled; whether a part is already loose is asked in ``soundness``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from formmaker.engine.soundness import mean_angle
from formmaker.geometry.regions import LeastCut, label_round, least_cut
from formmaker.model.verdict import WeakNeck
from formmaker.tolerances import DEFAULT, Tolerances

_HALF_WIDTHS = (1.5, 3.0, 4.5, 6.0, 8.0, 10.0, 13.0, 16.0, 20.0, 25.0)
"""Half widths of neck looked for, mm: from a splinter up to what nobody would call a neck."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wall:
    """The wall unrolled: by angle (n, even from 0) and by place along the outer curve (m, from foot to rim).

    Parameters
    ----------
    wood : (n, m) bool
        Sound wood joined to the foot.
    radii, heights, thickness : (m,) float
        Of those places, mm.
    step : float
        Length along the curve between them, mm.
    """

    wood: NDArray[np.bool_]
    radii: NDArray[np.float64]
    heights: NDArray[np.float64]
    thickness: NDArray[np.float64]
    step: float

    @property
    def arc(self) -> NDArray[np.float64]:
        """Length round the turn between neighbours, (m,), mm."""
        return np.asarray(self.radii * (2.0 * np.pi / len(self.wood)))


def weak_necks(wall: Wall, *, tolerances: Tolerances = DEFAULT) -> tuple[WeakNeck, ...]:
    """Find parts of the rim held by less wood than they are wide.

    Parameters
    ----------
    wall : Wall
    tolerances : Tolerances
        ``neck_share``: a neck narrower than this share of the part's widest stretch is weak; ``min_neck_volume``.

    Returns
    -------
    tuple of WeakNeck
        The weakest for what it carries first.

    Notes
    -----
    The wood is thinned from its edges, step by step (Euclidean distance on the unrolled wall). What comes away from
    the foot before it has gone is the heart of a part that hangs; the least cut between that heart and the foot is
    its neck. The cut is exact for the raster: a joint's capacity is its length times the wall. No standard says
    when a neck is weak: half the width of what it carries is our own line.
    """
    if not _has_wood_over_air(wall.wood):
        return ()
    depth = _depth_from_edges(wall)
    found: list[WeakNeck] = []
    settled = np.zeros_like(wall.wood)
    for half_width in _HALF_WIDTHS:
        if not (depth > half_width).any():
            break
        labels = label_round(depth > half_width)
        feet = set(np.unique(labels[:, 0]).tolist())
        for label in range(1, int(labels.max()) + 1):
            heart = labels == label
            if label in feet or (heart & settled).any():
                continue
            cut = _cut_off(wall, heart)
            settled |= heart
            neck = _weak_neck(wall, cut, tolerances)
            if neck is not None:
                settled |= cut.source_side
                found.append(neck)
    return tuple(sorted(found, key=lambda neck: neck.area / neck.volume))


def _has_wood_over_air(wood: NDArray[np.bool_]) -> bool:
    return bool((wood[:, 1:] & ~wood[:, :-1]).any())


def _depth_from_edges(wall: Wall) -> NDArray[np.float64]:
    """Distance of each cell from air along the wall, mm; foot and rim of the form are no edges."""
    turns = len(wall.wood)
    widest = int(np.ceil(_HALF_WIDTHS[-1] / max(float(wall.arc.min()), 1e-6))) + 2
    pad = min(turns, widest)
    padded = np.pad(wall.wood, ((pad, pad), (0, 0)), mode="wrap")
    if padded.all():
        return np.full(wall.wood.shape, np.inf)
    arc = float(np.median(wall.arc))
    depth = ndimage.distance_transform_edt(padded, sampling=(arc, wall.step))
    return np.asarray(depth[pad : pad + turns])


def _cut_off(wall: Wall, heart: NDArray[np.bool_]) -> LeastCut:
    foot = np.zeros_like(wall.wood)
    foot[:, 0] = wall.wood[:, 0]
    between = (wall.thickness[1:] + wall.thickness[:-1]) / 2.0
    arcs = (wall.arc[1:] + wall.arc[:-1]) / 2.0
    return least_cut(wall.wood, wall.step * wall.thickness, arcs * between, source=heart, sink=foot)


def _weak_neck(wall: Wall, cut: LeastCut, tolerances: Tolerances) -> WeakNeck | None:
    part = cut.source_side
    cell_volumes = wall.arc * wall.step * wall.thickness
    volume = float((part * cell_volumes).sum())
    widest = float((part * (wall.arc * wall.thickness)).sum(axis=0).max(initial=0.0))
    if volume < tolerances.min_neck_volume or not 0.0 < cut.capacity < tolerances.neck_share * widest:
        return None
    neck = _beside(part, wall.wood)
    rows = neck.sum(axis=0)
    return WeakNeck(
        area=cut.capacity,
        volume=volume,
        theta=mean_angle(neck.sum(axis=1).astype(np.float64)),
        height=float((rows * wall.heights).sum() / rows.sum()),
    )


def _beside(part: NDArray[np.bool_], wood: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Cells of the part that touch the wood it hangs from."""
    rest = wood & ~part
    touched = np.roll(rest, 1, axis=0) | np.roll(rest, -1, axis=0)
    touched[:, 1:] |= rest[:, :-1]
    touched[:, :-1] |= rest[:, 1:]
    return np.asarray(part & touched)
