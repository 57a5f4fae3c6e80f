"""Centring without a scan: from gaps or radii read at the lathe to a shift of each centre mark.

A gap is large where the wood is near the axis; the middle of the wood lies on the other side, toward the small gap.
The axis has to come to that middle, so each centre mark goes **on the wood** toward the small gap, the large radius.
Heights are for ``levelling``.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.reading_remarks import bias_of_circle, bias_of_gaps, require_spread, spread_remarks
from formmaker.errors import BlankError
from formmaker.geometry.off_centre import directions, fit_off_centre
from formmaker.geometry.slopes import Slope, fit_slope, scatter
from formmaker.model.ends import End
from formmaker.model.recentring import Reading, ReadingKind, Recentring, Shift
from formmaker.tolerances import DEFAULT
from formmaker.units import Units, format_length

_SAME_LINE = 1.0 - 1e-9  # cosine: lines within a few hundredths of a degree
_STRETCHED = 2.5  # times an error at the stations: with one in the middle of each half it is 1.6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Station:
    """One station: where it is, where the middle of the wood lies there, and what that leaves over."""

    place: float | None
    angles: NDArray[np.float64]
    centre: NDArray[np.float64]
    residual: NDArray[np.float64]
    slope: Slope
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What is known of the mounting: distance between the centre marks, mm, and the end that stays, if one does."""

    length: float | None = None
    end: End | None = None


def centre(readings: Sequence[Reading], kind: ReadingKind, held: Held, units: Units) -> Recentring:
    """Find how far and which way each centre mark has to go.

    Parameters
    ----------
    readings : sequence of Reading
        At one station or several; at each, two opposite ones or more.
    kind : ReadingKind
        Gaps or radii.
    held : Held
        At one station, with no end held, both centres move alike and no length is asked.
    units : Units
        For the sentences.

    Returns
    -------
    Recentring
        By least squares on the first harmonic at each station, and a straight axis through the stations.

    Raises
    ------
    BlankError
        If the readings cannot tell it: all on one side, no length where one is needed, a station beyond the centres.

    Notes
    -----
    Exact for circles square to the old axis. A tilt t makes the section an ellipse, which costs a share of tan^2 t of
    the shift: 0.3 in a thousand at one degree.
    """
    stations = [_seen(place, group, kind, units) for place, group in _by_station(readings)]
    _require_common_line(stations)
    weights = _weights(stations, held, units)
    ends = [end for end in End if end is not held.end]
    middles = np.array([station.centre for station in stations])
    solve = np.asarray(np.linalg.pinv(weights), dtype=np.float64)
    moves = solve @ middles
    left = np.concatenate(
        [
            s.residual + directions(s.angles) @ rest
            for s, rest in zip(stations, middles - weights @ moves, strict=True)
        ]
    )
    by_end = np.vstack([moves, moves]) if weights.shape[1] == 1 and held.end is None else moves
    shifts = tuple(shift_of(end, move) for end, move in zip(ends, by_end, strict=True))
    found = Recentring(
        shifts=shifts,
        held=held.end,
        tilt=_tilt(dict(zip(ends, by_end, strict=True)), held),
        high_toward=math.nan,
        residual=float(np.abs(left).max()),
        known_to=_known_to(stations, solve),
    )
    return replace(found, warnings=tuple(_warnings(stations, solve, found, units)))


def shift_of(end: End, move: NDArray[np.float64]) -> Shift:
    """A move (2,) of a centre mark as distance and direction."""
    distance = float(np.hypot(*move))
    stays = not distance > DEFAULT.same_point
    return Shift(end=end, distance=0.0 if stays else distance, toward=_direction(move, stays))


def _direction(move: NDArray[np.float64], stays: bool) -> float:
    return math.nan if stays else math.atan2(move[1], move[0]) % (2.0 * math.pi)


def _by_station(readings: Sequence[Reading]) -> Iterator[tuple[float | None, list[Reading]]]:
    places = {reading.station for reading in readings}
    if None in places and len(places) > 1:
        raise BlankError("some readings say their station and some do not; say it for all of them, or for none")
    key = lambda reading: reading.station or 0.0  # noqa: E731  # said twice on one line it would be no clearer
    for _, group in itertools.groupby(sorted(readings, key=key), key=key):
        rows = list(group)
        yield rows[0].station, rows


def _seen(place: float | None, readings: list[Reading], kind: ReadingKind, units: Units) -> _Station:
    """Where the middle of the wood lies at one station."""
    angles = np.array([reading.angle for reading in readings])
    require_spread(angles, _named(place, units))
    radii = _radii(readings, kind)
    sizes = np.array([reading.size for reading in readings])
    outward = radii if radii is not None else (sizes if kind is ReadingKind.RADIUS else -sizes)
    slope = fit_slope(directions(angles), outward)
    middle, residual, bias = slope.slope, slope.residual, bias_of_gaps(angles, slope, units)
    if radii is not None and slope.line is None:
        try:
            circle = fit_off_centre(angles, radii)
        except ValueError as error:
            raise BlankError(f"{_named(place, units)}: {error}; look for a slip in them") from error
        middle, residual = circle.centre, circle.residual
        bias = bias_of_circle(len(readings), slope.slope, middle, units)
    remarks = (*spread_remarks(angles, slope, rim=False), *bias)
    return _Station(place=place, angles=angles, centre=middle, residual=residual, slope=slope, remarks=remarks)


def _radii(readings: list[Reading], kind: ReadingKind) -> NDArray[np.float64] | None:
    """Distances from the axis; None for gaps to a rest that nobody says the place of."""
    if kind is ReadingKind.RADIUS:
        return np.array([reading.size for reading in readings])
    rests = [reading.at_radius for reading in readings if reading.at_radius is not None]
    if not rests:
        return None
    if len(rests) < len(readings):
        raise BlankError(
            "some gaps say how far from the axis the rest stood and some do not; say it for all, or none"
        )
    return np.array([(reading.at_radius or 0.0) - reading.size for reading in readings])


def _named(place: float | None, units: Units) -> str:
    return "the readings" if place is None else f"the readings at station {format_length(place, units)}"


def _require_common_line(stations: list[_Station]) -> None:
    """Refuse stations of which some tell the middle along one line only, and others along another, or all of it."""
    lines = [station.slope.line for station in stations]
    known = [line for line in lines if line is not None]
    if known and (len(known) < len(lines) or any(abs(float(known[0] @ line)) < _SAME_LINE for line in known)):
        raise BlankError(
            "two opposite readings at one station and others at the next give no axis; take the same index positions "
            "at every station"
        )


def _weights(stations: list[_Station], held: Held, units: Units) -> NDArray[np.float64]:
    """How much each end's move counts at each station, (stations, ends); one column where both ends move alike."""
    if len(stations) == 1 and held.end is None:
        return np.ones((1, 1))
    places, length = [station.place for station in stations], held.length
    if length is None:
        why = "readings at several stations need" if len(stations) > 1 else "one end held needs"
        raise BlankError(f"{why} the distance between the two centre marks; give --length")
    known = np.array([place for place in places if place is not None])
    if len(known) < len(stations):
        raise BlankError(
            "with one end held the place of the readings counts; say their station, from the foot's centre"
        )
    if not ((known >= 0.0) & (known <= length)).all():
        wrong = known[(known < 0.0) | (known > length)][0]
        raise BlankError(
            f"station {format_length(float(wrong), units)} is not between the centres; allowed are 0 (the foot's "
            f"centre mark) to {format_length(length, units)}: measure from the foot, or give another --length"
        )
    share = known / length
    columns = {End.FOOT: 1.0 - share, End.RIM: share}
    weights = np.column_stack([columns[end] for end in End if end is not held.end])
    if not np.linalg.norm(weights, axis=0).min() > DEFAULT.same_point:
        raise BlankError("the readings stand at the very centre that is held; take them nearer the other end")
    return weights


def _tilt(moves: dict[End, NDArray[np.float64]], held: Held) -> float:
    """Angle between the old axis and the new one."""
    still = np.zeros(2)
    across = np.hypot(*(moves.get(End.RIM, still) - moves.get(End.FOOT, still)))
    return math.atan2(float(across), held.length) if held.length is not None else 0.0


def _known_to(stations: list[_Station], solve: NDArray[np.float64]) -> float:
    """Two standard deviations of the worse end, from what is neither round nor oval at the stations."""
    left = [scatter(station.angles, station.residual) for station in stations]
    free = sum(one.free for one in left)
    if free < 1:
        return math.nan
    error = math.sqrt(sum(one.squares for one in left) / free)
    spread = np.array([float(np.linalg.norm(station.slope.weights, ord=2)) for station in stations])
    return 2.0 * error * float(np.linalg.norm(solve * spread, axis=1).max())


def _warnings(stations: list[_Station], solve: NDArray[np.float64], found: Recentring, units: Units) -> Iterator[str]:
    """What to know of the answer: station by station, then of the axis through them."""
    said = set[str]()
    for station in stations:
        where = f" (At station {format_length(station.place or 0.0, units)}.)" if len(stations) > 1 else ""
        alike = station.slope.line is not None  # the same at every station
        for remark in station.remarks:
            text = remark if alike else remark + where
            if text not in said:
                said.add(text)
                yield text
    stretch = float(np.linalg.norm(solve, axis=1).max())
    if stretch > _STRETCHED:
        yield (
            f"The stations say little about one end: an error at them counts {stretch:.1f} times there. Take "
            "readings nearer both ends."
        )
    if found.known_to > max(shift.distance for shift in found.shifts):
        yield (
            f"The shape of the wood alone could make a shift of {format_length(found.known_to, units)}, more than "
            "was found: these readings do not tell whether to move at all."
        )
