"""How large a body can be in a box of poses: the bound by several contacts at once.

What helps one wall hurts the opposite one: weights over the contacts turn that into a proof. Kernels only.
"""

import numpy as np
from numba import njit

from formmaker.geometry.grid import value_at
from formmaker.geometry.pose_bounds import node_at_most
from formmaker.geometry.turned_points import BINS

TERMS = 7  # place (3), two tilts, along, growth
WORK = TERMS + 2  # a contact: constant, terms, and how much of the constant is second order
_ROUNDS = 40
_EAGER = 0.6  # how much of its weight the contact with the most wood loses in a round
_STEPS = np.array([3.0, 6.0, 12.0, 24.0, 48.0])  # cells from contact to anchor


@njit(nogil=True, cache=True)
def ruled_out(body, pose, spread, span, wood, need, scratch):  # type: ignore[no-untyped-def]
    """Whether no pose of a box holds any size of a span.

    Parameters
    ----------
    body, pose, wood, need
        As in ``pose_bounds.largest_by_motion``.
    spread : tuple
        Half widths of the box (6,), and angle and tangents of its directions, see ``charts.spread_of``.
    span : tuple
        Least and greatest size.
    scratch : tuple
        Room for contacts (BINS, WORK), and (7,) filled with what each variable contributes to the bound in first
        order, mm, and what the second order does.

    Returns
    -------
    bool

    Notes
    -----
    For a contact x let o be a node of the grid on the air's side at distance rho. Wherever the box moves x by d, the
    signed distance is at most that of o plus |x + d - o|, and so at most phi(o) + rho + g.d + |d|^2 / (2 rho) with g
    the unit vector from o to x (the root lies under its tangent). That is linear in the motion up to a remainder
    that is bounded over the box, and so is every weighted mean over contacts, which the least of them cannot exceed.
    Any weights give a valid bound; good ones are found by multiplicative updates (S. Arora, E. Hazan, S. Kale, "The
    multiplicative weights update method", Theory of Computing 8, 2012).
    """
    work, blame = scratch
    limits = np.empty(TERMS)
    for k in range(3):
        limits[k] = spread[0][k]
    limits[3], limits[4], limits[5], limits[6] = spread[2], spread[3], spread[0][5], span[1] - span[0]
    many = _contacts(body, pose, spread, span, (wood, need), (limits, work))
    return _weighed(work, many, limits, blame) < 0.0


@njit(nogil=True, cache=True)
def _contacts(body, pose, spread, span, asked, room):  # type: ignore[no-untyped-def]
    """Fill ``work`` with the lowest point of each bin as a linear bound: constant, terms, remainder."""
    place, turn = pose
    wood, need = asked
    limits, work = room
    size = span[0]
    lowest, at = np.full(BINS, np.inf), np.full(BINS, -1)
    values, origin, spacing = wood[0], wood[1], wood[2]
    for i in range(body.shape[0]):
        r, h = size * body[i, 0] + body[i, 2], size * body[i, 1] + body[i, 3] + place[5]
        x, y = r * body[i, 4], r * body[i, 5]
        depth = value_at(
            values,
            origin,
            spacing,
            place[0] + turn[0, 0] * x + turn[0, 1] * y + turn[0, 2] * h,
            place[1] + turn[1, 0] * x + turn[1, 1] * y + turn[1, 2] * h,
            place[2] + turn[2, 0] * x + turn[2, 1] * y + turn[2, 2] * h,
        )
        bin_ = int(body[i, 6])
        if depth < lowest[bin_]:
            lowest[bin_], at[bin_] = depth, i
    many = 0
    for bin_ in range(BINS):
        if at[bin_] >= 0 and _linear(body[at[bin_]], pose, spread, span, wood, need, work[many]):
            lowest_value = work[many, 0]
            for k in range(TERMS - 1):
                lowest_value -= abs(work[many, 1 + k]) * limits[k]
            lowest_value += min(work[many, TERMS], 0.0) * limits[TERMS - 1]
            many += lowest_value < 0.0  # one that has wood to spare over the whole box proves nothing
    return many


@njit(nogil=True, cache=True)
def _linear(point, pose, spread, span, wood, need, row):  # type: ignore[no-untyped-def]
    """Write one contact into a row: constant, terms, second order; False where it has no slope."""
    place, turn = pose
    half, angle = spread[0], spread[1]
    size, growth = span[0], span[1] - span[0]
    out, up = point[0], point[1]
    r, h = size * out + point[2], size * up + point[3] + place[5]
    lx, ly = r * point[4], r * point[5]
    x = place[0] + turn[0, 0] * lx + turn[0, 1] * ly + turn[0, 2] * h
    y = place[1] + turn[1, 0] * lx + turn[1, 1] * ly + turn[1, 2] * h
    z = place[2] + turn[2, 0] * lx + turn[2, 1] * ly + turn[2, 2] * h
    far_off, grow = np.hypot(r, h), np.hypot(out, up)
    swing = 2.0 * np.sin(0.5 * angle)
    moved = np.sqrt(half[0] ** 2 + half[1] ** 2 + half[2] ** 2) + half[5] + swing * far_off
    best, rho, best_x, best_y, best_z = _anchored(x, y, z, wood, moved)
    bent = moved * moved / (2.0 * rho) if rho < np.inf else 0.0
    if not best < np.inf:
        return False
    # second order: the tilt's own, and what tilt does to the way along
    second = (1.0 - np.cos(angle)) * far_off + swing * half[5]
    # the direction in the body's own frame
    bx = best_x * turn[0, 0] + best_y * turn[1, 0] + best_z * turn[2, 0]
    by = best_x * turn[0, 1] + best_y * turn[1, 1] + best_z * turn[2, 1]
    bz = best_x * turn[0, 2] + best_y * turn[1, 2] + best_z * turn[2, 2]
    row[0] = best + second - need
    row[1], row[2], row[3] = best_x, best_y, best_z
    row[4], row[5] = bx * h - bz * lx, by * h - bz * ly
    row[6] = bz
    # growth lies along one known way: its own second order, and what it does to the others, stay with its term
    row[7] = out * (bx * point[4] + by * point[5]) + up * bz + swing * grow
    if bent > 0.0:
        row[7] += grow * (moved + 0.5 * growth * grow) / rho
    row[8] = bent
    return True


@njit(nogil=True, cache=True)
def _anchored(x, y, z, wood, moved):  # type: ignore[no-untyped-def]
    """The lowest bound at a place that an anchor or a plane gives: value, distance (inf: a plane), direction (3)."""
    values, origin, spacing, _, _, far, planes = wood
    best, rho = np.inf, np.inf
    best_x = best_y = best_z = 0.0
    for k in range(planes.shape[0]):
        bound = planes[k, 0] * x + planes[k, 1] * y + planes[k, 2] * z + planes[k, 3]
        if bound < best:
            best, best_x, best_y, best_z = bound, planes[k, 0], planes[k, 1], planes[k, 2]
    gx = value_at(values, origin, spacing, x + spacing, y, z) - value_at(values, origin, spacing, x - spacing, y, z)
    gy = value_at(values, origin, spacing, x, y + spacing, z) - value_at(values, origin, spacing, x, y - spacing, z)
    gz = value_at(values, origin, spacing, x, y, z + spacing) - value_at(values, origin, spacing, x, y, z - spacing)
    slope = np.sqrt(gx * gx + gy * gy + gz * gz)
    if not slope > 0.0:
        return best, rho, best_x, best_y, best_z
    for step in _STEPS:
        i = round((x - step * spacing * gx / slope - origin[0]) / spacing)
        j = round((y - step * spacing * gy / slope - origin[1]) / spacing)
        k = round((z - step * spacing * gz / slope - origin[2]) / spacing)
        if not (0 <= i < values.shape[0] and 0 <= j < values.shape[1] and 0 <= k < values.shape[2]):
            break
        ox, oy, oz = x - origin[0] - i * spacing, y - origin[1] - j * spacing, z - origin[2] - k * spacing
        off = np.sqrt(ox * ox + oy * oy + oz * oz)
        bound = node_at_most(values[i, j, k], spacing, far) + off + moved * moved / (2.0 * off)
        if off >= spacing and bound < best:
            best, rho = bound, off
            best_x, best_y, best_z = ox / off, oy / off, oz / off
    return best, rho, best_x, best_y, best_z


@njit(nogil=True, cache=True)
def _weighed(work, many, limits, blame):  # type: ignore[no-untyped-def]
    """Lowest weighted mean of the contacts' bounds found, at its worst pose; inf without contacts.

    The worst poses of the rounds are averaged too: where every contact has wood enough at their mean, no weights can
    prove anything.
    """
    blame[:] = 0.0
    if many == 0:
        return np.inf
    weights = np.full(many, 1.0 / many)
    value, pull, worst, mean_pose = np.empty(many), np.empty(TERMS), np.empty(TERMS), np.zeros(TERMS)
    best = np.inf
    for round_ in range(_ROUNDS):
        mean, rest = _pulled(work, many, weights, pull)
        for k in range(TERMS):
            worst[k] = limits[k] if pull[k] > 0.0 else (-limits[k] if k < TERMS - 1 else 0.0)
            mean += pull[k] * worst[k]
            mean_pose[k] += worst[k]
        if mean < best:
            best = mean
            for k in range(TERMS - 1):
                blame[k] = abs(pull[k]) * limits[k]
            blame[TERMS - 1] = rest
        if best < 0.0 or _reweighed(work, many, (worst, mean_pose, round_ + 1.0), weights, value) > 0.0:
            return best
    return best


@njit(nogil=True, cache=True)
def _pulled(work, many, weights, pull):  # type: ignore[no-untyped-def]
    """Fill ``pull`` with the weighted mean of the terms; the means of the constants and of their second orders."""
    mean, rest = 0.0, 0.0
    pull[:] = 0.0
    for i in range(many):
        mean += weights[i] * work[i, 0]
        rest += weights[i] * work[i, TERMS + 1]
        for k in range(TERMS):
            pull[k] += weights[i] * work[i, 1 + k]
    return mean, rest


@njit(nogil=True, cache=True)
def _reweighed(work, many, poses, weights, value):  # type: ignore[no-untyped-def]
    """Take weight off contacts with wood to spare at the worst pose; the least of all at the mean of worst poses."""
    worst, total_pose, rounds = poses
    low, top, least = np.inf, -np.inf, np.inf
    for i in range(many):
        here = there = work[i, 0]
        for k in range(TERMS):
            here += work[i, 1 + k] * worst[k]
            there += work[i, 1 + k] * total_pose[k] / rounds
        value[i] = here
        low, top, least = min(low, here), max(top, here), min(least, there)
    total = 0.0
    for i in range(many):
        weights[i] *= 1.0 - _EAGER * (value[i] - low) / max(top - low, 1e-12)
        total += weights[i]
    for i in range(many):
        weights[i] /= total
    return least
