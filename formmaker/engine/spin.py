"""What is seen while the blank spins: core and ghost, wood and air on a ring, and over the whole outer curve."""

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.engine.rim import trace_rim
from formmaker.geometry.curve_measures import radius_at
from formmaker.geometry.curves import Curve
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.slices import (
    Rays,
    inside_slice,
    ray_crossings,
    reach_by_height,
    ring_crossings,
    slice_segments,
)
from formmaker.model.spin import AirShares, Ring, RingArc, SpinMap
from formmaker.model.verdict import Spin
from formmaker.tolerances import DEFAULT, Tolerances

_LEVELS = 31
_MAP_LEVELS, _MAP_TURNS = 121, 720
"""Heights and angles of the map of a whole turn: half a degree, and a millimetre or so on an ordinary bowl."""

_AIR_LEVELS, _AIR_RADII = 41, 41
_TURN = 2.0 * np.pi


def spin(field: Field, blank_from_form: Frame) -> Spin:
    """Radius of core and ghost by height over the whole blank.

    Parameters
    ----------
    field : Field
    blank_from_form : Frame

    Returns
    -------
    Spin
        31 even heights from the lowest to the highest wood, form frame; exact for the mesh. The core is the largest
        disc of wood about the axis, 0 where the axis itself is in air.
    """
    reach = reach_by_height(field.blank.mesh, blank_from_form, _LEVELS)
    return Spin(height=reach.height, core=reach.core, ghost=reach.radius)


def ring_at(
    mesh: Mesh, blank_from_form: Frame, radius: float, height: float, *, tolerances: Tolerances = DEFAULT
) -> Ring:
    """Wood and air on one ring.

    Parameters
    ----------
    mesh : Mesh
        Skin of the blank.
    blank_from_form : Frame
    radius, height : float
        Form frame, mm; radius above 0.
    tolerances : Tolerances
        An arc shorter than ``skin_step`` belongs to its neighbours.

    Returns
    -------
    Ring
        Exact on the triangles. A ring in the very plane of a level face is taken just below it.
    """
    segments = slice_segments(mesh, blank_from_form, height)
    crossings = ring_crossings(segments, radius)
    crossings = crossings[np.diff(crossings, append=_TURN + crossings[:1]) > tolerances.skin_step / radius]
    if len(crossings) == 0:
        is_wood = bool(inside_slice(segments, np.array([[radius, 0.0]]))[0])
        arcs: tuple[RingArc, ...] = (RingArc(start=0.0, end=_TURN, is_wood=is_wood),)
    else:
        arcs = _joined(_between(segments, radius, crossings))
    return _ring(radius, height, arcs)


def _between(segments: NDArray[np.float64], radius: float, crossings: NDArray[np.float64]) -> tuple[RingArc, ...]:
    ends = np.append(crossings[1:], crossings[0] + _TURN)
    middles = 0.5 * (crossings + ends)
    wood = inside_slice(segments, radius * np.column_stack([np.cos(middles), np.sin(middles)]))
    return tuple(
        RingArc(start=float(start), end=float(end), is_wood=bool(is_wood))
        for start, end, is_wood in zip(crossings, ends, wood, strict=True)
    )


def _joined(arcs: tuple[RingArc, ...]) -> tuple[RingArc, ...]:
    """Neighbours of one kind made one arc, the last and the first too."""
    heads = [number for number, arc in enumerate(arcs) if arc.is_wood != arcs[number - 1].is_wood]
    if not heads:
        return (RingArc(start=0.0, end=_TURN, is_wood=arcs[0].is_wood),)
    ends = [*heads[1:], heads[0]]
    starts = [(arcs[head].start, arcs[end].start) for head, end in zip(heads, ends, strict=True)]
    return tuple(
        RingArc(start=start, end=end if end > start else end + _TURN, is_wood=arcs[head].is_wood)
        for head, (start, end) in zip(heads, starts, strict=True)
    )


def _ring(radius: float, height: float, arcs: tuple[RingArc, ...]) -> Ring:
    gaps = [arc for arc in arcs if not arc.is_wood]
    air = sum(arc.end - arc.start for arc in gaps) / _TURN
    first = last = None
    if gaps and len(arcs) > 1:
        widest = max(gaps, key=lambda arc: arc.end - arc.start)
        first, last = widest.end % _TURN, widest.start
    return Ring(radius=radius, height=height, arcs=arcs, share_of_air=air, first_contact=first, last_contact=last)


def spin_map(field: Field, outer: Curve, blank_from_form: Frame, *, tolerances: Tolerances = DEFAULT) -> SpinMap:
    """The whole turn: core and ghost, air by radius and height, and the wood outside or missing inside the curve.

    Parameters
    ----------
    field : Field
    outer : Curve
        Outer curve of the form, form frame.
    blank_from_form : Frame
    tolerances : Tolerances

    Returns
    -------
    SpinMap
        Exact on the triangles at every angle and height of the map; measured square to the axis.
    """
    mesh, seen = field.blank.mesh, spin(field, blank_from_form)
    low, high = float(outer.start[1]), float(outer.end[1])
    height = np.linspace(low + tolerances.same_point, high - tolerances.same_point, _MAP_LEVELS)
    outside = np.array([radius_at(outer, float(level)) for level in height])
    rays = ray_crossings(mesh, blank_from_form, height, _MAP_TURNS)
    return SpinMap(
        spin=seen,
        half_air=_half_air(mesh, blank_from_form, seen, tolerances),
        air=_air_shares(mesh, blank_from_form, seen),
        theta=_TURN * np.arange(_MAP_TURNS) / _MAP_TURNS,
        height=height,
        outside=outside,
        depth=_depths(rays, np.repeat(outside, _MAP_TURNS)).reshape(_MAP_LEVELS, _MAP_TURNS),
        rim=trace_rim(field, outer, blank_from_form, tolerances=tolerances),
    )


def _half_air(mesh: Mesh, frame: Frame, seen: Spin, tolerances: Tolerances) -> NDArray[np.float64]:
    """Going in from outside, the radius at which the rays in wood become half of all."""
    inside = np.clip(seen.height, seen.height[0] + tolerances.same_point, seen.height[-1] - tolerances.same_point)
    rays = ray_crossings(mesh, frame, inside, _MAP_TURNS)
    # the outermost crossing of a ray goes into wood, the next out of it, and so on
    place = np.repeat(rays.starts[1:], np.diff(rays.starts)) - 1 - np.arange(len(rays.radii))
    step = np.where(place % 2 == 0, 1, -1)
    found = np.zeros(len(inside))
    for level in range(len(inside)):
        part = slice(rays.starts[level * _MAP_TURNS], rays.starts[(level + 1) * _MAP_TURNS])
        inward = np.argsort(-rays.radii[part], kind="stable")
        half = np.flatnonzero(np.cumsum(step[part][inward]) >= 0.5 * _MAP_TURNS)
        found[level] = rays.radii[part][inward][half[0]] if len(half) else 0.0
    return found


def _air_shares(mesh: Mesh, frame: Frame, seen: Spin) -> AirShares:
    step = 0.5 / _AIR_LEVELS  # middles of even bands: at the ends themselves there is no slice
    height = seen.height[0] + (seen.height[-1] - seen.height[0]) * np.linspace(step, 1.0 - step, _AIR_LEVELS)
    radius = float(seen.ghost.max()) * np.arange(1, _AIR_RADII + 1) / _AIR_RADII
    rays = ray_crossings(mesh, frame, height, _MAP_TURNS)
    ray = np.repeat(np.arange(_AIR_LEVELS * _MAP_TURNS), np.diff(rays.starts))
    share = np.empty((_AIR_LEVELS, _AIR_RADII))
    for column, size in enumerate(radius):
        beyond = np.bincount(ray[rays.radii > size], minlength=_AIR_LEVELS * _MAP_TURNS)
        share[:, column] = (beyond % 2 == 0).reshape(_AIR_LEVELS, _MAP_TURNS).mean(axis=1)
    return AirShares(radius=radius, height=height, share=share)


def _depths(rays: Rays, outside: NDArray[np.float64]) -> NDArray[np.float64]:
    """Wood outside (above 0) or missing inside (below 0) of a radius on each ray."""
    depths = np.empty(len(outside))
    for ray, limit in enumerate(outside):
        radii = rays.radii[rays.starts[ray] : rays.starts[ray + 1]]
        within = int(np.searchsorted(radii, limit, side="right"))
        if (len(radii) - within) % 2 == 1:
            depths[ray] = radii[-1] - limit
        else:
            depths[ray] = (radii[within - 1] if within else 0.0) - limit
    return depths
