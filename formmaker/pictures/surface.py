"""Meshes made ready for the renderer: smooth shading, fine enough for colour, wood grain laid on.

Knows the filters of VTK, not its screens; draws nothing.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray, vtk_to_numpy
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkFiltersCore import vtkPolyDataNormals
from vtkmodules.vtkFiltersModeling import vtkAdaptiveSubdivisionFilter

from formmaker.geometry.meshes import Mesh
from formmaker.pictures.wood import grain_places

FEATURE_ANGLE = 38.0
"""Degrees between two faces from which on they meet in a visible edge."""

FINEST_EDGE = 8.0
"""Longest edge of a face that carries grain or invented bark, mm: the grain between bends no faster."""

_COLOUR = "colour"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """A mesh whose points carry all that is needed to show it.

    Parameters
    ----------
    points : (n, 3) float
        Scene frame, mm.
    faces : (m, 3) int
    normals : (n, 3) float
        Of unit length.
    colours : (n, 3) uint8 or None
    places : (n, 2) float or None
        Where the points lie in a picture that is laid on, 1.0 for the whole of it.
    """

    points: NDArray[np.float64]
    faces: NDArray[np.int64]
    normals: NDArray[np.float32]
    colours: NDArray[np.uint8] | None = None
    places: NDArray[np.float32] | None = None


def part_of(mesh: Mesh, chosen: NDArray[np.bool_]) -> Mesh:
    """Give the chosen triangles alone, with the vertices they use."""
    used, faces = np.unique(mesh.faces[chosen], return_inverse=True)
    colours = None if mesh.colours is None else mesh.colours[used]
    return Mesh(vertices=mesh.vertices[used], faces=faces.reshape(-1, 3).astype(np.int32), colours=colours)


def smooth_surface(mesh: Mesh, *, feature_angle: float = FEATURE_ANGLE) -> Surface:
    """Surface with a normal at every point, weighted by angle and split along edges."""
    data = poly_data(mesh.vertices, mesh.faces)
    if mesh.colours is not None:
        data.GetPointData().AddArray(_named(mesh.colours, _COLOUR))
    split = vtkPolyDataNormals()
    split.SetInputData(data)
    split.SplittingOn()
    split.ConsistencyOff()
    split.SetFeatureAngle(feature_angle)
    split.Update()
    data = split.GetOutput()
    points, faces = _points_of(data), _faces_of(data)
    colours = data.GetPointData().GetArray(_COLOUR)
    return Surface(
        points=points,
        faces=faces,
        normals=_angle_normals(points, faces),
        colours=None if colours is None else vtk_to_numpy(colours).copy(),
    )


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
    fine = vtkAdaptiveSubdivisionFilter()
    fine.SetInputData(poly_data(mesh.vertices, mesh.faces))
    fine.SetMaximumEdgeLength(FINEST_EDGE)
    # the area is set out of the way: left alone it is 1 mm2, and there would be eight times as many faces
    fine.SetMaximumTriangleArea(FINEST_EDGE**2)
    fine.SetMaximumNumberOfPasses(9)
    fine.Update()
    data = fine.GetOutput()
    return Mesh(vertices=_points_of(data), faces=_faces_of(data).astype(np.int32))


def grained(surface: Surface, bark: Mesh | None) -> Surface:
    """Lay the wood grain on a surface in place of its colours; ``bark`` is the natural skin, if there is one."""
    return replace(surface, colours=None, places=grain_places(surface.points, bark).astype(np.float32))


def poly_data(points: NDArray[np.float64], faces: NDArray[np.integer]) -> vtkPolyData:
    """Triangles as VTK holds them."""
    places, cells, data = vtkPoints(), vtkCellArray(), vtkPolyData()
    places.SetData(numpy_to_vtk(np.ascontiguousarray(points), deep=True))
    starts = np.arange(0, faces.size + 1, 3, dtype=np.int64)
    corners = np.ascontiguousarray(faces.ravel(), dtype=np.int64)
    cells.SetData(numpy_to_vtkIdTypeArray(starts, deep=True), numpy_to_vtkIdTypeArray(corners, deep=True))
    data.SetPoints(places)
    data.SetPolys(cells)
    return data


def _named(values: NDArray[np.generic], name: str) -> object:
    array = numpy_to_vtk(np.ascontiguousarray(values), deep=True)
    array.SetName(name)
    return array


def _points_of(data: vtkPolyData) -> NDArray[np.float64]:
    return np.array(vtk_to_numpy(data.GetPoints().GetData()), dtype=np.float64)


def _faces_of(data: vtkPolyData) -> NDArray[np.int64]:
    return np.array(vtk_to_numpy(data.GetPolys().GetConnectivityArray()), dtype=np.int64).reshape(-1, 3)
