"""Planar patches of a skin: the plane of each, and how far it leaves that plane."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.meshes import Mesh, cross_products

_NO_PLANE = 1e-6  # normals that cancel to this share of their areas point nowhere: what is left is rounding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PatchPlanes:
    """One plane for each patch, by patch number.

    Parameters
    ----------
    normals : (p, 3) float
        Unit, outward.
    offsets : (p,) float
        ``normal . x`` for points of the plane, mm.
    bulges : (p,) float
        How far any corner of the patch stands off its plane, mm; infinite for a patch that has no plane.
    """

    normals: NDArray[np.float64]
    offsets: NDArray[np.float64]
    bulges: NDArray[np.float64]


def patch_planes(mesh: Mesh, face_patches: NDArray[np.int32]) -> PatchPlanes:
    """Plane of every patch: its mean normal weighted by area, through its mean corner.

    Parameters
    ----------
    mesh : Mesh
    face_patches : (m,) int
        Patch of each face from 0, -1 for none.

    Returns
    -------
    PatchPlanes
        A patch whose triangles face every way (a closed one, say) has no plane: it bounds nothing.
    """
    count = int(face_patches.max(initial=-1)) + 1
    crosses, corners = cross_products(mesh), mesh.corners
    normals, offsets, bulges = np.zeros((count, 3)), np.zeros(count), np.zeros(count)
    for patch in range(count):
        mine = face_patches == patch
        if not mine.any():
            continue
        normal = crosses[mine].sum(axis=0)
        size = float(np.linalg.norm(normal))
        if not size > _NO_PLANE * float(np.linalg.norm(crosses[mine], axis=1).sum()):
            bulges[patch] = np.inf
            continue
        normals[patch] = normal / size
        heights = corners[mine].reshape(-1, 3) @ normals[patch]
        offsets[patch] = heights.mean()
        bulges[patch] = np.abs(heights - offsets[patch]).max()
    return PatchPlanes(normals=normals, offsets=offsets, bulges=bulges)
