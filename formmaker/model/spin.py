"""What is seen while the blank spins: arcs of wood and air on one ring, and the whole turn at once."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.model.verdict import RimLine, Spin


@dataclass(frozen=True, slots=True, kw_only=True)
class RingArc:
    """A stretch of a ring, radians, counter-clockwise from ``start`` (0 to a turn) to ``end`` (above it)."""

    start: float
    end: float
    is_wood: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    """Wood and air on a ring round the axis, as a light spot held still on the turning blank shows them.

    Parameters
    ----------
    radius, height : float
        Form frame, mm.
    arcs : tuple of RingArc
        Once round, wood and air in turn; a single arc where the ring is all the one or all the other.
    share_of_air : float
        0 to 1.
    first_contact, last_contact : float or None
        Counted on from the widest gap: where wood comes first, and where it ends last, radians; None without a gap or
        without wood.
    """

    radius: float
    height: float
    arcs: tuple[RingArc, ...]
    share_of_air: float
    first_contact: float | None
    last_contact: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AirShares:
    """Share of air, 0 to 1, (k, j), on rings of ``radius`` (j,) at ``height`` (k,), form frame, mm."""

    radius: NDArray[np.float64]
    height: NDArray[np.float64]
    share: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SpinMap:
    """The whole blank while it spins.

    Parameters
    ----------
    spin : Spin
        Core and ghost by height, over the whole blank.
    half_air : (m,) float
        At the heights of ``spin``: radius from which on half the turn or more is air, mm.
    air : AirShares
        Over the whole blank.
    theta : (n,) float
        Angles, radians, from 0, even steps.
    height : (k,) float
        From the foot to the rim of the form, mm.
    outside : (k,) float
        Radius of the outer curve at each height, mm.
    depth : (k, n) float
        Where the curve runs in wood: how far the farthest wood stands outside it, above 0, mm. Where it runs in air:
        how far in the first wood lies, below 0, or down to the axis where there is none.
    rim : RimLine
    """

    spin: Spin
    half_air: NDArray[np.float64]
    air: AirShares
    theta: NDArray[np.float64]
    height: NDArray[np.float64]
    outside: NDArray[np.float64]
    depth: NDArray[np.float64]
    rim: RimLine
