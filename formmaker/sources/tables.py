"""CSV tables of figures: read line by line, each cell checked, every fault told with its line.

It knows lines, cells and faults; what a table means is in ``readings`` and ``few_readings``.
"""

import csv
import math
from pathlib import Path

from formmaker.errors import BlankError, Fault, FormmakerError
from formmaker.units import Units, parse_length

LARGEST_TABLE = 50_000_000
"""Bytes; a laser's table of a million rows is half of it, so more is some other file."""

SAME_PLACE_DEG = 1e-6
"""Angles nearer than this are the same place of the index wheel."""

Line = tuple[int, list[str]]


class RowError(FormmakerError, ValueError):
    """A row with faults."""

    def __init__(self, faults: list[Fault]) -> None:
        super().__init__("; ".join(map(str, faults)))
        self.faults = faults


def csv_lines(path: Path) -> list[Line]:
    """Rows that are neither empty nor remarks (#), each with its line number.

    Raises
    ------
    BlankError
        If the file is no table of text, or too large to be one.
    """
    try:
        size = path.stat().st_size
        if size > LARGEST_TABLE:
            raise BlankError(f"{path} has {size} bytes; a table of readings has at most {LARGEST_TABLE}: give that")
        text = path.read_text(encoding="utf-8-sig")
        separator = ";" if ";" in text.partition("\n")[0] else ","
        rows = list(enumerate(csv.reader(text.splitlines(), delimiter=separator, strict=True), start=1))
    except OSError as error:
        raise BlankError(
            f"{path} cannot be read: {error.strerror or error}; give a file that you may read"
        ) from error
    except (UnicodeDecodeError, csv.Error) as error:
        raise BlankError(f"{path} is no CSV text ({error}); save the table as CSV, UTF-8") from error
    return [
        (n, cells)
        for n, cells in rows
        if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")
    ]


def head_of(line: Line) -> list[str]:
    """Names of the columns, in small letters."""
    return [name.strip().lower() for name in line[1]]


def cell_number(line: int, name: str, cells: dict[str, str], faults: list[Fault]) -> float:
    """Read a finite number; 0.0 with a fault noted where it is none."""
    text = cells.get(name, "").strip()
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        faults.append(Fault(key=f"line {line} {name}", value=short(text), expected="a number"))
        return 0.0
    return value


def cell_length(line: int, name: str, cells: dict[str, str], units: Units, faults: list[Fault]) -> float:
    """Read a length, mm; 1.0 with a fault noted where it is none."""
    text = cells.get(name, "").strip()
    try:
        return length_of(text, units)
    except FormmakerError:
        expected = "a number or a length such as 3 1/4 in"
        faults.append(Fault(key=f"line {line} {name}", value=short(text), expected=expected))
        return 1.0


def length_of(text: str, units: Units) -> float:
    """Length in mm of a text: a plain number or fraction in the units, or with its own unit.

    Raises
    ------
    MeasureError
        If it is none.

    Examples
    --------
    >>> length_of("0.5", Units.INCH), length_of("1/2", Units.INCH), length_of("12 mm", Units.INCH)
    (12.7, 12.7, 12.0)
    """
    try:
        plain: float | str = float(text)
    except ValueError:
        bare = bool(text) and text[-1].isdigit() and "/" in text
        plain = f"{text} {units}" if bare else text
    return parse_length(plain, units)


def short(text: str) -> str:
    """A cell as a message repeats it: of hundreds of letters the first, nothing that would break a line."""
    shown = "".join(c if c.isprintable() else "?" for c in text[:60])
    return shown + (" ..." if len(text) > 60 else "") or "nothing"
