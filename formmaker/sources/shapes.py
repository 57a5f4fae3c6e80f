"""Meshes of the blanks that can be described in a few sizes, with their sawn and natural faces known from the start.

Curved skins are inscribed: every corner lies on the true skin and no facet leaves it by more than 0.004 mm (0.02 mm
on a ball), always on the inner side, so that a facet never claims wood that the shape does not have. Exact solids are
made elsewhere.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh, face_normals, moved
from formmaker.model.blank import FaceKind
from formmaker.model.shapes import Board, CapBurr, Crotch, HalfLog, Log, Round, Shape
from formmaker.sources.revolved import Rings, even_count, revolve, thinned_counts

CHORD = 0.002
"""Sagitta of one chord of a skin that is straight one way, mm: half of the error that is stated."""

BALL_CHORD = 0.01
"""Sagitta of one chord of a ball, mm. Its facets bend both ways, so that their number grows with the inverse of this:
at ``CHORD`` a cap burr of 400 mm had 150 000 of them, at this 31 000, and its uncertainty of 2 mm does not notice."""

ALONG = 20.0
"""Length of a facet along a straight skin, mm, where 24 of them are enough: slimmer ones make a search tree slow."""

ON_PLANE = 1e-6
"""A corner this near to a sawn plane lies on it, mm."""

_TO_X = Frame(rotation=np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]]), origin=np.zeros(3))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Skin:
    """A mesh whose faces are known: ``kinds`` (m,) a ``FaceKind`` each, ``patches`` (m,) planar patch or -1."""

    mesh: Mesh
    kinds: NDArray[np.uint8]
    patches: NDArray[np.int32]


@dataclass(frozen=True, slots=True, kw_only=True)
class SawnPlane:
    """A saw cut: outward normal (unit) and its distance from the origin along it, mm."""

    normal: tuple[float, float, float]
    offset: float


def chord_error(shape: Shape) -> float:
    """Give the most by which a facet of a described blank leaves its true skin, mm.

    Twice a chord's sagitta: on a ball a facet bends both ways, and the join of two cylinders is cut by rounding.

    Examples
    --------
    >>> chord_error(CapBurr(diameter=300.0, height=90.0)), chord_error(Log(radius=90.0, length=200.0))
    (0.02, 0.004)
    """
    return 2.0 * (BALL_CHORD if isinstance(shape, CapBurr) else CHORD)


def shape_mesh(shape: Shape) -> Mesh:
    """Closed mesh of a described blank, in the frame that its record states.

    Parameters
    ----------
    shape : Shape
        Log, half log, cap burr, crotch, board or round; mm, radians.

    Returns
    -------
    Mesh
        Closed, wound outward, mm; corners on the true skin, facets within ``chord_error`` of it.

    Examples
    --------
    >>> shape_mesh(Board(length=300.0, width=200.0, thickness=50.0)).bounds
    array([[-150., -100.,    0.],
           [ 150.,  100.,   50.]])
    """
    makers: dict[type, Callable[..., Mesh]] = {
        Log: _log,
        HalfLog: _half_log,
        CapBurr: _cap_burr,
        Crotch: _crotch,
        Board: _board,
        Round: _round,
    }
    return makers[type(shape)](shape)


def shape_skin(shape: Shape) -> Skin:
    """Mesh of a described blank with every face sorted: saw cuts are patches, what grew is natural.

    The side of a round is sawn too (by the bandsaw) but not flat: it is no patch.
    """
    mesh = shape_mesh(shape)
    patches = planar_patches(mesh, sawn_planes(shape))
    everywhere_sawn = isinstance(shape, Board | Round)
    sawn = np.ones(len(patches), dtype=bool) if everywhere_sawn else patches >= 0
    kinds = np.where(sawn, FaceKind.SAWN, FaceKind.NATURAL).astype(np.uint8)
    return Skin(mesh=mesh, kinds=kinds, patches=patches)


def planar_patches(mesh: Mesh, planes: tuple[SawnPlane, ...]) -> NDArray[np.int32]:
    """Index of the plane on which each face lies and looks outward, (m,); -1 where on none."""
    patches = np.full(len(mesh.faces), -1, dtype=np.int32)
    normals = face_normals(mesh)
    for number, plane in enumerate(planes):
        normal = np.array(plane.normal)
        on_plane = np.abs(mesh.vertices @ normal - plane.offset) <= ON_PLANE
        patches[on_plane[mesh.faces].all(axis=1) & (normals @ normal > 0.5)] = number
    return patches


def sawn_planes(shape: Shape) -> tuple[SawnPlane, ...]:
    """Every saw cut of a described blank, in the blank frame."""
    below = SawnPlane(normal=(0.0, 0.0, -1.0), offset=0.0)
    match shape:
        case Log():
            return (_cut(math.pi, 0.0), _cut(0.0, shape.length))
        case HalfLog():
            return (below, _cut(math.pi, shape.length / 2.0), _cut(0.0, shape.length / 2.0))
        case CapBurr():
            return (below,)
        case Crotch():
            ends = (_cut(sign * shape.angle, shape.branch_length) for sign in (1.0, -1.0))
            return (below, _cut(math.pi, shape.stem_length), *ends)
        case Board():
            sides = (_cut(k * math.pi / 2.0, (shape.length, shape.width)[k % 2] / 2.0) for k in range(4))
            return (below, SawnPlane(normal=(0.0, 0.0, 1.0), offset=shape.thickness), *sides)
        case Round():
            return (below, SawnPlane(normal=(0.0, 0.0, 1.0), offset=shape.thickness))


def _cut(angle: float, offset: float) -> SawnPlane:
    """Upright saw cut whose outward normal stands at an angle from x toward y."""
    return SawnPlane(normal=(math.cos(angle), math.sin(angle), 0.0), offset=offset)


def _steps(length: float) -> NDArray[np.float64]:
    """Even stations from 0 to ``length``, ends included."""
    return np.linspace(0.0, length, min(24, max(2, math.ceil(length / ALONG))) + 1)


def _drum_profile(radius: float, length: float) -> NDArray[np.float64]:
    """Round the outside of a drum, from the middle of its low end to the middle of its high end."""
    radii = _steps(radius)
    low = np.column_stack([radii, np.zeros(len(radii))])
    side = np.column_stack([np.full(len(_steps(length)), radius), _steps(length)])
    return np.concatenate([low, side[1:-1], np.column_stack([radii[::-1], np.full(len(radii), length)])])


def _drum(radius: float, length: float, sweep: float = 2.0 * math.pi) -> Rings:
    profile = _drum_profile(radius, length)
    whole = even_count(radius, CHORD)
    counts = thinned_counts(profile[:, 0], round(whole * sweep / (2.0 * math.pi)))
    return revolve(profile, counts, sweep)


def _log(shape: Log) -> Mesh:
    rings = _drum(shape.radius, shape.length)
    return moved(_mesh(rings.points, rings.faces), _TO_X)


def _round(shape: Round) -> Mesh:
    rings = _drum(shape.diameter / 2.0, shape.thickness)
    return _mesh(rings.points, rings.faces)


def _half_log(shape: HalfLog) -> Mesh:
    along = Frame(rotation=_TO_X.rotation, origin=np.array([-shape.length / 2.0, 0.0, 0.0]))
    return moved(_half_drum(shape.radius, shape.length), along)


def _half_drum(radius: float, length: float) -> Mesh:
    """Half a drum over the angles 0 to pi, x z the flat side, closed by it."""
    rings = _drum(radius, length, math.pi)
    ends, rows = len(_steps(radius)), len(_steps(length))
    lattice = np.full((rows, 2 * ends - 1), -1, dtype=np.int64)
    low, high = slice(0, ends), slice(-1, -ends - 1, -1)
    for row, part in ((0, low), (rows - 1, high)):
        lattice[row, ends - 1 :] = rings.first[part]
        lattice[row, ends - 1 :: -1] = rings.last[part]
    lattice[1:-1, -1] = rings.first[ends : ends + rows - 2]
    lattice[1:-1, 0] = rings.last[ends : ends + rows - 2]
    radii = np.concatenate([-_steps(radius)[:0:-1], _steps(radius)])
    grid = np.stack(np.meshgrid(_steps(length), radii, indexing="ij"), axis=-1)
    inner = lattice < 0
    lattice[inner] = len(rings.points) + np.arange(inner.sum())
    points = np.concatenate([rings.points, np.insert(grid[inner][:, ::-1], 1, 0.0, axis=1)])
    return _mesh(points, np.concatenate([rings.faces, _lattice_faces(lattice)[:, ::-1]]))


def _lattice_faces(lattice: NDArray[np.int64]) -> NDArray[np.int64]:
    """Two triangles a cell of a lattice of point numbers, wound about first index cross second index."""
    a, b, c, d = (lattice[:-1, :-1], lattice[1:, :-1], lattice[1:, 1:], lattice[:-1, 1:])
    return np.concatenate([np.stack([a, b, c], axis=-1), np.stack([a, c, d], axis=-1)]).reshape(-1, 3)


def _cap_burr(shape: CapBurr) -> Mesh:
    rim = shape.diameter / 2.0
    ball = (rim * rim + shape.height**2) / (2.0 * shape.height)
    opening = math.atan2(rim, ball - shape.height)
    count = max(16, math.ceil(opening / (2.0 * math.acos(1.0 - BALL_CHORD / ball))))
    polar = np.linspace(opening, 0.0, count + 1)
    arc = np.column_stack([ball * np.sin(polar), shape.height - ball * (1.0 - np.cos(polar))])
    arc[0], arc[-1] = (rim, 0.0), (0.0, shape.height)
    base = np.column_stack([_steps(rim), np.zeros(len(_steps(rim)))])
    profile = np.concatenate([base[:-1], arc])
    # A ring's chords lie on a level circle, the ball bends less than that: the ball's radius rules.
    whole = math.ceil(2.0 * math.pi * rim / (2.0 * math.sqrt(2.0 * ball * BALL_CHORD)))
    rings = revolve(profile, thinned_counts(profile[:, 0], 32 * max(2, math.ceil(whole / 32))))
    return _mesh(rings.points, rings.faces)


def _board(shape: Board) -> Mesh:
    sizes = (shape.length, shape.width, shape.thickness)
    counts = [len(_steps(size)) for size in sizes]
    numbers = np.arange(math.prod(counts)).reshape(counts)
    faces = []
    for axis in range(3):
        # Walking the other two axes in cyclic order winds a side about its own axis.
        sides = np.moveaxis(numbers, (axis, (axis + 1) % 3, (axis + 2) % 3), (0, 1, 2))
        faces += [_lattice_faces(sides[-1]), _lattice_faces(sides[0])[:, ::-1]]
    steps = [_steps(size) - (size / 2.0 if axis < 2 else 0.0) for axis, size in enumerate(sizes)]
    points = np.stack(np.meshgrid(*steps, indexing="ij"), axis=-1).reshape(-1, 3)
    used, compact = np.unique(np.concatenate(faces), return_inverse=True)
    return _mesh(points[used], compact.reshape(-1, 3))


def _crotch(shape: Crotch) -> Mesh:
    arms = (
        (shape.stem_radius, shape.stem_length, math.pi),
        (shape.branch_radius, shape.branch_length, shape.angle),
        (shape.branch_radius, shape.branch_length, -shape.angle),
    )
    parts = [_solid(_half_drum(radius, length), angle) for radius, length, angle in arms]
    union = manifold3d.Manifold.batch_boolean(parts, manifold3d.OpType.Add).to_mesh64()
    points = np.array(union.vert_properties)[:, :3]
    points[np.abs(points[:, 2]) <= ON_PLANE, 2] = 0.0
    return _mesh(points, np.array(union.tri_verts))


def _solid(half_drum: Mesh, angle: float) -> manifold3d.Manifold:
    """Lay a half drum along a direction of the floor, its flat side down."""
    cosine, sine = math.cos(angle), math.sin(angle)
    turn = np.array([[cosine, -sine, 0.0], [sine, cosine, 0.0], [0.0, 0.0, 1.0]])
    laid = moved(half_drum, Frame(rotation=turn @ _TO_X.rotation, origin=np.zeros(3)))
    return manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=np.array(laid.vertices), tri_verts=np.array(laid.faces, dtype=np.uint64))
    )


def _mesh(points: NDArray[np.float64], faces: NDArray[np.int64]) -> Mesh:
    return Mesh(vertices=points, faces=faces.astype(np.int32))
