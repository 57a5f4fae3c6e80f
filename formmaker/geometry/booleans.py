"""Common part and difference of closed meshes, separate bodies of one, its outlines on a plane: exact up to rounding.

The work is manifold3d's; this module carries meshes to it and back, refuses what is no solid, and tells which
triangle of a result came from where. No repair (see ``sources``), no distances (see ``nearest``).
"""

from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.errors import BlankError, KernelError
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh, moved


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """A mesh made from two others, with the origin of its triangles.

    Parameters
    ----------
    mesh : Mesh
        The result. Its colours, where the first mesh has some, are carried over the first mesh's own triangles;
        vertices that only touch triangles of a second mesh without colours are black.
    from_first : (m,) bool
        True where a triangle lies on the skin of the first mesh, False where it lies on the second's.
    faces : (m,) int32
        Index of the triangle that it is a piece of, in the mesh it came from.
    """

    mesh: Mesh
    from_first: NDArray[np.bool_]
    faces: NDArray[np.int32]

    def __post_init__(self) -> None:
        for name, kind in (("from_first", np.bool_), ("faces", np.int32)):
            array = np.array(getattr(self, name), dtype=kind)
            array.flags.writeable = False
            object.__setattr__(self, name, array)


def intersection(first: Mesh, second: Mesh) -> Mesh:
    """Give the body common to two closed meshes.

    Parameters
    ----------
    first, second : Mesh
        Closed, wound outward, in one frame, mm.

    Returns
    -------
    Mesh
        Closed, wound outward, without colours; with no faces where the two have nothing in common or only touch.

    Raises
    ------
    BlankError
        If a mesh is no closed solid.
    KernelError
        If the boolean itself gives no result.
    """
    return _body_of(_checked(_solid_of(first) ^ _solid_of(second)))


def difference(first: Mesh, second: Mesh) -> Mesh:
    """Give what is left of the first mesh without the second; arguments and errors as for ``intersection``."""
    return _body_of(_checked(_solid_of(first) - _solid_of(second)))


def volume_of_intersection(first: Mesh, second: Mesh) -> float:
    """Volume common to two closed meshes, mm3; 0 where they do not meet. Errors as for ``intersection``."""
    return float(_checked(_solid_of(first) ^ _solid_of(second)).volume())


def intersection_cut(first: Mesh, second: Mesh) -> Cut:
    """Common body of two closed meshes that remembers the origin of its triangles.

    Parameters
    ----------
    first, second : Mesh
        As for ``intersection``. No triangles are joined across the faces they came from, so that the result has
        more of them than ``intersection`` gives.

    Returns
    -------
    Cut
        Errors as for ``intersection``.
    """
    solids = _traced(first, 0), _traced(second, 1)
    return _cut_of(_checked(solids[0] ^ solids[1]), coloured=first.colours is not None)


def difference_cut(first: Mesh, second: Mesh) -> Cut:
    """First mesh without the second, as a ``Cut``: bark is ``from_first``, cut wood is not."""
    solids = _traced(first, 0), _traced(second, 1)
    return _cut_of(_checked(solids[0] - solids[1]), coloured=first.colours is not None)


def split_bodies(mesh: Mesh) -> tuple[Mesh, ...]:
    """Separate bodies of a closed mesh, the largest first.

    Parameters
    ----------
    mesh : Mesh
        Closed, wound outward, mm.

    Returns
    -------
    tuple of Mesh
        By falling volume, without colours. A hollow inside a body stays with the body around it. Empty for an empty
        mesh.

    Raises
    ------
    BlankError
        If the mesh is no closed solid.

    Notes
    -----
    Bodies that share no more than an edge or a corner count as separate: no wood holds them together.
    """
    if len(mesh.faces) == 0:
        return ()
    shells = _solid_of(mesh).decompose()
    bodies = sorted((shell for shell in shells if shell.volume() > 0.0), key=lambda shell: shell.volume())
    for hollow in (shell for shell in shells if shell.volume() < 0.0):
        _give_hollow(bodies, hollow)
    return tuple(_mesh_of(body) for body in sorted(bodies, key=lambda shell: -shell.volume()))


def _give_hollow(bodies: list[manifold3d.Manifold], hollow: manifold3d.Manifold) -> None:
    """Cut a hollow out of the smallest body around it (a shell of its own has the hollow inside out)."""
    skin = _mesh_of(hollow)
    inside = _solid_of(Mesh(vertices=skin.vertices, faces=skin.faces[:, ::-1]))
    for place, body in enumerate(bodies):
        # half the volume decides: a hollow lies wholly inside a body or wholly outside it
        if (body ^ inside).volume() > 0.5 * inside.volume():
            bodies[place] = body - inside
            return


def cut_outline(mesh: Mesh, mesh_from_plane: Frame) -> shapely.Geometry:
    """Where a plane cuts a body.

    Parameters
    ----------
    mesh : Mesh
        Closed, wound outward, mm.
    mesh_from_plane : Frame
        The plane is its z = 0.

    Returns
    -------
    shapely Geometry
        Polygon or MultiPolygon with holes in x and y of the plane, mm; empty where the plane passes beside the body.

    Raises
    ------
    BlankError
        If the mesh is no closed solid.
    """
    return _area(_solid_of(moved(mesh, mesh_from_plane.inverse)).slice(0.0))


def shadow_outline(mesh: Mesh, mesh_from_plane: Frame) -> shapely.Geometry:
    """Outline of a body as seen along the z of a frame, in its x and y; for the rest as ``cut_outline``."""
    return _area(_solid_of(moved(mesh, mesh_from_plane.inverse)).project())


def _area(section: manifold3d.CrossSection) -> shapely.Geometry:
    """Rings of any winding, even-odd, as one area."""
    rings = [shapely.make_valid(shapely.Polygon(ring)) for ring in section.to_polygons() if len(ring) > 2]
    area = shapely.Polygon()
    for ring in sorted(rings, key=lambda ring: -ring.area):
        area = area.symmetric_difference(ring)
    return area


_NO_BODY = Mesh(vertices=np.zeros((0, 3)), faces=np.zeros((0, 3), dtype=np.int32))

_FAULTS = {
    "NonFiniteVertex": "a corner is not finite",
    "NotManifold": "its skin is not closed, or more than two triangles share an edge",
    "VertexOutOfBounds": "a triangle names a corner that does not exist",
}


def _solid_of(mesh: Mesh) -> manifold3d.Manifold:
    # Mesh64: the library's plain mesh is float32, a hundredth of a millimetre in a far-away scan
    # and it takes no locked array, hence the copy
    return _accepted(mesh, manifold3d.Mesh64(mesh.vertices.copy(), _triangles(mesh)))


def _traced(mesh: Mesh, number: int) -> manifold3d.Manifold:
    """A solid whose triangles keep the number of their mesh and their own, through any boolean."""
    columns = [mesh.vertices] if mesh.colours is None else [mesh.vertices, mesh.colours.astype(np.float64)]
    count = len(mesh.faces)
    traced = manifold3d.Mesh64(
        np.ascontiguousarray(np.hstack(columns)),
        _triangles(mesh),
        run_index=np.array([0, 3 * count], dtype=np.uint64),
        run_original_id=np.array([number], dtype=np.uint32),
        face_id=np.arange(count, dtype=np.uint64),
    )
    return _accepted(mesh, traced)


def _triangles(mesh: Mesh) -> NDArray[np.uint64]:
    return mesh.faces.astype(np.uint64)


def _accepted(mesh: Mesh, raw: manifold3d.Mesh64) -> manifold3d.Manifold:
    solid = manifold3d.Manifold(raw)
    fault = solid.status().name
    if fault != "NoError":
        raise BlankError(
            f"a mesh of {len(mesh.faces)} triangles is no solid: {_FAULTS.get(fault, fault)}; "
            "close and weld it before it is cut"
        )
    volume = solid.volume()  # below zero where the skin is inside out
    if len(mesh.faces) and not volume > 0.0:
        raise BlankError(
            f"a mesh of {len(mesh.faces)} triangles holds {volume:.3g} mm3: it is inside out or has no body; "
            "wind its triangles outward"
        )
    return solid


def _checked(solid: manifold3d.Manifold) -> manifold3d.Manifold:
    fault = solid.status().name
    if fault != "NoError":
        raise KernelError(f"the mesh boolean gave no result ({fault}); use a blank with fewer triangles")
    return solid


def _body_of(solid: manifold3d.Manifold) -> Mesh:
    # where two faces touch the library leaves flat sheets: skin without a body
    return _mesh_of(solid) if solid.volume() > 0.0 else _NO_BODY


def _mesh_of(solid: manifold3d.Manifold) -> Mesh:
    raw = solid.to_mesh64()
    return Mesh(vertices=raw.vert_properties[:, :3], faces=raw.tri_verts.astype(np.int32))


def _cut_of(solid: manifold3d.Manifold, *, coloured: bool) -> Cut:
    if not solid.volume() > 0.0:
        return Cut(mesh=_NO_BODY, from_first=np.zeros(0, dtype=np.bool_), faces=_NO_BODY.faces[:, 0])
    raw = solid.to_mesh64()
    starts = np.array(raw.run_index, dtype=np.int64) // 3
    from_first = np.repeat(np.array(raw.run_original_id) == 0, starts[1:] - starts[:-1])
    return Cut(mesh=_joined(raw, coloured=coloured), from_first=from_first, faces=raw.face_id)


def _joined(raw: manifold3d.Mesh64, *, coloured: bool) -> Mesh:
    """Close the seam where one place carries a corner of either mesh; the first mesh's corner, and colour, stays."""
    target = np.arange(len(raw.vert_properties))
    target[np.array(raw.merge_from_vert, dtype=np.int64)] = np.array(raw.merge_to_vert, dtype=np.int64)
    kept, numbers = np.unique(target[raw.tri_verts.astype(np.int64)], return_inverse=True)
    faces = numbers.reshape(-1, 3).astype(np.int32)
    vertices = raw.vert_properties[kept, :3]
    if not coloured:
        return Mesh(vertices=vertices, faces=faces)
    colours = np.rint(raw.vert_properties[kept, 3:6].clip(0, 255)).astype(np.uint8)
    return Mesh(vertices=vertices, faces=faces, colours=colours)
