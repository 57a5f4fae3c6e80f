"""How wood looks: colours and growth rings for the faces of a picture, from where they lie under the bark.

Decoration with a reason: a tree lays its rings parallel to its bark, so depth under the bark orders them. The colours
are ours; nothing here is measured on the blank, and no species is told apart.
"""

import itertools
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree

from formmaker.geometry.meshes import Mesh
from formmaker.geometry.noise import layered_noise, noise_lattice

Colour = tuple[int, int, int]

SAPWOOD: Colour = (236, 208, 160)
HEARTWOOD: Colour = (184, 118, 66)
LATEWOOD: Colour = (126, 74, 38)
SAWN: Colour = (222, 194, 150)
BARK_DARK: Colour = (88, 62, 44)
BARK_PALE: Colour = (168, 132, 98)

GRAIN_DEPTH = 160.0
"""Depth of wood that the grain picture spans from left to right, mm; deeper wood repeats it mirrored."""

GRAIN_LENGTH = 220.0
"""Length along the wood that it spans from top to bottom, mm; beyond it repeats."""

GRID_STEP = 5.0
"""Grain is worked out on a grid of this step and read between, mm: a tenth of the time, and rings stay round."""

_SEED = 20


def grain_image(width: int = 2048, height: int = 256) -> NDArray[np.uint8]:
    """Paint the wood seen on a cut face: sapwood to heartwood from left to right, crossed by growth rings.

    Returns
    -------
    (height, width, 3) uint8
        Column: depth under the bark over ``GRAIN_DEPTH``; row: place along the wood over ``GRAIN_LENGTH``.
    """
    random = np.random.default_rng(_SEED)
    depth = np.linspace(0.0, GRAIN_DEPTH, width)
    heart = 1.0 / (1.0 + np.exp(-(depth - 15.0) / 2.2))
    base = _mix(np.array(SAPWOOD), np.array(HEARTWOOD), heart)
    bounds = np.cumsum(random.uniform(2.6, 5.4, 80))
    ring = np.searchsorted(bounds, depth)
    start = np.concatenate([[0.0], bounds])[ring]
    part = (depth - start) / (bounds[ring] - start)
    late = part**5 * random.uniform(0.25, 0.55, len(bounds))[ring]
    rows = _mix(base, np.array(LATEWOOD), late)
    rows = rows * (1.0 + 0.05 * random.uniform(-1.0, 1.0, len(bounds))[ring, None])
    return np.clip(rows[None] * _fleck(random, height, width)[..., None], 0, 255).round().astype(np.uint8)


def _fleck(random: np.random.Generator, height: int, width: int) -> NDArray[np.float64]:
    """Light and dark streaks across the rings, repeating from bottom to top."""
    waves = np.fft.rfft2(random.normal(size=(height, width)))
    rows, columns = np.abs(np.fft.fftfreq(height))[:, None], np.fft.rfftfreq(width)[None]
    streak = np.fft.irfft2(waves * np.exp(-((rows / 0.10) ** 2) - (columns / 0.02) ** 2), s=(height, width))
    return np.asarray(1.0 + 0.035 * streak / streak.std())


def grain_places(points: NDArray[np.float64], bark: Mesh | None) -> NDArray[np.float64]:
    """Where points of cut wood lie in the grain picture.

    Parameters
    ----------
    points : (n, 3) float
        On cut faces, mm.
    bark : Mesh, optional
        The natural skin; without it the rings lie round a pith far below, as in a flat-sawn plank.

    Returns
    -------
    (n, 2) float
        Column and row, 1.0 for the whole picture.
    """
    low = points.min(axis=0)
    steps = (points - low) / GRID_STEP
    shape = np.ceil(steps.max(axis=0)).astype(int) + 2
    needed = np.zeros(shape, dtype=np.bool_)
    for corner in itertools.product((0, 1), repeat=3):
        needed[tuple((steps.astype(int) + corner).T)] = True
    values = np.zeros((2, *shape))
    values[:, needed] = _grain_at(low + GRID_STEP * np.argwhere(needed), bark).T
    return np.column_stack([map_coordinates(value, steps.T, order=1) for value in values])


def _grain_at(points: NDArray[np.float64], bark: Mesh | None) -> NDArray[np.float64]:
    lattice = noise_lattice(np.random.default_rng(_SEED))
    depth = depth_under(points, bark) if bark is not None else _plank_depth(points)
    drift = 2.6 * layered_noise(lattice, points, grain=38.0, layers=3)
    along = points[:, 0] + 0.35 * points[:, 1] + 9.0 * layered_noise(lattice, points + 77.0, grain=60.0, layers=2)
    return np.column_stack([(depth + drift).clip(0.0) / GRAIN_DEPTH, along / GRAIN_LENGTH])


def depth_under(points: NDArray[np.float64], bark: Mesh) -> NDArray[np.float64]:
    """Distance to the natural skin, mm, over its vertices and the middles of its faces: good enough to look at."""
    skin = np.concatenate([bark.vertices[np.unique(bark.faces)], bark.corners.mean(axis=1)])
    distance, _ = cKDTree(skin[:: 1 + len(skin) // 40_000]).query(points, eps=0.1)
    return np.asarray(distance, dtype=np.float64)


def _plank_depth(points: NDArray[np.float64]) -> NDArray[np.float64]:
    low, high = points.min(axis=0), points.max(axis=0)
    pith = np.array([0.0, (low[1] + high[1]) / 2.0 + 25.0, low[2] - 0.22 * (high[1] - low[1])])
    return np.asarray(30.0 + 0.75 * np.linalg.norm((points - pith)[:, 1:], axis=1))


def skin_colours(mesh: Mesh, natural: NDArray[np.bool_]) -> NDArray[np.uint8]:
    """Colour of every vertex of a blank: its own where it has some, else invented bark and sawn wood.

    Parameters
    ----------
    mesh : Mesh
        The blank, mm.
    natural : (m,) bool
        Which of its triangles are natural skin.

    Returns
    -------
    (n, 3) uint8
    """
    if mesh.colours is not None:
        return mesh.colours
    lattice = noise_lattice(np.random.default_rng(_SEED))
    rough = 0.5 + 0.34 * layered_noise(lattice, mesh.vertices * np.array([0.35, 1.0, 1.0]), grain=16.0, layers=4)
    bark = _mix(np.array(BARK_DARK), np.array(BARK_PALE), rough.clip(0.0, 1.0))
    pale = np.array(SAWN) * (1.0 + 0.05 * layered_noise(lattice, mesh.vertices, grain=24.0, layers=3)[:, None])
    on_bark = np.zeros(len(mesh.vertices), dtype=np.bool_)
    on_bark[mesh.faces[natural]] = True
    return np.where(on_bark[:, None], bark, pale).clip(0, 255).round().astype(np.uint8)


def _mix(first: NDArray[Any], second: NDArray[Any], share: NDArray[np.float64]) -> NDArray[np.float64]:
    part = share[:, None]
    return np.asarray(first * (1.0 - part) + second * part)
