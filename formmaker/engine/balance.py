"""Bodies that turn about an axis: how far out of balance, how hard they pull at a speed, which axis is balanced.

Pure mathematics, for each kilogram of the body; what wood weighs is in ``weighing``, what a lathe bears in
``mounted``.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.axis_ends import AxisEnds, axis_ends
from formmaker.errors import MountingError
from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.meshes import Mesh, face_areas
from formmaker.model.ends import End
from formmaker.tolerances import DEFAULT
from formmaker.units import GRAVITY

Vector = NDArray[np.float64]

MM_PER_M = 1000.0

MOST_TILT = math.radians(45.0)
"""An axis turned farther than this is no move of a centre but another mounting (ours)."""

_DIRECTIONS = 24  # of half a turn in which the centre's own uncertainty is asked: 0.2 % from the largest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Body:
    """How a kilogram of mass lies in space.

    Parameters
    ----------
    centre : (3,) float
        Centre of mass, mm.
    spread : (3, 3) float
        Mean of (p - centre)(p - centre)^T over the mass, mm2: products of inertia with their own sign, where those of
        an inertia tensor are negative.
    """

    centre: Vector
    spread: Vector

    def __post_init__(self) -> None:
        for name in ("centre", "spread"):
            array = np.array(getattr(self, name), dtype=np.float64)
            array.flags.writeable = False
            object.__setattr__(self, name, array)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Unbalance:
    """What an axis lacks to balance, for each kilogram, as parts along angle 0 and along 90 degrees.

    Parameters
    ----------
    offset : (2,) float
        From the axis to the centre of mass, mm.
    products : (2,) float
        Mean of x z and of y z over the mass, z counted along the axis from the middle between the centres, mm2.
    at_foot, at_rim : (2,) float
        Where a kilogram would have to sit in the plane of each centre to pull the same, mm; together the offset.
    """

    offset: Vector
    products: Vector
    at_foot: Vector
    at_rim: Vector

    @property
    def distance(self) -> float:
        """From the axis to the centre of mass, mm."""
        return float(np.linalg.norm(self.offset))

    @property
    def couple(self) -> float:
        """Size of the products of inertia, sqrt(Ixz^2 + Iyz^2) for each kilogram, mm2."""
        return float(np.linalg.norm(self.products))

    @property
    def pull(self) -> float:
        """What both centres have to hold together, as an offset, mm: never less than ``distance``."""
        return float(np.linalg.norm(self.at_foot) + np.linalg.norm(self.at_rim))


def unbalance_about(body: Body, ends: AxisEnds, zero: Vector) -> Unbalance:
    """How far a body is out of balance on an axis.

    Parameters
    ----------
    body : Body
    ends : AxisEnds
        The two centres.
    zero : (3,) float
        Angle 0 lies on this side of the axis.

    Returns
    -------
    Unbalance

    Notes
    -----
    The two planes of balancing (ISO 21940-11): forces and moments of a rigid rotor are those of two masses, one in
    each plane. With U the offset, P the products about the middle and L the length between the centres, the rim's
    takes U/2 + P/L and the foot's U/2 - P/L. For a single mass at height z above the foot's plane that is U z/L and
    U (L - z)/L.
    """
    frame = _axis_frame(ends, zero)
    centre = frame.inverse.carry(body.centre)
    products = (frame.rotation.T @ body.spread @ frame.rotation)[:2, 2] + centre[:2] * centre[2]
    along = products / float(np.linalg.norm(ends.rim - ends.foot))
    half = centre[:2] / 2.0
    return Unbalance(offset=centre[:2], products=products, at_foot=half - along, at_rim=half + along)


def _axis_frame(ends: AxisEnds, zero: Vector) -> Frame:
    """Frame of an axis with its origin in the middle between the centres."""
    return frame_from_axis(0.5 * (ends.foot + ends.rim), ends.rim - ends.foot, zero)


def force_at(mass: float, arm: float, rpm: float) -> float:
    """Out-of-balance force of a turning mass: mass, arm and the square of the angular speed, N.

    Parameters
    ----------
    mass : float
        kg.
    arm : float
        From the axis to the centre of mass, mm.
    rpm : float

    Examples
    --------
    >>> round(force_at(0.010, 100.0, 3000.0), 2)
    98.7
    """
    return mass * arm / MM_PER_M * (2.0 * math.pi * rpm / 60.0) ** 2


def weights_at(arm: float, rpm: float) -> float:
    """Out-of-balance force as a multiple of the body's own weight: no mass needs to be known for it."""
    return force_at(1.0, arm, rpm) / GRAVITY


def speed_at(arm: float, weights: float) -> float:
    """Speed at which a body so far off its axis pulls with so many times its weight, rpm; inf where it is not off.

    Examples
    --------
    >>> round(speed_at(8.0, 1.0))
    334
    """
    return math.sqrt(weights / weights_at(arm, 1.0)) if arm > 0.0 else math.inf


def centre_slack(mesh: Mesh, centre: Vector, axis: Vector, skin_error: float) -> float:
    """How far the centre of mass may be off to the side of an axis, by the skin's own uncertainty alone, mm.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    centre : (3,) float
        Its centre of mass, mm.
    axis : (3,) float
        Direction of the axis.
    skin_error : float
        How far any place of the skin may be off, mm.

    Returns
    -------
    float

    Notes
    -----
    A skin that moves out by d(p) moves the centre by the integral of d(p) (p - centre) over the skin, divided by the
    volume (to first order). In a direction u that is most where all skin on one side is out and all on the other in:
    error times the integral of |(p - centre) u| over the skin, divided by the volume. The largest over directions
    square to the axis is given; for a ball of radius r it is 3/2 of the error. Between the corners of a triangle the
    integrand is taken for the mean of its corners, which is never too small. Wood that is denser on one side is
    not counted.
    """
    square = frame_from_axis(centre, axis, np.eye(3)[int(np.abs(axis).argmin())])
    x, y, _ = np.moveaxis(square.inverse.carry(mesh.vertices), 1, 0)
    areas = np.bincount(mesh.faces.ravel(), weights=np.repeat(face_areas(mesh) / 3.0, 3), minlength=len(x))
    turn = np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    reach = max(float(areas @ np.abs(np.cos(angle) * x + np.sin(angle) * y)) for angle in turn)
    corners = mesh.corners - centre
    volume = float(np.einsum("ij,ij->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))) / 6.0
    return skin_error * reach / volume


def balanced_ends(mesh: Mesh, ends: AxisEnds, centre: Vector, held: End | None = None) -> AxisEnds:
    """The two centres of the balanced axis that is nearest to the present one.

    Parameters
    ----------
    mesh : Mesh
        The skin.
    ends : AxisEnds
        The present centres.
    centre : (3,) float
        Centre of mass, mm.
    held : End or None
        The end that stays where it is.

    Returns
    -------
    AxisEnds
        Where the new axis really leaves the skin; the line through them passes through ``centre``.

    Raises
    ------
    MountingError
        If the new axis would have to be tilted by more than ``MOST_TILT``, meets no wood, or meets other wood before
        the end that is held.

    Notes
    -----
    Let a and b be the shifts of foot and rim centre square to the axis, g the offset of the centre of mass, and s its
    place along the axis, 0 at the foot and 1 at the rim. The new axis passes through it when (1 - s) a + s b = g.
    Then |g| <= |1 - s| |a| + |s| |b| <= (|1 - s| + |s|) max(|a|, |b|), so the larger of the two shifts is at least
    |g| / (|1 - s| + |s|), and it is that only with both shifts of this length, along g, each with the sign of its
    weight. Between the ends (0 < s < 1, all but freak shapes) the weights are positive and add to one: both ends move
    by g itself, side by side, and no tilt does with less at its worse end. Beyond the ends a tilt does. With one
    end held the line through it and the centre of mass is the only one.
    """
    if held is not None:
        here, sign = (ends.foot, 1.0) if held is End.FOOT else (ends.rim, -1.0)
        direction = sign * (centre - here)
    else:
        direction = _least_moved(ends, centre)
    _refuse_tilt(ends, direction, held)
    new = axis_ends(mesh, centre, direction)
    if held is not None and not np.linalg.norm(getattr(new, held.value) - here) <= DEFAULT.chord:
        raise MountingError(
            f"the {held.value} centre cannot be held: on its way there the balanced axis meets other wood first; "
            "hold the other end or neither"
        )
    return new


def _least_moved(ends: AxisEnds, centre: Vector) -> Vector:
    """Direction of the line through the centre that moves the worse of the two ends least."""
    along = ends.rim - ends.foot
    share = float((centre - ends.foot) @ along / (along @ along))
    offset = centre - ends.foot - share * along
    step = offset / (abs(1.0 - share) + abs(share))
    return np.asarray(along + (np.sign(share) - np.sign(1.0 - share)) * step)


def _refuse_tilt(ends: AxisEnds, direction: Vector, held: End | None) -> None:
    along = ends.rim - ends.foot
    size = float(np.linalg.norm(direction))
    cosine = float(direction @ along) / (size * float(np.linalg.norm(along))) if size > 0.0 else -1.0
    if cosine >= math.cos(MOST_TILT):
        return
    way_out = "hold the other end or neither" if held is not None else "give centres on both sides of it"
    raise MountingError(
        f"the balanced axis would lean by {math.degrees(math.acos(np.clip(cosine, -1.0, 1.0))):.0f} deg from the "
        f"present one, more than {math.degrees(MOST_TILT):.0f} deg, because the centre of mass lies level with the "
        f"{'centre that is held' if held is not None else 'ends'} or beyond; {way_out}"
    )
