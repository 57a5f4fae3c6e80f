"""Meshes made ready for the renderer: smooth shading, fine enough for colour, wood grain laid on.

Knows pyvista; draws nothing.
"""

import numpy as np
import pyvista
from numpy.typing import NDArray

from formmaker.geometry.meshes import Mesh
from formmaker.pictures.wood import grain_places

FEATURE_ANGLE = 38.0
"""Degrees between two faces from which on they meet in a visible edge."""

FINEST_EDGE = 8.0
"""Longest edge of a face that carries grain or invented bark, mm: the grain between bends no faster."""


def part_of(mesh: Mesh, chosen: NDArray[np.bool_]) -> Mesh:
    """Give the chosen triangles alone, with the vertices they use."""
    used, faces = np.unique(mesh.faces[chosen], return_inverse=True)
    colours = None if mesh.colours is None else mesh.colours[used]
    return Mesh(vertices=mesh.vertices[used], faces=faces.reshape(-1, 3).astype(np.int32), colours=colours)


def smooth_surface(mesh: Mesh, *, feature_angle: float = FEATURE_ANGLE) -> pyvista.PolyData:
    """Surface with a normal at every point, weighted by angle and split along edges."""
    surface = pyvista.PolyData.from_regular_faces(mesh.vertices, mesh.faces)
    if mesh.colours is not None:
        surface["colour"] = mesh.colours
    split = surface.compute_normals(
        cell_normals=False, split_vertices=True, feature_angle=feature_angle, consistent_normals=False
    )
    split.point_data["Normals"] = _angle_normals(np.asarray(split.points, np.float64), split.regular_faces)
    split.point_data.active_normals_name = "Normals"
    return split


def _angle_normals(points: NDArray[np.float64], faces: NDArray[np.int64]) -> NDArray[np.float32]:
    """Normals that do not lean toward slivers, as the plain mean does after a boolean."""
    corners = points[faces]
    crosses = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(crosses, axis=1, keepdims=True)
    flat = np.divide(crosses, lengths, out=np.zeros_like(crosses), where=lengths > 0.0)
    total = np.zeros_like(points)
    for corner in range(3):
        one = corners[:, (corner + 1) % 3] - corners[:, corner]
        two = corners[:, (corner + 2) % 3] - corners[:, corner]
        angle = np.arctan2(lengths[:, 0], np.einsum("ij,ij->i", one, two))
        np.add.at(total, faces[:, corner], flat * angle[:, None])
    size = np.linalg.norm(total, axis=1, keepdims=True)
    return np.asarray(np.divide(total, size, out=np.zeros_like(total), where=size > 0.0), dtype=np.float32)


def refined(mesh: Mesh) -> Mesh:
    """Split faces until no edge is longer than ``FINEST_EDGE``; the shape stays, colours are left out.

    Before shading, not after: the filter joins points that lie on each other, with whichever normal came first.
    """
    surface = pyvista.PolyData.from_regular_faces(mesh.vertices, mesh.faces)
    # the area is set out of the way: left alone it is 1 mm2, and there would be eight times as many faces
    fine = surface.subdivide_adaptive(max_edge_len=FINEST_EDGE, max_tri_area=FINEST_EDGE**2, max_n_passes=9)
    return Mesh(vertices=np.asarray(fine.points, np.float64), faces=fine.regular_faces)


def grained(surface: pyvista.PolyData, bark: Mesh | None) -> pyvista.PolyData:
    """Lay the wood grain on a surface as texture coordinates; ``bark`` is the natural skin, if there is one."""
    surface.point_data.pop("colour", None)
    surface.active_texture_coordinates = grain_places(np.asarray(surface.points, np.float64), bark).astype(np.float32)
    return surface
