"""Turning a triangle list into one closed, outward-wound solid, with every change reported, or refusing it.

Only what can be done without inventing wood: see ``openings`` for what is closed. Each step takes a mesh and gives a
mesh; none moves a point.
"""

from dataclasses import dataclass
from functools import cached_property

import manifold3d
import numpy as np
from numpy.typing import NDArray

from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh, face_areas
from formmaker.model.blank import Repair
from formmaker.sources.openings import close_openings, counted
from formmaker.sources.topology import EdgeTable, bodies, edge_table, fans, half_edges, winding_flips
from formmaker.tolerances import DEFAULT, Tolerances
from formmaker.units import Units, format_area, format_length

SPECK_AREA = 0.02
"""A body with at most this share of the largest body's skin is a speck ..."""

SPECK_WIDTH = 0.1
"""... if it is also at most this share of its width: a crumb or a scrap of background, not a part of the wood."""

MIXERS = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)
"""Odd numbers with well-mixed bits, to make one key of three coordinates; any such would do."""

ASKED_OF_KERNEL = 200_000
"""Up to so many triangles the boolean kernel is asked too whether they are a solid; for a million it takes 1.2 s."""

CUT_SHARE = 0.01
"""Faces where three or more meet at an edge are cut out and closed again up to this share of the skin."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Repaired:
    """A closed mesh, its edges, what was done to it, and which faces (m,) close an open underside."""

    mesh: Mesh
    edges: EdgeTable
    repairs: tuple[Repair, ...]
    underside: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Step:
    """A mesh after a step and, if anything was done, the report."""

    mesh: Mesh
    repair: Repair | None = None


class _Skin:
    """A mesh between two steps, its edges sorted once: sorting a million triangles takes longer than most steps."""

    def __init__(self, mesh: Mesh) -> None:
        self.mesh = mesh

    @cached_property
    def edges(self) -> EdgeTable:
        """How the mesh's half-edges share edges."""
        return edge_table(self.mesh.faces, len(self.mesh.vertices))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What the steps go by: the scan's name and the units for sentences, tolerances."""

    name: str
    units: Units
    tolerances: Tolerances


def repair_mesh(mesh: Mesh, name: str, *, units: Units = Units.MM, tolerances: Tolerances = DEFAULT) -> Repaired:
    """Make a scan one closed, outward-wound solid, or refuse it.

    Parameters
    ----------
    mesh : Mesh
        Triangles as read, mm, finite.
    name : str
        The scan, for messages.
    units : Units
        For the sentences about what was done.
    tolerances : Tolerances
        ``same_point``: points nearer than this are one.

    Returns
    -------
    Repaired
        Closed (every edge in two faces, run both ways), outward, one body, no pinched points.

    Raises
    ------
    BlankError
        With the reason, its size and the way out.
    """
    asked = _Asked(name=name, units=units, tolerances=tolerances)
    repairs: list[Repair] = []
    skin = _Skin(_picked(mesh, np.ones(len(mesh.faces), dtype=bool)))
    for step in (_weld, _drop_flat, _drop_doubled, _cut_crowded, _wind, _split_pinches, _remove_specks):
        done = step(skin, asked)
        skin = skin if done.mesh is skin.mesh else _Skin(done.mesh)
        repairs += [done.repair] if done.repair else []
        if len(skin.mesh.faces) < 4:
            raise BlankError(
                f"{name} has {len(skin.mesh.faces)} usable triangle(s); a solid needs at least 4: "
                "export it again as a closed mesh"
            )
    closed = close_openings(skin.mesh, name, units, edges=skin.edges)
    outward = _turn_outward(closed.mesh, asked)
    skin = skin if outward.mesh is skin.mesh else _Skin(outward.mesh)
    _require_solid(skin, name)
    repairs += closed.repairs
    repairs += [outward.repair] if outward.repair else []
    return Repaired(mesh=skin.mesh, edges=skin.edges, repairs=tuple(repairs), underside=closed.underside)


def is_closed(edges: EdgeTable) -> bool:
    """Tell whether every edge lies in exactly two faces."""
    return not len(edges.single) and not len(edges.crowded)


def is_oriented_manifold(mesh: Mesh, edges: EdgeTable) -> bool:
    """Tell whether a mesh is closed, each edge run both ways, and no point pinched."""
    ends = half_edges(mesh.faces)
    first, second = edges.pairs.T
    return (
        is_closed(edges)
        and bool((ends[first, 0] == ends[second, 1]).all())
        and int(fans(mesh.faces, edges).max()) + 1 == len(mesh.vertices)
    )


def _picked(mesh: Mesh, keep: NDArray[np.bool_]) -> Mesh:
    """Keep some faces, and of the points those that they use."""
    faces = mesh.faces[keep]
    used = np.zeros(len(mesh.vertices), dtype=bool)
    used[faces.ravel()] = True
    renumbered = (np.cumsum(used) - 1)[faces].astype(np.int32)
    colours = None if mesh.colours is None else mesh.colours[used]
    return Mesh(vertices=mesh.vertices[used], faces=renumbered, colours=colours)


def _weld(skin: _Skin, asked: _Asked) -> _Step:
    mesh = skin.mesh
    first, numbers = _same_points(np.round(mesh.vertices / asked.tolerances.same_point) + 0.0)
    joined = len(mesh.vertices) - len(first)
    if not joined:
        return _Step(mesh=mesh)
    colours = None if mesh.colours is None else mesh.colours[first]
    welded = Mesh(vertices=mesh.vertices[first], faces=numbers[mesh.faces].astype(np.int32), colours=colours)
    text = f"{counted(joined, 'point')} welded to others at the same place"
    return _Step(mesh=welded, repair=Repair(code="welded", text=text, count=joined))


def _same_points(cells: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """First of every set of equal rows, and the set of every row; no row may hold a minus zero."""
    x, y, z = cells.view(np.uint64).T
    # One sort of mixed 64-bit keys is several times faster than one of rows; a false match is seen and sorted out.
    mixed = (x * MIXERS[0]) ^ (y * MIXERS[1] + (y >> np.uint64(29))) ^ (z * MIXERS[2] + (z >> np.uint64(31)))
    _, first, numbers = np.unique(mixed, return_index=True, return_inverse=True)
    if not np.array_equal(cells[first[numbers]], cells):
        _, first, numbers = np.unique(cells, axis=0, return_index=True, return_inverse=True)
    return first, numbers.reshape(-1)


def _drop_flat(skin: _Skin, _asked: _Asked) -> _Step:
    mesh = skin.mesh
    a, b, c = mesh.faces.T
    flat = (a == b) | (b == c) | (c == a)
    if not flat.any():
        return _Step(mesh=mesh)
    count = int(flat.sum())
    text = f"{counted(count, 'triangle')} without area dropped"
    return _Step(mesh=_picked(mesh, ~flat), repair=Repair(code="flat dropped", text=text, count=count))


def _drop_doubled(skin: _Skin, asked: _Asked) -> _Step:
    mesh = skin.mesh
    corners = np.sort(mesh.faces.astype(np.int64), axis=1)
    count = len(mesh.vertices)
    # Two keys in one sort: the first two corners fit in one integer, the third follows.
    order = np.lexsort((corners[:, 2], corners[:, 0] * count + corners[:, 1]))
    same = (corners[order][1:] == corners[order][:-1]).all(axis=1)
    if not same.any():
        return _Step(mesh=mesh)
    keep = np.ones(len(corners), dtype=bool)
    keep[order[1:][same]] = False
    area = float(face_areas(mesh)[~keep].sum())
    text = f"{counted(int(same.sum()), 'triangle')} found twice ({format_area(area, asked.units)}), dropped once"
    repair = Repair(code="doubled dropped", text=text, count=int(same.sum()), area=area)
    return _Step(mesh=_picked(mesh, keep), repair=repair)


def _cut_crowded(skin: _Skin, asked: _Asked) -> _Step:
    mesh, edges = skin.mesh, skin.edges
    if not len(edges.crowded):
        return _Step(mesh=mesh)
    areas = face_areas(mesh)
    cut = np.zeros(len(mesh.faces), dtype=bool)
    cut[edges.crowded // 3] = True
    area, share = float(areas[cut].sum()), float(areas[cut].sum() / areas.sum())
    if share > CUT_SHARE:
        raise BlankError(
            f"{asked.name}: three or more faces meet at an edge in {int(cut.sum())} triangles, {share:.1%} of the "
            f"skin, allowed are {CUT_SHARE:.0%}; remesh it in the scanning app or scan it again"
        )
    cuts = counted(int(cut.sum()), "triangle")
    text = f"{cuts} cut out ({format_area(area, asked.units)}) where three or more met at an edge"
    repair = Repair(code="crowded cut", text=text, count=int(cut.sum()), area=area, volume_change=float("nan"))
    return _Step(mesh=_picked(mesh, ~cut), repair=repair)


def _wind(skin: _Skin, asked: _Asked) -> _Step:
    mesh = skin.mesh
    flips = winding_flips(mesh.faces, skin.edges)
    if flips is None:
        raise BlankError(
            f"{asked.name} is one-sided (like a Moebius band): no inside can be told; remesh it in the scanning app"
        )
    if not flips.any():
        return _Step(mesh=mesh)
    faces = np.where(flips[:, None], mesh.faces[:, ::-1], mesh.faces)
    area = float(face_areas(mesh)[flips].sum())
    turned = counted(int(flips.sum()), "triangle")
    text = f"{turned} ({format_area(area, asked.units)}) turned over to agree with the neighbours"
    repair = Repair(code="rewound", text=text, count=int(flips.sum()), area=area)
    return _Step(mesh=Mesh(vertices=mesh.vertices, faces=faces, colours=mesh.colours), repair=repair)


def _split_pinches(skin: _Skin, _asked: _Asked) -> _Step:
    mesh = skin.mesh
    fan = fans(mesh.faces, skin.edges)
    count = int(fan.max()) + 1
    extra = count - len(mesh.vertices)
    if not extra:
        return _Step(mesh=mesh)
    origin = np.empty(count, dtype=np.int64)
    origin[fan] = mesh.faces.ravel()
    colours = None if mesh.colours is None else mesh.colours[origin]
    split = Mesh(vertices=mesh.vertices[origin], faces=fan.reshape(-1, 3).astype(np.int32), colours=colours)
    text = f"{counted(extra, 'point')} where parts of the skin only touch were parted"
    return _Step(mesh=split, repair=Repair(code="pinch parted", text=text, count=extra))


def _remove_specks(skin: _Skin, asked: _Asked) -> _Step:
    mesh = skin.mesh
    body = bodies(len(mesh.faces), skin.edges)
    count = int(body.max()) + 1
    if count == 1:
        return _Step(mesh=mesh)
    areas = np.bincount(body, weights=face_areas(mesh))
    widths = _widths(mesh, body, count)
    main = int(areas.argmax())
    speck = (areas <= SPECK_AREA * areas[main]) & (widths <= SPECK_WIDTH * widths[main])
    if speck.sum() < count - 1:
        raise BlankError(_two_bodies(mesh, body, ~speck, asked.name))
    removed = speck[body]
    closed = is_closed(_Skin(_picked(mesh, removed)).edges)
    change = -_volume(_picked(mesh, removed)) if closed else float("nan")
    area = float(areas[speck].sum())
    widest, whole = format_length(float(widths[speck].max()), asked.units), format_area(area, asked.units)
    text = f"{counted(count - 1, 'speck')} removed, the widest {widest} across, together {whole}"
    repair = Repair(code="speck removed", text=text, count=count - 1, area=area, volume_change=change)
    return _Step(mesh=_picked(mesh, ~removed), repair=repair)


def _widths(mesh: Mesh, body: NDArray[np.int64], count: int) -> NDArray[np.float64]:
    """Diagonal of the box round every body, (count,), mm."""
    low, high = np.full((count, 3), np.inf), np.full((count, 3), -np.inf)
    for corner in range(3):
        np.minimum.at(low, body, mesh.vertices[mesh.faces[:, corner]])
        np.maximum.at(high, body, mesh.vertices[mesh.faces[:, corner]])
    return np.asarray(np.linalg.norm(high - low, axis=1))


def _two_bodies(mesh: Mesh, body: NDArray[np.int64], large: NDArray[np.bool_], name: str) -> str:
    sizes = []
    for number in np.flatnonzero(large):
        part = _picked(mesh, body == number)
        sizes.append(
            f"{abs(_volume(part)) / 1000.0:.1f} cm3"
            if is_closed(_Skin(part).edges)
            else f"{_area(part) / 100.0:.1f} cm2 open"
        )
    return (
        f"{name} holds {len(sizes)} separate bodies ({', '.join(sizes[:6])}); one blank is one body: "
        "keep the one you mean in the scanning app and save that"
    )


def _turn_outward(mesh: Mesh, asked: _Asked) -> _Step:
    volume = _volume(mesh)
    thickness = abs(volume) / _area(mesh)
    if not thickness > 1e-3:
        raise BlankError(
            f"{asked.name} encloses no wood ({abs(volume) / 1000.0:.3g} cm3 within {_area(mesh) / 100.0:.1f} cm2 of "
            "skin); it is a sheet, not a solid: scan all sides"
        )
    if volume > 0.0:
        return _Step(mesh=mesh)
    turned = Mesh(vertices=mesh.vertices, faces=mesh.faces[:, ::-1], colours=mesh.colours)
    text = f"the whole mesh was inside out: all {len(mesh.faces)} triangles turned outward"
    repair = Repair(
        code="turned outward", text=text, count=len(mesh.faces), area=_area(mesh), volume_change=-2.0 * volume
    )
    return _Step(mesh=turned, repair=repair)


def _volume(mesh: Mesh) -> float:
    a, b, c = np.moveaxis(mesh.corners - mesh.bounds.mean(axis=0), 1, 0)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def _area(mesh: Mesh) -> float:
    return float(face_areas(mesh).sum())


def _require_solid(skin: _Skin, name: str) -> None:
    """Ask the boolean kernel, which takes nothing but an oriented manifold; of very many triangles our own edges."""
    mesh = skin.mesh
    if len(mesh.faces) > ASKED_OF_KERNEL and is_oriented_manifold(mesh, skin.edges):
        return
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=np.array(mesh.vertices), tri_verts=np.array(mesh.faces, dtype=np.uint64))
    )
    if solid.status() != manifold3d.Error.NoError or not is_closed(skin.edges):
        raise BlankError(
            f"{name} is still no closed solid after repair ({solid.status().name}); "
            "remesh it in the scanning app or scan it again"
        )
