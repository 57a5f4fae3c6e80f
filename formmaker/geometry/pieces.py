"""Connected pieces of a cut mesh, with the origin of their triangles kept."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from formmaker.geometry.booleans import Cut
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import build_tree, signed_distance


def largest_piece(cut: Cut) -> Cut:
    """The piece of the largest volume with the hollows inside it; the cut itself where it has no faces.

    Parameters
    ----------
    cut : Cut
        Closed bodies, wound outward.

    Returns
    -------
    Cut
        Vertices that no longer belong to a face are left out.
    """
    if len(cut.mesh.faces) == 0:
        return cut
    shells = _shells(cut.mesh)
    return _with_hollows(cut, shells, int(shells.volumes.argmax()))


def piece_at(cut: Cut, place: NDArray[np.float64]) -> Cut | None:
    """The piece that a place (3,) lies in, with the hollows inside it; None where the place is in air."""
    if len(cut.mesh.faces) == 0:
        return None
    shells = _shells(cut.mesh)
    bodies = [
        int(body) for body in np.flatnonzero(shells.volumes > 0.0) if _holds(cut.mesh, shells, int(body), place)
    ]
    if not bodies:
        return None
    # of a body inside a hollow of another both shells go round the place: the smaller is the nearer
    kept = _with_hollows(cut, shells, int(bodies[shells.volumes[bodies].argmin()]))
    return kept if signed_distance(build_tree(kept.mesh), place[None]).distance[0] > 0.0 else None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Shells:
    """Which connected shell a face belongs to (m,), the volume inside each (k,), negative for a hollow."""

    labels: NDArray[np.int32]
    volumes: NDArray[np.float64]


def _shells(mesh: Mesh) -> _Shells:
    heads, tails = mesh.faces.ravel(), np.roll(mesh.faces, -1, axis=1).ravel()
    count = len(mesh.vertices)
    links = coo_array((np.ones(heads.size), (heads, tails)), shape=(count, count))
    labels = connected_components(links, directed=False)[1][mesh.faces[:, 0]]
    a, b, c = np.moveaxis(mesh.corners - mesh.bounds.mean(axis=0), 1, 0)
    labels = np.unique(labels, return_inverse=True)[1].ravel().astype(np.int32)
    return _Shells(labels=labels, volumes=np.bincount(labels, weights=np.einsum("ij,ij->i", a, np.cross(b, c))) / 6.0)


def _holds(mesh: Mesh, shells: _Shells, shell: int, place: NDArray[np.float64]) -> bool:
    """Whether a place lies inside one shell, whatever lies in that."""
    skin = Mesh(vertices=mesh.vertices, faces=mesh.faces[shells.labels == shell])
    return bool(signed_distance(build_tree(skin), place[None]).distance[0] > 0.0)


def _with_hollows(cut: Cut, shells: _Shells, body: int) -> Cut:
    kept = shells.labels == body
    for hollow in np.flatnonzero(shells.volumes < 0.0):
        mine = shells.labels == hollow
        if _holds(cut.mesh, shells, body, cut.mesh.vertices[cut.mesh.faces[mine][0, 0]]):
            kept |= mine
    if kept.all():
        return cut
    used, renumbered = np.unique(cut.mesh.faces[kept], return_inverse=True)
    colours = None if cut.mesh.colours is None else cut.mesh.colours[used]
    mesh = Mesh(vertices=cut.mesh.vertices[used], faces=renumbered.reshape(-1, 3).astype(np.int32), colours=colours)
    return Cut(mesh=mesh, from_first=cut.from_first[kept], faces=cut.faces[kept])
