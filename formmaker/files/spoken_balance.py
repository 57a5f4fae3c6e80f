"""A blank between the centres in a few lines: what hinders first, then balance, swing, force, a start, the cautions.

It chooses words only; every figure comes from the balance, in the job's units.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.mounted import PRODUCT, WEIGHT_SHARE
from formmaker.files.job_lathe import FASTEST
from formmaker.files.spoken import say_angle, say_height, wrapped
from formmaker.files.spoken_blank import say_weight
from formmaker.model.balance import Balance, Balanced, Bearing, Force, Hindrance, SpeedBound, SpeedRule
from formmaker.model.blank import Blank
from formmaker.model.ends import End
from formmaker.model.job import Job
from formmaker.units import (
    MM_PER_INCH,
    Units,
    format_force,
    format_length,
    format_moment,
    format_number,
)

CAUTIONS = (
    "Start at the lowest speed the lathe has; raise it only while the lathe does not shake, and stop when something "
    "looks or sounds wrong.\n"
    "Stand out of the line of fire, the plane in which the wood turns; tailstock up, face shield on, everything "
    "locked. Before the motor runs, turn the wood over by hand, a whole turn past bed, tool rest and its base.\n"
    "The wood is taken for even and sound. Cracks, rot, loose bark, nails, a wet or a dense side are not in these "
    "figures: let the piece swing to rest between the centres and see which side comes down.\n"
    "Read the lathe maker's manual, keep to the rules of your place and learn from trained people. No figure here "
    "says that a speed or a mounting is without danger."
).splitlines()


def spoken_balance(balance: Balance, job: Job, blank: Blank) -> str:
    """Say to a turner how a blank turns on its mounting.

    Parameters
    ----------
    balance : Balance
    job : Job
        For its title, units and index positions.
    blank : Blank
        For its timber and the scale of its places.

    Returns
    -------
    str
        Lines without a line break at the end.
    """
    told = _told(balance, job, blank)
    before = [*say_hindrances(balance), f"{job.title}: {_offset(balance, job)}", *told.before]
    return "\n".join((*wrapped(before), *told.table, *wrapped(told.after)))


def say_balance(balance: Balance, job: Job, blank: Blank) -> tuple[str, ...]:
    """Say the same in paragraphs without a title; the rows of its table begin with blanks."""
    told, first = _told(balance, job, blank), _offset(balance, job)
    return (*say_hindrances(balance), f"{first[:1].upper()}{first[1:]}", *told.before, *told.table, *told.after)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """Paragraphs before the table of forces, its rows, and paragraphs after it."""

    before: tuple[str, ...]
    table: tuple[str, ...]
    after: tuple[str, ...]


def _told(balance: Balance, job: Job, blank: Blank) -> _Told:
    before = (
        say_weight(blank, balance.mass, job.units),
        _unbalance(balance, job.units),
        _swing(balance, job),
        _span(balance, job.units),
        "Out-of-balance force on this axis; in brackets with all that is not known against it:",
    )
    after = (
        _start(balance),
        *(f"- {reason}" for reason in say_reasons(balance, job.units)),
        *_balanced(balance, job, blank),
        "Before you turn:",
        *(f"- {caution}" for caution in _minded(balance)),
    )
    return _Told(before=before, table=tuple(_table(balance, job.units)), after=after)


def _offset(balance: Balance, job: Job) -> str:
    off, known = (format_length(length, job.units) for length in (balance.offset, balance.slack))
    if not balance.is_side_known:
        lies = "on the axis" if _is_nothing(balance.offset, job.units) else f"{off} off the axis"
        return (
            f"by the model the centre of mass lies {lies}, but that is known to within {known} only: the wood itself "
            "has to show which side is heavy."
        )
    toward = say_angle(balance.heavy_toward, job.index_count)
    mark = f", {_say_mark(balance.mark)}" if balance.mark is not None else ""
    return (
        f"the centre of mass lies {off} off the axis (known to within {known}), toward {toward}{mark}, "
        f"{say_height(balance.height, job.units)}. That side swings down."
    )


def _is_nothing(length: float, units: Units) -> bool:
    """Whether a length is said as nothing."""
    return format_length(length, units) == format_length(0.0, units)


def _say_mark(mark: Bearing) -> str:
    turn = round(math.degrees(mark.turn))
    apart = abs(turn)
    if apart <= 90:
        return f"{apart} deg from mark {mark.name}" if apart else f"toward mark {mark.name}"
    return f"away from mark {mark.name}" + (f" within {180 - apart} deg" if apart < 180 else "")


def _unbalance(balance: Balance, units: Units) -> str:
    kilograms = balance.mass.kilograms
    middle = "about the middle between the centres"
    if kilograms is None:
        offset, couple = format_length(balance.offset, units), format_moment(balance.couple, units, power=2)
        return (
            f"Each kilogram of it hangs {offset} off the axis, with a couple of {couple} {middle}. Give wood or "
            "weight in [blank] for the whole."
        )
    static, couple = (
        format_moment(kilograms * amount, units, power=power)
        for amount, power in ((balance.offset, 1), (balance.couple, 2))
    )
    return f"It is out of balance by {static}, with a couple of {couple} {middle}."


def _swing(balance: Balance, job: Job) -> str:
    swing, units = balance.swing, job.units
    radius, rest = (format_length(length, units) for length in (swing.radius, swing.rest))
    place = f"{say_angle(swing.theta, job.index_count)}, {say_height(swing.height, units)}"
    farthest = f"The farthest wood is {radius} from the axis, at {place}"
    clears = f"A tool rest {rest} from the axis clears it."
    if swing.room is None:
        return f"{farthest}; the lathe's swing is not given. {clears}"
    spare = format_length(abs(swing.room - swing.radius), units)
    known = f"(known to within {format_length(swing.slack, units)})"
    if swing.clears:
        return f"{farthest}: it clears the bed by {spare} {known}. {clears}"
    if swing.radius < swing.room:
        return f"{farthest}: only {spare} from the bed {known}, so it cannot be said to clear it."
    return f"{farthest}: it is {spare} too far out to clear the bed {known}."


def _span(balance: Balance, units: Units) -> str:
    span = balance.span
    length = format_length(span.length, units)
    if span.room is None:
        return f"Between its centres it is {length} long."
    room = format_length(span.room, units)
    return (
        f"Between its centres it is {length} long; the lathe has {room}{'' if span.goes else ', and that is short'}."
    )


def _table(balance: Balance, units: Units) -> Iterator[str]:
    """Force by speed, up to the first at which it may be more than the weight."""
    for force in balance.forces:
        yield _row(force, units)
        if force.most_weights > 1.0:
            return


def _row(force: Force, units: Units) -> str:
    row = f"  {force.rpm:>5.0f} rpm"
    if force.newtons is not None and force.most_newtons is not None:
        most = f"({format_force(force.most_newtons, units)})"
        row += f"{format_force(force.newtons, units):>10} {most:<10}"
    return f"{row}{force.weights:>7.2f} ({force.most_weights:.2f}) of its weight"


def _start(balance: Balance) -> str:
    if balance.start.rpm is None:
        return "No starting speed is given for this mounting. What bounds it:"
    lowest = "its lowest speed" if balance.start.lowest is None else f"its lowest speed, {balance.start.lowest:g} rpm"
    return (
        f"Start the lathe at {lowest}, and keep under {balance.start.rpm:g} rpm until the wood runs round, because:"
    )


def say_reasons(balance: Balance, units: Units) -> tuple[str, ...]:
    """Say what bounds the starting speed, the lowest bound first, then the lathe's lowest speed."""
    start = balance.start
    least = start.bounds[0]
    told = [_reason(bound, balance, units) for bound in start.bounds if bound.rule is not SpeedRule.HIGHEST]
    if least.rule is SpeedRule.HIGHEST:
        told.insert(0, f"The lathe turns at {least.rpm:g} rpm at most.")
    if start.lowest is None:
        told.append("The lathe's lowest speed is not given in the job: whether it is low enough cannot be said.")
    elif Hindrance.SPEED in start.hindrances:
        told.append(f"The lathe's lowest speed is {start.lowest:g} rpm, faster than that.")
    else:
        told.append(f"The lathe's lowest speed is {start.lowest:g} rpm.")
    return tuple(told)


def _reason(bound: SpeedBound, balance: Balance, units: Units) -> str:
    if bound.rule is SpeedRule.PRODUCT:
        across = 2.0 * (balance.swing.radius + balance.swing.slack)
        inches = across / MM_PER_INCH
        wide = format_length(across, units)
        return (
            f"{bound.rpm:.0f} rpm: diameter in inches times rpm is {PRODUCT[0]:.0f} to {PRODUCT[1]:.0f} (common "
            f"practice, for round and sound wood only): at {wide} that is {PRODUCT[0] / inches:.0f} to "
            f"{PRODUCT[1] / inches:.0f} rpm, and for wood that is not round the lower end."
        )
    if not bound.rpm < FASTEST:
        return "On the model it is balanced, so force sets no bound."
    return (
        f"{bound.rpm:.0f} rpm: here the centres may have to hold {WEIGHT_SHARE:.2g} of its weight, by offset, couple "
        "and what is not known of the offset (our own bound, no rule of the trade)."
    )


def say_hindrances(balance: Balance) -> tuple[str, ...]:
    """Say why the blank is not to be started on this mounting; nothing where nothing hinders."""
    told = {
        Hindrance.SWING: _no_swing,
        Hindrance.LENGTH: _no_length,
        Hindrance.SPEED: _no_speed,
    }
    return tuple(
        f"Do not start it on this mounting: {told[hindrance](balance)}" for hindrance in balance.start.hindrances
    )


def _no_swing(balance: Balance) -> str:
    is_out = balance.swing.room is not None and balance.swing.radius >= balance.swing.room
    said = "it does not clear the bed" if is_out else "that it clears the bed cannot be said, so near does it come"
    return f"{said}. Cut it smaller or move the centres."


def _no_length(balance: Balance) -> str:
    is_out = balance.span.room is not None and balance.span.length >= balance.span.room
    said = "it is too long for" if is_out else "that it goes between cannot be said, so near is its length to that of"
    return f"{said} the lathe. Cut it shorter."


def _no_speed(balance: Balance) -> str:
    least = balance.start.bounds[0]
    why = {
        SpeedRule.FORCE: f"the centres may have to hold {WEIGHT_SHARE:.2g} of its weight. Balance it first",
        SpeedRule.PRODUCT: "common practice begins for wood of this size. Cut it smaller",
        SpeedRule.HIGHEST: "the lathe turns at most. Look at [lathe] again",
    }[least.rule]
    return (
        f"even the lathe's lowest speed, {balance.start.lowest:g} rpm, is faster than the {least.rpm:.0f} rpm at "
        f"which {why}, take it to a slower lathe, or ask somebody trained."
    )


def say_cautions(balance: Balance) -> tuple[str, ...]:
    """Say what is to be minded before the motor runs; what is particular to this blank first."""
    return (*say_hindrances(balance), *_minded(balance))


def _minded(balance: Balance) -> Iterator[str]:
    if balance.swing.room is None:
        yield "The lathe's swing is not given in the job: measure that the wood clears the bed."
    yield from CAUTIONS


def _balanced(balance: Balance, job: Job, blank: Blank) -> Iterator[str]:
    balanced = balance.balanced
    if _is_nothing(balance.offset, job.units):
        yield "On the model the axis is balanced: no move makes it better."
        return
    doubt = "" if balance.is_side_known else " (which is less than can be told)"
    yield f"Balanced {_shifts(balanced, job)}{doubt}. In the job:"
    for end, place in ((End.FOOT, balanced.mounting.foot_centre), (End.RIM, balanced.mounting.rim_centre)):
        yield f"- {end}_centre = {_place(place / blank.scale, job.units)}"
    reach = format_length(balanced.reach, job.units)
    yield (
        f"There the farthest wood is {reach} from the axis. Check whether the bowl still comes out before a "
        f"centre is moved. {_left(balance, job.units)}"
    )


def _shifts(balanced: Balanced, job: Job) -> str:
    foot, rim = _shift(balanced.foot_shift, job), _shift(balanced.rim_shift, job)
    if balanced.held is not None:
        moved, shift = (End.RIM, rim) if balanced.held is End.FOOT else (End.FOOT, foot)
        return f"with the {balanced.held} centre held: move the {moved} centre by {shift}"
    if foot == rim:
        return f"with the least move: both centres by {foot}"
    return f"with the least move: the foot centre by {foot}, the rim centre by {rim}"


def _left(balance: Balance, units: Units) -> str:
    kilograms = balance.mass.kilograms
    couple = format_moment((kilograms or 1.0) * balance.balanced.couple, units, power=2)
    if couple.startswith("0 "):
        return ""
    each = "" if kilograms is not None else " for each kilogram"
    return f"What is left is a couple of {couple}{each}: it rests in any position, and still shakes when it turns."


def _shift(shift: NDArray[np.float64], job: Job) -> str:
    size = float(np.linalg.norm(shift))
    if _is_nothing(size, job.units):
        return "nothing"
    return (
        f"{format_length(size, job.units)} toward {say_angle(float(np.arctan2(shift[1], shift[0])), job.index_count)}"
    )


def _place(place: NDArray[np.float64], units: Units) -> str:
    return f"[{', '.join(format_number(float(value), units) for value in place)}]"
