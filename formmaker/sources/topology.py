"""Which triangles meet where: edges, bodies, fans and border loops of a triangle list, all by sorting.

Numbers of faces and points only, no lengths. A *half-edge* ``3 f + k`` runs from corner k of face f to the next one.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EdgeTable:
    """How half-edges share edges.

    Parameters
    ----------
    pairs : (p, 2) int
        The two half-edges of every edge where exactly two faces meet.
    single : (s,) int
        Half-edges at edges of one face: the border of an opening.
    crowded : (c,) int
        Half-edges at edges where three or more faces meet.
    """

    pairs: Ints
    single: Ints
    crowded: Ints


def half_edges(faces: NDArray[np.integer]) -> Ints:
    """Start and end point of every half-edge, (3 m, 2)."""
    return np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1).reshape(-1, 2).astype(np.int64)


def edge_keys(faces: NDArray[np.integer], point_count: int) -> Ints:
    """One number for the edge of every half-edge, the same both ways round, (3 m,)."""
    start = faces.astype(np.int64)
    end = np.roll(start, -1, axis=1)
    return np.asarray(np.minimum(start, end) * point_count + np.maximum(start, end)).reshape(-1)


def edge_table(faces: NDArray[np.integer], point_count: int) -> EdgeTable:
    """Sort the half-edges of a mesh by the edge they lie on."""
    keys = edge_keys(faces, point_count)
    order = np.argsort(keys, kind="stable")
    sorted_keys = keys[order]
    new = np.ones(len(keys), dtype=bool)
    new[1:] = sorted_keys[1:] != sorted_keys[:-1]
    starts = np.flatnonzero(new)
    counts = np.diff(np.append(starts, len(keys)))
    twice = starts[counts == 2]
    return EdgeTable(
        pairs=np.column_stack([order[twice], order[twice + 1]]),
        single=order[starts[counts == 1]],
        crowded=order[np.repeat(counts > 2, counts)],
    )


def groups(count: int, first: Ints, second: Ints) -> Ints:
    """Number the groups that links make of ``count`` things, (count,)."""
    links = coo_matrix((np.ones(len(first), dtype=np.int8), (first, second)), shape=(count, count))
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)


def bodies(face_count: int, edges: EdgeTable) -> Ints:
    """Body of every face: faces joined by edges where two meet, (m,)."""
    return groups(face_count, edges.pairs[:, 0] // 3, edges.pairs[:, 1] // 3)


def winding_flips(faces: NDArray[np.integer], edges: EdgeTable) -> NDArray[np.bool_] | None:
    """Faces to be turned over so that neighbours agree, (m,), the fewer of the two ways for every body.

    Returns None where no way exists: the surface is one-sided, like a Moebius band.
    """
    ends = half_edges(faces)
    first, second = edges.pairs.T
    against = ends[first, 0] == ends[second, 0]
    count = len(faces)
    if not against.any():
        return np.zeros(count, dtype=bool)
    # Every face twice, as it is and turned over: neighbours that agree link like to like, others crosswise.
    f, g = first // 3, second // 3
    same_or_cross = np.where(against, g + count, g)
    cross_or_same = np.where(against, g, g + count)
    label = groups(2 * count, np.concatenate([f, f + count]), np.concatenate([same_or_cross, cross_or_same]))
    as_is, turned = label[:count], label[count:]
    if (as_is == turned).any():
        return None
    # Of a body's two groups, the one with more faces as they are is the way to leave it.
    kept = np.bincount(as_is, minlength=label.max() + 1)
    return np.asarray((kept[turned] > kept[as_is]) | ((kept[turned] == kept[as_is]) & (turned < as_is)))


def fans(faces: NDArray[np.integer], edges: EdgeTable) -> Ints:
    """Group corners into fans: corners of one point whose faces are joined by edges at it, (3 m,).

    Winding must agree. A point with two fans is a pinch: two parts of the skin that only touch there.
    """
    first, second = edges.pairs.T
    ahead, behind = _next_corner(first), _next_corner(second)
    return groups(faces.size, np.concatenate([first, ahead]), np.concatenate([behind, second]))


def _next_corner(half_edge: Ints) -> Ints:
    return np.asarray(half_edge - half_edge % 3 + (half_edge + 1) % 3)


def border_loops(faces: NDArray[np.integer], edges: EdgeTable) -> list[Ints]:
    """Walk round every opening; points in the order in which a filling face must run, each loop once.

    No point may be a pinch (split it first): every border point then has one way on.
    """
    ends = half_edges(faces)[edges.single]
    onward = dict(zip(ends[:, 1].tolist(), ends[:, 0].tolist(), strict=True))
    loops = []
    while onward:
        start, point = onward.popitem()
        loop = [start]
        while point != start:
            loop.append(point)
            point = onward.pop(point)
        loops.append(np.array(loop, dtype=np.int64))
    return sorted(loops, key=len)
