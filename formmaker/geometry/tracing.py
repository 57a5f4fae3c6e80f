"""Walking along curves until they leave a body: the first way out, found on the skin itself.

The walk takes the distance to the skin as its stride, so nothing thinner than the last stride is stepped over.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.geometry.grid import value_at
from formmaker.geometry.least import Skin
from formmaker.geometry.nearest import signed_at
from formmaker.geometry.workers import in_halves
from formmaker.tolerances import DEFAULT, Tolerances

_NEAR = 0.5  # mm: from here on the mesh is asked; less would save little, the last strides are exact anyway
_TOUCH = 1e-6  # mm: a start on the skin counts as inside; rounding of a mesh in mm is a thousandth of this


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WaysOut:
    """Where walks along a curve first leave the body.

    Parameters
    ----------
    place : (n,) float
        Length along the curve, mm; the curve's own length where it never leaves.
    face : (n,) int
        Face of the skin met there; -1 where it never leaves.
    """

    place: NDArray[np.float64]
    face: NDArray[np.int32]


def ways_out(
    skin: Skin,
    line: NDArray[np.float64],
    frame: Frame,
    angles: NDArray[np.float64],
    *,
    exact: bool,
    tolerances: Tolerances = DEFAULT,
) -> WaysOut:
    """First way out of the body along one curve of a half section, at many angles.

    Parameters
    ----------
    skin : Skin
    line : (k, 2) float
        Polyline of radius and height, mm.
    frame : Frame
        ``skin_from_curve``.
    angles : (n,) float
        Radians.
    exact : bool
        Ask the mesh near the skin; otherwise only the grid, with its error.
    tolerances : Tolerances
        ``thin_air`` is the shortest stride: air thinner than it may be passed by; ``skin_step`` brackets the way out.

    Returns
    -------
    WaysOut
        0 where the walk starts in air.
    """
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    place, face = np.empty(len(angles)), np.empty(len(angles), dtype=np.int32)
    grid = (skin.grid.values, skin.grid.origin, skin.grid.spacing, skin.grid.error, skin.grid.over)
    curve = (np.ascontiguousarray(line), lengths, frame.rotation, frame.origin)
    turned = np.ascontiguousarray(angles, dtype=np.float64)
    steps = (tolerances.thin_air, tolerances.skin_step)

    def run(start: int, stop: int) -> None:
        part = slice(start, stop)
        _walk(curve, turned[part], (grid, skin.tree.arrays, exact), steps, (place[part], face[part]))

    in_halves(run, len(turned), least=200)
    return WaysOut(place=place, face=face)


def along(line: NDArray[np.float64], places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Radius and height (n, 2) at lengths (n,) along a polyline."""
    lengths = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    return np.column_stack([np.interp(places, lengths, line[:, 0]), np.interp(places, lengths, line[:, 1])])


@njit(nogil=True, cache=True)
def _point(curve, cosine, sine, place):  # type: ignore[no-untyped-def]
    line, lengths, rotation, origin = curve
    i = min(max(np.searchsorted(lengths, place, side="right") - 1, 0), lengths.shape[0] - 2)
    span = lengths[i + 1] - lengths[i]
    share = (place - lengths[i]) / span if span > 0.0 else 0.0
    r = line[i, 0] + share * (line[i + 1, 0] - line[i, 0])
    h = line[i, 1] + share * (line[i + 1, 1] - line[i, 1])
    x, y = r * cosine, r * sine
    return (
        rotation[0, 0] * x + rotation[0, 1] * y + rotation[0, 2] * h + origin[0],
        rotation[1, 0] * x + rotation[1, 1] * y + rotation[1, 2] * h + origin[1],
        rotation[2, 0] * x + rotation[2, 1] * y + rotation[2, 2] * h + origin[2],
    )


@njit(nogil=True, cache=True)
def _depth(curve, way, place, grid, arrays, exact):  # type: ignore[no-untyped-def]
    """How deep inside at a place, never more than it is where the grid answers, and the face met (-2 not asked)."""
    values, grid_origin, spacing, error, over = grid
    x, y, z = _point(curve, way[0], way[1], place)
    looked = value_at(values, grid_origin, spacing, x, y, z)
    if not exact:
        return looked, -1
    if looked > 2.0 * over + _NEAR:
        return looked - over, -2
    depth, face = signed_at(arrays, x, y, z, abs(looked) + 2.0 * error)
    if face < 0:
        depth, face = signed_at(arrays, x, y, z, np.inf)
    return depth, face


@njit(nogil=True, cache=True)
def _walk(curve, angles, field, steps, out):  # type: ignore[no-untyped-def]
    grid, arrays, exact = field
    stride, bracket = steps
    place, face = out
    end = curve[1][-1]
    for i in range(angles.shape[0]):
        low = high = 0.0
        way = (np.cos(angles[i]), np.sin(angles[i]))
        depth, met = _depth(curve, way, low, grid, arrays, exact)
        while depth >= -_TOUCH and high < end:
            low, high = high, min(high + max(depth, stride), end)
            depth, met = _depth(curve, way, high, grid, arrays, exact)
        if depth >= -_TOUCH:
            place[i], face[i] = end, -1
            continue
        while high - low > bracket:
            middle = 0.5 * (low + high)
            depth, seen = _depth(curve, way, middle, grid, arrays, exact)
            if depth >= -_TOUCH:
                low = middle
            else:
                high, met = middle, seen
        place[i], face[i] = 0.5 * (low + high), met
