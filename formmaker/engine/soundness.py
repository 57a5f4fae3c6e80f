"""Does the turned body hang together: loose pieces, windows, and how much of it is wood.

Works on samples of the distance field on ring cells and on the wall; asks the field for nothing itself.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.cells import SectionCells
from formmaker.geometry.regions import label_round
from formmaker.model.verdict import LoosePiece, Window
from formmaker.tolerances import DEFAULT, Tolerances

_SIDE_ROUND_CORNER_IN_SECTION = np.zeros((3, 3, 3), dtype=np.bool_)
_SIDE_ROUND_CORNER_IN_SECTION[1] = True
_SIDE_ROUND_CORNER_IN_SECTION[:, 1, 1] = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """The turned body cell by cell: which cells are wood joined to the foot.

    Parameters
    ----------
    joined : (n, k) bool
        By angle and by cell.
    volume : float
        Wood inside the form, joined or not, mm3, cells at the skin counted by share.
    joined_volume : float
        The same for what is joined to the foot, mm3.
    loose : tuple of LoosePiece
        Largest first.
    """

    joined: NDArray[np.bool_]
    volume: float
    joined_volume: float
    loose: tuple[LoosePiece, ...]


def turned_body(cells: SectionCells, depths: NDArray[np.float64], *, tolerances: Tolerances = DEFAULT) -> Body:
    """Sort the cells of a turned body into joined to the foot and loose.

    Parameters
    ----------
    cells : SectionCells
        The whole form, foot at the lowest row.
    depths : (n, k) float
        Signed distance of each cell's middle to the skin at n even angles from 0, positive in wood, mm.
    tolerances : Tolerances
        ``min_loose_volume`` hides crumbs.

    Returns
    -------
    Body
        Joined is whatever touches, cell to cell, the largest piece of wood in the foot plane; where the foot has no
        wood at all, everything is loose.
    """
    turn = 2.0 * np.pi / len(depths)
    shares = np.clip(0.5 + depths / cells.size, 0.0, 1.0)
    weights = shares * (cells.ring_areas * turn)
    wood = np.zeros((len(depths), *cells.shape), dtype=np.bool_)
    column, row = cells.index.T
    wood[:, column, row] = depths > 0.0
    by_cell = label_round(wood, _SIDE_ROUND_CORNER_IN_SECTION, at=(slice(None), column, row))
    foot = _foot_label(by_cell, row, cells)
    return Body(
        joined=(by_cell == foot) & (foot > 0),
        volume=float(weights.sum()),
        joined_volume=float(weights[by_cell == foot].sum()) if foot else 0.0,
        loose=_loose_pieces(by_cell, cells, foot, tolerances.min_loose_volume),
    )


def _foot_label(by_cell: NDArray[np.int32], row: NDArray[np.int64], cells: SectionCells) -> int:
    in_foot = row == 0
    weights = np.broadcast_to(cells.ring_areas[in_foot], by_cell[:, in_foot].shape)
    totals = np.bincount(by_cell[:, in_foot].ravel(), weights=weights.ravel())
    totals[0] = 0.0
    return int(totals.argmax()) if totals.any() else 0


def _loose_pieces(by_cell: NDArray[np.int32], cells: SectionCells, foot: int, least: float) -> tuple[LoosePiece, ...]:
    turn = 2.0 * np.pi / len(by_cell)
    weights = np.broadcast_to(cells.ring_areas * turn, by_cell.shape).ravel()
    volumes = np.bincount(by_cell.ravel(), weights=weights)
    volumes[[0, foot]] = 0.0
    order = [int(label) for label in np.argsort(-volumes) if volumes[label] >= least]
    return tuple(_loose_piece(by_cell == label, cells, float(volumes[label])) for label in order)


def _loose_piece(mask: NDArray[np.bool_], cells: SectionCells, volume: float) -> LoosePiece:
    weights = mask * cells.ring_areas
    height = float((weights * cells.centres[:, 1]).sum() / weights.sum())
    return LoosePiece(volume=volume, theta=mean_angle(weights.sum(axis=1)), height=height)


def mean_angle(weights: NDArray[np.float64]) -> float:
    """Middle of weights given at even angles from 0, radians from 0 to a turn.

    Examples
    --------
    >>> round(mean_angle(np.array([1.0, 0.0, 0.0, 1.0])), 6) == round(7 * np.pi / 4, 6)
    True
    """
    theta = 2.0 * np.pi * np.arange(len(weights)) / len(weights)
    return float(np.arctan2(weights @ np.sin(theta), weights @ np.cos(theta)) % (2.0 * np.pi))


def windows(
    missing: NDArray[np.bool_],
    radii: NDArray[np.float64],
    heights: NDArray[np.float64],
    step: float,
    *,
    tolerances: Tolerances = DEFAULT,
) -> tuple[Window, ...]:
    """Wood missing in the wall with wood above it.

    Parameters
    ----------
    missing : (n, m) bool
        By angle and by place along the outer curve from foot to rim: the wall is not whole here.
    radii, heights : (m,) float
        Of those places, mm.
    step : float
        Length along the curve between them, mm.
    tolerances : Tolerances
        ``min_window_area`` hides what the sampling cannot tell.

    Returns
    -------
    tuple of Window
        Largest first; a gap open to the rim is the rim line's business and no window.
    """
    labels = label_round(missing)
    areas = np.bincount(labels.ravel(), weights=_cell_areas(labels.shape, radii, step).ravel())
    areas[0] = 0.0
    areas[np.unique(labels[:, -1])] = 0.0
    found = [int(label) for label in np.argsort(-areas) if areas[label] >= tolerances.min_window_area]
    return tuple(_window(labels == label, radii, heights, float(areas[label])) for label in found)


def _cell_areas(shape: tuple[int, ...], radii: NDArray[np.float64], step: float) -> NDArray[np.float64]:
    return np.broadcast_to(radii * step * (2.0 * np.pi / shape[0]), shape)


def _window(mask: NDArray[np.bool_], radii: NDArray[np.float64], heights: NDArray[np.float64], area: float) -> Window:
    weights = mask * radii
    height = float((weights * heights).sum() / weights.sum())
    return Window(area=area, theta=mean_angle(weights.sum(axis=1)), height=height)
