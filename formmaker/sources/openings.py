"""Closing openings of a scan: small holes, and one flat open underside.

An opening is closed over its own border points, so that nothing outside the border is touched; what is neither small
nor flat is refused with the way out.
"""

from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh, face_areas
from formmaker.model.blank import Repair
from formmaker.sources.topology import EdgeTable, border_loops, edge_keys, edge_table
from formmaker.units import Units, format_area, format_length

Ints = NDArray[np.int64]

HOLE_SHARE = 0.01
"""A hole is small when its patch is at most this share of the skin: a palm's width on a blank of 400 mm is not."""

HOLES_SHARE = 0.03
"""All small holes together may be this share of the skin: beyond it too much of the answer would be invented."""

FLAT_SHARE = 0.03
"""An underside is flat when its border leaves its best plane by at most this share of its width."""

BEYOND_SHARE = 0.05
"""At most this share of the scan's points may lie beyond the plane of an underside, or it is no underside."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Opening:
    """The border of an opening.

    Parameters
    ----------
    loop : (k,) int
        Its points, in the order in which a filling face must run.
    centre, normal : (3,) float
        Best plane; the normal looks out of the wood.
    width : float
        The longest way across, mm.
    deviation : float
        The farthest that a border point leaves the plane, mm.
    area : float
        Area inside the border, seen along the normal, mm2.
    """

    loop: Ints
    centre: NDArray[np.float64]
    normal: NDArray[np.float64]
    width: float
    deviation: float
    area: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Closed:
    """A mesh without openings, what was done, and which faces (m,) are a closed underside."""

    mesh: Mesh
    repairs: tuple[Repair, ...]
    underside: NDArray[np.bool_]


def close_openings(mesh: Mesh, name: str, units: Units = Units.MM, *, edges: EdgeTable | None = None) -> Closed:
    """Close small holes and one flat underside.

    Parameters
    ----------
    mesh : Mesh
        One body, winding consistent, without crowded edges or pinches.
    name : str
        The scan, for messages.
    units : Units
        For the sentences about what was done.
    edges : EdgeTable, optional
        Of this mesh, where it is known already.

    Returns
    -------
    Closed

    Raises
    ------
    BlankError
        If an opening is neither a small hole nor a flat underside, or there are too many holes.
    """
    edges = edges or edge_table(mesh.faces, len(mesh.vertices))
    openings = [measure_opening(mesh, loop) for loop in border_loops(mesh.faces, edges)]
    skin = float(face_areas(mesh).sum())
    large = [opening for opening in openings if opening.area > HOLE_SHARE * skin]
    small = [opening for opening in openings if opening.area <= HOLE_SHARE * skin]
    _require_closable(mesh, large, small, skin, name)
    filled, holes = _filled(mesh, small)
    closed, underside = _filled(filled, large)
    flags = np.arange(len(closed.faces)) >= len(filled.faces)
    repairs = [_hole_repair(small, holes, units)] if small else []
    repairs += [_underside_repair(opening, underside, units) for opening in large]
    return Closed(mesh=closed, repairs=tuple(repairs), underside=flags)


def measure_opening(mesh: Mesh, loop: Ints) -> Opening:
    """Best plane, size and flatness of one border loop."""
    points = mesh.vertices[loop]
    centre = points.mean(axis=0)
    turned = np.roll(points, -1, axis=0)
    area_vector = 0.5 * np.cross(points - centre, turned - centre).sum(axis=0)
    normal = np.linalg.svd(points - centre, full_matrices=False)[2][-1] if len(loop) > 3 else area_vector
    normal = normal / max(float(np.linalg.norm(normal)), 1e-300)
    normal = -normal if normal @ area_vector < 0.0 else normal
    across = np.linalg.norm(points - centre, axis=1).max() * 2.0
    return Opening(
        loop=loop,
        centre=centre,
        normal=normal,
        width=float(across),
        deviation=float(np.abs((points - centre) @ normal).max()),
        area=float(np.linalg.norm(area_vector)),
    )


def _require_closable(mesh: Mesh, large: list[Opening], small: list[Opening], skin: float, name: str) -> None:
    holes = sum(opening.area for opening in small)
    if holes > HOLES_SHARE * skin:
        raise BlankError(
            f"{name}: {len(small)} holes of together {_cm2(holes)} are {holes / skin:.1%} of the skin, "
            f"allowed are {HOLES_SHARE:.0%}; scan it again or close them in the scanning app"
        )
    if len(large) > 1:
        sizes = ", ".join(f"{opening.width:.0f} mm" for opening in large)
        raise BlankError(
            f"{name} is open in {len(large)} large places ({sizes} wide), allowed is one flat underside; "
            "scan all sides or close it in the scanning app"
        )
    for opening in large:
        _require_underside(mesh, opening, name)


def _require_underside(mesh: Mesh, opening: Opening, name: str) -> None:
    share = opening.deviation / opening.width
    if share > FLAT_SHARE:
        raise BlankError(
            f"{name} has an opening {opening.width:.0f} mm wide ({_cm2(opening.area)}) whose border leaves its "
            f"best plane by {opening.deviation:.1f} mm, allowed are {FLAT_SHARE * opening.width:.1f} mm; "
            "trim the scan to a flat underside, scan all sides, or close it in the scanning app"
        )
    beyond = float(np.mean((mesh.vertices - opening.centre) @ opening.normal > opening.deviation + 1e-9))
    if beyond > BEYOND_SHARE:
        raise BlankError(
            f"{name} has an opening {opening.width:.0f} mm wide with {beyond:.0%} of the scan beyond its plane, "
            "so it is no underside; scan all sides or close it in the scanning app"
        )


def _filled(mesh: Mesh, openings: list[Opening]) -> tuple[Mesh, float]:
    """Fill openings; the mesh and the area added, mm2."""
    if not openings:
        return mesh, 0.0
    present = np.unique(edge_keys(mesh.faces, len(mesh.vertices)))
    faces, centres = list[Ints](), list[Ints]()
    for opening in openings:
        patch = _patch(mesh, opening, present)
        if patch is None:
            patch = _star(opening.loop, len(mesh.vertices) + len(centres))
            centres.append(opening.loop)
        faces.append(patch)
    points = [mesh.vertices, *(mesh.vertices[loop].mean(axis=0)[None] for loop in centres)]
    colours = mesh.colours
    if colours is not None:
        colours = np.concatenate([colours, *(colours[loop].mean(axis=0)[None].astype(np.uint8) for loop in centres)])
    added = np.concatenate(faces).astype(np.int32)
    filled = Mesh(vertices=np.concatenate(points), faces=np.concatenate([mesh.faces, added]), colours=colours)
    return filled, float(face_areas(filled)[len(mesh.faces) :].sum())


def _patch(mesh: Mesh, opening: Opening, present: Ints) -> Ints | None:
    """Triangles over the border points alone, None where the border is too crooked for that."""
    if len(opening.loop) == 3:
        return opening.loop[None]
    reach = np.array([1.0, 0.0, 0.0]) if abs(opening.normal[0]) < 0.7 else np.array([0.0, 1.0, 0.0])
    u = np.cross(opening.normal, reach)
    u /= np.linalg.norm(u)
    flat = (mesh.vertices[opening.loop] - opening.centre) @ np.column_stack([u, np.cross(opening.normal, u)])
    if not shapely.Polygon(flat).is_valid:
        return None
    triangles = np.asarray(manifold3d.triangulate([flat]), dtype=np.int64)
    if len(triangles) != len(opening.loop) - 2:
        return None
    patch = opening.loop[triangles]
    # An inner edge of the patch that the skin already has would be an edge of four faces.
    keys, counts = np.unique(edge_keys(patch, len(mesh.vertices)), return_counts=True)
    return None if np.isin(keys[counts == 2], present).any() else patch


def _star(loop: Ints, centre: int) -> Ints:
    """Triangles from a new point in the middle to every border edge."""
    return np.column_stack([loop, np.roll(loop, -1), np.full(len(loop), centre)])


def _hole_repair(small: list[Opening], area: float, units: Units) -> Repair:
    widest = max(opening.width for opening in small)
    return Repair(
        code="hole filled",
        text=(
            f"{counted(len(small), 'small hole')} filled, the widest {format_length(widest, units)} across, "
            f"{format_area(area, units)} of skin added"
        ),
        count=len(small),
        area=area,
        volume_change=float("nan"),
    )


def _underside_repair(opening: Opening, area: float, units: Units) -> Repair:
    return Repair(
        code="underside closed",
        text=(
            f"open underside {format_length(opening.width, units)} wide closed by a plane, "
            f"{format_area(area, units)} added; its border leaves that plane by up to "
            f"{format_length(opening.deviation, units)}"
        ),
        count=1,
        area=area,
        volume_change=float("nan"),
    )


def _cm2(area: float) -> str:
    return f"{area / 100.0:.2f} cm2"


def counted(count: int, thing: str) -> str:
    """Count things in good grammar.

    Examples
    --------
    >>> counted(1, "speck"), counted(3, "small hole")
    ('1 speck', '3 small holes')
    """
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"
