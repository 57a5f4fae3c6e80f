"""The ``[[cut]]`` tables of a job file: what saw and tool have taken off, in order.

It makes no cut: whether one leaves wood is known only with the blank, see ``engine.cuts``.
"""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from formmaker.files.job_faults import Table, UnfitError
from formmaker.files.job_keys import (
    LARGEST_SIZE,
    length_reader,
    point_reader,
    read_entry,
    read_number,
    rows_reader,
    size_reader,
    word_reader,
)
from formmaker.model.cut import BlankCut, SawCut, TurnCut, profile_fault
from formmaker.tolerances import DEFAULT
from formmaker.units import Units

MOST_CUTS = 60  # a cut costs a tenth of a second on a large scan; nobody keeps count of so many

_KINDS = ("saw", "turn")


def read_cuts(root: Table, units: Units) -> tuple[BlankCut, ...]:
    """Read the ``[[cut]]`` tables; those with a fault are left out, the faults noted with them."""
    entries = root.tables("cut")
    if len(entries) > MOST_CUTS:
        root.fault("cut", f"at most {MOST_CUTS} cuts; there are {len(entries)}")
    cuts = (_read_cut(entry, units) for entry in entries[:MOST_CUTS])
    return tuple(cut for cut in cuts if cut is not None)


def _read_cut(entry: Table, units: Units) -> BlankCut | None:
    kind = entry.needed("kind", word_reader(_KINDS))
    if kind is None:
        return None  # without it no key is right or wrong
    cut = _read_saw(entry, units) if kind == "saw" else _read_turn(entry, units)
    entry.refuse_rest()
    return cut


def _read_saw(entry: Table, units: Units) -> SawCut | None:
    point = entry.needed("point", point_reader(units), why="(a place on the plane of the saw)")
    normal = entry.needed("normal", _read_direction, why="(a direction away from what stays)")
    return None if point is None or normal is None else SawCut(point=point, normal=normal)


def _read_turn(entry: Table, units: Units) -> TurnCut | None:
    why = "(a cut keeps the axis it was made about)"
    foot = entry.needed("foot_centre", point_reader(units), why=why)
    rim = entry.needed("rim_centre", point_reader(units), why=why)
    profile = entry.needed("profile", _profile_reader(units))
    if foot is None or rim is None or profile is None:
        return None
    if not np.linalg.norm(rim - foot) > DEFAULT.same_point:
        entry.fault("rim_centre", "another point than foot_centre: the axis runs from one to the other")
        return None
    return TurnCut(foot_centre=foot, rim_centre=rim, profile=profile)


def _read_direction(value: object) -> NDArray[np.float64]:
    if not isinstance(value, list) or len(value) != 3:
        raise UnfitError("[x, y, z], a direction of three plain numbers")
    direction = np.array([read_entry(read_number, value, number) for number in range(3)])
    if not np.abs(direction).max() > 0.0:
        raise UnfitError("a direction; 0, 0, 0 is none")
    return direction


def _profile_reader(units: Units) -> Callable[[object], NDArray[np.float64]]:
    read_height, read_radius = length_reader(units), size_reader(units, zero=True, most=LARGEST_SIZE)

    def read_row(value: object) -> NDArray[np.float64]:
        if not isinstance(value, list) or len(value) != 2:
            raise UnfitError("[z, r]: a height from foot_centre along the axis and the radius turned to")
        return np.array([read_entry(read_height, value, 0), read_entry(read_radius, value, 1)])

    def read(value: object) -> NDArray[np.float64]:
        profile = rows_reader(read_row, least=2)(value)
        fault = profile_fault(profile)
        if fault:
            raise UnfitError(fault)
        return profile

    return read
