"""Smooth random fields over space, for surfaces and colours that must look grown.

Value noise on a lattice of random numbers; the same generator gives the same field. Nothing here measures anything.
"""

import itertools

import numpy as np
from numpy.typing import NDArray

LATTICE = 32


def noise_lattice(random: np.random.Generator) -> NDArray[np.float64]:
    """Draw the numbers that a field is woven from, (32, 32, 32), from -1 to 1; the field repeats beyond them."""
    return random.uniform(-1.0, 1.0, (LATTICE, LATTICE, LATTICE))


def smooth_noise(lattice: NDArray[np.float64], points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Value of the field at points counted in lattice steps.

    Parameters
    ----------
    lattice : (k, k, k) float
        From ``noise_lattice``.
    points : (n, 3) float
        Places in steps of the lattice: divide millimetres by the size of the grain wished.

    Returns
    -------
    (n,) float
        From -1 to 1, with continuous slope; equal to the lattice at whole steps.

    Examples
    --------
    >>> lattice = noise_lattice(np.random.default_rng(1))
    >>> bool(smooth_noise(lattice, np.array([[2.0, 3.0, 34.0]]))[0] == lattice[2, 3, 2])
    True
    """
    cell = np.floor(points).astype(np.int64)
    part = points - cell
    ease = part**3 * (part * (part * 6.0 - 15.0) + 10.0)
    total = np.zeros(len(points))
    for corner in itertools.product((0, 1), repeat=3):
        weight = np.prod(np.where(np.array(corner) == 1, ease, 1.0 - ease), axis=1)
        i, j, k = np.moveaxis((cell + corner) % len(lattice), 1, 0)
        total += weight * lattice[i, j, k]
    return total


def layered_noise(
    lattice: NDArray[np.float64], points: NDArray[np.float64], *, grain: float, layers: int
) -> NDArray[np.float64]:
    """Sum fields of halving grain and strength: coarse shape with fine roughness on it.

    Parameters
    ----------
    lattice : (k, k, k) float
    points : (n, 3) float
        Places, mm.
    grain : float
        Size of the coarsest lumps, mm.
    layers : int
        How many fields; each has half the grain and half the strength of the one before.

    Returns
    -------
    (n,) float
        Within -2 and 2; mostly within -1 and 1.
    """
    # each layer is shifted by an odd amount, so that lattice planes of different layers do not coincide
    fields = [
        smooth_noise(lattice, points * (2.0**layer / grain) + 7.31 * layer) / 2.0**layer for layer in range(layers)
    ]
    return np.asarray(sum(fields))
