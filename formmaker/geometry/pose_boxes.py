"""Boxes of poses bounded many at a time: the limits, the motion, several contacts, and what their middles hold.

Kernels only; the search that feeds them is in ``pose_search``.
"""

import numpy as np
from numba import njit

from formmaker.geometry.charts import spread_of, turn_about, turn_to
from formmaker.geometry.pose_bounds import FACE, MOST, VARIABLES, WORST, U, V, largest_by_motion
from formmaker.geometry.pose_contacts import TERMS, WORK, narrowed
from formmaker.geometry.pose_limits import off_axis, size_by_places
from formmaker.geometry.turned_points import BINS

_CLOSER = 15.0  # mm: a box that moves no point farther is asked with many points
_WIDEST = 0.7  # radians: boxes of directions that spread farther know no tangents worth using
_SMALLER = 0.5  # share of a box: one that was narrowed to less is worth another look
_LOOKS = 4
_SLIMMEST = 0.2  # no variable is split that moves the body less than this share of what another does
_STILL = (0.0, 0.0)


@njit(nogil=True, cache=True)
def bound_boxes(boxes, part, problem, sizes, out):  # type: ignore[no-untyped-def]
    """Bound the boxes from ``part[0]`` to ``part[1]``.

    Parameters
    ----------
    boxes : (m, COLUMNS) float
        ``MOST`` and ``WORST`` are changed: the size that no pose of the box exceeds, and the point that said so. The
        box itself gets smaller: no pose that was cut off it holds more than the first of the sizes.
    part : tuple
    problem : tuple
        Body with few points and with many, its growth, charts, wood, need, limits on the axis, limits by places;
        then wood and need of what is to be held.
    sizes : tuple
        A box below the first is done with; a middle that holds more than the second is worth reporting.
    out : (m, 2) float
        Which variable to split, and the size that the middle holds, 0 where it is not above the second.
    """
    turn = np.empty((3, 3))
    scratch = (np.empty((BINS + 1, WORK)), np.empty((2, TERMS)), np.empty(TERMS))
    for i in range(part[0], part[1]):
        out[i, 0], out[i, 1] = 0.0, 0.0
        for _ in range(_LOOKS):
            if not _bound_box(boxes[i], problem, sizes, turn, scratch, out[i]):
                break


@njit(nogil=True, cache=True)
def _bound_box(box, problem, sizes, turn, scratch, out):  # type: ignore[no-untyped-def]
    """Bound one box, and narrow it; whether it got so much smaller that another look is worth while."""
    body, dense, growth, charts, wood, need, on_axis, on_places, _, _ = problem
    done, better = sizes
    place, half = box[:VARIABLES], box[VARIABLES:FACE]
    chart = charts[int(box[FACE])]
    turn_to(chart, place[3], place[4], turn)
    angle, across, up = spread_of(chart, (place[3], place[4], half[3], half[4]), turn)
    shift = np.sqrt(half[0] ** 2 + half[1] ** 2 + half[2] ** 2)
    if off_axis(on_axis, place, turn, shift, angle) > 0.0:
        box[MOST] = 0.0
        return False
    reach = (shift + half[5], 2.0 * np.sin(0.5 * min(angle, np.pi)))
    size = size_by_places(on_places, place, turn, reach, box[MOST], done)
    size, worst = largest_by_motion(body, (place, turn), reach, (size, done), int(box[WORST]), wood, need)
    box[MOST], box[WORST] = min(size, box[MOST]), worst
    if size <= done:
        return False
    scratch[2][:] = 0.0
    if angle < _WIDEST:
        spread = (half, angle, across, up)
        near = reach[0] + reach[1] * size * growth < _CLOSER
        if not narrowed(dense if near else body, (place, turn), spread, (done, size), wood, need, scratch):
            box[MOST] = done
            return False
        box[MOST] = min(box[MOST], done + scratch[1][1, TERMS - 1])
        if _shrunk(box, chart, turn, scratch[1]) < _SMALLER:
            return True
    out[0] = _to_split(half, across, up, size * np.abs(body[:, 0]).max(), scratch[2])
    if off_axis(on_axis, place, turn, 0.0, 0.0) == 0.0:
        out[1] = _held((place, turn), (size, better), problem, int(box[WORST]))[0]
    return False


@njit(nogil=True, cache=True)
def _shrunk(box, chart, turn, ends):  # type: ignore[no-untyped-def]
    """Narrow a box to the ends of its variables; the share of it that is left.

    The ends of a direction are tangents in the frame of the box's middle. On the chart their rectangle is a convex
    quad: it lies within the bounds of its corners.
    """
    low, high = box[:VARIABLES] + ends[0, :VARIABLES], box[:VARIABLES] + ends[1, :VARIABLES]
    low[U : V + 1], high[U : V + 1] = np.inf, -np.inf
    along = np.empty(3)
    for corner in range(4):
        p, q = ends[corner & 1, U], ends[corner >> 1, V]
        for j in range(3):
            along[j] = 0.0
            for k in range(3):
                along[j] += (turn[k, 2] + p * turn[k, 0] + q * turn[k, 1]) * chart[j, k]
        for j in range(2):
            low[U + j], high[U + j] = min(low[U + j], along[j] / along[2]), max(high[U + j], along[j] / along[2])
    left = 1.0
    for k in range(VARIABLES):
        half = box[VARIABLES + k]
        bottom, top = max(low[k], box[k] - half), min(high[k], box[k] + half)
        if half > 0.0:
            box[k], box[VARIABLES + k] = 0.5 * (bottom + top), max(0.5 * (top - bottom), 0.0)
            left *= box[VARIABLES + k] / half
    return left


@njit(nogil=True, cache=True)
def _to_split(half, across, up, radius, blame):  # type: ignore[no-untyped-def]
    """The variable that blurs the bound most: its share of the first order, and of the second by its motion."""
    motion = np.empty(VARIABLES)
    for k in range(3):
        motion[k] = half[k]
    motion[3], motion[4] = min(across, 2.0) * radius, min(up, 2.0) * radius
    motion[5] = half[5]
    total = (motion**2).sum()
    best, most = 0, -1.0
    for k in range(VARIABLES):
        score = blame[k] + blame[TERMS - 1] * motion[k] ** 2 / total if blame[TERMS - 1] > 0.0 else motion[k]
        if motion[k] > _SLIMMEST * motion.max() and score > most:
            best, most = k, score
    return best


@njit(nogil=True, cache=True)
def _held(pose, sizes, problem, first):  # type: ignore[no-untyped-def]
    """The size that one pose holds, 0 where it is not above the second size given; the point that said so."""
    body, _, _, _, _, _, _, on_places, wood, need = problem
    place, turn = pose
    size, stop = sizes
    before = size + 1.0
    while before > size > stop:
        before = size
        size, first = largest_by_motion(body, (place, turn), _STILL, (size, stop), first, wood, need)
        size = size_by_places(on_places, place, turn, _STILL, size, stop)
    return size if size > stop else 0.0, first


@njit(nogil=True, cache=True)
def size_held(pose, sizes, problem, turn, first):  # type: ignore[no-untyped-def]
    """The size that a pose (place (3), direction (3), along) holds; below 0, how far it breaks a limit.

    ``sizes`` are the greatest, and one that it has to be above: else the answer is 0 and comes soon. ``first`` is the
    point asked first, the second answer the last point that ruled a size out.
    """
    place = np.empty(VARIABLES)
    place[0], place[1], place[2], place[3], place[4] = pose[0], pose[1], pose[2], 0.0, 0.0
    place[5] = pose[6]
    turn_about(pose[3], pose[4], pose[5], turn)
    broken = off_axis(problem[6], place, turn, 0.0, 0.0)
    if broken > 0.0:
        return -broken, first
    return _held((place, turn), sizes, problem, first)
