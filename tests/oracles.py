"""Slow, plain twins of what formmaker computes cleverly. Nothing here imports the code that it checks."""

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.meshes import Mesh

Points = NDArray[np.float64]


def brute_distances(corners: Points, points: Points) -> Points:
    """Unsigned distance of points (n, 3) to triangles (m, 3, 3), one point after the other, by the definition.

    The distance to a triangle is that to its plane where the foot of the perpendicular lies within (left of all
    three edges), else the least of the distances to its three edges.
    """
    a, b, c = np.moveaxis(corners, 1, 0)
    normals = np.cross(b - a, c - a)
    normals /= np.linalg.norm(normals, axis=1, keepdims=True)
    out = np.empty(len(points))
    for i, p in enumerate(points):
        height = np.einsum("ij,ij->i", p - a, normals)
        foot = p - height[:, None] * normals
        within = np.ones(len(a), dtype=bool)
        edges = np.full(len(a), np.inf)
        for start, end in ((a, b), (b, c), (c, a)):
            along = end - start
            within &= np.einsum("ij,ij->i", np.cross(along, foot - start), normals) >= 0.0
            share = np.einsum("ij,ij->i", p - start, along) / np.einsum("ij,ij->i", along, along)
            nearest = start + np.clip(share, 0.0, 1.0)[:, None] * along
            edges = np.minimum(edges, np.linalg.norm(p - nearest, axis=1))
        out[i] = np.where(within, np.abs(height), edges).min()
    return out


def winding_numbers(mesh: Mesh, points: Points) -> Points:
    """Generalised winding number of a mesh round points (n, 3): 1 inside a sound closed mesh, 0 outside.

    Sum of the solid angles over 4 pi (A. Jacobson, L. Kavan, O. Sorkine-Hornung, "Robust inside-outside segmentation
    using generalized winding numbers", ACM TOG 32(4), 2013); solid angle of a triangle after A. Van Oosterom and
    J. Strackee, "The solid angle of a plane triangle", IEEE TBME 30(2), 1983.
    """
    corners = mesh.vertices[mesh.faces]
    out = np.empty(len(points))
    for i, p in enumerate(points):
        a, b, c = np.moveaxis(corners - p, 1, 0)
        la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
        triple = np.einsum("ij,ij->i", a, np.cross(b, c))
        ab, bc, ca = (np.einsum("ij,ij->i", u, v) for u, v in ((a, b), (b, c), (c, a)))
        out[i] = (2.0 * np.arctan2(triple, la * lb * lc + ab * lc + bc * la + ca * lb)).sum() / (4.0 * np.pi)
    return out


def box_distance(points: Points, half: Points) -> Points:
    """Signed distance, positive inside, to a box of half sides (3,) about the origin: closed form."""
    beyond = np.abs(points) - half
    outside = np.linalg.norm(np.maximum(beyond, 0.0), axis=1)
    return np.where((beyond < 0.0).all(axis=1), -beyond.max(axis=1), -outside)


def box_mesh(low: Points, high: Points) -> Mesh:
    """A box of twelve triangles, wound outward."""
    pick = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    vertices = np.where(pick == 1, high, low).astype(float)
    faces = [
        [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
        [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
    ]  # fmt: skip
    return Mesh(vertices=vertices, faces=np.array(faces))


def joined(*meshes: Mesh) -> Mesh:
    """Several meshes as one record, whether or not they overlap."""
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes[:-1])])
    return Mesh(
        vertices=np.vstack([mesh.vertices for mesh in meshes]),
        faces=np.vstack([mesh.faces + start for mesh, start in zip(meshes, starts, strict=True)]),
    )
