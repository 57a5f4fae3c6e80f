"""Level slices through a mesh: how far it reaches from the z axis, what a ring or a ray meets.

A corner counts as above a level that it lies in, so that every slice of a closed mesh is made of closed lines.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh

_HAIR = 1e-6
"""The slice at the very end of a body is taken so far inside it, mm."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reach:
    """How far a body reaches from an axis: heights along it, rising, farthest wood and nearest air, (k,), mm."""

    height: NDArray[np.float64]
    radius: NDArray[np.float64]
    core: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rays:
    """Where level rays from an axis cross a skin: ``radii`` of each ray rising, ray ``i`` from ``starts[i]`` on.

    Rays are counted level by level, ``turns`` even angles from 0 in each.
    """

    turns: int
    starts: NDArray[np.int64]
    radii: NDArray[np.float64]


def reach_by_height(mesh: Mesh, frame: Frame, levels: int) -> Reach:
    """Largest and least distance from an axis of a mesh's slices, from its lowest to its highest point.

    Parameters
    ----------
    mesh : Mesh
    frame : Frame
        ``mesh_from_axis``: the axis is its z.
    levels : int
        Even heights, both ends included.

    Returns
    -------
    Reach
        Exact: distance from an axis is convex along a slice's segment, so it is largest at an edge of the mesh. The
        core is the nearest place of a slice, 0 where the axis is in air; at both ends it is that of the slice a
        hair's breadth inside.
    """
    back = frame.inverse
    vertices = np.empty_like(mesh.vertices)
    low, high = _carried(mesh.vertices, back.rotation, back.origin, vertices)
    heights, radius = np.linspace(low, high, levels), np.zeros(levels)
    _farthest(vertices, mesh.faces, heights[0], heights[1] - heights[0], radius)
    inside = np.clip(heights, low + _HAIR, high - _HAIR)
    nearest, winding = np.full(levels, np.inf), np.zeros(levels, dtype=np.int64)
    _nearest(vertices, mesh.faces, inside, nearest, winding)
    return Reach(height=heights, radius=radius, core=np.where(winding % 2 == 1, np.sqrt(nearest), 0.0))


def slice_segments(mesh: Mesh, frame: Frame, height: float) -> NDArray[np.float64]:
    """Segments (k, 2, 2) of a level slice, seen along the axis, mm; the same place of an edge to the last bit.

    Parameters
    ----------
    mesh : Mesh
    frame : Frame
        ``mesh_from_axis``.
    height : float
        Along the axis, mm.
    """
    points = frame.inverse.carry(mesh.vertices)
    above = points[:, 2] >= height
    cut = above[mesh.faces].any(axis=1) & ~above[mesh.faces].all(axis=1)
    faces = mesh.faces[cut]
    edges = np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1)
    crossed = above[edges[..., 0]] != above[edges[..., 1]]
    # from the end below to the end above, whichever triangle asks
    pairs = edges[crossed]
    pairs = np.where(above[pairs[:, :1]], pairs[:, ::-1], pairs)
    low, high = points[pairs[:, 0]], points[pairs[:, 1]]
    share = (height - low[:, 2]) / (high[:, 2] - low[:, 2])
    return np.asarray((low + share[:, None] * (high - low))[:, :2].reshape(-1, 2, 2))


def ring_crossings(segments: NDArray[np.float64], radius: float) -> NDArray[np.float64]:
    """Angles (n,), rising from 0 to a turn, at which a circle about the origin crosses segments (k, 2, 2)."""
    start, step = segments[:, 0], segments[:, 1] - segments[:, 0]
    a = np.einsum("ij,ij->i", step, step)
    b = np.einsum("ij,ij->i", start, step)
    c = np.einsum("ij,ij->i", start, start) - radius**2
    ends = np.einsum("ij,ij->i", segments[:, 1], segments[:, 1]) - radius**2
    root = np.sqrt(np.maximum(b**2 - a * c, 0.0))
    # outside is told at the ends, so that a corner on the circle is met once by two segments or not at all
    straddles = (c >= 0.0) != (ends >= 0.0)
    twice = (c >= 0.0) & (ends >= 0.0) & (b**2 > a * c) & (b < 0.0) & (a + b > 0.0)
    inward, outward = (-b - root), (-b + root)
    shares = np.concatenate(
        [
            (np.where(c >= 0.0, inward, outward)[straddles]) / a[straddles],
            inward[twice] / a[twice],
            outward[twice] / a[twice],
        ]
    )
    rows = np.concatenate([np.flatnonzero(straddles), np.flatnonzero(twice), np.flatnonzero(twice)])
    places = start[rows] + shares[:, None] * step[rows]
    return np.asarray(np.sort(np.arctan2(places[:, 1], places[:, 0]) % (2.0 * np.pi)))


def inside_slice(segments: NDArray[np.float64], places: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which places (n, 2) lie inside the closed lines of a slice, by the crossings of a ray along x."""
    (x0, y0), (x1, y1) = segments[:, 0].T, segments[:, 1].T
    inside = np.zeros(len(places), dtype=np.bool_)
    for row, (x, y) in enumerate(places):
        crosses = (y0 > y) != (y1 > y)
        at = x0[crosses] + (y - y0[crosses]) / (y1[crosses] - y0[crosses]) * (x1[crosses] - x0[crosses])
        inside[row] = int((at > x).sum()) % 2 == 1
    return inside


def ray_crossings(mesh: Mesh, frame: Frame, heights: NDArray[np.float64], turns: int) -> Rays:
    """Cross a mesh with level rays from an axis.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    frame : Frame
        ``mesh_from_axis``.
    heights : (k,) float
        Along the axis, rising, mm.
    turns : int
        Rays at each, at even angles from 0.

    Returns
    -------
    Rays
        Exact on the triangles. Seen from outside in, a place is in wood where an odd number of crossings lie beyond
        it.
    """
    vertices = frame.inverse.carry(mesh.vertices)
    levels = np.ascontiguousarray(heights, dtype=np.float64)
    counts = np.zeros(len(levels) * turns + 1, dtype=np.int64)
    _cast(vertices, mesh.faces, levels, turns, (counts, np.zeros(0), False))
    starts = np.concatenate([[0], np.cumsum(counts[:-1])])
    radii = np.empty(starts[-1])
    _cast(vertices, mesh.faces, levels, turns, (starts[:-1].copy(), radii, True))
    ray = np.repeat(np.arange(len(levels) * turns), np.diff(starts))
    return Rays(turns=turns, starts=starts, radii=radii[np.lexsort((radii, ray))])


@njit(nogil=True, cache=True)
def _carried(points, rotation, origin, out):  # type: ignore[no-untyped-def]
    """Carry points and give their lowest and highest z: one pass, where numpy's own takes six over a large scan."""
    low, high = np.inf, -np.inf
    for i in range(points.shape[0]):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        for k in range(3):
            out[i, k] = rotation[k, 0] * x + rotation[k, 1] * y + rotation[k, 2] * z + origin[k]
        low, high = min(low, out[i, 2]), max(high, out[i, 2])
    return low, high


@njit(nogil=True, cache=True)
def _farthest(vertices, faces, first, step, out):  # type: ignore[no-untyped-def]
    last = out.shape[0] - 1
    for i in range(faces.shape[0]):
        for j in range(3):
            a, b = faces[i, j], faces[i, (j + 1) % 3]
            za, zb = vertices[a, 2], vertices[b, 2]
            low, high = (za, zb) if za < zb else (zb, za)
            # the lowest and the highest level are touched in a corner, so a little is let in on both sides
            start = max(int(np.ceil((low - first) / step - 1e-9)), 0)
            stop = min(int(np.floor((high - first) / step + 1e-9)), last)
            for level in range(start, stop + 1):
                # a level edge reaches farthest at an end, and its other end is where the next edge starts
                share = (first + level * step - za) / (zb - za) if zb != za else 0.0
                share = min(max(share, 0.0), 1.0)
                x = vertices[a, 0] + share * (vertices[b, 0] - vertices[a, 0])
                y = vertices[a, 1] + share * (vertices[b, 1] - vertices[a, 1])
                out[level] = max(out[level], np.sqrt(x * x + y * y))


@njit(nogil=True, cache=True)
def _segment(vertices, faces, i, level):  # type: ignore[no-untyped-def]
    """Ends of the slice of one triangle, from its edge that goes up to the one that comes down; whether there is."""
    ends = np.zeros((2, 2))
    count = 0
    for j in range(3):
        a, b = faces[i, j], faces[i, (j + 1) % 3]
        up, down = vertices[a, 2] < level <= vertices[b, 2], vertices[b, 2] < level <= vertices[a, 2]
        if not (up or down):
            continue
        low, high = (a, b) if up else (b, a)
        share = (level - vertices[low, 2]) / (vertices[high, 2] - vertices[low, 2])
        for k in range(2):
            ends[0 if up else 1, k] = vertices[low, k] + share * (vertices[high, k] - vertices[low, k])
        count += 1
    return ends, count == 2


@njit(nogil=True, cache=True)
def _levels_met(vertices, faces, i, levels):  # type: ignore[no-untyped-def]
    """First level that a triangle may meet, and the one after the last."""
    a, b, c = vertices[faces[i, 0], 2], vertices[faces[i, 1], 2], vertices[faces[i, 2], 2]
    return np.searchsorted(levels, min(a, b, c)), np.searchsorted(levels, max(a, b, c), side="right")


@njit(nogil=True, cache=True)
def _nearest(vertices, faces, levels, squared, winding):  # type: ignore[no-untyped-def]
    for i in range(faces.shape[0]):
        start, stop = _levels_met(vertices, faces, i, levels)
        for level in range(start, stop):
            ends, met = _segment(vertices, faces, i, levels[level])
            if not met:
                continue
            x, y = ends[0, 0], ends[0, 1]
            dx, dy = ends[1, 0] - x, ends[1, 1] - y
            length = dx * dx + dy * dy
            share = min(max(-(x * dx + y * dy) / length, 0.0), 1.0) if length > 0.0 else 0.0
            near = (x + share * dx) ** 2 + (y + share * dy) ** 2
            squared[level] = min(squared[level], near)
            if (y > 0.0) != (y + dy > 0.0) and x - y / dy * dx > 0.0:
                winding[level] += 1


@njit(nogil=True, cache=True)
def _cast(vertices, faces, levels, turns, out):  # type: ignore[no-untyped-def]
    """Count the crossings of each ray, or fill in their radii from where each ray's begin."""
    places, radii, filling = out
    step = 2.0 * np.pi / turns
    for i in range(faces.shape[0]):
        start, stop = _levels_met(vertices, faces, i, levels)
        for level in range(start, stop):
            ends, met = _segment(vertices, faces, i, levels[level])
            if not met:
                continue
            x, y = ends[0, 0], ends[0, 1]
            dx, dy = ends[1, 0] - x, ends[1, 1] - y
            turned = x * dy - y * dx
            if turned == 0.0:
                continue
            first, last = np.arctan2(ends[0, 1], ends[0, 0]), np.arctan2(ends[1, 1], ends[1, 0])
            if turned < 0.0:
                first, last = last, first
            # the ends of neighbours are one angle to the last bit: a ray between two segments meets one of them
            k, stop_k = int(np.ceil(first / step)), int(np.ceil(last / step))
            if stop_k < k:
                stop_k += turns
            for ray in range(k, stop_k):
                angle = ray * step
                across = np.cos(angle) * dy - np.sin(angle) * dx
                slot = level * turns + ray % turns
                if filling:
                    radii[places[slot]] = max(turned / across, 0.0) if across != 0.0 else np.hypot(x, y)
                places[slot] += 1
