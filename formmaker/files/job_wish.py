"""The ``[wish]`` table of a job file: what a search for mountings has to keep to."""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from formmaker.files.job_faults import Table, UnfitError
from formmaker.files.job_keys import (
    LARGEST_BOWL,
    LARGEST_SIZE,
    LARGEST_SKIN,
    choice_reader,
    number_reader,
    read_entry,
    read_number,
    size_reader,
)
from formmaker.files.job_marks import MarkList
from formmaker.model.marks import MarkKind
from formmaker.model.wish import ANY, NO_WISH, HeldEnd, Largest, Wish
from formmaker.units import KG_PER_POUND, MM_PER_INCH, Units

MOST_UNBALANCE = 1e6  # kg mm; a tonne a metre off: beyond any lathe

_KG_MM = {Units.MM: 1.0, Units.INCH: KG_PER_POUND * MM_PER_INCH}


def read_wish(table: Table | None, marks: MarkList, units: Units) -> Wish:
    """Read the ``[wish]`` table; faults are noted with it, and every key of it may be missing."""
    if table is None:
        return NO_WISH
    diameter = size_reader(units, most=LARGEST_BOWL)
    wish = Wish(
        largest=table.optional("largest", choice_reader(Largest)) or Largest.DIAMETER,
        least_diameter=table.optional("least_diameter", diameter),
        most_diameter=table.optional("most_diameter", diameter),
        level=table.optional("level", size_reader(units, most=LARGEST_SIZE)),
        keep=table.optional("keep", _names_reader(marks, MarkKind.KEEP)),
        avoid=table.optional("avoid", _names_reader(marks, MarkKind.FLAW)),
        no_sawn_rim=bool(table.optional("no_sawn_rim", _read_flag)),
        tilt_limit=table.optional("tilt_limit", _read_tilt),
        shift_limit=table.optional("shift_limit", size_reader(units, zero=True)),
        hold_end=table.optional("hold_end", choice_reader(HeldEnd)),
        setting_error=table.optional("setting_error", size_reader(units, zero=True, most=LARGEST_SKIN)) or 0.0,
        unbalance_limit=table.optional("unbalance_limit", _unbalance_reader(units)),
        rim_side=table.optional("rim_side", _side_reader(marks)),
    )
    table.refuse_rest()
    if (wish.least_diameter or 0.0) > (wish.most_diameter or math.inf):
        table.fault("least_diameter", "no more than most_diameter")
    return wish


def _read_flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise UnfitError("true or false")
    return value


def _read_tilt(value: object) -> float:
    return math.radians(number_reader(0.0, 180.0, "degrees")(value))


def _unbalance_reader(units: Units) -> Callable[[object], float]:
    most = MOST_UNBALANCE / _KG_MM[units]
    unit = "kg mm" if units is Units.MM else "lb in"
    read = number_reader(0.0, most, f"weight times distance from the axis in {unit},")
    return lambda value: read(value) * _KG_MM[units]


def _names_reader(marks: MarkList, kind: MarkKind) -> Callable[[object], tuple[str, ...]]:
    def read_one(value: object) -> str:
        if not isinstance(value, str) or value not in marks.names:
            raise UnfitError("the name of a mark in [[blank.mark]]")
        if any(mark.name == value and mark.kind is not kind for mark in marks.marks):
            raise UnfitError(f'a mark of kind "{kind.value}"')
        return value

    def read(value: object) -> tuple[str, ...]:
        if not isinstance(value, list):
            raise UnfitError('a list of names such as ["A"]')
        return tuple(read_entry(read_one, value, number) for number in range(len(value)))

    return read


def _side_reader(marks: MarkList) -> Callable[[object], NDArray[np.float64] | str]:
    expected = f'the name of a mark in [[blank.mark]], a direction [x, y, z], or "{ANY}"'

    def read(value: object) -> NDArray[np.float64] | str:
        if isinstance(value, str) and (value == ANY or value in marks.names):
            return value
        if not isinstance(value, list) or len(value) != 3:
            raise UnfitError(expected)
        direction = np.array([read_entry(read_number, value, number) for number in range(3)])
        if not np.linalg.norm(direction) > 0.0:
            raise UnfitError("a direction with a length, not [0, 0, 0]")
        return direction

    return read
