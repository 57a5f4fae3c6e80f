"""Changing a job file in place: values set, list entries added or taken back, comments and order kept.

A change is a function from text to text; ``rewrite_job`` reads the result as a job before the file is touched, so
that what stands on the disk is always a whole job, the old one or the new one.
"""

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np
import tomlkit
from numpy.typing import NDArray
from tomlkit.items import AoT

from formmaker.atomic import write_atomically
from formmaker.files.job_faults import read_text_of
from formmaker.files.job_file import job_from_text
from formmaker.model.job import Job
from formmaker.units import MM_PER_UNIT, Units

_DECIMALS = {Units.MM: 4, Units.INCH: 6}  # 0.1 and 0.03 microns: far below what a centre can be marked to


def rewrite_job(path: Path, change: Callable[[str], str]) -> Job:
    """Change a job file, if what comes out is a sound job.

    Parameters
    ----------
    path : Path
        The job file.
    change : callable
        From the file's text to the new text.

    Returns
    -------
    Job
        As the changed file says it.

    Raises
    ------
    JobFileError
        If the file cannot be read, or would have faults after the change; then it stays as it was.
    OutputError
        If it cannot be written; then it stays as it was too.
    """
    text = change(read_text_of(path))
    job = job_from_text(text, path)
    write_atomically(path, text.encode())
    return job


def with_values(text: str, values: Mapping[str, object]) -> str:
    r"""Set values of a job's text; comments beside them stay.

    Parameters
    ----------
    text : str
        TOML.
    values : mapping
        From dotted keys, such as ``"form.diameter"``, to plain values; tables that are missing are made, and a key
        whose value is None is taken out.

    Returns
    -------
    str

    Examples
    --------
    >>> with_values("[form]\nwall = 9  # thin\n", {"form.wall": 8})
    '[form]\nwall = 8  # thin\n'
    """
    document = tomlkit.parse(text)
    for key, value in values.items():
        *folders, name = key.split(".")
        table: object = document
        for folder in folders:
            if folder not in table:  # type: ignore[operator]  # tables of tables all the way down
                table[folder] = tomlkit.table()  # type: ignore[index]
            table = table[folder]  # type: ignore[index]
        if value is not None:
            table[name] = value  # type: ignore[index]
        elif name in table:  # type: ignore[operator]
            del table[name]  # type: ignore[attr-defined]
    return tomlkit.dumps(document)


def with_entry(text: str, name: str, entry: Mapping[str, object]) -> str:
    r"""Add a ``[[name]]`` table behind those that are there; the name may be dotted, such as ``blank.mark``.

    Examples
    --------
    >>> print(with_entry("[hold]\ndepth = 6\n", "cut", {"kind": "saw"}))
    [hold]
    depth = 6
    <BLANKLINE>
    [[cut]]
    kind = "saw"
    <BLANKLINE>
    """
    document = tomlkit.parse(text.rstrip() + "\n\n")  # the blank line before a header is the end of the table above
    table = tomlkit.table()
    for key, value in entry.items():
        table.add(key, value)
    *folders, last = name.split(".")
    parent: object = document
    for folder in folders:
        parent = parent[folder]  # type: ignore[index]  # tables of tables
    if last not in parent:  # type: ignore[operator]
        parent.append(last, tomlkit.aot())  # type: ignore[attr-defined]
    parent[last].append(table)  # type: ignore[index]
    return tomlkit.dumps(document)


def without_entry(text: str, name: str, number: int) -> str:
    r"""Take out one ``[[name]]`` table, counted from 0; the name may be dotted.

    Examples
    --------
    >>> without_entry("[blank]\nscan = 1\n[[blank.mark]]\nname = 'A'\n[hold]\n", "blank.mark", 0)
    '[blank]\nscan = 1\n[hold]\n'
    """
    document = tomlkit.parse(text)
    *folders, last = name.split(".")
    parent: object = document
    for folder in folders:
        parent = parent[folder]  # type: ignore[index]  # tables of tables
    entries = parent[last]  # type: ignore[index]
    del entries[number]
    if not entries:
        del parent[last]  # type: ignore[attr-defined]
    return tomlkit.dumps(document)


def without_last_entry(text: str, name: str) -> str:
    r"""Take back the last ``[[name]]`` table; the text as it is where there is none.

    Examples
    --------
    >>> without_last_entry("[hold]\ndepth = 6\n\n[[cut]]\nkind = 'saw'\n", "cut")
    '[hold]\ndepth = 6\n'
    """
    document = tomlkit.parse(text)
    entries = document.get(name)
    if not isinstance(entries, AoT) or not entries:
        return text
    del entries[-1]
    if not entries:
        del document[name]
    return tomlkit.dumps(document).rstrip() + "\n"


def written_point(point: NDArray[np.float64], units: Units) -> list[float]:
    """Write a place, mm, as a job file of these units has it.

    Examples
    --------
    >>> written_point(np.array([25.4, 0.0, -12.7]), Units.INCH)
    [1.0, 0.0, -0.5]
    """
    return [written_length(float(length), units) for length in point]


def written_length(millimetres: float, units: Units) -> float:
    """Write a length as a plain number of a job file of these units, to a tenth of a micron."""
    return round(millimetres / MM_PER_UNIT[units], _DECIMALS[units]) + 0.0
