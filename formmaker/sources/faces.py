"""Sorting the skin of a scan into what grew and what was sawn: flat patches of a size are saw cuts.

A patch is grown against one fixed plane, never from neighbour to neighbour, so it cannot creep round a stem; and it
must end: where a looser tolerance would take in much more, the skin merely bends slowly there and is natural.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh, cross_products
from formmaker.geometry.nearest import build_tree, signed_distance
from formmaker.model.blank import FaceKind
from formmaker.model.job import FaceRule
from formmaker.sources.topology import EdgeTable, edge_table, groups
from formmaker.units import Units, format_area, format_length

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceLimits:
    """What counts as a saw cut; lengths follow the blank's size (the diagonal of its box).

    Parameters
    ----------
    flat_share : float
        Points of a cut lie within this share of the diagonal of its plane: 1.3 mm on a blank of 450 mm, a rough
        chainsaw cut with a phone's noise on it.
    tilt : float
        Smoothed normals of a cut are within this of its own, radians.
    least_share : float
        A cut is at least this share of the whole skin: less than the long side of a board of 400 by 400 by 25.
    looser, growth : float
        At a tolerance this many times looser a cut grows by no more than this factor. A strip of a cylinder widens by
        the root of (1 + looser) / 2, whatever the radius, and half as much where an arris holds one side: at 8 by
        2.1 and 1.6, a cap of a ball by more; a plane with ends hardly grows.
    bend : float
        Normals of what a cut might grow into are within this of its own, radians: slow bends count, arrises do not.
    island_share : float
        A stretch of natural skin smaller than this share of the whole and touching a cut belongs to the cut.
    told_share : float
        Points of a cut that the user points out lie within this share of the diagonal of its plane.
    smoothing_share : float
        Normals are averaged over about this share of the diagonal.
    """

    flat_share: float = 0.003
    tilt: float = math.radians(25.0)
    least_share: float = 0.02
    looser: float = 8.0
    growth: float = 1.35
    bend: float = math.radians(60.0)
    told_share: float = 0.01
    island_share: float = 0.0005
    smoothing_share: float = 0.01


LIMITS = FaceLimits()

SAMPLES, CANDIDATES = 5_000, 400
"""Places that vote for a plane, and places whose own plane is put to the vote."""

REFITS = 2
"""Times that a plane is fitted to the faces found on it: the second changes little."""

PRETEST_SLACK = 1.2
"""Slack of the first, cheap test of growth on the sampled places: a few hundred votes are 10 % uncertain."""

MOST_TIPPED = math.radians(80.0)
"""A face that noise has tipped farther than this from its plane is left to ``island_share``."""

MOST_SMOOTHING = 10
"""Rounds of averaging normals; more would cost seconds on a large scan and change little."""

FAR_RULE = 0.05
"""A user's word on a face is refused when its place is farther from the skin than this share of the diagonal."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SortedFaces:
    """A ``FaceKind`` (m,) and the planar patch or -1 (m,) of every triangle, and remarks."""

    kinds: NDArray[np.uint8]
    patches: NDArray[np.int32]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Skin:
    """What the search asks of every face: corners by column, middle, area, unit normals, neighbour pairs.

    ``normals`` are smoothed, ``own_normals`` are of each face alone.
    """

    mesh: Mesh
    columns: tuple[NDArray[np.int32], ...]
    middles: Floats
    areas: Floats
    normals: Floats
    own_normals: Floats
    neighbours: NDArray[np.int64]
    diagonal: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Plane:
    normal: Floats
    offset: float


def sort_faces(
    mesh: Mesh,
    rules: tuple[FaceRule, ...] = (),
    *,
    sawn: NDArray[np.bool_] | None = None,
    edges: EdgeTable | None = None,
    units: Units = Units.MM,
    limits: FaceLimits = LIMITS,
) -> SortedFaces:
    """Tell saw cuts from what grew.

    Parameters
    ----------
    mesh : Mesh
        Closed, wound outward, mm.
    rules : tuple of FaceRule
        The user's word on the patch at a place; it wins.
    sawn : (m,) bool, optional
        Faces known to be one cut already, such as an underside closed by a plane.
    edges : EdgeTable, optional
        Of this mesh, where it is known already.
    units : Units
        For the sentences.
    limits : FaceLimits

    Returns
    -------
    SortedFaces
        Patches are numbered from 0, largest first; natural faces belong to none.

    Raises
    ------
    BlankError
        If a rule's kind is neither natural nor sawn, or its place is far off the skin.
    """
    skin = _skin(mesh, limits, edges)
    patches = _find_patches(skin, limits)
    if sawn is not None and sawn.any():
        patches[sawn] = patches.max() + 1
    patches = _without_islands(skin, patches, limits)
    return _obey(skin, _renumbered(patches, skin.areas), rules, limits, units)


def obey_rules(
    mesh: Mesh,
    patches: NDArray[np.int32],
    rules: tuple[FaceRule, ...],
    *,
    units: Units = Units.MM,
    limits: FaceLimits = LIMITS,
) -> SortedFaces:
    """Apply the user's word to faces whose patches (m,) are known without a search; see ``sort_faces``."""
    return _obey(_skin(mesh, limits), patches, rules, limits, units)


def _skin(mesh: Mesh, limits: FaceLimits, edges: EdgeTable | None = None) -> _Skin:
    pairs = (edges or edge_table(mesh.faces, len(mesh.vertices))).pairs
    crosses = cross_products(mesh)
    areas = 0.5 * np.linalg.norm(crosses, axis=1)
    diagonal = float(np.linalg.norm(mesh.bounds[1] - mesh.bounds[0]))
    edge = math.sqrt(2.0 * float(areas.mean()))
    rounds = min(MOST_SMOOTHING, round((limits.smoothing_share * diagonal / edge) ** 2))
    return _Skin(
        mesh=mesh,
        columns=tuple(np.ascontiguousarray(column) for column in mesh.faces.T),
        middles=mesh.corners.mean(axis=1),
        areas=areas,
        normals=_smoothed(mesh, crosses, rounds),
        own_normals=_smoothed(mesh, crosses, 0),
        neighbours=np.asfortranarray(pairs // 3),
        diagonal=diagonal,
    )


def _smoothed(mesh: Mesh, crosses: Floats, rounds: int) -> Floats:
    """Unit normals of the faces, each round averaged over the faces round its corners."""
    count = len(mesh.faces)
    around = csr_array(
        (np.ones(3 * count), mesh.faces.ravel(), np.arange(count + 1) * 3), shape=(count, len(mesh.vertices))
    )
    normals, onto_corners = crosses, around.T.tocsr()
    for _ in range(rounds):
        normals = around @ (onto_corners @ normals)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    return np.asarray(normals / np.maximum(lengths, 1e-300))


def _find_patches(skin: _Skin, limits: FaceLimits) -> NDArray[np.int32]:
    """Take the plane with most skin on it, again and again, until none is large enough."""
    patches = np.full(len(skin.areas), -1, dtype=np.int32)
    whole = float(skin.areas.sum())
    reach = limits.flat_share * skin.diagonal
    places = _spread_places(skin.areas)
    tried = places[_spread_picks(len(places))]
    votes = _votes(skin, tried, places, reach, limits)
    alive = np.ones(len(places), dtype=bool)
    while True:
        counts = votes @ alive.astype(np.float32)
        best = int(counts.argmax())
        if counts[best] < 0.5 * limits.least_share * len(places):
            return patches
        plane = _voted_plane(skin, places[alive & (votes[best] > 0.0)])
        seen = _near(skin, plane, places, reach, limits.tilt)
        wide = _near(skin, plane, places, reach * limits.looser, limits.bend)
        faces = np.zeros(len(patches), dtype=bool)
        if (wide & alive).sum() <= PRETEST_SLACK * limits.growth * (seen & alive).sum():
            faces = _grow(skin, plane, reach, patches < 0, limits)
        # Places that voted alike would only lead here again.
        votes[best] = 0.0
        votes[_near(skin, plane, tried, reach, limits.tilt)] = 0.0
        if skin.areas[faces].sum() >= limits.least_share * whole and _ends(skin, faces, reach, patches < 0, limits):
            patches[faces] = patches.max() + 1
            alive[patches[places] >= 0] = False


def _voted_plane(skin: _Skin, places: NDArray[np.int64]) -> _Plane:
    """Plane through the places that voted for it."""
    weights = np.full(len(places), 1.0 / len(places))
    corners = skin.mesh.vertices[skin.mesh.faces[places]]
    return _plane_through(corners, weights, skin.normals[places].mean(axis=0))


def _near(skin: _Skin, plane: _Plane, places: NDArray[np.int64], reach: float, tilt: float) -> NDArray[np.bool_]:
    """Tell which places lie on a plane and look its way."""
    near = np.abs(skin.middles[places] @ plane.normal - plane.offset) <= reach
    return np.asarray(near & (skin.normals[places] @ plane.normal > math.cos(tilt)))


def _spread_places(areas: Floats) -> NDArray[np.int64]:
    """Faces drawn evenly over the skin, without chance: the same mesh gives the same faces."""
    heap = np.cumsum(areas)
    count = min(SAMPLES, 4 * len(areas))
    drawn = np.searchsorted(heap, (np.arange(count) + 0.5) / count * heap[-1])
    return np.asarray(np.minimum(drawn, len(areas) - 1), dtype=np.int64)


def _spread_picks(count: int) -> NDArray[np.int64]:
    """Pick some of ``count`` places, far apart in the list, by steps of the golden section."""
    golden = (math.sqrt(5.0) - 1.0) / 2.0
    picks = (np.modf(np.arange(min(CANDIDATES, count)) * golden)[0] * count).astype(np.int64)
    return np.asarray(np.unique(picks))


def _votes(
    skin: _Skin, tried: NDArray[np.int64], places: NDArray[np.int64], reach: float, limits: FaceLimits
) -> NDArray[np.float32]:
    """1 where a place lies on the plane of a tried face and looks its way, (tried, places)."""
    normals, middles = skin.normals[tried], skin.middles[tried]
    distance = normals @ skin.middles[places].T - np.einsum("ij,ij->i", normals, middles)[:, None]
    facing = normals @ skin.normals[places].T > math.cos(limits.tilt)
    return np.asarray((np.abs(distance) <= reach) & facing, dtype=np.float32)


def _grow(skin: _Skin, plane: _Plane, reach: float, free: NDArray[np.bool_], limits: FaceLimits) -> NDArray[np.bool_]:
    """Faces in one piece that lie on one plane, the plane fitted to them anew a few times."""
    faces = _largest_piece(skin, _on_plane(skin, plane, reach, free, limits.tilt))
    for _ in range(REFITS):
        if not faces.any():
            break
        faces = _largest_piece(skin, _on_plane(skin, _fitted(skin, faces), reach, free, limits.tilt))
    return faces


def _on_plane(skin: _Skin, plane: _Plane, reach: float, free: NDArray[np.bool_], tilt: float) -> NDArray[np.bool_]:
    near = np.abs(skin.mesh.vertices @ plane.normal - plane.offset) <= reach
    a, b, c = skin.columns
    # Noise tips single faces and an arris blurs the average: the average may lead, but not against the face itself.
    own = skin.own_normals @ plane.normal
    averaged = skin.normals @ plane.normal > math.cos(tilt)
    facing = (own > math.cos(tilt)) | (averaged & (own > math.cos(MOST_TIPPED)))
    return np.asarray(near[a] & near[b] & near[c] & facing & free)


def _largest_piece(skin: _Skin, faces: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Keep the largest connected part of some faces."""
    chosen = np.flatnonzero(faces)
    if not len(chosen):
        return faces
    first, second = skin.neighbours.T
    inside = faces[first] & faces[second]
    number = np.cumsum(faces) - 1
    label = groups(len(chosen), number[first[inside]], number[second[inside]])
    largest = np.bincount(label, weights=skin.areas[chosen]).argmax()
    piece = np.zeros(len(faces), dtype=bool)
    piece[chosen[label == largest]] = True
    return piece


def _fitted(skin: _Skin, faces: NDArray[np.bool_]) -> _Plane:
    """Least-squares plane through the corners of faces, weighted by area, looking out."""
    weights = skin.areas[faces] / skin.areas[faces].sum()
    corners = skin.mesh.vertices[skin.mesh.faces[faces]]
    return _plane_through(corners, weights, weights @ skin.normals[faces])


def _plane_through(corners: Floats, weights: Floats, outward: Floats) -> _Plane:
    """Fit a plane to triangles (n, 3, 3); corners and not middles, or two triangles would leave it undecided."""
    points, shares = corners.reshape(-1, 3), np.repeat(weights, 3) / 3.0
    centre = shares @ points
    away = points - centre
    normal = np.linalg.eigh((away * shares[:, None]).T @ away)[1][:, 0]
    if normal @ outward < 0.0:
        normal = -normal
    return _Plane(normal=normal, offset=float(normal @ centre))


def _ends(skin: _Skin, faces: NDArray[np.bool_], reach: float, free: NDArray[np.bool_], limits: FaceLimits) -> bool:
    """Tell whether a patch ends, instead of bending away slowly."""
    plane = _fitted(skin, faces)
    loose = _largest_piece(skin, faces | _on_plane(skin, plane, reach * limits.looser, free, limits.bend))
    return bool(skin.areas[loose].sum() <= limits.growth * skin.areas[faces].sum())


def _without_islands(skin: _Skin, patches: NDArray[np.int32], limits: FaceLimits) -> NDArray[np.int32]:
    """Give small islands of natural skin to the cut round them: noise and saw marks, not bark."""
    natural = patches < 0
    first, second = skin.neighbours.T
    inside = natural[first] & natural[second]
    label = groups(len(patches), first[inside], second[inside])
    small = np.bincount(label, weights=skin.areas) < limits.island_share * skin.areas.sum()
    owner = np.full(len(small), -1, dtype=np.int32)
    for here, there in ((first, second), (second, first)):
        shore = natural[here] & small[label[here]] & ~natural[there]
        owner[label[here[shore]]] = patches[there[shore]]
    return np.asarray(np.where(natural, owner[label], patches), dtype=np.int32)


def _obey(
    skin: _Skin, patches: NDArray[np.int32], rules: tuple[FaceRule, ...], limits: FaceLimits, units: Units
) -> SortedFaces:
    """Apply the user's rules to the patches, in their order."""
    if not rules:
        return _sorted(patches)
    nearest = signed_distance(build_tree(skin.mesh), np.array([rule.at for rule in rules], dtype=np.float64))
    patches, notes = patches.copy(), list[str]()
    for rule, distance, face in zip(rules, nearest.distance, nearest.face, strict=True):
        place = ", ".join(format_length(c, units) for c in rule.at)
        if rule.kind not in ("natural", "sawn"):
            raise BlankError(f"face at ({place}): kind {rule.kind!r} is unknown; write natural or sawn")
        if not abs(distance) <= FAR_RULE * skin.diagonal:
            raise BlankError(
                f"face at ({place}) is {format_length(abs(distance), units)} off the skin, allowed are "
                f"{format_length(FAR_RULE * skin.diagonal, units)}; give a place on the face that is meant"
            )
        patch = patches[face]
        if rule.kind == "natural" and patch >= 0:
            patches[patches == patch] = -1
        elif rule.kind == "natural":
            notes.append(f"The face at ({place}) was natural already.")
        elif patch < 0:
            grown = _told(skin, int(face), patches < 0, limits)
            patches[grown] = patches.max() + 1
            notes.append(
                f"Taken as sawn, as told, at ({place}): {format_area(float(skin.areas[grown].sum()), units)}."
            )
    return _sorted(_renumbered(patches, skin.areas), tuple(notes))


def _sorted(patches: NDArray[np.int32], notes: tuple[str, ...] = ()) -> SortedFaces:
    kinds = np.where(patches >= 0, FaceKind.SAWN, FaceKind.NATURAL).astype(np.uint8)
    return SortedFaces(kinds=kinds, patches=patches, notes=notes)


def _told(skin: _Skin, face: int, free: NDArray[np.bool_], limits: FaceLimits) -> NDArray[np.bool_]:
    """Faces of a cut that the user knows and the search did not see: the tolerance is looser, it need not end."""
    normal = skin.normals[face]
    plane = _Plane(normal=normal, offset=float(normal @ skin.middles[face]))
    grown = _grow(skin, plane, limits.told_share * skin.diagonal, free, limits)
    grown[face] = True
    return grown


def _renumbered(patches: NDArray[np.int32], areas: Floats) -> NDArray[np.int32]:
    """Number patches from 0, largest first."""
    present = np.unique(patches[patches >= 0])
    sizes = [-areas[patches == patch].sum() for patch in present]
    new = np.full(int(patches.max()) + 2, -1, dtype=np.int32)
    new[present[np.argsort(sizes, kind="stable")]] = np.arange(len(present))
    return np.asarray(new[patches])
