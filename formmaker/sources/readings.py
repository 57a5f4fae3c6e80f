"""Tables of radii taken at the lathe: read from CSV, checked row by row, handed on to become a solid.

Columns ``index_deg`` (degrees) or ``index`` (positions of a known number), ``station``, ``radius``; lines that start
with # are remarks; a row without a radius is a gap.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from formmaker.errors import BlankError, Fault, JobFileError
from formmaker.sources.limits import require_file
from formmaker.sources.polar import PolarReadings, PolarSolid, polar_solid
from formmaker.sources.tables import SAME_PLACE_DEG, RowError, cell_length, cell_number, csv_lines, head_of
from formmaker.units import Units

LEAST_ANGLES = 3
"""Readings that a station needs: through two no closed section can be drawn."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """One reading: line of the file, angle in degrees, station and radius in mm (None for a gap)."""

    line: int
    angle_deg: float
    station: float
    radius: float | None


def read_readings(path: Path, units: Units = Units.MM, *, index_count: int = 0) -> PolarSolid:
    """Read a table of radii and close it to a solid.

    Parameters
    ----------
    path : Path
        CSV with a head line.
    units : Units
        Of plain numbers; a text such as ``3 1/4 in`` says its own.
    index_count : int
        Positions in a turn, for a column ``index``; not used with ``index_deg``.

    Returns
    -------
    PolarSolid
        Closed skin with z along the axis, angle 0 along x, counter-clockwise seen from the highest station.

    Raises
    ------
    JobFileError
        With every faulty row: a text for a number, a radius not above 0, a place read twice, a station with under
        three readings.
    BlankError
        If the file is missing or no such table at all, or its gaps are too wide to be closed.
    """
    require_file(path)
    rows = _checked_rows(path, units, index_count)
    readings = [row for row in rows if row.radius is not None]
    stations = sorted({row.station for row in rows})
    lowest = stations[0]
    return polar_solid(
        PolarReadings(
            stations=np.array(stations) - lowest,
            angles=tuple(_column(readings, station, "angle") for station in stations),
            radii=tuple(_column(readings, station, "radius") for station in stations),
        ),
        name=str(path),
        units=units,
    )


def _column(readings: list[_Row], station: float, what: str) -> np.ndarray:
    """Angles (radians) or radii (mm) of a station, by rising angle."""
    at_station = sorted((row for row in readings if row.station == station), key=lambda row: row.angle_deg)
    if what == "angle":
        return np.radians([row.angle_deg for row in at_station])
    return np.array([row.radius for row in at_station])


def _checked_rows(path: Path, units: Units, index_count: int) -> list[_Row]:
    """All rows, or all faults."""
    lines = csv_lines(path)
    if len(lines) < 2:
        raise BlankError(f"{path} holds no readings; write a head line index_deg,station,radius and a row for each")
    head = head_of(lines[0])
    by_index = _require_columns(path, head, index_count)
    rows, faults = list[_Row](), list[Fault]()
    for line, cells in lines[1:]:
        try:
            rows.append(_row(line, dict(zip(head, cells, strict=False)), units, index_count if by_index else 0))
        except RowError as error:
            faults += error.faults
    faults += _repeats(rows)
    faults += [] if faults else _thin_stations(rows)
    if faults:
        raise JobFileError(str(path), tuple(faults))
    return rows


def _require_columns(path: Path, head: list[str], index_count: int) -> bool:
    """Check the head line; True where angles are index positions."""
    by_index = "index" in head and "index_deg" not in head
    missing = [name for name in ("index" if by_index else "index_deg", "station", "radius") if name not in head]
    if missing:
        raise BlankError(
            f"{path}: column {', '.join(missing)} is missing; the head line is {', '.join(head)!r}, "
            "expected index_deg (or index), station, radius"
        )
    if by_index and index_count < LEAST_ANGLES:
        raise BlankError(
            f"{path} counts index positions, but index_count is {index_count}; say how many make a turn, 3 or more"
        )
    return by_index


def _row(line: int, cells: dict[str, str], units: Units, index_count: int) -> _Row:
    """Read one row; an index count of 0 means degrees."""
    faults = list[Fault]()
    name = "index" if index_count else "index_deg"
    angle = cell_number(line, name, cells, faults) * (360.0 / index_count if index_count else 1.0)
    station = cell_length(line, "station", cells, units, faults)
    gap = not cells.get("radius", "").strip()
    radius = None if gap else cell_length(line, "radius", cells, units, faults)
    if radius is not None and radius <= 0.0:
        faults.append(Fault(key=f"line {line} radius", value=cells["radius"].strip(), expected="a length above 0"))
    if faults:
        raise RowError(faults)
    return _Row(line=line, angle_deg=angle % 360.0, station=station, radius=radius)


def _repeats(rows: list[_Row]) -> list[Fault]:
    """Places that are read twice."""
    seen: dict[tuple[float, int], int] = {}
    faults = []
    turn = round(360.0 / SAME_PLACE_DEG)
    for row in rows:
        place = (row.station, round(row.angle_deg / SAME_PLACE_DEG) % turn)
        if place in seen:
            value = f"{row.angle_deg:g} degrees at station {row.station:g} mm"
            expected = f"each place once, line {seen[place]} has it already"
            faults.append(Fault(key=f"line {row.line}", value=value, expected=expected))
        seen.setdefault(place, row.line)
    return faults


def _thin_stations(rows: list[_Row]) -> list[Fault]:
    """Stations with too few readings, or too few stations."""
    stations = sorted({row.station for row in rows})
    faults = []
    if len(stations) < 2:
        faults.append(Fault(key="station", value=f"{len(stations)} station", expected="two or more along the axis"))
    for station in stations:
        count = sum(row.station == station and row.radius is not None for row in rows)
        if count < LEAST_ANGLES:
            expected = f"{LEAST_ANGLES} or more round the turn"
            faults.append(Fault(key=f"station {station:g} mm", value=f"{count} reading(s)", expected=expected))
    return faults
