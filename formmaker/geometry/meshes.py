"""Triangle meshes as frozen records, and what follows from the triangles alone.

No distances (see ``nearest``), no repair (see ``sources``), no files.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mesh:
    """Triangles in space, mm.

    Parameters
    ----------
    vertices : (n, 3) float
        Points, mm.
    faces : (m, 3) int32
        Corners of each triangle, counter-clockwise seen from outside.
    colours : (n, 3) uint8, optional
        Colour of each vertex, red green blue, where the source carried one.
    """

    vertices: NDArray[np.float64]
    faces: NDArray[np.int32]
    colours: NDArray[np.uint8] | None = None

    def __post_init__(self) -> None:
        for name, kind in (("vertices", np.float64), ("faces", np.int32), ("colours", np.uint8)):
            value = getattr(self, name)
            if value is None:
                continue
            array = np.array(value, dtype=kind).reshape(-1, 3)
            array.flags.writeable = False
            object.__setattr__(self, name, array)

    @property
    def corners(self) -> NDArray[np.float64]:
        """Corners of every triangle, (m, 3, 3), mm."""
        return self.vertices[self.faces]

    @property
    def bounds(self) -> NDArray[np.float64]:
        """Lowest and highest coordinates, (2, 3), mm."""
        columns = self.vertices.T  # one after another: numpy takes a tenth of the time for it
        return np.array([[column.min() for column in columns], [column.max() for column in columns]])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MassProperties:
    """Volume (mm3), centre (3,) (mm) and inertia (3, 3) about the centre for density one (mm5)."""

    volume: float
    centre: NDArray[np.float64]
    inertia: NDArray[np.float64]


def cross_products(mesh: Mesh) -> NDArray[np.float64]:
    """Outward normals of the triangles, (m, 3), twice the area long, mm2."""
    a, b, c = np.moveaxis(mesh.corners, 1, 0)
    return np.asarray(np.cross(b - a, c - a))


def face_areas(mesh: Mesh) -> NDArray[np.float64]:
    """Area of each triangle, (m,), mm2."""
    return np.asarray(0.5 * np.linalg.norm(cross_products(mesh), axis=1))


def face_normals(mesh: Mesh) -> NDArray[np.float64]:
    """Give the unit outward normal of each triangle, (m, 3); zero where a triangle has no area."""
    crosses = cross_products(mesh)
    lengths = np.linalg.norm(crosses, axis=1, keepdims=True)
    return np.asarray(np.divide(crosses, lengths, out=np.zeros_like(crosses), where=lengths > 0.0))


def mass_properties(mesh: Mesh) -> MassProperties:
    """Volume, centre and inertia of a closed mesh, as if of density one.

    Parameters
    ----------
    mesh : Mesh
        Closed, wound outward; an inside-out mesh gives a negative volume.

    Returns
    -------
    MassProperties
        Exact for the triangles, up to rounding.

    Notes
    -----
    Divergence theorem over tetrahedra from a reference point (B. Mirtich, "Fast and accurate computation of
    polyhedral mass properties", Journal of Graphics Tools 1(2), 1996). The reference point is the middle of
    the bounds, so that a blank far from the origin loses no figures.
    """
    middle = mesh.bounds.mean(axis=0)
    a, b, c = np.moveaxis(mesh.corners - middle, 1, 0)
    volumes = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
    volume = float(volumes.sum())
    centre = (volumes[:, None] * (a + b + c) / 4.0).sum(axis=0) / volume
    total = a + b + c
    second = sum(np.einsum("i,ij,ik->jk", volumes, p, p) for p in (a, b, c, total)) / 20.0
    second = second - volume * np.outer(centre, centre)
    inertia = np.trace(second) * np.eye(3) - second
    return MassProperties(volume=volume, centre=centre + middle, inertia=inertia)


def moved(mesh: Mesh, frame: Frame) -> Mesh:
    """Carry a mesh by a frame."""
    return Mesh(vertices=frame.carry(mesh.vertices), faces=mesh.faces, colours=mesh.colours)
