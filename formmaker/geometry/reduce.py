"""A closed mesh with fewer triangles: edges are drawn together where that moves the skin least.

No distances (see ``nearest``) and no solids: what a reduction costs is measured by whoever asks for it.
"""

import heapq
import math
from typing import NamedTuple

import numba as nb
import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.meshes import Mesh

_LEAST_TURN = 0.2
"""No triangle may turn by more than its arc cosine, 78 degrees, at one step: a skin must not fold over itself."""

_LEAST_SHAPE = 0.02
"""Twice the area over the square of the longest side; a thinner triangle is not made from a better one."""

_FAR = 2.0
"""The best place is trusted within so many edge lengths; farther off the three planes are nearly parallel."""

_MANY = 100_000
"""Down to so many triangles sweeps over all edges do it: a queue of a million takes six times as long, no better."""

_SHARE = 0.3
"""Share of the edges, the cheapest, that one sweep may draw together."""

_SAMPLE = 61
"""One edge in so many is looked at to learn what the cheapest cost."""

_WORTH = 0.97
"""A sweep that leaves more than this share was the last."""

_SHORT_FIRST = 1e-9
"""Weight of the edge's length to the fourth beside the cost (mm4): on flats all cost nothing; short ones first."""


def reduced(mesh: Mesh, faces: int) -> Mesh:
    """Reduce a closed mesh to a number of triangles.

    Parameters
    ----------
    mesh : Mesh
        Closed, every edge between two triangles, mm.
    faces : int
        Triangles wanted; a mesh that has no more comes back as it is.

    Returns
    -------
    Mesh
        Closed, with the holes and tunnels of the original and without colours; a little more than ``faces``
        triangles where no edge can be drawn together without folding the skin or closing a tunnel.

    Notes
    -----
    Quadric error metric (M. Garland and P. Heckbert, "Surface simplification using quadric error metrics", SIGGRAPH
    1997), each plane weighted by its triangle's area. An edge is drawn together only where its two ends have
    exactly two neighbours in common (the link condition: T. Dey, H. Edelsbrunner, S. Guha and D. Nekhayev, "Topology
    preserving edge contraction", 1999), so that the result is closed without repair.

    The cheapest edge is always the next, but in a mesh of very many triangles: there whole sweeps of cheap edges go
    first, each vertex taking part once a sweep: down to 100 000 triangles, and never below twice those wanted.
    """
    if len(mesh.faces) <= faces:
        return mesh
    # quadrics square the coordinates: about the middle of the blank they keep their figures
    middle = mesh.bounds.mean(axis=0)
    points, triangles = mesh.vertices - middle, mesh.faces.copy()
    quadrics = _quadrics(points, triangles)
    many = max(_MANY, 2 * faces)
    if len(triangles) > many:
        alive = _thin(points, triangles, quadrics, many)
        used, triangles = _renumbered(triangles[alive], len(points))
        points, quadrics = points[used], quadrics[used]
    alive = _collapse(points, triangles, quadrics, faces)
    used, triangles = _renumbered(triangles[alive], len(points))
    return Mesh(vertices=points[used] + middle, faces=triangles)


def _renumbered(faces: NDArray[np.int32], count: int) -> tuple[NDArray[np.bool_], NDArray[np.int32]]:
    """Which of ``count`` vertices are used, and the faces counted in those alone."""
    used = np.zeros(count, dtype=bool)
    used[faces.ravel()] = True
    return used, (np.cumsum(used) - 1)[faces].astype(np.int32)


class _Web(NamedTuple):
    """What the compiled functions work on; u, v, w are vertices, a corner is 3 * triangle + place.

    ``head``, ``tail`` and ``following`` chain the corners at each vertex, -1 ends a chain; ``stamps`` are the ages of
    the vertices, -1 for one that is gone; ``marks`` tell which vertices a walk has seen.
    """

    points: NDArray[np.float64]
    faces: NDArray[np.int32]
    alive: NDArray[np.bool_]
    head: NDArray[np.int64]
    tail: NDArray[np.int64]
    following: NDArray[np.int64]
    quadrics: NDArray[np.float64]
    stamps: NDArray[np.int64]
    marks: NDArray[np.int64]


@nb.njit(cache=True, nogil=True)
def _web_of(points, faces, quadrics):  # type: ignore[no-untyped-def]
    count = points.shape[0]
    alive = np.ones(faces.shape[0], dtype=np.bool_)
    head, tail, following = _corner_lists(count, faces)
    stamps, marks = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    return _Web(points, faces, alive, head, tail, following, quadrics, stamps, marks)


@nb.njit(cache=True, nogil=True)
def _thin(points, faces, quadrics, wanted):  # type: ignore[no-untyped-def]
    """Draw cheap edges together in sweeps, in place, until about ``wanted`` triangles are left; tells which."""
    web = _web_of(points, faces, quadrics)
    left, token, sweep = faces.shape[0], 0, 0
    while left > wanted:
        sweep += 1
        before, most = left, _cheap(web)
        for triangle in range(faces.shape[0]):
            if left <= wanted:
                break
            for k in range(3):
                if not web.alive[triangle]:
                    break
                u, v = faces[triangle, k], faces[triangle, (k + 1) % 3]
                if u > v or web.stamps[u] == sweep or web.stamps[v] == sweep:
                    continue
                cost, place = _best_place(points, quadrics, u, v)
                if cost > most:
                    continue
                token += 2
                if not (
                    _may_join(web, token, u, v) and _stays_fair(web, u, v, place) and _stays_fair(web, v, u, place)
                ):
                    continue
                left -= _join(web, u, v)
                points[u, 0], points[u, 1], points[u, 2] = place
                quadrics[u] += quadrics[v]
                web.stamps[u] = sweep
        if left > _WORTH * before:
            break
    return web.alive


@nb.njit(cache=True, nogil=True)
def _cheap(web):  # type: ignore[no-untyped-def]
    """The cost up to which an edge belongs to the cheapest, by a sample."""
    costs = np.empty(web.faces.shape[0] // _SAMPLE + 1)
    count, seen = 0, 0
    for triangle in range(web.faces.shape[0]):
        if web.alive[triangle]:
            seen += 1
            if seen % _SAMPLE == 1:
                k = count % 3
                u, v = web.faces[triangle, k], web.faces[triangle, (k + 1) % 3]
                costs[count], _ = _best_place(web.points, web.quadrics, u, v)
                count += 1
    return np.sort(costs[:count])[int(_SHARE * count)]


@nb.njit(cache=True, nogil=True)
def _collapse(points, faces, quadrics, wanted):  # type: ignore[no-untyped-def]
    """Draw edges together, cheapest first, in place; tells which triangles are left."""
    web = _web_of(points, faces, quadrics)
    alive, stamps = web.alive, web.stamps
    heap = _all_edges(web)
    left, token = faces.shape[0], 0
    while left > wanted and len(heap) > 0:
        _, u, v, stamp = heapq.heappop(heap)
        # a stamp is the sum of both ends' ages: ages only grow, so an equal sum means both are unchanged
        if stamps[u] < 0 or stamps[v] < 0 or stamp != stamps[u] + stamps[v]:
            continue
        token += 3  # the link condition uses two marks, the queue the third
        _, place = _best_place(points, web.quadrics, u, v)
        if not (_may_join(web, token, u, v) and _stays_fair(web, u, v, place) and _stays_fair(web, v, u, place)):
            continue
        left -= _join(web, u, v)
        points[u, 0], points[u, 1], points[u, 2] = place
        web.quadrics[u] += web.quadrics[v]
        stamps[u] += stamps[v] + 1
        stamps[v] = -1
        _push_around(web, token + 2, heap, u)
    return alive


@nb.njit(cache=True, nogil=True)
def _all_edges(web):  # type: ignore[no-untyped-def]
    """Queue of every edge: cost, lower and higher vertex, stamp."""
    heap = [(0.0, np.int32(0), np.int32(0), np.int64(-1))]
    for triangle in range(web.faces.shape[0]):
        for k in range(3):
            u, v = web.faces[triangle, k], web.faces[triangle, (k + 1) % 3]
            if u < v:
                cost, _ = _best_place(web.points, web.quadrics, u, v)
                heap.append((cost, u, v, np.int64(0)))
    heapq.heapify(heap)
    return heap


@nb.njit(cache=True, nogil=True)
def _corner_lists(count, faces):  # type: ignore[no-untyped-def]
    """Chain of the corners at each vertex: first, last, and the next after each; -1 ends it."""
    head = np.full(count, -1, dtype=np.int64)
    tail = np.full(count, -1, dtype=np.int64)
    following = np.full(3 * faces.shape[0], -1, dtype=np.int64)
    for corner in range(3 * faces.shape[0]):
        v = faces[corner // 3, corner % 3]
        if head[v] < 0:
            head[v] = corner
        else:
            following[tail[v]] = corner
        tail[v] = corner
    return head, tail, following


@nb.njit(cache=True, nogil=True)
def _quadrics(points, faces):  # type: ignore[no-untyped-def]
    """Sum of the squared distances to the planes round each vertex, weighted by area, as ten coefficients."""
    result = np.zeros((points.shape[0], 10))
    for t in range(faces.shape[0]):
        a, b, c = points[faces[t, 0]], points[faces[t, 1]], points[faces[t, 2]]
        nx, ny, nz, size = _normal(b[0] - a[0], b[1] - a[1], b[2] - a[2], c[0] - a[0], c[1] - a[1], c[2] - a[2])
        if not size > 0.0:
            continue
        nx, ny, nz = nx / size, ny / size, nz / size
        d = -(nx * a[0] + ny * a[1] + nz * a[2])
        for k in range(3):
            row = result[faces[t, k]]
            w = size / 2.0
            row[0] += w * nx * nx
            row[1] += w * nx * ny
            row[2] += w * nx * nz
            row[3] += w * ny * ny
            row[4] += w * ny * nz
            row[5] += w * nz * nz
            row[6] += w * nx * d
            row[7] += w * ny * d
            row[8] += w * nz * d
            row[9] += w * d * d
    return result


@nb.njit(cache=True, nogil=True)
def _normal(ux, uy, uz, vx, vy, vz):  # type: ignore[no-untyped-def]
    x, y, z = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
    return x, y, z, math.sqrt(x * x + y * y + z * z)


@nb.njit(cache=True, nogil=True)
def _error(q, x, y, z):  # type: ignore[no-untyped-def]
    square = q[0] * x * x + q[3] * y * y + q[5] * z * z + 2.0 * (q[1] * x * y + q[2] * x * z + q[4] * y * z)
    return max(0.0, square + 2.0 * (q[6] * x + q[7] * y + q[8] * z) + q[9])


@nb.njit(cache=True, nogil=True)
def _best_place(points, quadrics, u, v):  # type: ignore[no-untyped-def]
    """Cost and place of drawing an edge together."""
    q = quadrics[u] + quadrics[v]
    a, b = points[u], points[v]
    mx, my, mz = (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0, (a[2] + b[2]) / 2.0
    length2 = (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 + (a[2] - b[2]) ** 2
    best, x, y, z = _error(q, mx, my, mz), mx, my, mz
    for end in (a, b):
        cost = _error(q, end[0], end[1], end[2])
        if cost < best:
            best, x, y, z = cost, end[0], end[1], end[2]
    c0, c1, c2 = q[3] * q[5] - q[4] * q[4], q[2] * q[4] - q[1] * q[5], q[1] * q[4] - q[2] * q[3]
    det = q[0] * c0 + q[1] * c1 + q[2] * c2
    trace = q[0] + q[3] + q[5]
    if det > 1e-9 * trace * trace * trace:
        c3, c4, c5 = q[0] * q[5] - q[2] * q[2], q[1] * q[2] - q[0] * q[4], q[0] * q[3] - q[1] * q[1]
        px = -(c0 * q[6] + c1 * q[7] + c2 * q[8]) / det
        py = -(c1 * q[6] + c3 * q[7] + c4 * q[8]) / det
        pz = -(c2 * q[6] + c4 * q[7] + c5 * q[8]) / det
        cost = _error(q, px, py, pz)
        near = (px - mx) ** 2 + (py - my) ** 2 + (pz - mz) ** 2 <= _FAR * _FAR * length2
        if near and cost < best:
            best, x, y, z = cost, px, py, pz
    return best + _SHORT_FIRST * length2 * length2, (x, y, z)


@nb.njit(cache=True, nogil=True)
def _may_join(web, token, u, v):  # type: ignore[no-untyped-def]
    """Link condition: two triangles on the edge, two neighbours in common, and no tetrahedron folded flat."""
    faces, alive, following, marks = web.faces, web.alive, web.following, web.marks
    around_u, on_edge, around_v, common = 0, 0, 0, 0
    corner = web.head[u]
    while corner >= 0:
        if alive[corner // 3]:
            around_u += 1
            for k in range(1, 3):
                w = faces[corner // 3, (corner % 3 + k) % 3]
                marks[w] = token
                if w == v:
                    on_edge += 1
        corner = following[corner]
    corner = web.head[v]
    while corner >= 0:
        if alive[corner // 3]:
            around_v += 1
            for k in range(1, 3):
                w = faces[corner // 3, (corner % 3 + k) % 3]
                if marks[w] == token:
                    common += 1
                    marks[w] = token + 1
        corner = following[corner]
    return on_edge == 2 and common == 2 and around_u + around_v >= 7


@nb.njit(cache=True, nogil=True)
def _stays_fair(web, v, other, place):  # type: ignore[no-untyped-def]
    """Whether no triangle at v folds over or becomes a splinter when v moves; those that vanish do not count."""
    points, faces, following = web.points, web.faces, web.following
    x, y, z = place
    corner = web.head[v]
    while corner >= 0:
        t = corner // 3
        p, q = faces[t, (corner % 3 + 1) % 3], faces[t, (corner % 3 + 2) % 3]
        if web.alive[t] and other not in (p, q):
            ex, ey, ez = points[q, 0] - points[p, 0], points[q, 1] - points[p, 1], points[q, 2] - points[p, 2]
            ux, uy, uz = points[v, 0] - points[p, 0], points[v, 1] - points[p, 1], points[v, 2] - points[p, 2]
            wx, wy, wz = x - points[p, 0], y - points[p, 1], z - points[p, 2]
            ax, ay, az, old = _normal(ex, ey, ez, ux, uy, uz)
            bx, by, bz, new = _normal(ex, ey, ez, wx, wy, wz)
            if old > 0.0 and ax * bx + ay * by + az * bz < _LEAST_TURN * old * new:
                return False
            shape = new / _longest(ex, ey, ez, wx, wy, wz)
            if shape < _LEAST_SHAPE and shape < old / _longest(ex, ey, ez, ux, uy, uz):
                return False
        corner = following[corner]
    return True


@nb.njit(cache=True, nogil=True)
def _longest(ex, ey, ez, wx, wy, wz):  # type: ignore[no-untyped-def]
    """Longest side of a triangle spanned by two of its sides, squared; never 0."""
    third = (ex - wx) ** 2 + (ey - wy) ** 2 + (ez - wz) ** 2
    return max(ex * ex + ey * ey + ez * ez, wx * wx + wy * wy + wz * wz, third, 1e-300)


@nb.njit(cache=True, nogil=True)
def _join(web, u, v):  # type: ignore[no-untyped-def]
    """Hand the triangles of v to u; the number that vanish."""
    faces, alive, following = web.faces, web.alive, web.following
    gone = 0
    corner = web.head[v]
    while corner >= 0:
        t = corner // 3
        if alive[t]:
            if faces[t, 0] == u or faces[t, 1] == u or faces[t, 2] == u:
                alive[t] = False
                gone += 1
            else:
                faces[t, corner % 3] = u
        corner = following[corner]
    following[web.tail[u]] = web.head[v]
    web.tail[u] = web.tail[v]
    return gone


@nb.njit(cache=True, nogil=True)
def _push_around(web, token, heap, u):  # type: ignore[no-untyped-def]
    """Put the edges of a moved vertex back in the queue."""
    faces, following, marks, stamps = web.faces, web.following, web.marks, web.stamps
    corner = web.head[u]
    while corner >= 0:
        if web.alive[corner // 3]:
            for k in range(1, 3):
                w = faces[corner // 3, (corner % 3 + k) % 3]
                if marks[w] != token:
                    marks[w] = token
                    cost, _ = _best_place(web.points, web.quadrics, u, w)
                    heapq.heappush(heap, (cost, min(u, w), max(u, w), stamps[u] + stamps[w]))
        corner = following[corner]
