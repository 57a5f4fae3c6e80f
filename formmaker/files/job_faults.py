"""Reading a TOML file table by table so that every fault is noted and none stops the reading.

It knows tables, keys and faults; what a value has to look like is in ``job_keys``, what a job is in ``job_file``.
"""

import difflib
import json
import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TypeVar

from formmaker.errors import Fault, FormmakerError, JobFileError

T = TypeVar("T")

MISSING = "(missing)"
LONGEST_VALUE = 60  # characters of a value that a message repeats
_LONGEST_KEY = 80  # of a key, which may be any text
_LONGEST_FOUND = 160  # of what was found, in our words or in those of the reader of TOML
_LARGEST_FILE = 4_000_000  # bytes; a job is a page or two, so more is some other file


class UnfitError(Exception):
    """A value is not what its key asks for; ``inside`` says where in it, such as ``[2]``."""

    def __init__(self, expected: str, *, inside: str = "", value: object = MISSING) -> None:
        super().__init__(expected)
        self.expected = expected
        self.inside = inside
        self.value = value


class FaultList:
    """The faults of one file, in the order they were met."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.faults: list[Fault] = []

    def __bool__(self) -> bool:
        return bool(self.faults)

    def add(self, key: str, value: str, expected: str) -> None:
        """Note a fault; the texts are made printable, so that each stays on one line."""
        shown_key, shown_value = cut_short(printable(key), _LONGEST_KEY), cut_short(printable(value), _LONGEST_FOUND)
        self.faults.append(Fault(key=shown_key, value=shown_value, expected=printable(expected)))

    def error(self, document: Mapping[str, object]) -> JobFileError:
        """All faults as one exception, sorted by where their keys stand in the file."""
        places = {key: place for place, key in enumerate(_dotted_keys(document, ""))}
        ordered = sorted(self.faults, key=lambda fault: _place_of(fault.key, places))
        return JobFileError(printable(str(self.path)), tuple(ordered))


class Table:
    """One table of a file: gives each key's value, or notes the fault and gives None."""

    def __init__(self, content: Mapping[str, object], name: str, faults: FaultList) -> None:
        self.content = content
        self.name = name
        self.faults = faults
        self.asked: list[str] = []

    def key(self, key: str) -> str:
        """The dotted key, as a message names it."""
        return f"{self.name}.{key}" if self.name else key

    def has(self, key: str) -> bool:
        """Whether the file gives this key."""
        return key in self.content

    def fault(self, key: str, expected: str) -> None:
        """Note a fault at a key with the value that the file gives."""
        value = shown(self.content[key]) if key in self.content else MISSING
        self.faults.add(self.key(key), value, expected)

    def needed(self, key: str, reader: Callable[[object], T], *, why: str = "") -> T | None:
        """Read a key that has to be there; ``why`` goes into the message where it is not."""
        if not self.has(key):
            self.asked.append(key)
            self.fault(key, f"a value, this key has to be there{f' {why}' if why else ''}")
            return None
        return self.optional(key, reader)

    def optional(self, key: str, reader: Callable[[object], T]) -> T | None:
        """Read a key if it is there; None where it is missing or faulty."""
        self.asked.append(key)
        if not self.has(key):
            return None
        value = self.content[key]
        try:
            return reader(value)
        except UnfitError as unfit:
            found = shown(value) if isinstance(unfit.value, str) and unfit.value == MISSING else shown(unfit.value)
            self.faults.add(self.key(key) + unfit.inside, found, unfit.expected)
        except FormmakerError as error:
            self.fault(key, f"something else: {error}")
        return None

    def table(self, key: str, *, why: str = "") -> "Table | None":
        """Read a table of this table; with ``why`` it has to be there."""
        self.asked.append(key)
        if not self.has(key) and not why:
            return None
        value = self.content.get(key)
        if not isinstance(value, dict):
            self.fault(key, f"a table [{self.key(key)}]{f' {why}' if why else ''}")
            return None
        return Table(value, self.key(key), self.faults)

    def tables(self, key: str) -> "list[Table]":
        """Read the tables of a list such as ``[[blank.mark]]``; they are counted from 1."""
        self.asked.append(key)
        value = self.content.get(key, [])
        if not isinstance(value, list):
            self.fault(key, f"a list of tables, each under [[{self.key(key)}]]")
            return []
        found = []
        for number, entry in enumerate(value, start=1):
            name = f"{self.key(key)}[{number}]"
            if isinstance(entry, dict):
                found.append(Table(entry, name, self.faults))
            else:
                self.faults.add(name, shown(entry), f"a table under [[{self.key(key)}]]")
        return found

    def refuse_rest(self) -> None:
        """Note every key that nobody asked for."""
        for key in self.content:
            if key not in self.asked:
                self.fault(key, _known(key, self.asked))


def _known(key: str, asked: Iterable[str]) -> str:
    near = difflib.get_close_matches(key, list(asked), n=1)
    return f'a known key; did you mean "{near[0]}"?' if near else f"a known key: {', '.join(asked)}"


def shown(value: object) -> str:
    """Show a value as the file would have it, on one line and shortened.

    Examples
    --------
    >>> shown(True), shown("elm"), shown([1, "3/8 in"])
    ('true', '"elm"', '[1, "3/8 in"]')
    """
    try:
        text = json.dumps(value, ensure_ascii=False, default=str)
    except (ValueError, RecursionError):  # an integer of thousands of digits, a list nested hundreds deep
        return f"(a {type(value).__name__} too large to show)"
    return cut_short(text, LONGEST_VALUE)


def cut_short(text: str, most: int) -> str:
    """Leave off the end of a text that is longer than a message can bear.

    Examples
    --------
    >>> cut_short("elm burr", 8), cut_short("elm burr from the hedge", 12)
    ('elm burr', 'elm burr ...')
    """
    return text if len(text) <= most else text[: most - 4].rstrip() + " ..."


def printable(text: str) -> str:
    r"""Write characters that would break or colour a line as escapes.

    Examples
    --------
    >>> printable("a\nb")
    'a\\nb'
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape", "surrogatepass").decode() for c in text)


def read_document(path: Path) -> dict[str, object]:
    """Read a TOML file.

    Parameters
    ----------
    path : Path
        The file; a byte order mark at its head is passed over.

    Returns
    -------
    dict
        The document as ``tomllib`` gives it.

    Raises
    ------
    JobFileError
        If there is no such file, or it is a folder, cannot be read, is not UTF-8 or not TOML.
    """
    return document_from_text(read_text_of(path), path)


def document_from_text(text: str, path: Path) -> dict[str, object]:
    """Read the text of a TOML file; ``path`` is only named in the faults."""
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise _whole_file_fault(path, "brackets nested hundreds deep", "a job file, see `formmaker new`") from error
    except ValueError as error:  # TOMLDecodeError is one, and so is an integer of thousands of digits
        raise _whole_file_fault(path, f"not TOML: {error}", "a file in TOML") from error


def read_text_of(path: Path) -> str:
    """Text of a job file, a byte order mark at its head passed over; JobFileError where there is none to read."""
    try:
        if path.is_dir():
            raise _whole_file_fault(path, "a folder", "a job file")
        if not path.exists():
            raise _whole_file_fault(path, "no such file", "a job file; `formmaker new` writes one")
        if not path.is_file():
            raise _whole_file_fault(path, "a device or a pipe", "a job file")
        if path.stat().st_size > _LARGEST_FILE:
            raise _whole_file_fault(path, f"{path.stat().st_size} bytes", f"a text of at most {_LARGEST_FILE} bytes")
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        reason = error.strerror or str(error)
        raise _whole_file_fault(path, f"cannot be read ({reason})", "a file you may read") from error
    except UnicodeDecodeError as error:
        line = error.object.count(b"\n", 0, error.start) + 1
        raise _whole_file_fault(path, f"not UTF-8 in line {line}", "a text file saved as UTF-8") from error


def _whole_file_fault(path: Path, found: str, expected: str) -> JobFileError:
    faults = FaultList(path)
    faults.add("file", found, expected)
    return faults.error({})


def _dotted_keys(content: Mapping[str, object], name: str) -> Iterator[str]:
    for key, value in content.items():
        dotted = f"{name}.{key}" if name else key
        yield dotted
        if isinstance(value, dict):
            yield from _dotted_keys(value, dotted)
        elif isinstance(value, list):
            for number, entry in enumerate(value, start=1):
                yield f"{dotted}[{number}]"
                if isinstance(entry, dict):
                    yield from _dotted_keys(entry, f"{dotted}[{number}]")


def _place_of(key: str, places: Mapping[str, int]) -> tuple[int, int]:
    """Where a fault's key stands; a missing key stands at the head of the nearest table that is there."""
    while key and key not in places:
        key = key[: max(key.rfind("."), key.rfind("["), 0)]
    return (places[key], 0) if key else (len(places), 0)
