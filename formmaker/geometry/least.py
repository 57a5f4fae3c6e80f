"""Least distance to a skin over a surface of revolution, with proof: branch and bound on patches of the surface.

The surface is given as segments of a half section. What the surface stands for is not known here.
"""

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.geometry.grid import DistanceGrid, value_at
from formmaker.geometry.nearest import PatchLabels, SkinTree, nearest_other, signed_at
from formmaker.geometry.planes import PatchPlanes
from formmaker.geometry.workers import in_halves

_FIRST_PATCH = 16.0  # mm: side of the patches the search starts with; between 8 and 30 made no difference
_EXACT_BELOW = 6.0  # mm: half diagonal from which the mesh itself is asked instead of the grid
_BUDGET = 60_000  # exact questions, at most: about a tenth of a second


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Skin:
    """A closed skin ready for questions: its tree, its grid, and its planar patches."""

    tree: SkinTree
    grid: DistanceGrid
    labels: PatchLabels
    planes: PatchPlanes
    face_patches: NDArray[np.int32]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastDistance:
    """Where a surface comes nearest to the skin.

    Parameters
    ----------
    value : float
        Signed distance there, exact on the mesh, positive inside, mm.
    slack : float
        No place of the surface is lower than ``value - slack``, mm.
    theta, radius, height : float
        The place, in the surface's own frame, radians and mm.
    segment : int
        Which segment it lies on.
    """

    value: float
    slack: float
    theta: float
    radius: float
    height: float
    segment: int


def least_distance(
    skin: Skin,
    segments: NDArray[np.float64],
    frame: Frame,
    *,
    slack: float,
    budget: int = _BUDGET,
    below: float = np.inf,
) -> LeastDistance:
    """Find the least signed distance over a surface of revolution about z.

    Parameters
    ----------
    skin : Skin
    segments : (k, 4) float
        Radius and height of both ends of each segment of the half section, mm.
    frame : Frame
        ``skin_from_surface``.
    slack : float
        How much lower than the answer any other place may still be, mm.
    budget : int
        Exact questions, at most.
    below : float
        Only whether some place lies lower than this is asked, mm: quick where it is far from either answer.

    Returns
    -------
    LeastDistance
        Its ``slack`` is larger than asked where the budget ran out: a surface that runs alongside the skin over a
        whole area. For a surface outside the skin a hundredth of the distance is slack enough. With ``below``: where
        the value is not below it, no place is lower than ``below - slack``; where it is, the place is one such.

    Notes
    -----
    Signed distance changes by no more than one moves, so a patch whose middle lies at distance d holds nothing lower
    than d less its half diagonal. Where the nearest face belongs to a planar patch a second bound holds: the lower
    of the distance to that plane, linear over the patch, and the distance to everything else less the half diagonal.
    A foot parallel to a sawn face is settled by it at once. So is one that lies on such a face or beyond it, where
    nothing else is as near as the patch reaches: there the face is a whole sheet, and no place is farther outside
    than it stands over the plane.
    """
    patches = _first_patches(segments)
    best = _Best(value=np.inf, patch=patches[0])
    open_low, asked = np.inf, 0
    while len(patches) and not best.value < below < np.inf:
        if _reaches(patches, segments).max() > _EXACT_BELOW:
            lower = _grid_bounds(skin, patches, segments, frame)
            lowest = patches[[int((lower + _reaches(patches, segments)).argmin())]]
            best = best.improved(_exact_bounds(skin, lowest, segments, frame)[0], lowest)
        elif asked and asked + len(patches) > budget:
            break
        else:
            asked += len(patches)
            value, lower = _exact_bounds(skin, patches, segments, frame)
            best = best.improved(value, patches)
        ceiling = min(best.value, below)
        left = lower < ceiling - _enough(slack, ceiling)
        open_low = float(lower[left].min(initial=np.inf))
        patches = _split(patches[left], segments)
    return _answer(best, segments, max(_enough(slack, best.value), min(best.value, below) - open_low))


def _enough(slack: float, ceiling: float) -> float:
    return max(slack, -0.01 * ceiling)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Best:
    """The lowest place so far; a patch is a row of segment, share of it from and to, angle from and to."""

    value: float
    patch: NDArray[np.float64]

    def improved(self, values: NDArray[np.float64], patches: NDArray[np.float64]) -> "_Best":
        lowest = int(values.argmin())
        return self if values[lowest] >= self.value else _Best(value=float(values[lowest]), patch=patches[lowest])


def _answer(best: _Best, segments: NDArray[np.float64], slack: float) -> LeastDistance:
    segment, start, end, low, high = best.patch
    r0, z0, r1, z1 = segments[int(segment)]
    share = (start + end) / 2.0
    return LeastDistance(
        value=best.value,
        slack=slack,
        theta=float((low + high) / 2.0 % (2.0 * np.pi)),
        radius=float(r0 + share * (r1 - r0)),
        height=float(z0 + share * (z1 - z0)),
        segment=int(segment),
    )


def _first_patches(segments: NDArray[np.float64]) -> NDArray[np.float64]:
    rows = []
    lengths = np.hypot(segments[:, 2] - segments[:, 0], segments[:, 3] - segments[:, 1])
    radii = np.maximum(segments[:, 0], segments[:, 2])
    side = max(_FIRST_PATCH, float(radii.max()) / 20.0)
    for number, (length, radius) in enumerate(zip(lengths, radii, strict=True)):
        parts = max(1, int(np.ceil(length / side)))
        turns = max(4, int(np.ceil(2.0 * np.pi * radius / side)))
        t, a = (grid.ravel() for grid in np.meshgrid(np.arange(parts), np.arange(turns), indexing="ij"))
        step, turn = 1.0 / parts, 2.0 * np.pi / turns
        rows.append(np.column_stack([np.full(t.size, number), t * step, (t + 1) * step, a * turn, (a + 1) * turn]))
    return np.vstack(rows)


def _sides(patches: NDArray[np.float64], segments: NDArray[np.float64]) -> NDArray[np.float64]:
    """Half length along the segment and half length round the turn of each patch, (n, 2), mm."""
    ends = segments[patches[:, 0].astype(np.int64)]
    length = np.hypot(ends[:, 2] - ends[:, 0], ends[:, 3] - ends[:, 1]) * (patches[:, 2] - patches[:, 1])
    turn = np.maximum(ends[:, 0], ends[:, 2]) * (patches[:, 4] - patches[:, 3])
    return np.column_stack([length, turn]) / 2.0


def _reaches(patches: NDArray[np.float64], segments: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far any point of a patch may lie from its middle, (n,), mm."""
    sides = _sides(patches, segments)
    return np.asarray(np.hypot(sides[:, 0], sides[:, 1]))


def _split(patches: NDArray[np.float64], segments: NDArray[np.float64]) -> NDArray[np.float64]:
    """Halve the longer side of each patch, and the shorter too where it is over half as long."""
    sides = _sides(patches, segments)
    along = sides[:, 0] >= 0.5 * sides[:, 1]
    patches = _halved(patches, along, 1)
    sides = np.vstack([sides, sides[along]])
    return _halved(patches, sides[:, 1] >= 0.5 * sides[:, 0], 3)


def _halved(patches: NDArray[np.float64], which: NDArray[np.bool_], column: int) -> NDArray[np.float64]:
    first, second = patches.copy(), patches[which].copy()
    middle = (patches[:, column] + patches[:, column + 1]) / 2.0
    first[which, column + 1] = middle[which]
    second[:, column] = middle[which]
    return np.vstack([first, second])


def _grid_bounds(
    skin: Skin, patches: NDArray[np.float64], segments: NDArray[np.float64], frame: Frame
) -> NDArray[np.float64]:
    """Lowest that each patch may hold, (n,), mm."""
    grid = skin.grid
    values = np.empty(len(patches))
    surface = (patches, segments, frame.rotation, frame.origin)
    _grid_middles(surface, (grid.values, grid.origin, grid.spacing), values)
    off = np.where(values > 0.0, grid.over, grid.error)  # the grid is nearer the truth where it says wood
    return np.asarray(values - off - _reaches(patches, segments))


def _exact_bounds(
    skin: Skin, patches: NDArray[np.float64], segments: NDArray[np.float64], frame: Frame
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Exact distance at each patch's middle, and the lowest the patch may hold."""
    normals = frame.inverse.turn(skin.planes.normals)
    offsets = skin.planes.offsets - skin.planes.normals @ frame.origin
    planes = np.column_stack([normals, offsets, skin.planes.bulges])
    reach = _reaches(patches, segments)
    value, lower = np.empty(len(patches)), np.empty(len(patches))

    def run(start: int, stop: int) -> None:
        _exact_middles(
            (patches[start:stop], reach[start:stop], segments, frame.rotation, frame.origin),
            (skin.grid.values, skin.grid.origin, skin.grid.spacing, skin.grid.error),
            (skin.tree.arrays, skin.labels.slots, skin.labels.nodes, skin.face_patches, planes),
            value[start:stop],
            lower[start:stop],
        )

    in_halves(run, len(patches), least=500)
    return value, lower


@njit(nogil=True, cache=True)
def _middle(patches, segments, rotation, origin, i):  # type: ignore[no-untyped-def]
    """Middle of a patch, in the frame of the skin."""
    k = int(patches[i, 0])
    share = 0.5 * (patches[i, 1] + patches[i, 2])
    angle = 0.5 * (patches[i, 3] + patches[i, 4])
    r = segments[k, 0] + share * (segments[k, 2] - segments[k, 0])
    h = segments[k, 1] + share * (segments[k, 3] - segments[k, 1])
    x, y = r * np.cos(angle), r * np.sin(angle)
    return (
        rotation[0, 0] * x + rotation[0, 1] * y + rotation[0, 2] * h + origin[0],
        rotation[1, 0] * x + rotation[1, 1] * y + rotation[1, 2] * h + origin[1],
        rotation[2, 0] * x + rotation[2, 1] * y + rotation[2, 2] * h + origin[2],
    )


@njit(nogil=True, cache=True)
def _grid_middles(surface, grid, out):  # type: ignore[no-untyped-def]
    patches, segments, rotation, origin = surface
    values, grid_origin, spacing = grid
    for i in range(patches.shape[0]):
        x, y, z = _middle(patches, segments, rotation, origin, i)
        out[i] = value_at(values, grid_origin, spacing, x, y, z)


@njit(nogil=True, cache=True)
def _exact_middles(surface, grid, skin, value, lower):  # type: ignore[no-untyped-def]
    patches, reach, segments, rotation, origin = surface
    values, grid_origin, spacing, error = grid
    arrays, slots, nodes, face_patches, planes = skin
    for i in range(patches.shape[0]):
        x, y, z = _middle(patches, segments, rotation, origin, i)
        guess = abs(value_at(values, grid_origin, spacing, x, y, z)) + 2.0 * error
        distance, face = signed_at(arrays, x, y, z, guess)
        if face < 0:  # the grid's error was measured, not proven: ask again without it
            distance, face = signed_at(arrays, x, y, z, np.inf)
        value[i] = distance
        lower[i] = distance - reach[i]
        patch = face_patches[face]
        if patch < 0 or np.isinf(planes[patch, 4]):
            continue
        level = _least_under_plane(patches, segments, planes, patch, i)
        if level > 0.0 and distance > 0.0:
            other = nearest_other(arrays, slots, nodes, patch, x, y, z, level + reach[i])
            lower[i] = max(lower[i], min(level, other - reach[i]))
        elif level <= 0.0:
            alone = reach[i] + abs(distance) + planes[patch, 4]
            other = nearest_other(arrays, slots, nodes, patch, x, y, z, alone)
            if other >= alone * (1.0 - 1e-12):
                lower[i] = max(lower[i], level)


@njit(nogil=True, cache=True)
def _least_under_plane(patches, segments, planes, patch, i):  # type: ignore[no-untyped-def]
    """Least depth of a patch of the surface under the plane of a patch of the skin, exact, less the plane's bulge.

    ``planes`` stand in the surface's frame: normal, offset, bulge. Depth is offset - n.x, linear along a segment, and
    round the turn n.x = r A cos(angle - phase) + n_z h is largest where the cosine is.
    """
    k = int(patches[i, 0])
    nx, ny, nz, offset, bulge = planes[patch]
    across = np.hypot(nx, ny)
    phase = np.arctan2(ny, nx)
    low, high = patches[i, 3] - phase, patches[i, 4] - phase
    peak = np.ceil(low / (2.0 * np.pi)) * 2.0 * np.pi
    cosine = 1.0 if peak <= high else max(np.cos(low), np.cos(high))
    least = np.inf
    for share in (patches[i, 1], patches[i, 2]):
        r = segments[k, 0] + share * (segments[k, 2] - segments[k, 0])
        h = segments[k, 1] + share * (segments[k, 3] - segments[k, 1])
        least = min(least, offset - (r * across * cosine + nz * h))
    return least - bulge
