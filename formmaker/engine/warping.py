"""How a piece of wood changes shape as it dries: shrinkage along fibres, across the rings and along them.

Every place of the wood goes to another place, and back; what that does to a bowl is in ``drying``.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame, frame_from_axis

Floats = NDArray[np.float64]

_AWAY = math.radians(170.0)
"""Wood farther round the pith than this, seen from where the bowl lies, counts as closing round the pith."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrinkages:
    """Shares of its size that wood loses along the fibres, across the rings and along the rings."""

    along: float
    radial: float
    tangential: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Warp:
    """A drying piece of wood, form frame.

    Parameters
    ----------
    tree : Frame
        ``form_from_tree``: z along the fibres, x from the pith toward the wood. With rings, its origin lies on the
        pith; with straight wood, anywhere.
    shrinkages : Shrinkages
    has_rings : bool
        True where the rings are round about the pith, False where they are taken as flat: radial is x, tangential y.
    shift : (3,) float
        Added after drying, mm: how the dried piece is put back on the axis.
    """

    tree: Frame
    shrinkages: Shrinkages
    has_rings: bool
    shift: Floats

    def __post_init__(self) -> None:
        array = np.array(self.shift, dtype=np.float64)
        array.flags.writeable = False
        object.__setattr__(self, "shift", array)


def straight_warp(fibres: Floats, shrinkages: Shrinkages) -> Warp:
    """Warp of wood whose rings are not known: as if they lay flat, tangential as level as the fibres allow.

    Parameters
    ----------
    fibres : (3,) float
        Their direction, form frame. Across them and square to the axis the wood shrinks tangentially, which is the
        worst for the roundness of a side-grain bowl; where they run along the axis the two ways across are x and y.
    shrinkages : Shrinkages

    Returns
    -------
    Warp
        The middle of the foot stays where it is.
    """
    upright = np.array([0.0, 0.0, 1.0])
    lies_level = np.linalg.norm(np.cross(fibres, upright)) > 1e-6 * np.linalg.norm(fibres)
    radial = upright if lies_level else np.array([1.0, 0.0, 0.0])
    tree = frame_from_axis(np.zeros(3), fibres, radial)
    return Warp(tree=tree, shrinkages=shrinkages, has_rings=False, shift=np.zeros(3))


def ringed_warp(fibres: Floats, pith: Floats, toward: Floats, shrinkages: Shrinkages) -> Warp:
    """Warp of wood with round rings about a known pith.

    Parameters
    ----------
    fibres : (3,) float
        Direction of fibres and pith, form frame.
    pith : (3,) float
        A place on the pith, form frame, mm.
    toward : (3,) float
        A place in the middle of the wood, mm; it keeps its direction from the pith.
    shrinkages : Shrinkages

    Returns
    -------
    Warp
        The middle of the foot stays where it is.

    Raises
    ------
    ValueError
        If the middle of the wood lies on the pith.

    Notes
    -----
    With R and T the shares lost, a place at distance r and angle t round the pith goes to r (1 - R) and
    t (1 - T) / (1 - R): every small length along the radius loses R, every one along the ring loses T, so nothing is
    strained. It is the one way to dry without strain, and there is none for wood that closes round its pith: that
    wood must strain, and cracks (``closes_round_pith``).
    """
    tree = frame_from_axis(pith, fibres, toward - pith)
    warp = Warp(tree=tree, shrinkages=shrinkages, has_rings=True, shift=np.zeros(3))
    return replace(warp, shift=-dried(warp, np.zeros((1, 3)))[0])


def dried(warp: Warp, points: Floats) -> Floats:
    """Where places (..., 3) of the wet wood go, form frame, mm."""
    local = warp.tree.inverse.carry(points)
    lost = warp.shrinkages
    if warp.has_rings:
        radius, turn = np.hypot(local[..., 0], local[..., 1]), np.arctan2(local[..., 1], local[..., 0])
        radius, turn = radius * (1.0 - lost.radial), turn * (1.0 - lost.tangential) / (1.0 - lost.radial)
        across = np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=-1)
    else:
        across = local[..., :2] * np.array([1.0 - lost.radial, 1.0 - lost.tangential])
    moved = np.concatenate([across, local[..., 2:] * (1.0 - lost.along)], axis=-1)
    return np.asarray(warp.tree.carry(moved) + warp.shift)


def undried(warp: Warp, points: Floats) -> Floats:
    """Where places (..., 3) of the dried wood came from, form frame, mm."""
    local = warp.tree.inverse.carry(points - warp.shift)
    lost = warp.shrinkages
    if warp.has_rings:
        radius, turn = np.hypot(local[..., 0], local[..., 1]), np.arctan2(local[..., 1], local[..., 0])
        radius, turn = radius / (1.0 - lost.radial), turn * (1.0 - lost.radial) / (1.0 - lost.tangential)
        across = np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=-1)
    else:
        across = local[..., :2] / np.array([1.0 - lost.radial, 1.0 - lost.tangential])
    moved = np.concatenate([across, local[..., 2:] / (1.0 - lost.along)], axis=-1)
    return np.asarray(warp.tree.carry(moved))


def closes_round_pith(warp: Warp, points: Floats) -> bool:
    """Whether wood at these places (n, 3) lies all round the pith, where no drying without strain is possible."""
    if not warp.has_rings:
        return False
    local = warp.tree.inverse.carry(points)
    turn = np.abs(np.arctan2(local[..., 1], local[..., 0]))
    return bool((turn > _AWAY).any())
