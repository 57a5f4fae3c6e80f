"""What the values of a job file have to look like: readers from a TOML value to mm, radians and records.

Each reader takes one value and gives what it stands for, or raises ``UnfitError`` with what was expected.
"""

import difflib
import math
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import MeasureError
from formmaker.files.job_faults import LONGEST_VALUE, UnfitError
from formmaker.units import Units, format_force, format_length, format_weight, parse_force, parse_length, parse_weight

S = TypeVar("S", bound=StrEnum)
T = TypeVar("T")

LARGEST_SIZE = 10_000.0  # mm; ten metres, beyond any lathe
LARGEST_BOWL = 2_000.0  # mm; two metres across or high, beyond any bowl lathe
LARGEST_SWING = 5_000.0  # mm; no lathe swings more, or is longer between its centres
LARGEST_SKIN = 100.0  # mm; an allowance or an uncertainty beyond it is a slip of the pen
LARGEST_DEPTH = 200.0  # mm; no holding is longer, deeper or thicker
HEAVIEST = 2_000.0  # kg; no lathe carries more
HARDEST = 20_000.0  # N; no lathe cuts harder, and no hand holds a tenth of it
SMALLEST_SIZE = 0.01  # mm; no workshop measures less
LONGEST_NAME = 200  # characters of a title or a name
MOST_ROWS = 200  # handles of a curve, rows of a wall
LARGEST_PLACE = 1_000_000.0  # mm; a kilometre: a scanner's origin may stand far away, but no farther

_LENGTH = 'a length: a number in the units of the file or a text such as "3/8 in" or "12 mm"'


def read_text(value: object) -> str:
    """Any text that is not blank, without the spaces around it."""
    if not isinstance(value, str) or not value.strip():
        raise UnfitError('a text in quotes, such as "elm"')
    return value.strip()


def read_name(value: object) -> str:
    """A name: a text that is not blank, not so long that no sentence could hold it."""
    name = read_text(value)
    if len(name) > LONGEST_NAME:
        raise UnfitError(f"a text of at most {LONGEST_NAME} characters; this one has {len(name)}")
    return name


def read_title(value: object) -> str:
    """A title: any text of a line or two, an empty one too."""
    if not isinstance(value, str):
        raise UnfitError("a text in quotes")
    if len(value) > LONGEST_NAME:
        raise UnfitError(f"a text of at most {LONGEST_NAME} characters; this one has {len(value)}")
    return value


def read_number(value: object) -> float:
    """Any finite number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise UnfitError("a number")
    try:
        number = float(value)
    except OverflowError as error:
        raise UnfitError("an ordinary number") from error
    if not math.isfinite(number):
        raise UnfitError("an ordinary number, neither inf nor nan")
    return number


def number_reader(low: float, high: float, what: str) -> Callable[[object], float]:
    """Make a reader of numbers from ``low`` to ``high``; ``what`` names them in the message."""

    def read(value: object) -> float:
        try:
            number = read_number(value)
        except UnfitError as unfit:
            raise UnfitError(f"{what} from {low:g} to {high:g}") from unfit
        if not low <= number <= high:
            raise UnfitError(f"{what} from {low:g} to {high:g}")
        return number

    return read


def whole_reader(low: int, high: int, what: str) -> Callable[[object], int]:
    """Make a reader of whole numbers from ``low`` to ``high``."""

    def read(value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise UnfitError(f"{what}, a whole number from {low} to {high}")
        return value

    return read


def choice_reader(kind: type[S]) -> Callable[[object], S]:
    """Make a reader of one of the words of an enumeration."""
    read_word = word_reader(tuple(member.value for member in kind))
    return lambda value: kind(read_word(value))


def word_reader(words: tuple[str, ...]) -> Callable[[object], str]:
    """Make a reader of one of some words, with a hint where one is nearly right."""
    listed = ", ".join(f'"{word}"' for word in words)

    def read(value: object) -> str:
        if isinstance(value, str) and value in words:
            return value
        near = difflib.get_close_matches(value, words, n=1) if isinstance(value, str) else []
        raise UnfitError(f"one of {listed}" + (f'; did you mean "{near[0]}"?' if near else ""))

    return read


def length_reader(units: Units) -> Callable[[object], float]:
    """Make a reader of lengths of either sign, mm."""

    def read(value: object) -> float:
        length = _length(value, units)
        if not abs(length) <= LARGEST_PLACE:
            raise UnfitError(f"a length within {LARGEST_PLACE / 1000:g} m")
        return length

    return read


def size_reader(units: Units, *, zero: bool = False, most: float = LARGEST_SIZE) -> Callable[[object], float]:
    """Make a reader of lengths above 0 (or from 0, where ``zero`` is a fair answer) up to ``most``, mm."""
    least = "0.01 mm" if units is Units.MM else "0.0004 in"
    bound = "0 or more" if zero else f"above 0 (at least {least})"
    limit = f"{most / 1000:g} m" if units is Units.MM and most >= 1000.0 else format_length(most, units)

    def read(value: object) -> float:
        size = _length(value, units)
        if not (SMALLEST_SIZE <= size <= most or (zero and 0.0 <= size <= most)):
            raise UnfitError(f"a length {bound} and at most {limit}")
        return size

    return read


def _length(value: object, units: Units) -> float:
    try:
        return parse_length(value, units)
    except MeasureError as error:
        raise UnfitError(_LENGTH) from error


def point_reader(units: Units, *, count: int = 3) -> Callable[[object], NDArray[np.float64]]:
    """Make a reader of points, (count,) float, mm."""
    names = ("x, y, z", "radius, height")[count == 2]
    read_length = length_reader(units)

    def read(value: object) -> NDArray[np.float64]:
        if not isinstance(value, list) or len(value) != count:
            raise UnfitError(f"[{names}], {count} lengths")
        return np.array([read_entry(read_length, value, number) for number in range(count)])

    return read


def rows_reader(
    read_row: Callable[[object], NDArray[np.float64]], *, least: int
) -> Callable[[object], NDArray[np.float64]]:
    """Make a reader of a list of at least so many rows, (n, k) float."""

    def read(value: object) -> NDArray[np.float64]:
        if not isinstance(value, list) or len(value) < least:
            raise UnfitError(f"a list of at least {least} pairs, such as [[..., ...], ...]")
        if len(value) > MOST_ROWS:
            raise UnfitError(f"a list of at most {MOST_ROWS} pairs; this one has {len(value)}")
        return np.array([read_entry(read_row, value, number) for number in range(len(value))])

    return read


def read_entry(reader: Callable[[object], T], values: list[object], number: int) -> T:
    """Read one entry of a list; a fault in it is placed there, counted from 1."""
    try:
        return reader(values[number])
    except UnfitError as unfit:
        value = values[number] if not unfit.inside else unfit.value
        raise UnfitError(unfit.expected, inside=f"[{number + 1}]{unfit.inside}", value=value) from unfit


def wall_reader(units: Units) -> Callable[[object], NDArray[np.float64]]:
    """Make a reader of walls: one thickness, or rows of [fraction, thickness] from foot to rim; (k, 2) float."""
    read_size = size_reader(units)
    read_fraction = number_reader(0.0, 1.0, "a fraction of the way from foot to rim,")

    def read_row(value: object) -> NDArray[np.float64]:
        if not isinstance(value, list) or len(value) != 2:
            raise UnfitError("[fraction, thickness]")
        return np.array([read_entry(read_fraction, value, 0), read_entry(read_size, value, 1)])

    def read(value: object) -> NDArray[np.float64]:
        if not isinstance(value, list):
            return np.array([[0.0, read_size(value)]])
        law = rows_reader(read_row, least=1)(value)
        if not (np.diff(law[:, 0]) > 0.0).all():
            raise UnfitError("fractions that rise from 0 (foot) to 1 (rim)")
        return law

    return read


def read_moisture(value: object) -> float | None:
    """Read ``"green"`` as None, a percentage of the dry weight as a number."""
    if value == "green":
        return None
    text = value.strip().removesuffix("%").strip() if isinstance(value, str) else value
    expected = '"green" or a percentage of the dry weight from 0 to 250'
    try:
        return number_reader(0.0, 250.0, "")(float(text) if isinstance(text, str) else text)
    except (UnfitError, ValueError) as error:
        raise UnfitError(expected) from error


def weight_reader(units: Units) -> Callable[[object], float]:
    """Make a reader of weights above 0, kg."""

    def read(value: object) -> float:
        try:
            weight = parse_weight(value, units)
        except MeasureError as error:
            plain = "kg" if units is Units.MM else "lb"
            raise UnfitError(f'a weight: a number in {plain} or a text such as "6.2 kg" or "13.5 lb"') from error
        if not 0.0 < weight <= HEAVIEST:
            raise UnfitError(f"a weight above 0 and at most {format_weight(HEAVIEST, units)}")
        return weight

    return read


def force_reader(units: Units) -> Callable[[object], float]:
    """Make a reader of forces above 0, N."""

    def read(value: object) -> float:
        try:
            force = parse_force(value, units)
        except MeasureError as error:
            plain = "N" if units is Units.MM else "lbf"
            raise UnfitError(f'a force: a number in {plain} or a text such as "100 N" or "22 lbf"') from error
        if not 0.0 < force <= HARDEST:
            raise UnfitError(f"a force above 0 and at most {format_force(HARDEST, units)}")
        return force

    return read


def bark_reader(units: Units) -> Callable[[object], float]:
    """Make a reader of the bark's thickness, mm: ``"ignored"`` is 0."""
    read_size = size_reader(units, zero=True, most=LARGEST_SKIN)

    def read(value: object) -> float:
        if value == "ignored":
            return 0.0
        try:
            return read_size(value)
        except UnfitError as unfit:
            raise UnfitError(f'"ignored" (bark counts as wood) or its thickness, {unfit.expected}') from unfit

    return read


def file_reader(base: Path, job: Path) -> Callable[[object], Path]:
    """Make a reader of the names of files that are there, joined to the job file's folder."""

    def read(value: object) -> Path:
        name = read_text(value)
        path = base / name
        try:
            if path.is_dir():
                raise UnfitError("a file; this is a folder")
            if not path.is_file():
                raise UnfitError(f"a file that is there; none {_somewhere(name, path)}")
            if job.exists() and path.samefile(job):
                raise UnfitError("another file; the job names itself")
        except (OSError, ValueError) as error:  # a name too long, a zero byte, a folder closed to us
            raise UnfitError("the name of a file you may read") from error
        return path

    return read


def _somewhere(name: str, path: Path) -> str:
    """Where a file was looked for; a name of hundreds of letters is not said twice."""
    return f"at {path}" if len(name) <= LONGEST_VALUE else "of that name"
