"""Drawing a form: from a profile to a size, and the changes an editor makes, each a new form.

Pure functions on frozen records; whether the changed form can be turned is for ``section`` to say.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formmaker.errors import FormError
from formmaker.geometry.curve_measures import largest_radius, nearest_parameter
from formmaker.geometry.curves import curve_through, points_on
from formmaker.model.form import Edge, Form
from formmaker.model.profile import Profile
from formmaker.tolerances import DEFAULT

Floats = NDArray[np.float64]

_ROUNDS = 60
"""Rounds of scaling before the size is given up; four or five are usual."""

_HANDLE_GAP = 0.5
"""Two handles nearer than this, mm, cannot be told apart on a screen and bend the curve between them at will."""

_SIZE_SLACK = 1e-10
"""The largest radius meets its wish to this, mm."""


def form_from_profile(
    profile: Profile,
    *,
    diameter: float,
    height: float,
    wall: ArrayLike,
    floor: float,
    edge: Edge = Edge.TURNED,
    lowest_rim: float | None = None,
) -> Form:
    """Form of a given size from a profile of none.

    Parameters
    ----------
    profile : Profile
    diameter : float
        Greatest diameter of the outer curve (not of a handle), mm.
    height : float
        Of the rim above the foot plane, mm.
    wall : float or (k, 2) float
        Even thickness, or rows of fraction of the length from foot to rim and thickness there, mm.
    floor : float
        mm.
    edge : Edge
    lowest_rim : float, optional
        mm; the height where left out.

    Returns
    -------
    Form

    Raises
    ------
    FormError
        If a size is not above 0, or the profile cannot be brought to it.
    """
    _check_size(diameter, height)
    rise = float(profile.handles[-1, 1])
    if not rise > 0.0:
        raise FormError(f"profile {profile.name!r} ends at height {rise}; its rim must stand above its foot")
    heights = profile.handles[:, 1] * (height / rise)
    heights[-1] = height
    handles = _widened(profile.handles[:, 0], heights, profile.corners, diameter / 2.0, fixed=0.0)
    return Form(
        handles=handles,
        corners=profile.corners,
        wall=wall_rows(wall),
        floor=floor,
        edge=edge,
        lowest_rim=height if lowest_rim is None else lowest_rim,
        name=profile.name,
        description=profile.description,
    )


def wall_rows(wall: ArrayLike) -> Floats:
    """Wall law (k, 2) from an even thickness or from rows, mm."""
    rows = np.asarray(wall, dtype=np.float64)
    return np.array([[0.0, float(rows)]]) if rows.ndim == 0 else rows


def _check_size(diameter: float, height: float) -> None:
    for name, size in (("diameter", diameter), ("height", height)):
        if not 0.0 < size < float("inf"):
            raise FormError(f"form {name} {size} mm; give a length above 0")


def _widened(radii: Floats, heights: Floats, corners: NDArray[np.bool_], target: float, *, fixed: float) -> Floats:
    """Handles (n, 2) with radii stretched away from a fixed one until the curve's greatest radius is ``target``.

    A spline over chords does not scale with its handles when they are stretched one way only, so the stretch is
    found by secant steps on the curve itself.
    """

    def handles_at(stretch: float) -> Floats:
        return np.column_stack([fixed + (radii - fixed) * stretch, heights])

    def excess(stretch: float) -> float:
        return largest_radius(curve_through(handles_at(stretch), corners)) - target

    first = (target - fixed) / max(float(radii.max()) - fixed, DEFAULT.same_point)
    return handles_at(_secant(excess, first, first * 1.001, target))


def _secant(excess: Callable[[float], float], one: float, other: float, target: float) -> float:
    was, now = excess(one), excess(other)
    for _ in range(_ROUNDS):
        if abs(was) <= _SIZE_SLACK:
            return one
        if now == was:
            break
        one, other = other, other - now * (other - one) / (now - was)
        was, now = now, excess(other)
        if abs(now) <= _SIZE_SLACK:
            return other
    raise FormError(f"the curve cannot be brought to a radius of {target:.3f} mm; move its handles first")


def move_handle(form: Form, index: int, *, to: ArrayLike) -> Form:
    """Form with one handle at another place (2,), mm; the foot's keeps its height 0, the rim's sets the height."""
    _check_index(form, index)
    handles = form.handles.copy()
    handles[index] = np.asarray(to, dtype=np.float64)
    if index == 0:
        handles[0, 1] = 0.0
    return _reshaped(form, handles, form.corners)


def add_handle(form: Form, *, near: ArrayLike) -> Form:
    """Form with one handle more, on its curve where that is nearest to a place (2,), mm; the shape barely changes.

    Raises
    ------
    FormError
        If that place of the curve is, or nearly is, a handle already.
    """
    curve = curve_through(form.handles, form.corners)
    place = nearest_parameter(curve, near)
    gaps = np.hypot(*(form.handles - points_on(curve, place)).T)
    if gaps.min() < _HANDLE_GAP:
        r, z = form.handles[int(gaps.argmin())]
        raise FormError(f"there is a handle at [{r:.1f}, {z:.1f}] already; point between two", radius=r, height=z)
    after = int(np.ceil(place))
    handles = np.insert(form.handles, after, points_on(curve, place), axis=0)
    return _reshaped(form, handles, np.insert(form.corners, after, False))


def remove_handle(form: Form, index: int) -> Form:
    """Form without one handle between foot and rim.

    Raises
    ------
    FormError
        If it is the foot's or the rim's handle.
    """
    _check_inner_index(form, index)
    return _reshaped(form, np.delete(form.handles, index, axis=0), np.delete(form.corners, index))


def set_corner(form: Form, index: int, *, corner: bool) -> Form:
    """Form with a corner, or none, at one handle between foot and rim.

    Raises
    ------
    FormError
        If it is the foot's or the rim's handle: they are always corners.
    """
    _check_inner_index(form, index)
    corners = form.corners.copy()
    corners[index] = corner
    return _reshaped(form, form.handles, corners)


def scale_to(form: Form, *, diameter: float, height: float) -> Form:
    """Form stretched to a diameter and a height, mm; wall and floor stay, the lowest rim goes with the height.

    Raises
    ------
    FormError
        If a size is not above 0 or the floor does not fit below the height.
    """
    return _scaled(form, diameter, height, fixed=0.0)


def hold_foot(form: Form, *, diameter: float, height: float) -> Form:
    """As ``scale_to``, but the foot keeps its diameter.

    Raises
    ------
    FormError
        If the diameter is not greater than the foot's.
    """
    if not diameter > 2.0 * form.foot_radius:
        raise FormError(
            f"diameter {diameter} mm is not greater than the foot's {2.0 * form.foot_radius:.1f} mm; let the foot "
            "scale too",
            radius=form.foot_radius,
            height=0.0,
        )
    return _scaled(form, diameter, height, fixed=form.foot_radius)


def change_wall(form: Form, wall: ArrayLike) -> Form:
    """Form with another wall: an even thickness, or rows (k, 2) of fraction and thickness, mm."""
    return replace(form, wall=wall_rows(wall))


def change_floor(form: Form, floor: float) -> Form:
    """Form with another thickness of floor, mm."""
    return replace(form, floor=floor)


def _scaled(form: Form, diameter: float, height: float, *, fixed: float) -> Form:
    _check_size(diameter, height)
    heights = form.handles[:, 1] * (height / form.height)
    heights[-1] = height
    handles = _widened(form.handles[:, 0], heights, form.corners, diameter / 2.0, fixed=fixed)
    return replace(form, handles=handles, lowest_rim=min(height, form.lowest_rim * height / form.height))


def _reshaped(form: Form, handles: Floats, corners: NDArray[np.bool_]) -> Form:
    """Form with other handles; a rim that stood at the full height stays at the full height."""
    height = float(handles[-1, 1])
    lowest = height if form.lowest_rim >= form.height else min(form.lowest_rim, height)
    return replace(form, handles=handles, corners=corners, lowest_rim=lowest)


def _check_index(form: Form, index: int) -> None:
    if not 0 <= index < len(form.handles):
        raise FormError(f"handle {index}; this form has handles 0 to {len(form.handles) - 1}")


def _check_inner_index(form: Form, index: int) -> None:
    _check_index(form, index)
    if index in (0, len(form.handles) - 1):
        raise FormError(f"handle {index} is the {'foot' if index == 0 else 'rim'}'s; it stays, and stays a corner")
