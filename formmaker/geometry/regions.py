"""Connected regions and least cuts on rasters that close on themselves round a turn.

Axis 0 of every raster is the angle: its last row is the neighbour of its first.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import breadth_first_order, connected_components, maximum_flow


def label_round(
    mask: NDArray[np.bool_],
    neighbours: NDArray[np.bool_] | None = None,
    *,
    at: tuple[slice | NDArray[np.int64], ...] = (slice(None),),
) -> NDArray[np.int32]:
    """Number the connected regions of a raster that is periodic along axis 0.

    Parameters
    ----------
    mask : (n, ...) bool
        What belongs to a region.
    neighbours : (3, ...) bool, optional
        Which neighbours join, as ``scipy.ndimage.label`` takes them; those that share a side if left out.
    at : tuple of index
        Which places of the raster are asked for, all of them if left out: a sparse raster is mostly air.

    Returns
    -------
    int, in the shape of ``mask[at]``
        0 outside, 1 and up inside, without gaps over the whole raster.

    Examples
    --------
    >>> label_round(np.array([[True], [False], [True], [False], [True]])).ravel()
    array([1, 0, 2, 0, 1], dtype=int32)
    """
    labels, count = ndimage.label(mask, structure=neighbours)
    both = (labels[0] > 0) & (labels[-1] > 0)
    ends = coo_array((np.ones(int(both.sum())), (labels[0][both], labels[-1][both])), shape=(count + 1, count + 1))
    _, groups = connected_components(ends, directed=False)
    renumbered = np.unique(groups, return_inverse=True)[1].astype(np.int32)
    return np.asarray(renumbered[labels[at]] - renumbered[0], dtype=np.int32)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeastCut:
    """Least total capacity that parts source from sink, and the (n, m) bool cells left on the source's side."""

    capacity: float
    source_side: NDArray[np.bool_]


def least_cut(
    mask: NDArray[np.bool_],
    across: NDArray[np.float64],
    along: NDArray[np.float64],
    *,
    source: NDArray[np.bool_],
    sink: NDArray[np.bool_],
) -> LeastCut:
    """Least cut between two sets of cells of a raster periodic along axis 0.

    Parameters
    ----------
    mask : (n, m) bool
        Cells that exist.
    across : (m,) float
        Capacity of the joint between a cell and its neighbour round the turn, by column.
    along : (m - 1,) float
        Capacity of the joint between a cell and the next in its row.
    source, sink : (n, m) bool
        Where the flow starts and ends, cells of ``mask``.

    Returns
    -------
    LeastCut
        Capacity to one part in 2^20 of the largest joint.

    Notes
    -----
    Max-flow min-cut theorem (L. R. Ford and D. R. Fulkerson, Canadian Journal of Mathematics 8, 1956), with
    scipy's Dinic solver; capacities become whole numbers for it.
    """
    number = np.full(mask.shape, -1)
    number[mask] = np.arange(int(mask.sum()))
    heads, tails, sizes = _joints(number, across, along)
    top = max(float(sizes.max(initial=0.0)), 1e-12)
    scale = 2.0**20 / top
    start, end = int(mask.sum()), int(mask.sum()) + 1
    endless = 2**30
    links = [
        (heads, tails, np.rint(sizes * scale)),
        (tails, heads, np.rint(sizes * scale)),
        (np.full(int(source.sum()), start), number[source], np.full(int(source.sum()), endless)),
        (number[sink], np.full(int(sink.sum()), end), np.full(int(sink.sum()), endless)),
    ]
    rows, columns, capacities = (np.concatenate([link[k] for link in links]) for k in range(3))
    graph = csr_array((capacities.astype(np.int32), (rows, columns)), shape=(end + 1, end + 1))
    flow = maximum_flow(graph, start, end)
    residual = csr_array(graph - flow.flow)
    residual.data[residual.data < 0] = 0
    residual.eliminate_zeros()
    reached = breadth_first_order(residual, start, return_predecessors=False)
    side = np.zeros(end + 1, dtype=np.bool_)
    side[reached] = True
    source_side = np.zeros(mask.shape, dtype=np.bool_)
    source_side[mask] = side[number[mask]]
    cut = source_side.ravel()[np.flatnonzero(mask)]
    return LeastCut(capacity=float(sizes[cut[heads] != cut[tails]].sum()), source_side=source_side)


def _joints(
    number: NDArray[np.int64], across: NDArray[np.float64], along: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    turned = np.roll(number, -1, axis=0)
    round_pairs = (number >= 0) & (turned >= 0)
    up_pairs = (number[:, :-1] >= 0) & (number[:, 1:] >= 0)
    heads = np.concatenate([number[round_pairs], number[:, :-1][up_pairs]])
    tails = np.concatenate([turned[round_pairs], number[:, 1:][up_pairs]])
    sizes = np.concatenate(
        [np.broadcast_to(across, number.shape)[round_pairs], np.broadcast_to(along, up_pairs.shape)[up_pairs]]
    )
    return heads, tails, sizes
