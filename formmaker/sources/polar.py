"""Radii by angle and station become a closed solid that passes through every reading.

Round each station a periodic cubic spline, along the stations a monotone cubic; flat sawn ends at the first and the
last station. Frame: z along the axis from the lowest station, angle 0 along x, counter-clockwise seen from the
highest.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator

from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh
from formmaker.model.blank import FaceKind
from formmaker.sources.shapes import SawnPlane, Skin, planar_patches
from formmaker.units import Units, format_fine, format_length

Floats = NDArray[np.float64]

LEAST_UNCERTAINTY = 0.5
"""mm. A rule or a caliper against bark at a running index is no better than this; common practice, no source."""

SPREADS = 2.0
"""Standard deviations in an uncertainty: 95 % of readings with ordinary noise."""

UNTESTED = 2.0
"""mm. Stations with under five readings cannot test themselves: no better than a described shape."""

SEGMENTS = 360
"""Segments of a turn between the readings' own angles: chords leave a circle of radius 100 by 0.004 mm."""

ALONG = 8.0
"""Longest step of the mesh along the axis, mm: a monotone cubic bends little over it."""

GAP = 1.5
"""An angle between neighbouring readings is a gap when it is this many times the usual one of the table."""

MOST_GAP = math.pi
"""Widest gap that is closed: beyond half a turn nothing says where the axis lies in the wood."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PolarReadings:
    """Radii at stations.

    Parameters
    ----------
    stations : (k,) float
        Rising heights along the axis, the first 0, mm.
    angles : tuple of (n_i,) float
        Rising angles of each station's readings in [0, 2 pi), radians; three or more.
    radii : tuple of (n_i,) float
        mm, above 0.
    """

    stations: Floats
    angles: tuple[Floats, ...]
    radii: tuple[Floats, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PolarSolid:
    """A closed skin with its faces sorted, how far it may be off (mm), and what was filled in."""

    skin: Skin
    uncertainty: float
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Gap:
    """A stretch of a station without readings: from one angle over a width, radians."""

    station: float
    start: float
    width: float


def polar_solid(readings: PolarReadings, *, name: str, units: Units = Units.MM) -> PolarSolid:
    """Close readings to a solid.

    Parameters
    ----------
    readings : PolarReadings
    name : str
        The table, for messages.
    units : Units
        For the sentences.

    Returns
    -------
    PolarSolid
        ``uncertainty`` is the largest of 0.5 mm and two standard deviations of the readings' noise and of the curve
        over each gap, measured by leaving readings out: see Notes.

    Raises
    ------
    BlankError
        If a gap is wider than half a turn, or the curve through the readings reaches the axis.

    Notes
    -----
    Noise: each reading is left out and foretold by the cubic through two neighbours on either side; the difference,
    divided by the root of one plus the squared weights, has the spread of one reading where noise rules, and is too
    large, never too small, where the wood itself turns quickly. A gap: readings elsewhere are left out over the same
    width and foretold by the spline through the rest, less the noise of the readings themselves. Against a mesh of
    the same log two standard deviations hold at 95 % of the skin (butt_log, exact and raw table).
    """
    gaps = _gaps(readings)
    for gap in gaps:
        if gap.width > MOST_GAP + 1e-9:
            raise BlankError(
                f"{name}: station {format_length(gap.station, units)} has no reading over "
                f"{math.degrees(gap.width):.0f} degrees, allowed are {math.degrees(MOST_GAP):.0f}; read more "
                "positions there"
            )
    noise = _noise(readings)
    over_gaps = [SPREADS * _gap_error(readings, gap, noise or 0.0) for gap in gaps]
    notes = tuple(_say_gap(gap, error, units) for gap, error in zip(gaps, over_gaps, strict=True))
    notes += (_say_noise(noise, units),)
    from_noise = UNTESTED if noise is None else SPREADS * noise
    return PolarSolid(
        skin=_skin(readings, name, units),
        uncertainty=max(LEAST_UNCERTAINTY, from_noise, *over_gaps),
        notes=notes,
    )


def section_at(angles: Floats, radii: Floats) -> CubicSpline:
    """Periodic cubic through the readings of one station: radius (mm) by angle (radians)."""
    turn = np.append(angles, angles[0] + 2.0 * math.pi)
    return CubicSpline(turn, np.append(radii, radii[0]), bc_type="periodic")


def _skin(readings: PolarReadings, name: str, units: Units) -> Skin:
    turn = _all_angles(readings)
    heights = _all_heights(readings.stations)
    rows = np.array([section_at(a, r)(turn) for a, r in zip(readings.angles, readings.radii, strict=True)])
    radii = PchipInterpolator(readings.stations, rows, axis=0)(heights)
    if not radii.min() > 0.0:
        row, column = np.unravel_index(radii.argmin(), radii.shape)
        raise BlankError(
            f"{name}: the curve through the readings reaches the axis near {math.degrees(turn[column]) % 360.0:.0f} "
            f"degrees at station {format_length(float(heights[row]), units)}, where its radius would be "
            f"{format_length(float(radii.min()), units)}; read more positions there"
        )
    mesh = _tube(turn, heights, radii)
    ends = (SawnPlane(normal=(0.0, 0.0, -1.0), offset=0.0), SawnPlane(normal=(0.0, 0.0, 1.0), offset=heights[-1]))
    patches = planar_patches(mesh, ends)
    kinds = np.where(patches >= 0, FaceKind.SAWN, FaceKind.NATURAL).astype(np.uint8)
    return Skin(mesh=mesh, kinds=kinds, patches=patches)


def _all_angles(readings: PolarReadings) -> Floats:
    """Even angles with every angle that was read among them, so that the mesh has a corner at every reading."""
    read = np.unique(np.round(np.concatenate(readings.angles), 9))
    even = np.arange(SEGMENTS) * (2.0 * math.pi / SEGMENTS)
    off = np.abs((even[:, None] - read + math.pi) % (2.0 * math.pi) - math.pi).min(axis=1)
    exact = np.concatenate(readings.angles)
    _, first = np.unique(np.round(exact, 9), return_index=True)
    return np.sort(np.concatenate([even[off > math.pi / SEGMENTS / 2.0], exact[first]]))


def _all_heights(stations: Floats) -> Floats:
    """Stations with steps of at most ``ALONG`` between them."""
    pieces = [np.linspace(low, high, math.ceil((high - low) / ALONG) + 1)[:-1] for low, high in pairwise(stations)]
    return np.append(np.concatenate(pieces), stations[-1])


def _tube(turn: Floats, heights: Floats, radii: Floats) -> Mesh:
    """Closed mesh over a lattice of radii (heights, turn), flat ends fanned from the axis."""
    count = len(turn)
    x, y = radii * np.cos(turn), radii * np.sin(turn)
    side = np.stack([x, y, np.broadcast_to(heights[:, None], x.shape)], axis=-1).reshape(-1, 3)
    points = np.concatenate([side, [[0.0, 0.0, 0.0], [0.0, 0.0, heights[-1]]]])
    step = np.arange(count)
    after = (step + 1) % count
    a = (np.arange(len(heights) - 1)[:, None] * count + step).ravel()
    b = (np.arange(len(heights) - 1)[:, None] * count + after).ravel()
    top = len(side) - count
    faces = [
        np.column_stack([a, b, b + count]),
        np.column_stack([a, b + count, a + count]),
        np.column_stack([np.full(count, len(side)), after, step]),
        np.column_stack([np.full(count, len(side) + 1), top + step, top + after]),
    ]
    return Mesh(vertices=points, faces=np.concatenate(faces).astype(np.int32))


def _spacings(angles: Floats) -> Floats:
    """Angle from every reading to the next, the last one to the first."""
    return np.diff(np.append(angles, angles[0] + 2.0 * math.pi))


def _usual_spacing(readings: PolarReadings) -> float:
    return float(np.median(np.concatenate([_spacings(angles) for angles in readings.angles])))


def _gaps(readings: PolarReadings) -> list[_Gap]:
    usual = _usual_spacing(readings)
    return [
        _Gap(station=float(station), start=float(angles[i]), width=float(width))
        for station, angles in zip(readings.stations, readings.angles, strict=True)
        for i, width in enumerate(_spacings(angles))
        if width > GAP * usual or width > MOST_GAP + 1e-9
    ]


def _say_gap(gap: _Gap, error: float, units: Units) -> str:
    return (
        f"A gap of {math.degrees(gap.width):.0f} degrees in the readings, at station "
        f"{format_length(gap.station, units)} from {math.degrees(gap.start):.0f} degrees on, is bridged by the "
        f"curve, which may be off by about {format_length(error, units)} there."
    )


def _say_noise(noise: float | None, units: Units) -> str:
    if noise is None:
        taken = format_length(UNTESTED, units)
        return f"No station has five readings to test each other: {taken} is taken as their uncertainty."
    return f"The readings foretell each other within {format_fine(noise, units)} (one standard deviation)."


def _noise(readings: PolarReadings) -> float | None:
    """Spread of one reading, mm; None where no station has the five readings that the test needs."""
    errors = [_left_out(angles, radii) for angles, radii in zip(readings.angles, readings.radii, strict=True)]
    every = np.concatenate(errors)
    return float(np.sqrt(np.mean(every**2))) if len(every) else None


def _left_out(angles: Floats, radii: Floats) -> Floats:
    """Differences of readings to the cubic through two neighbours on either side, scaled to one reading's spread."""
    count = len(angles)
    if count < 5:
        return np.empty(0)
    around = (np.arange(count)[:, None] + np.array([-2, -1, 1, 2])) % count
    away = (angles[around] - angles[:, None] + math.pi) % (2.0 * math.pi) - math.pi
    weights = np.ones_like(away)
    for j in range(4):
        for k in range(4):
            if j != k:
                weights[:, j] *= away[:, k] / (away[:, k] - away[:, j])
    foretold = (weights * radii[around]).sum(axis=1)
    return np.asarray((radii - foretold) / np.sqrt(1.0 + (weights**2).sum(axis=1)))


def _gap_error(readings: PolarReadings, gap: _Gap, noise: float) -> float:
    """How far the curve over a gap is off, one standard deviation, mm.

    Readings are foretold with all within half the gap's width left out; what is missed beyond their own noise is the
    curve's. Where no station can spare so many, half the spread of its own radii: nothing better is known.
    """
    width, misses = gap.width, []
    for angles, radii in zip(readings.angles, readings.radii, strict=True):
        apart = np.abs((angles[:, None] - angles + math.pi) % (2.0 * math.pi) - math.pi)
        for i in range(len(angles)):
            kept = apart[i] >= width / 2.0 - 1e-9
            if kept.sum() >= 3 and _spacings(angles[kept]).max() <= max(width, math.pi) + 1e-9:
                misses.append(float(section_at(angles[kept], radii[kept])(angles[i])) - radii[i])
    if not misses:
        return float(np.ptp(readings.radii[int(np.searchsorted(readings.stations, gap.station))])) / 2.0
    return math.sqrt(max(0.0, float(np.mean(np.square(misses))) - noise**2))
