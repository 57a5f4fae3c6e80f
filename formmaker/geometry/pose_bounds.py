"""How large a body can be in a box of poses: the bound by motion, rigorous for any body and any skin.

A pose is a place (three), a direction (two, on a chart) and a way along that direction. A box of poses has a middle
and a half width in each. Kernels only; they release the interpreter's lock.
"""

import numpy as np
from numba import njit

from formmaker.geometry.grid import value_at

# columns of a box: middle and half width of each variable, then what the search remembers of it
U, V, ALONG = 3, 4, 5
VARIABLES = 6
FACE, MOST, WORST = 12, 13, 14
COLUMNS = 15

_IGNORED = 0.02  # mm: a shortage smaller than this is let pass; ever smaller steps would never end
_SHARE = 0.05  # of the motion: nor is a smaller shortage walked down in a large box, which the contacts settle sooner
_BAND = 1.75  # cells: nodes so near the skin are exact, see ``sweeping``


@njit(nogil=True, cache=True)
def at_most(wood, x, y, z, short):  # type: ignore[no-untyped-def]
    """What the signed distance at a place is at most, mm, as sharp as it takes to say whether it is below ``short``.

    ``wood`` is values, origin and spacing of a grid, the bounds of the skin (2, 3), the grid's error, the error of
    its nodes in the air far from the skin, and planes (k, 4) that the skin lies within. A lookup may lie below the
    truth by the grid's error; where that decides, the eight nodes about the place are asked, each exact: distance
    grows by no more than one moves.
    """
    values, origin, spacing, bounds, error, _, _ = wood
    away = beyond(bounds, x, y, z)
    if away > spacing:  # the grid reaches two cells beyond the skin
        return -away
    value = value_at(values, origin, spacing, x, y, z)
    if value >= short or value + error < short:
        return value + error
    return min(value + error, _by_nodes(wood, x, y, z))


@njit(nogil=True, cache=True)
def beyond(bounds, x, y, z):  # type: ignore[no-untyped-def]
    """How far a place lies outside bounds (2, 3)."""
    dx = max(bounds[0, 0] - x, x - bounds[1, 0], 0.0)
    dy = max(bounds[0, 1] - y, y - bounds[1, 1], 0.0)
    dz = max(bounds[0, 2] - z, z - bounds[1, 2], 0.0)
    return np.sqrt(dx * dx + dy * dy + dz * dz)


@njit(nogil=True, cache=True)
def _by_nodes(wood, x, y, z):  # type: ignore[no-untyped-def]
    values, origin, spacing, _, _, far, _ = wood
    u, v, w = (x - origin[0]) / spacing, (y - origin[1]) / spacing, (z - origin[2]) / spacing
    i, j, k = int(u), int(v), int(w)
    least = np.inf
    for corner in range(8):
        p, q, r = i + (corner & 1), j + (corner >> 1 & 1), k + (corner >> 2)
        step = spacing * np.sqrt((u - p) ** 2 + (v - q) ** 2 + (w - r) ** 2)
        least = min(least, node_at_most(values[p, q, r], spacing, far) + step)
    return least


@njit(nogil=True, cache=True)
def node_at_most(value, spacing, far):  # type: ignore[no-untyped-def]
    """What the signed distance at a node is at most: its value, but in the air far out the sweep may have erred."""
    return value + far if value < -_BAND * spacing else value


@njit(nogil=True, cache=True)
def largest_by_motion(body, pose, reach, sizes, first, wood, need):  # type: ignore[no-untyped-def]
    """Walk the size down until no point of the body rules it out.

    Parameters
    ----------
    body : (n, 8) float
        See ``turned_points.points_round``.
    pose : tuple
        The middle of the box (6,) and its frame (3, 3).
    reach : tuple
        How far the box moves a point: at most this (mm), and this for each mm from the reference.
    sizes : tuple
        The size to walk down from, and where to stop.
    first : int
        Point asked first.
    wood : tuple
        See ``at_most``.
    need : float
        Least signed distance wanted at every point, mm.

    Returns
    -------
    tuple
        A size such that no pose of the box holds a greater one (up to the size to start from), and the last point
        that ruled a size out.

    Notes
    -----
    In a box every point moves at most ``reach`` from where the middle puts it. Where even so it is short of the need
    by f, the size has to change by f over the rate at which a change of size moves the point: all sizes nearer are
    ruled out. Nothing is assumed about a smaller size being easier.
    """
    place, turn = pose
    shift, per_length = reach
    size, stop = sizes
    i, passed = first, 0
    while passed < body.shape[0]:
        r, h = size * body[i, 0] + body[i, 2], size * body[i, 1] + body[i, 3] + place[5]
        x, y = r * body[i, 4], r * body[i, 5]
        motion = shift + per_length * np.hypot(r, h)
        room = need + body[i, 7] - motion
        depth = at_most(
            wood,
            place[0] + turn[0, 0] * x + turn[0, 1] * y + turn[0, 2] * h,
            place[1] + turn[1, 0] * x + turn[1, 1] * y + turn[1, 2] * h,
            place[2] + turn[2, 0] * x + turn[2, 1] * y + turn[2, 2] * h,
            room,
        )
        passed += 1
        if depth < room - _IGNORED - _SHARE * motion:
            rate = np.hypot(body[i, 0], body[i, 1]) * (1.0 + per_length)
            size -= (room - depth) / max(rate, 1e-12)
            first, passed = i, 0
            if size <= stop:
                return size, first
        i += 1
        if i == body.shape[0]:
            i = 0
    return size, first
