"""What readings at the lathe ask for, in the order of the hands: which mark, how far, which way; the doubts.

It chooses words only; every figure comes from the record, in the turner's units.
"""

import math
from collections.abc import Iterator

from formmaker.files.spoken import wrapped
from formmaker.files.spoken_steps import Tongue, say_steps, say_way
from formmaker.model.recentring import Recentring, Shift

STAND = (
    "Directions are on the wood: 0 deg is the place that stood at the rest when 0 was read, and so on round. Stop "
    "the lathe and take it off the power before you touch the centres; turn it by hand before you switch on."
)


def spoken_recentring(found: Recentring, tongue: Tongue) -> str:
    """Say what to do.

    Parameters
    ----------
    found : Recentring
    tongue : Tongue
        Units, finest part of the inch and index positions.

    Returns
    -------
    str
        Lines without a line break at the end.
    """
    return "\n".join(wrapped([*_marks(found, tongue), *_tilt(found, tongue), *_left(found, tongue), *_doubts(found)]))


def _marks(found: Recentring, tongue: Tongue) -> Iterator[str]:
    shifts = found.shifts
    if found.held is None and len({(shift.distance, shift.toward) for shift in shifts if shift.distance}) == 1:
        yield f"Both centre marks, alike: {_shift(shifts[0], tongue)}"
        return
    for shift in shifts:
        yield f"The {shift.end} centre: {_shift(shift, tongue)}"
    if found.held is not None:
        yield f"The {found.held} centre stays where it is."


def _shift(shift: Shift, tongue: Tongue) -> str:
    if not shift.distance > 0.0:
        return "stays where it is."
    return f"{say_way(shift.distance, shift.toward, tongue)}{say_steps(shift.distance, shift.toward, tongue)}."


def _tilt(found: Recentring, tongue: Tongue) -> Iterator[str]:
    if found.tilt > 0.0:
        high = f"; the high side is at {tongue.angle(found.high_toward)}" if math.isfinite(found.high_toward) else ""
        yield f"That tilts the axis by {math.degrees(found.tilt):.2f} deg{high}."


def _left(found: Recentring, tongue: Tongue) -> Iterator[str]:
    if tongue.fine(found.residual) == tongue.fine(0.0):
        return
    known = f" By that, a shift is known to within {tongue.fine(found.known_to)}." if found.known_to > 0.0 else ""
    yield f"What no move cures: up to {tongue.fine(found.residual)} at a reading, the wood's own shape.{known}"


def _doubts(found: Recentring) -> Iterator[str]:
    yield from (f"- {warning}" for warning in found.warnings)
    yield STAND
