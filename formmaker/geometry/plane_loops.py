"""A closed skin cut by a plane: the loops in which they meet. No solids (see ``booleans``), no distances."""

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh

_IN_PLANE = 1e-3
"""Corners nearer to the plane than this, mm, count as above it: a face sawn at the plane is not cut to ribbons."""

Loops = tuple[NDArray[np.float64], ...]


def plane_loops(mesh: Mesh, mesh_from_plane: Frame) -> Loops:
    """Where the plane z = 0 of a frame cuts a mesh.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    mesh_from_plane : Frame

    Returns
    -------
    tuple of (n, 2) float
        Loops in x and y of the plane's frame, mm, the first point not repeated; exact on the triangles. A corner
        that lies in the plane, or below it by less than a micron, counts as above it, so that every loop closes and
        no face that lies in it is drawn.

    Examples
    --------
    >>> corners = np.array([[0.0, 0, -1], [4, 0, -1], [0, 4, -1], [0, 0, 3]])
    >>> skin = Mesh(vertices=corners, faces=np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]]))
    >>> [loop.max(axis=0).tolist() for loop in plane_loops(skin, Frame(rotation=np.eye(3), origin=np.zeros(3)))]
    [[3.0, 3.0]]
    """
    points = mesh_from_plane.inverse.carry(mesh.vertices)
    above = points[:, 2] >= -_IN_PLANE
    sides = above[mesh.faces]
    crossed = np.flatnonzero(sides.any(axis=1) & ~sides.all(axis=1))
    if not len(crossed):
        return ()
    edges = _crossed_edges(mesh.faces[crossed], sides[crossed])
    keys, links = np.unique(edges.reshape(-1, 2), axis=0, return_inverse=True)
    low, high = points[keys[:, 0]], points[keys[:, 1]]
    share = low[:, 2] / (low[:, 2] - high[:, 2])
    places = low[:, :2] + share[:, None] * (high[:, :2] - low[:, :2])
    return tuple(places[loop] for loop in _chains(links.reshape(-1, 2)))


def _crossed_edges(faces: NDArray[np.int32], above: NDArray[np.bool_]) -> NDArray[np.int32]:
    """Both edges of each triangle that the plane crosses, (k, 2, 2), lower vertex number first."""
    alone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), (~above).argmax(axis=1))
    rows = np.arange(len(faces))
    tip, second, third = (faces[rows, (alone + step) % 3] for step in range(3))
    return np.sort(np.stack([np.stack([tip, second], axis=1), np.stack([tip, third], axis=1)], axis=1), axis=2)


def _chains(links: NDArray[np.intp]) -> list[list[int]]:
    """Follow links (pairs of places, each place in two of them) round their loops."""
    beside: dict[int, list[int]] = {}
    for one, other in links.tolist():
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    loops = []
    while beside:
        place, loop = next(iter(beside)), []
        while place in beside:
            loop.append(place)
            ways = beside.pop(place)
            place = next((way for way in ways if way in beside), -1)
        loops.append(loop)
    return loops
