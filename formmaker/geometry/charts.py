"""Directions charted on the faces of a cube, and how far a box of them spreads: no poles, no seams that matter."""

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Points


def cube_charts(axis: Points) -> NDArray[np.float64]:
    """Charts of all directions, the first about a given one.

    Parameters
    ----------
    axis : (3,) float
        Direction that the first chart is centred on.

    Returns
    -------
    (6, 3, 3) float
        For each face of a cube its two edge directions and its outward normal, as rows: the direction at (u, v) is
        that of ``u * rows[0] + v * rows[1] + rows[2]``, u and v from -1 to 1.
    """
    z = np.asarray(axis, dtype=np.float64) / np.linalg.norm(axis)
    x = np.eye(3)[int(np.abs(z).argmin())]
    x = x - z * float(x @ z)
    x /= np.linalg.norm(x)
    y = np.cross(z, x)
    return np.array([[x, y, z], [-x, y, -z], [y, z, x], [-y, z, -x], [z, x, y], [z, -x, -y]])


@njit(nogil=True, cache=True)
def turn_to(chart, u, v, turn):  # type: ignore[no-untyped-def]
    """Fill ``turn`` (3, 3) with a frame whose third column is the direction at (u, v), smooth over the chart."""
    scale = 1.0 / np.sqrt(u * u + v * v + 1.0)
    along = u * scale
    for k in range(3):
        turn[k, 2] = (u * chart[0, k] + v * chart[1, k] + chart[2, k]) * scale
        turn[k, 0] = chart[0, k] - along * turn[k, 2]
    size = np.sqrt(turn[0, 0] ** 2 + turn[1, 0] ** 2 + turn[2, 0] ** 2)
    for k in range(3):
        turn[k, 0] /= size
    _third(turn)


@njit(nogil=True, cache=True)
def turn_about(x, y, z, turn):  # type: ignore[no-untyped-def]
    """Fill ``turn`` (3, 3) with some frame whose third column is a unit direction."""
    turn[0, 2], turn[1, 2], turn[2, 2] = x, y, z
    least = 0
    for k in range(1, 3):
        if abs(turn[k, 2]) < abs(turn[least, 2]):
            least = k
    for k in range(3):
        turn[k, 0] = (1.0 if k == least else 0.0) - turn[least, 2] * turn[k, 2]
    size = np.sqrt(turn[0, 0] ** 2 + turn[1, 0] ** 2 + turn[2, 0] ** 2)
    for k in range(3):
        turn[k, 0] /= size
    _third(turn)


@njit(nogil=True, cache=True)
def _third(turn):  # type: ignore[no-untyped-def]
    turn[0, 1] = turn[1, 2] * turn[2, 0] - turn[2, 2] * turn[1, 0]
    turn[1, 1] = turn[2, 2] * turn[0, 0] - turn[0, 2] * turn[2, 0]
    turn[2, 1] = turn[0, 2] * turn[1, 0] - turn[1, 2] * turn[0, 0]


@njit(nogil=True, cache=True)
def spread_of(chart, box, turn):  # type: ignore[no-untyped-def]
    """How far a box of directions spreads about its middle: angle, and tangents toward the frame's x and y.

    ``box`` holds u, v and their half widths. A box is a convex quad on the sphere, and a cap under a right angle is
    convex: the farthest direction is at a corner. On the plane that touches the sphere in the middle the quad is
    the hull of its corners, so that tangents too are largest there. Beyond a right angle all is infinite.
    """
    u, v, half_u, half_v = box
    lowest, across, up = 1.0, 0.0, 0.0
    for corner in range(4):
        a = u + (half_u if corner & 1 else -half_u)
        b = v + (half_v if corner & 2 else -half_v)
        size = np.sqrt(a * a + b * b + 1.0)
        x = y = z = 0.0
        for k in range(3):
            part = (a * chart[0, k] + b * chart[1, k] + chart[2, k]) / size
            x += part * turn[k, 0]
            y += part * turn[k, 1]
            z += part * turn[k, 2]
        if z <= 1e-6:
            return np.pi, np.inf, np.inf
        lowest = min(lowest, z)
        across, up = max(across, abs(x / z)), max(up, abs(y / z))
    return np.arccos(min(lowest, 1.0)), across, up
