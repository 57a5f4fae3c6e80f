"""The few readings by which an axis is bettered at the lathe: from a CSV table, or from pairs on the command line.

Columns ``index_deg`` (degrees) or ``index`` (positions of a known number); one of ``gap``, ``radius``, ``height``;
and, where they are wanted, ``station`` and ``at_radius``. Whole blanks from readings are in ``readings``.
"""

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from formmaker.errors import BlankError, Fault, JobFileError
from formmaker.model.recentring import Reading, ReadingKind
from formmaker.sources.tables import (
    SAME_PLACE_DEG,
    Line,
    RowError,
    cell_length,
    cell_number,
    csv_lines,
    head_of,
    length_of,
    short,
)
from formmaker.units import Units, format_length

LARGEST = 10_000.0
"""mm; ten metres, beyond any lathe."""

MOST_READINGS = 2_000
"""Two at every half degree and more: a longer table is some other file."""

_DEGREES = (-360.0, 720.0)  # a turn back or on is fair, more is a slip
_MORE_FAULTS = 20  # of a long file of another kind the first faults say enough
_PAIR = re.compile(r"(?P<angle>[^:@]+):(?P<size>[^:@]+)(?:@(?P<station>[^:@]+))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRules:
    """How figures are to be read.

    Parameters
    ----------
    kinds : tuple of ReadingKind
        What may be read; of pairs, the first is meant.
    units : Units
        Of plain numbers.
    index_count : int
        Positions in a turn; 0 where angles are degrees.
    at_radius : float or None
        mm, for readings that do not say it themselves.
    """

    kinds: tuple[ReadingKind, ...]
    units: Units
    index_count: int = 0
    at_radius: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FewReadings:
    """Readings and what they are."""

    kind: ReadingKind
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A reading, where it was found (``line 3``) and its angle in degrees."""

    where: str
    angle_deg: float
    reading: Reading


def read_few(path: Path, rules: ReadingRules) -> FewReadings:
    """Read a table.

    Parameters
    ----------
    path : Path
        CSV with a head line.
    rules : ReadingRules

    Returns
    -------
    FewReadings

    Raises
    ------
    BlankError
        If the file is missing, empty or no such table.
    JobFileError
        With every faulty row.
    """
    if not is_file(path):
        raise BlankError(
            f"{short(str(path))} is no file that is there; give a CSV table, or pairs such as 0:19 180:0"
        )
    lines = csv_lines(path)
    if len(lines) < 2:
        raise BlankError(f"{path} holds no readings; write a head line index_deg,{rules.kinds[0]} and a row for each")
    if len(lines) - 1 > MOST_READINGS:
        raise BlankError(f"{path} holds {len(lines) - 1} readings; at most {MOST_READINGS} are taken: thin them out")
    head = head_of(lines[0])
    kind = _require_head(path, head, rules)
    return FewReadings(
        kind=kind, readings=_all_rows(str(path), lines[1:], lambda line: _row(line, head, kind, rules), rules)
    )


def is_file(path: Path) -> bool:
    """Whether there is such a file; a text that no file can be named by is none."""
    try:
        return path.is_file()
    except (OSError, ValueError):  # a name too long, a zero byte in it
        return False


def pairs_of(texts: Sequence[str], rules: ReadingRules) -> FewReadings:
    """Read pairs ANGLE:SIZE or ANGLE:SIZE@STATION, such as ``0:19``, ``180:3/8in`` or ``90:12@40``.

    Raises
    ------
    JobFileError
        With every faulty pair.
    """
    kind = rules.kinds[0]
    lines = [(number, [text]) for number, text in enumerate(texts, start=1)]
    readings = _all_rows("readings", lines, lambda line: _pair(line[1][0], kind, rules), rules)
    return FewReadings(kind=kind, readings=readings)


def _require_head(path: Path, head: list[str], rules: ReadingRules) -> ReadingKind:
    """Check the head line; what it says was read."""
    angle, kinds = ("index" if rules.index_count else "index_deg"), [kind for kind in ReadingKind if kind in head]
    wanted = " or ".join(rules.kinds)
    if "index" in head and not rules.index_count:
        raise BlankError(
            f"{path} counts index positions; say how many make a turn with --index-count, or use index_deg"
        )
    if angle not in head and "index_deg" in head:
        raise BlankError(
            f"{path} has index_deg, which is in degrees; leave out --index-count, or name the column index"
        )
    if angle not in head:
        raise BlankError(f"{path}: column {angle} is missing; the head line is {short(', '.join(head))!r}")
    if len(kinds) != 1 or kinds[0] not in rules.kinds:
        found = " and ".join(kinds) or "none"
        raise BlankError(f"{path}: found column {found} of gap, radius, height; expected exactly one, {wanted}")
    known = {angle, kinds[0], "station", "at_radius"}
    unknown = [name for name in head if name not in known]
    if unknown or len(set(head)) < len(head):
        wrong = f"unknown column {short(unknown[0])}" if unknown else "a column named twice"
        raise BlankError(f"{path}: {wrong}; allowed are {', '.join(sorted(known))}, each once")
    return kinds[0]


def _all_rows(
    name: str, lines: Iterable[Line], read: Callable[[Line], _Row], rules: ReadingRules
) -> tuple[Reading, ...]:
    """All readings, or all faults."""
    rows, faults = list[_Row](), list[Fault]()
    for line in lines:
        try:
            rows.append(read(line))
        except RowError as error:
            faults += error.faults
    faults += _repeats(rows, rules.units)
    if faults:
        more = len(faults) - _MORE_FAULTS
        last = [Fault(key="and so on", value=f"{more} more", expected="the same as above")] if more > 0 else []
        raise JobFileError(name, (*faults[:_MORE_FAULTS], *last))
    return tuple(row.reading for row in rows)


def _row(line: Line, head: list[str], kind: ReadingKind, rules: ReadingRules) -> _Row:
    number, texts = line
    if any(text.strip() for text in texts[len(head) :]):
        expected = f"{len(head)} cells; for a decimal comma put ; between the cells and a point in the numbers"
        raise RowError([Fault(key=f"line {number}", value=f"{len(texts)} cells", expected=expected)])
    cells, faults = dict(zip(head, texts, strict=False)), list[Fault]()
    angle = cell_number(number, "index" if rules.index_count else "index_deg", cells, faults)
    lengths = {
        name: cell_length(number, name, cells, rules.units, faults) for name in head if not name.startswith("index")
    }
    if faults:
        raise RowError(faults)
    return _checked(f"line {number}", angle, {**lengths, "size": lengths[kind]}, kind, rules)


def _pair(text: str, kind: ReadingKind, rules: ReadingRules) -> _Row:
    match = _PAIR.fullmatch(text)
    try:
        if match is None:
            raise ValueError(text)  # noqa: TRY301  # one way out for every slip in a pair
        angle = float(match["angle"])
        lengths = {
            name: length_of(part.strip(), rules.units)
            for name, part in match.groupdict().items()
            if name != "angle" and part
        }
    except ValueError as error:
        expected = "ANGLE:SIZE or ANGLE:SIZE@STATION, such as 0:19, 180:3/8in or 90:12@40"
        raise RowError([Fault(key="reading", value=short(text), expected=expected)]) from error
    return _checked(short(text), angle, lengths, kind, rules)


def _checked(where: str, angle: float, lengths: dict[str, float], kind: ReadingKind, rules: ReadingRules) -> _Row:
    """One reading, its figures possible."""
    faults = [
        Fault(key=f"{where} {name}", value=f"{size:g} mm", expected=f"a length up to {LARGEST:g} mm")
        for name, size in lengths.items()
        if not abs(size) <= LARGEST
    ]
    low, high = (0.0, rules.index_count) if rules.index_count else _DEGREES
    if not low <= angle <= high:
        expected = (
            f"an index position from 0 to {high:g}" if rules.index_count else f"degrees from {low:g} to {high:g}"
        )
        faults.append(Fault(key=where, value=f"{angle:g}", expected=expected))
    size, rest = lengths["size"], lengths.get("at_radius", rules.at_radius)
    least = 0.0 if kind is ReadingKind.GAP else -math.inf
    if not size >= least or (kind is ReadingKind.RADIUS and not size > 0.0):
        expected = "0 or more" if kind is ReadingKind.GAP else "a length above 0"
        faults.append(Fault(key=f"{where} {kind}", value=format_length(size, rules.units), expected=expected))
    if rest is not None and not rest > (size if kind is ReadingKind.GAP else 0.0):
        expected = (
            "more than the gap: it runs from the axis to the rest" if kind is ReadingKind.GAP else "a length above 0"
        )
        faults.append(Fault(key=f"{where} at_radius", value=format_length(rest, rules.units), expected=expected))
    if faults:
        raise RowError(faults)
    degrees = (angle * 360.0 / rules.index_count if rules.index_count else angle) % 360.0
    return _Row(
        where=where,
        angle_deg=degrees,
        reading=Reading(angle=math.radians(degrees), size=size, station=lengths.get("station"), at_radius=rest),
    )


def _repeats(rows: list[_Row], units: Units) -> list[Fault]:
    """Places that are read twice."""
    seen, faults = dict[tuple[float | None, int], str](), []
    turn = round(360.0 / SAME_PLACE_DEG)
    for row in rows:
        place = (row.reading.station, round(row.angle_deg / SAME_PLACE_DEG) % turn)
        if place in seen:
            at = "" if row.reading.station is None else f" at station {format_length(row.reading.station, units)}"
            expected = f"each place once, {seen[place]} has it already"
            faults.append(Fault(key=row.where, value=f"{row.angle_deg:g} degrees{at}", expected=expected))
        seen.setdefault(place, row.where)
    return faults
