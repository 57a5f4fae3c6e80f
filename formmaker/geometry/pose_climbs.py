"""Poses climbed from: first at chance, then along the slopes of the places where the body lies nearest the skin.

Kernels only; the search that feeds them is in ``pose_search``. Nothing here proves anything.
"""

import numpy as np
from numba import njit

from formmaker.geometry.charts import turn_about
from formmaker.geometry.grid import value_at
from formmaker.geometry.max_min import best_place
from formmaker.geometry.pose_boxes import size_held
from formmaker.geometry.pose_contacts import TERMS
from formmaker.geometry.turned_points import BINS

_STRIDES = 40
_FARTHEST = 8.0  # mm: of a stride
_LEAST = 2e-3  # of the longest stride: shorter ones bring nothing
_LONGER, _SHORTER = 1.5, 0.4
_RESCUES = 6  # strides to come free of a skin that is broken at the start
_RESCUED = 0.98  # share of the size it began with
_FLATTEST = 0.05  # a place that growth moves more slowly toward the skin counts as if it were this fast


@njit(nogil=True, cache=True)
def climb_poses(poses, part, ends, problem, chance, sizes):  # type: ignore[no-untyped-def]
    """Climb from the poses of ``part``, changing them: one parent, one child, steps that learn their length.

    Parameters
    ----------
    poses : (m, 7) float
        Place, direction, along.
    part : tuple
    ends : tuple
        Lowest and highest of each figure, (7,) each, and the greatest size looked for.
    problem : tuple
        As for ``bound_boxes``.
    chance : tuple
        First step of each figure (7,), 0 for one that stays, and normal deviates (m, k, 7): k children for each pose.
    sizes : (m,) float
        Filled with what the poses hold.

    Notes
    -----
    (1+1) evolution with the one-fifth rule (I. Rechenberg, "Evolutionsstrategie", 1973).
    """
    low, high, most = ends
    steps, chances = chance
    child, turn = np.empty(7), np.empty((3, 3))
    for i in range(part[0], part[1]):
        sizes[i], first = size_held(poses[i], (most, 0.0), problem, turn, 0)
        factor = 1.0
        for k in range(chances.shape[1]):
            for j in range(7):
                moved = poses[i, j] + factor * steps[j] * chances[i, k, j]
                child[j] = min(max(moved, low[j]), high[j])
            length = np.sqrt(child[3] ** 2 + child[4] ** 2 + child[5] ** 2)
            child[3] /= length
            child[4] /= length
            child[5] /= length
            size, first = size_held(child, (most, max(sizes[i], 0.0)), problem, turn, first)
            if size > sizes[i] and size != 0.0:
                sizes[i], factor = size, factor * 1.6
                poses[i] = child
            else:
                factor *= 0.89


@njit(nogil=True, cache=True)
def polish_poses(poses, part, ends, problem, sizes):  # type: ignore[no-untyped-def]
    """Move the poses of ``part`` along the slopes at their contacts as long as they hold more.

    ``poses``, ``ends`` and ``problem`` as for ``climb_poses``; ``sizes`` are what the poses should hold, then what
    they do: a pose that holds nothing as it is may do so a hair beside.

    Notes
    -----
    Sequential linear programming within a trust region (R. Fletcher, E. Sainz de la Maza, Mathematical Programming
    43, 1989): at each pose the least growth that the contacts allow is made greatest as if slopes were constant.
    """
    most = ends[2]
    turn, rows, child = np.empty((3, 3)), np.empty((BINS, 1 + TERMS)), np.empty(7)
    for i in range(part[0], part[1]):
        guess, first = sizes[i], 0
        sizes[i], first = size_held(poses[i], (most, 0.0), problem, turn, first)
        for _ in range(_RESCUES):
            if sizes[i] > _RESCUED * guess or not guess > 0.0:
                break
            _stride(poses[i], guess, ends, problem, 0.2, (turn, rows, child))
            poses[i] = child
            sizes[i], first = size_held(poses[i], (most, 0.0), problem, turn, first)
        trust = 1.0
        for _ in range(_STRIDES):
            if not (sizes[i] > 0.0 and trust > _LEAST):
                break
            _stride(poses[i], sizes[i], ends, problem, trust, (turn, rows, child))
            size, first = size_held(child, (most, sizes[i]), problem, turn, first)
            if size > sizes[i]:
                sizes[i], trust = size, min(_LONGER * trust, 1.0)
                poses[i] = child
            else:
                trust *= _SHORTER


@njit(nogil=True, cache=True)
def _stride(pose, size, ends, problem, trust, scratch):  # type: ignore[no-untyped-def]
    """Fill the last of the scratch with the pose that a body of a size should go to by its slopes."""
    low, high, _ = ends
    turn, rows, child = scratch
    turn_about(pose[3], pose[4], pose[5], turn)
    many = _slopes(problem[0], pose, size, turn, problem, rows)
    limits, stride = np.full(TERMS, trust * _FARTHEST), np.empty(TERMS)
    limits[3:5] /= 0.5 * size
    limits[TERMS - 1] = 0.0
    for k in range(3):
        limits[k] = limits[k] if low[k] < high[k] else 0.0
    limits[5] = limits[5] if low[6] < high[6] else 0.0
    best_place(rows, many, limits, stride)
    for k in range(3):
        child[k] = min(max(pose[k] + stride[k], low[k]), high[k])
        child[3 + k] = turn[k, 2] + stride[3] * turn[k, 0] + stride[4] * turn[k, 1]
    child[3:6] /= np.sqrt((child[3:6] ** 2).sum())
    child[6] = min(max(pose[6] + stride[5], low[6]), high[6])


@njit(nogil=True, cache=True)
def _slopes(body, pose, size, turn, problem, rows):  # type: ignore[no-untyped-def]
    """Fill rows with the lowest place of each bin: room to grow, and how it changes with each variable."""
    wood, need = problem[8], problem[9]
    values, origin, spacing = wood[0], wood[1], wood[2]
    lowest, at = np.full(BINS, np.inf), np.full(BINS, -1)
    for i in range(body.shape[0]):
        x, y, z = _carried(body[i], pose, size, turn)
        depth = value_at(values, origin, spacing, x, y, z) - body[i, 7]
        bin_ = int(body[i, 6])
        if depth < lowest[bin_]:
            lowest[bin_], at[bin_] = depth, i
    many = 0
    for bin_ in range(BINS):
        if at[bin_] < 0:
            continue
        point, row, step = body[at[bin_]], rows[many], 0.5 * spacing
        many += 1
        x, y, z = _carried(point, pose, size, turn)
        row[1] = value_at(values, origin, spacing, x + step, y, z) - value_at(values, origin, spacing, x - step, y, z)
        row[2] = value_at(values, origin, spacing, x, y + step, z) - value_at(values, origin, spacing, x, y - step, z)
        row[3] = value_at(values, origin, spacing, x, y, z + step) - value_at(values, origin, spacing, x, y, z - step)
        row[1:4] /= 2.0 * step
        r, h = size * point[0] + point[2], size * point[1] + point[3] + pose[6]
        bx, by, bz = 0.0, 0.0, 0.0  # the slope in the body's own frame
        for k in range(3):
            bx += row[1 + k] * turn[k, 0]
            by += row[1 + k] * turn[k, 1]
            bz += row[1 + k] * turn[k, 2]
        row[4], row[5] = bx * h - bz * r * point[4], by * h - bz * r * point[5]
        row[6], row[7] = bz, 0.0
        rate = -(point[0] * (bx * point[4] + by * point[5]) + point[1] * bz)
        row[0] = lowest[bin_] - need
        row /= max(rate, _FLATTEST)
    return many


@njit(nogil=True, cache=True)
def _carried(point, pose, size, turn):  # type: ignore[no-untyped-def]
    """A point of the body in the wood."""
    r, h = size * point[0] + point[2], size * point[1] + point[3] + pose[6]
    x, y = r * point[4], r * point[5]
    return (
        pose[0] + turn[0, 0] * x + turn[0, 1] * y + turn[0, 2] * h,
        pose[1] + turn[1, 0] * x + turn[1, 1] * y + turn[1, 2] * h,
        pose[2] + turn[2, 0] * x + turn[2, 1] * y + turn[2, 2] * h,
    )
