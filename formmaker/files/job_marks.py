"""Marks in a job file and the caliper distances between them."""

from dataclasses import dataclass

import numpy as np

from formmaker.files.job_faults import Table, UnfitError
from formmaker.files.job_keys import choice_reader, point_reader, read_entry, read_name, read_text, size_reader
from formmaker.model.job import KnownLength
from formmaker.model.marks import Mark, MarkKind
from formmaker.tolerances import DEFAULT
from formmaker.units import Units

MOST_MARKS = 200  # nobody writes more on one piece of wood


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkList:
    """The sound marks of a file, and the names of all of them.

    A name stays known where its mark has a fault of its own, so that one fault is not reported twice.
    """

    marks: tuple[Mark, ...] = ()
    names: tuple[str, ...] = ()

    def place(self, name: str) -> np.ndarray | None:
        """Where a mark stands, (3,), blank frame, mm; None where its own table has a fault."""
        return next((mark.at for mark in self.marks if mark.name == name), None)


def read_marks(blank: Table, units: Units) -> MarkList:
    """Read the ``[[blank.mark]]`` tables; their faults are noted with them."""
    marks: list[Mark] = []
    names: list[str] = []
    entries = blank.tables("mark")
    if len(entries) > MOST_MARKS:
        blank.fault("mark", f"at most {MOST_MARKS} marks; there are {len(entries)}")
    for entry in entries[:MOST_MARKS]:
        name = entry.needed("name", read_name)
        kind = entry.needed("kind", choice_reader(MarkKind))
        place = entry.needed("at", point_reader(units))
        radius = _read_radius(entry, kind, units)
        entry.refuse_rest()
        if name in names:
            entry.fault("name", "a name of its own; another mark has this one")
        elif name is not None:
            names.append(name)
            if kind is not None and place is not None:
                marks.append(Mark(name=name, kind=kind, at=place, radius=radius or 0.0))
    return MarkList(marks=tuple(marks), names=tuple(names))


def _read_radius(entry: Table, kind: MarkKind | None, units: Units) -> float | None:
    if kind is MarkKind.KEEP:
        return entry.needed("radius", size_reader(units), why="(how near the rim must pass)")
    if kind is MarkKind.FLAW:
        return entry.needed("radius", size_reader(units), why="(what to stay clear of)")
    return entry.optional("radius", size_reader(units, zero=True))


def read_known_lengths(blank: Table, marks: MarkList, units: Units) -> tuple[KnownLength, ...]:
    """Read ``known_length``: rows of two marks and the caliper distance between them."""
    read_size = size_reader(units)

    def read_mark(value: object) -> str:
        name = read_text(value)
        if name not in marks.names:
            raise UnfitError("the name of a mark in [[blank.mark]]")
        return name

    def read_row(value: object) -> KnownLength:
        if not isinstance(value, list) or len(value) != 3:
            raise UnfitError('["mark", "mark", length]')
        first, second = (read_entry(read_mark, value, number) for number in (0, 1))
        if _one_place(marks, first, second):
            raise UnfitError("two marks at different places")
        return KnownLength(first=first, second=second, length=read_entry(read_size, value, 2))

    def read_all(value: object) -> tuple[KnownLength, ...]:
        if not isinstance(value, list):
            raise UnfitError('a list such as [["A", "B", 212]]')
        return tuple(read_entry(read_row, value, number) for number in range(len(value)))

    return blank.optional("known_length", read_all) or ()


def _one_place(marks: MarkList, first: str, second: str) -> bool:
    here, there = marks.place(first), marks.place(second)
    return here is not None and there is not None and not np.linalg.norm(there - here) > DEFAULT.same_point
