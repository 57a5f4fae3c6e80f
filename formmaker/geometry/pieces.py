"""Connected pieces of a cut mesh, with the origin of their triangles kept."""

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from formmaker.geometry.booleans import Cut
from formmaker.geometry.meshes import Mesh


def largest_piece(cut: Cut) -> Cut:
    """The connected piece of the largest volume; the cut itself where it has no faces.

    Parameters
    ----------
    cut : Cut
        Closed bodies, wound outward.

    Returns
    -------
    Cut
        Vertices that no longer belong to a face are left out.
    """
    faces = cut.mesh.faces
    if len(faces) == 0:
        return cut
    heads, tails = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
    count = len(cut.mesh.vertices)
    _, labels = connected_components(
        coo_array((np.ones(heads.size), (heads, tails)), shape=(count, count)), directed=False
    )
    a, b, c = np.moveaxis(cut.mesh.corners - cut.mesh.bounds.mean(axis=0), 1, 0)
    volumes = np.bincount(labels[faces[:, 0]], weights=np.einsum("ij,ij->i", a, np.cross(b, c)))
    kept = labels[faces[:, 0]] == int(volumes.argmax())
    used, renumbered = np.unique(faces[kept], return_inverse=True)
    colours = None if cut.mesh.colours is None else cut.mesh.colours[used]
    mesh = Mesh(vertices=cut.mesh.vertices[used], faces=renumbered.reshape(-1, 3).astype(np.int32), colours=colours)
    return Cut(mesh=mesh, from_first=cut.from_first[kept], faces=cut.faces[kept])
