"""How large a body can be in a box of poses: the bound by several contacts at once.

What helps one wall hurts the opposite one: weights over the contacts turn that into a proof. Kernels only.
"""

import numpy as np
from numba import njit

from formmaker.geometry.grid import value_at
from formmaker.geometry.max_min import best_weights
from formmaker.geometry.pose_bounds import node_at_most
from formmaker.geometry.turned_points import BINS

TERMS = 7  # place (3), two tilts, along, growth
# a contact: constant, terms, how much of the constant is second order; then 1 / 2 rho, how its place moves with each
# tilt (3, 3), and what the second order has besides
BENT = TERMS + 1
FLAT, TILTS, REST = BENT + 1, BENT + 2, BENT + 8
WORK = REST + 1
_PIECE = 1.5  # times what the box moves a point: more growth than that in one go would blur the bound
_MOST_PIECES = 4
_STEPS = np.array([3.0, 6.0, 12.0, 24.0, 48.0])  # cells from contact to anchor


@njit(nogil=True, cache=True)
def narrowed(body, pose, spread, span, wood, need, scratch):  # type: ignore[no-untyped-def]
    """Where in a box of poses, and to what size at most, the contacts let a size of a span be held.

    Parameters
    ----------
    body, pose, wood, need
        As in ``pose_bounds.largest_by_motion``.
    spread : tuple
        Half widths of the box (6,), and angle and tangents of its directions, see ``charts.spread_of``.
    span : tuple
        Least and greatest size.
    scratch : tuple
        Room for contacts (BINS + 1, WORK); (2, TERMS) filled with the ends between which each variable has to lie,
        counted from the middle of the box, the last from the least size; and (TERMS,) with what each variable
        contributes to the bound, mm, in first order, and what the second order does.

    Returns
    -------
    bool
        False where no pose of the box holds a size of the span.

    Notes
    -----
    For a contact x let o be a node of the grid on the air's side at distance rho. Wherever the box moves x by d, the
    signed distance is at most that of o plus |x + d - o|, and so at most phi(o) + rho + g.d + |d|^2 / (2 rho) with g
    the unit vector from o to x (the root lies under its tangent). That is linear in the motion up to a remainder
    that is bounded over the box, and so is every weighted mean over contacts, which the least of them cannot exceed.
    Any weights give a valid bound. Each contact and the best mean leave only a part of the box to each variable:
    what lies beyond is cut off (feasibility-based tightening of bounds, P. Belotti et al., "Branching and bounds
    tightening techniques for non-convex MINLP", Optimization Methods and Software 24, 2009).
    """
    work, ends, blame = scratch
    half, angle = spread[0], spread[1]
    ends[0], ends[1] = np.inf, -np.inf
    blame[:] = 0.0
    grow = np.hypot(body[0, 0], body[0, 1])
    moved = np.sqrt(half[0] ** 2 + half[1] ** 2 + half[2] ** 2) + half[5] + 2.0 * np.sin(0.5 * angle) * span[0] * grow
    pieces = int(min(1.0 + (span[1] - span[0]) * grow / max(_PIECE * moved, 1e-9), _MOST_PIECES))
    width, part, holds = (span[1] - span[0]) / pieces, np.empty((2, TERMS)), False
    for piece in range(pieces - 1, -1, -1):
        low = span[0] + width * piece
        if _narrowed_piece(body, pose, spread, (low, low + width), (wood, need), (work, part, blame)):
            part[:, TERMS - 1] += width * piece
            ends[0], ends[1] = np.minimum(ends[0], part[0]), np.maximum(ends[1], part[1])
            holds = True
    return holds


@njit(nogil=True, cache=True)
def _narrowed_piece(body, pose, spread, span, asked, scratch):  # type: ignore[no-untyped-def]
    """The same for a span of sizes that move a point by about as much as the box does."""
    work, ends, blame = scratch
    limits = np.empty(TERMS)
    for k in range(3):
        limits[k] = spread[0][k]
    limits[3], limits[4], limits[5], limits[6] = spread[2], spread[3], spread[0][5], span[1] - span[0]
    ends[0], ends[1] = -limits, limits
    ends[0, TERMS - 1] = 0.0
    blame[:] = 0.0
    many = _contacts(body, pose, spread, span, asked, (limits, work))
    if many == 0:
        return True
    _weighed(work, many, limits, pose[1])
    for k in range(TERMS - 1):
        blame[k] = abs(work[many, 1 + k]) * limits[k]
    blame[TERMS - 1] = work[many, BENT]
    holds = True
    for i in range(many, -1, -1):
        holds = holds and _cut_off(work[i], ends)
    return holds


@njit(nogil=True, cache=True)
def _cut_off(row, ends):  # type: ignore[no-untyped-def]
    """Move the ends of each variable in to where a linear bound can still be met; False where it cannot at all."""
    top = row[0]
    for k in range(TERMS):
        top += max(row[1 + k] * ends[0, k], row[1 + k] * ends[1, k])
    if top < 0.0:
        return False
    for k in range(TERMS):
        rate = row[1 + k]
        if rate > 0.0:
            ends[0, k] = max(ends[0, k], ends[1, k] - top / rate)
        elif rate < 0.0:
            ends[1, k] = min(ends[1, k], ends[0, k] - top / rate)
    return True


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
    row[BENT] = bent
    if bent > 0.0:
        row[FLAT] = 0.5 / rho
        for k in range(3):
            row[TILTS + k] = h * turn[k, 0] - lx * turn[k, 2]
            row[TILTS + 3 + k] = h * turn[k, 1] - ly * turn[k, 2]
        steepest = moved + np.hypot(spread[2], spread[3]) * far_off
        row[REST] = row[FLAT] * second * (2.0 * steepest + second)
    else:
        row[FLAT:] = 0.0
    return True


@njit(nogil=True, cache=True)
def _anchored(x, y, z, wood, moved):  # type: ignore[no-untyped-def]
    """The lowest bound at a place that an anchor or a plane gives: value, distance (inf: a plane), direction (3)."""
    values, origin, spacing, _, _, far, planes = wood
    best, rho = np.inf, np.inf
    best_x = best_y = best_z = 0.0
    rows, cells, corner, width = planes
    i = min(max(int((x - corner[0]) / width), 0), cells.shape[0] - 2)
    j = min(max(int((y - corner[1]) / width), 0), cells.shape[1] - 2)
    k = min(max(int((z - corner[2]) / width), 0), cells.shape[2] - 2)
    for c in range(8):
        plane = rows[cells[i + (c & 1), j + (c >> 1 & 1), k + (c >> 2)]]
        bound = plane[0] * x + plane[1] * y + plane[2] * z + plane[3]
        if bound < best:
            best, best_x, best_y, best_z = bound, plane[0], plane[1], plane[2]
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
def _weighed(work, many, limits, turn):  # type: ignore[no-untyped-def]
    """Write the mean of the contacts that proves the most into the row after them.

    What shifts and tilts have in common in the second order is mostly lost in the mean: opposite places of a body go
    opposite ways when it tilts. The weights are chosen as if all of it were.
    """
    constants, weights, mean = work[:many, 0].copy(), np.empty(many), work[many]
    shift = (limits[:3] ** 2).sum() + limits[5] ** 2
    for i in range(many):
        tilt = work[i, TILTS:REST] ** 2
        apart = shift + tilt[:3].sum() * limits[3] ** 2 + tilt[3:].sum() * limits[4] ** 2
        work[i, 0] -= max(work[i, BENT] - work[i, FLAT] * apart, 0.0)
    best_weights(work, many, limits, weights)
    work[:many, 0] = constants
    mean[:] = 0.0
    both = np.zeros(3)  # of one tilt, of the other, of the two together
    for i in range(many):
        flat = weights[i] * work[i, FLAT]
        mean[:TILTS] += weights[i] * work[i, :TILTS]
        mean[TILTS:REST] += flat * work[i, TILTS:REST]
        mean[FLAT] += flat
        mean[REST] += weights[i] * work[i, REST]
        for k in range(3):
            one, other = work[i, TILTS + k], work[i, TILTS + 3 + k]
            both[0] += flat * one * one
            both[1] += flat * other * other
            both[2] += flat * one * other
    bent = min(_second_order(mean, both, limits, turn), mean[BENT])
    mean[0] += bent - mean[BENT]
    mean[BENT] = bent


@njit(nogil=True, cache=True)
def _second_order(mean, both, limits, turn):  # type: ignore[no-untyped-def]
    """What the squares of the motions add to a mean of contacts at most, anywhere in a box."""
    p, q, along = limits[3], limits[4], limits[5]
    total = mean[FLAT] * along**2 + both[0] * p**2 + both[1] * q**2 + 2.0 * abs(both[2]) * p * q + mean[REST]
    with_p = with_q = 0.0
    for k in range(3):
        total += mean[FLAT] * limits[k] * (limits[k] + 2.0 * along * abs(turn[k, 2]))
        total += 2.0 * limits[k] * (p * abs(mean[TILTS + k]) + q * abs(mean[TILTS + 3 + k]))
        with_p += turn[k, 2] * mean[TILTS + k]
        with_q += turn[k, 2] * mean[TILTS + 3 + k]
    return total + 2.0 * along * (abs(with_p) * p + abs(with_q) * q)
