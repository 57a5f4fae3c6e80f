"""A blank as a solid for the kernel: exact where it is a described shape, of few flat faces where it is a scan.

What the reduction cost is measured, not guessed. Nothing here knows the bowl.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq
import numpy as np
from numpy.typing import NDArray
from OCP.BRep import BRep_Builder
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeVertex
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt
from OCP.Standard import Standard_Failure
from OCP.TopAbs import TopAbs_REVERSED
from OCP.TopoDS import TopoDS_Edge, TopoDS_Shell, TopoDS_Solid, TopoDS_Wire

from formmaker.errors import KernelError
from formmaker.geometry.meshes import Mesh, cross_products, mass_properties
from formmaker.geometry.nearest import build_tree, signed_distance
from formmaker.geometry.reduce import reduced
from formmaker.model.cut import CutReport
from formmaker.model.proof import Reduction
from formmaker.model.shapes import Shape
from formmaker.solids.cuts import cut_solid
from formmaker.solids.kernel import measure
from formmaker.solids.shapes import shape_solid

DEFAULT_FACES = 2000
"""Triangles of a scan that the kernel gets: ten seconds for each thousand, measured on a stump and a wide bowl."""

_VOLUME_SLACK = 1e-9
"""A solid of flat faces has its mesh's volume up to rounding; more than this fraction is a faulty solid."""

_WAY_OUT = "repair the scan, ask for another number of faces, or go by the mesh boolean alone"

# corners, middles of the sides and the middle of a triangle, and three places between
_PLACES = np.array(
    [
        *np.eye(3),
        *(0.5 * (1.0 - np.eye(3))),
        [1 / 3, 1 / 3, 1 / 3],
        *(0.5 * np.eye(3) + 1 / 6),
    ]
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BlankSolid:
    """A blank for the kernel: the solid, blank frame, mm, and what the reduction cost (None for none)."""

    solid: cq.Shape
    reduction: Reduction | None


def blank_solid(
    mesh: Mesh, shape: Shape | None = None, *, cuts: Sequence[CutReport] = (), faces: int = DEFAULT_FACES
) -> BlankSolid:
    """Solid of a blank.

    Parameters
    ----------
    mesh : Mesh
        The blank's skin, closed, wound outward, mm.
    shape : Shape, optional
        Where the blank is a described shape its exact solid is taken and the mesh is not looked at.
    cuts : sequence of CutReport
        Made on the exact solid; the mesh is cut already.
    faces : int
        Triangles to which a larger mesh is reduced.

    Returns
    -------
    BlankSolid

    Raises
    ------
    KernelError
        If the kernel makes no valid solid of the mesh.
    """
    if shape is not None:
        return BlankSolid(solid=cut_solid(shape_solid(shape), cuts), reduction=None)
    small = reduced(mesh, faces)
    cost = None if small is mesh else reduction_cost(mesh, small)
    return BlankSolid(solid=faceted_solid(small), reduction=cost)


def reduction_cost(full: Mesh, small: Mesh) -> Reduction:
    """Measure how far two skins are apart, both ways, at the corners of each and at seven places on each triangle."""
    there = np.abs(signed_distance(build_tree(small), _places_on(full)).distance)
    back = np.abs(signed_distance(build_tree(full), _places_on(small)).distance)
    return Reduction(
        faces_before=len(full.faces),
        faces_after=len(small.faces),
        farthest=float(max(there.max(), back.max())),
        rms=float(max(np.sqrt((there**2).mean()), np.sqrt((back**2).mean()))),
        volume_change=mass_properties(small).volume - mass_properties(full).volume,
    )


def _places_on(mesh: Mesh) -> NDArray[np.float64]:
    return np.unique(np.einsum("pk,mkj->mpj", _PLACES, mesh.corners).reshape(-1, 3), axis=0)


def faceted_solid(mesh: Mesh) -> cq.Solid:
    """Make a solid of a closed mesh, one flat face for each triangle.

    Parameters
    ----------
    mesh : Mesh
        Closed, each edge between exactly two triangles, none without area, mm.

    Returns
    -------
    cadquery Solid
        Valid, with the volume of the mesh.

    Raises
    ------
    KernelError
        If the mesh is no such skin, or the kernel finds fault with the solid.

    Notes
    -----
    Corners and edges are made once and shared, so that nothing has to be sewn and no gap has to be closed.
    """
    _require_clean(mesh)
    try:
        solid = cq.Solid(_solid_of_faces(mesh))
    except Standard_Failure as error:
        raise KernelError(f"the solid kernel makes no solid of {len(mesh.faces)} triangles; {_WAY_OUT}") from error
    wanted = mass_properties(mesh).volume
    found = measure(solid).volume
    if not (solid.isValid() and abs(found - wanted) <= _VOLUME_SLACK * wanted):
        raise KernelError(
            f"the solid kernel makes a faulty solid of this mesh, {found / 1000.0:.3f} cm3 of {wanted / 1000.0:.3f}; "
            f"{_WAY_OUT}"
        )
    return solid


def _require_clean(mesh: Mesh) -> None:
    ends = np.sort(np.stack([mesh.faces, np.roll(mesh.faces, -1, axis=1)], axis=-1).reshape(-1, 2), axis=1)
    shared = np.unique(ends, axis=0, return_counts=True)[1]
    if not (shared == 2).all():
        raise KernelError(f"{(shared != 2).sum()} edges are not between exactly two triangles; {_WAY_OUT}")
    flat = np.linalg.norm(cross_products(mesh), axis=1) <= 0.0
    if flat.any():
        raise KernelError(f"{flat.sum()} triangles have no area; {_WAY_OUT}")


def _solid_of_faces(mesh: Mesh) -> TopoDS_Solid:
    builder, shell, solid = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    vertices = [BRepBuilderAPI_MakeVertex(gp_Pnt(*point)).Vertex() for point in mesh.vertices.tolist()]
    edges: dict[tuple[int, int], TopoDS_Edge] = {}
    normals = cross_products(mesh)
    for triangle, normal in zip(mesh.faces.tolist(), normals.tolist(), strict=True):
        wire = TopoDS_Wire()
        builder.MakeWire(wire)
        for a, b in zip(triangle, triangle[1:] + triangle[:1], strict=True):
            builder.Add(wire, _edge_between(a, b, vertices, edges))
        wire.Closed(True)
        plane = gp_Pln(gp_Pnt(*mesh.vertices[triangle[0]].tolist()), gp_Dir(*normal))
        builder.Add(shell, BRepBuilderAPI_MakeFace(plane, wire).Face())
    shell.Closed(True)
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return solid


def _edge_between(a: int, b: int, vertices: list[object], edges: dict[tuple[int, int], TopoDS_Edge]) -> TopoDS_Edge:
    """Edge from a to b: made at its first use, reversed at its second."""
    if (b, a) in edges:
        return edges[b, a].Oriented(TopAbs_REVERSED)
    edges[a, b] = BRepBuilderAPI_MakeEdge(vertices[a], vertices[b]).Edge()
    return edges[a, b]
