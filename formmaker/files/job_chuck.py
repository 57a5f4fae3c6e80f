"""The ``[chuck]`` table of a job file, and threads as people write them."""

import re
from collections.abc import Callable

from formmaker.errors import LatheError
from formmaker.files.job_faults import Table, UnfitError
from formmaker.files.job_keys import LARGEST_BOWL, LARGEST_DEPTH, read_entry, read_title, size_reader
from formmaker.model.chuck import UNKNOWN_CHUCK, Chuck
from formmaker.model.thread import Thread
from formmaker.units import MM_PER_INCH, Units

_METRIC = re.compile(r"[Mm]\s*(\d{1,3}(?:\.\d{1,3})?)\s*[xX*]\s*(\d{1,2}(?:\.\d{1,3})?)")
_INCHES = re.compile(r"(?:(\d{1,2})[\s-]+)?(\d{1,2})(?:/(\d{1,2}))?\s*(?:in)?\s*[xX*]\s*(\d{1,2})(?:\s*tpi)?")
_WIDEST = 150.0  # mm; no spindle is wider
_EXPECTED = 'a thread: metric such as "M33x3.5", or inches and turns to the inch such as "1x8" or "1 1/4x8"'


def read_chuck(table: Table | None, units: Units) -> Chuck:
    """Read the ``[chuck]`` table; faults are noted with it.

    Parameters
    ----------
    table : Table or None
        None where the file has none; every key of it may be missing.
    units : Units
        What plain lengths mean.

    Returns
    -------
    Chuck
        With nothing known where there is no table, or a fault.
    """
    if table is None:
        return UNKNOWN_CHUCK
    read_ends, read_size = _ends_reader(units), size_reader(units, most=LARGEST_DEPTH)
    chuck = {
        "name": table.optional("name", read_title) or "",
        "closes_on": table.optional("closes_on", read_ends),
        "opens_in": table.optional("opens_in", read_ends),
        "true_circle": table.optional("true_circle", size_reader(units, most=LARGEST_BOWL)),
        "jaw_height": table.optional("jaw_height", read_size),
        "thread": table.optional("thread", read_thread),
        "screws": table.optional("screws", read_size),
    }
    table.refuse_rest()
    return Chuck(**chuck)  # type: ignore[arg-type]  # each value is what its reader gives, under its own name


def _ends_reader(units: Units) -> Callable[[object], tuple[float, float]]:
    read_size = size_reader(units, most=LARGEST_BOWL)

    def read(value: object) -> tuple[float, float]:
        if not isinstance(value, list) or len(value) != 2:
            raise UnfitError("[smallest, largest], two diameters")
        low, high = (read_entry(read_size, value, number) for number in range(2))
        if not low < high:
            raise UnfitError("[smallest, largest], the second larger than the first")
        return low, high

    return read


def read_thread(value: object) -> Thread:
    """Read a thread.

    Examples
    --------
    >>> read_thread("M33x3.5").pitch, read_thread("1 1/4x8").diameter, read_thread("1-1/4 x 8").pitch
    (3.5, 31.75, 3.175)
    """
    text = value.strip() if isinstance(value, str) else ""
    metric, inches = _METRIC.fullmatch(text), _INCHES.fullmatch(text)
    if metric is not None:
        diameter, pitch = (float(part) for part in metric.groups())
    elif inches is not None:
        whole, upper, lower, turns = (int(part) if part else None for part in inches.groups())
        if turns == 0 or lower == 0 or (whole is not None and lower is None):
            raise UnfitError(_EXPECTED)
        diameter = ((whole or 0) + (upper or 0) / (lower or 1)) * MM_PER_INCH
        pitch = MM_PER_INCH / (turns or 1)
    else:
        raise UnfitError(_EXPECTED)
    if not diameter <= _WIDEST:
        raise UnfitError(f"{_EXPECTED}; at most {_WIDEST:g} mm wide")
    try:
        return Thread(text=text, diameter=diameter, pitch=pitch)
    except LatheError as error:
        raise UnfitError(f"{_EXPECTED}; its pitch lies between 0 and its diameter") from error
