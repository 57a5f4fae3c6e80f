"""A move of the centres, told in the order of the hands: mark, remount, look, then what runs differently.

It chooses words only; every figure comes from the records, in the job's units.
"""

import math
from collections.abc import Iterator

from formmaker.files.spoken import say_answer, wrapped
from formmaker.files.spoken_steps import Tongue, say_steps, say_way
from formmaker.model.balance import Bearing
from formmaker.model.blank import Blank
from formmaker.model.ends import End
from formmaker.model.job import Job
from formmaker.model.mounting import Mounting, RimEnd
from formmaker.model.move import DividerPair, EndMove, KeepChange, Move, WhichCrossing
from formmaker.model.verdict import Verdict

CAUTION = (
    "Stop the lathe and take it off the power before you touch the centres. The wood will run differently: turn "
    "it by hand first, and begin at the lathe's lowest speed."
)

SEEN_FROM = "Degrees run counter-clockwise as you look at the rim end, so clockwise as you look at the foot end."

_STRAIGHT = math.radians(3.0)
_NEAR_WAY = math.radians(25.0)  # a mark farther off the way than this is none to go by


def spoken_move(move: Move, job: Job, blank: Blank, verdict: Verdict, tongue: Tongue) -> str:
    """Say how to move the centres.

    Parameters
    ----------
    move : Move
    job : Job
        For its title and its own words.
    blank : Blank
        For how well it is known.
    verdict : Verdict
        On the new mounting.
    tongue : Tongue

    Returns
    -------
    str
        Lines without a line break at the end.
    """
    told = say_move(move, job, blank, verdict, tongue)
    if not told:
        return f"{job.title}: both centres stay where they are."
    return "\n".join(wrapped([f"{job.title}: moving the centres.", *told]))


def say_move(move: Move, job: Job, blank: Blank, verdict: Verdict, tongue: Tongue) -> tuple[str, ...]:
    """Say the same in paragraphs without a title; nothing where both centres stay."""
    if all(tongue.length(end.shift) == tongue.length(0.0) for end in move.ends):
        return ()
    return (
        *(line for end in move.ends for line in _end(end, move.old, tongue)),
        SEEN_FROM,
        *_advice(move),
        *_axis(move, tongue),
        *_look(move, blank, tongue),
        *_changes(move, tongue),
        f"On the new axis, {say_answer(verdict, job)}",
        CAUTION,
    )


def _end(end: EndMove, old: Mounting, tongue: Tongue) -> Iterator[str]:
    name = f"The {end.end} centre ({_lathe_end(end.end, old)})"
    if not math.isfinite(end.toward):
        yield f"{name} stays where it is."
        return
    bearing = _bearing(end.bearing, end.toward, tongue) if end.bearing is not None else ""
    way, steps = say_way(end.across, end.toward, tongue), say_steps(end.across, end.toward, tongue)
    yield f"{name}: {way}{bearing}{steps}.{_rule(end, tongue)}"
    if end.dividers is not None:
        yield f"- With dividers: {_dividers(end.dividers, tongue)}."
    else:
        yield f"- {_no_dividers(end)}"


def _lathe_end(end: End, mounting: Mounting) -> str:
    other = {RimEnd.HEADSTOCK: RimEnd.TAILSTOCK, RimEnd.TAILSTOCK: RimEnd.HEADSTOCK}
    return (mounting.rim_end if end is End.RIM else other[mounting.rim_end]).value


def _bearing(bearing: Bearing, toward: float, tongue: Tongue) -> str:
    """Say which mark the way goes toward or away from; nothing where none lies near it."""
    away = abs(bearing.turn) > math.pi / 2.0
    off = abs(math.remainder(bearing.turn - (math.pi if away else 0.0), 2.0 * math.pi))
    way = f"{'away from' if away else 'toward'} mark {bearing.name}"
    if off <= _STRAIGHT:
        return f", straight {way}"
    lies = tongue.angle(toward - bearing.turn)
    return f", roughly {way}, which lies at {lies}" if off <= _NEAR_WAY else ""


def _rule(end: EndMove, tongue: Tongue) -> str:
    """Where the wood is not flat, a rule laid on it reads more than the shift square to the axis."""
    if tongue.length(end.shift) == tongue.length(end.across):
        return ""
    lies = f"{tongue.length(abs(end.rise))} nearer the {'rim' if end.rise > 0.0 else 'foot'}"
    return f" It lies {lies} than the old one, so straight from mark to mark it is {tongue.length(end.shift)}."


def _dividers(pair: DividerPair, tongue: Tongue) -> str:
    said = [f"{tongue.length(s.radius)} from mark {s.mark}{tongue.rounding(s.radius)}" for s in pair.settings]
    first, second = (setting.mark for setting in pair.settings)
    where = {
        WhichCrossing.ONLY: "the new centre is where the arcs cross",
        WhichCrossing.NEARER: "of their crossings the new centre is the one nearer the old centre",
        WhichCrossing.FARTHER: "of their crossings the new centre is the one farther from the old centre",
        WhichCrossing.SIDE: (
            f"of their crossings the new centre is the one toward {tongue.angle(pair.side)} of the line from "
            f"{first} to {second}"
        ),
    }
    off = pair.blur * math.hypot(*(tongue.rounded_by(setting.radius) for setting in pair.settings))
    cost = "" if tongue.fine(off) == tongue.fine(0.0) else f"; so rounded, they cross within {tongue.fine(off)} of it"
    return f"{said[0]} and {said[1]}; {where[pair.crossing]}{cost}"


def _no_dividers(end: EndMove) -> str:
    found = {0: "no witness mark", 1: f"only one witness mark ({''.join(end.usable)})"}
    why = found.get(len(end.usable), "no two witness marks whose arcs cross well")
    return f"No divider settings: there is {why} near this end."


def _advice(move: Move) -> Iterator[str]:
    if any(math.isfinite(end.toward) and end.dividers is None for end in move.ends):
        yield (
            "For divider settings prick two witness marks near that end, about a quarter turn apart as seen from the "
            'centre, and write each into the job as a [[blank.mark]] with kind = "witness" and its place.'
        )


def _axis(move: Move, tongue: Tongue) -> Iterator[str]:
    degrees = f"{math.degrees(move.tilt):.2f}"
    axis = "The axis stays parallel." if degrees == "0.00" else f"The axis tilts by {degrees} deg."
    slip = tongue.length(abs(move.foot_slip))
    goes = f"moves by {slip} toward the {'rim' if move.foot_slip > 0.0 else 'foot'}"
    place = "keeps its place" if slip == tongue.length(0.0) else goes
    height = tongue.length(move.new.foot_height)
    yield f"{axis} The plane of the foot {place}; it is {height} from the new foot centre."


def _look(move: Move, blank: Blank, tongue: Tongue) -> Iterator[str]:
    ring = move.ring
    if not math.isfinite(ring.touching):
        yield "No wood stands round the new axis at the height of the form: there is no gap to check the move by."
        return
    gaps = ", ".join(
        f"{tongue.length(gap.gap) if math.isfinite(gap.gap) else 'air'} at {math.degrees(gap.theta):.0f} deg"
        for gap in ring.gaps
        if gap.theta != ring.touching
    )
    yield (
        f"Before you cut: set a pointer {tongue.length(ring.from_foot)} along the axis from the new foot centre, "
        f"just touching the wood at {math.degrees(ring.touching):.0f} deg. Turned by hand, the gap is then {gaps} "
        f"(each known to within {tongue.length(2.0 * blank.uncertainty)})."
    )


def _changes(move: Move, tongue: Tongue) -> Iterator[str]:
    foot, rim = (tongue.length(run_out.total) for run_out in move.run_out)
    yield f"A circle cut on the old axis will run out by {foot} at the foot and {rim} at the rim, high to low."
    yield from (_keep(keep, tongue) for keep in move.keep)


def _keep(keep: KeepChange, tongue: Tongue) -> str:
    change = tongue.length(abs(keep.after - keep.before))
    than_now = f"{change} {'more' if keep.after > keep.before else 'less'} than now"
    if change == tongue.length(0.0):
        than_now = "as now"
    if keep.after >= 0.0:
        was = "" if keep.before >= 0.0 else "; now it is lost"
        return f"Mark {keep.name} is kept with {tongue.length(keep.after)} to spare, {than_now}{was}."
    was = f"now it is kept with {tongue.length(keep.before)} to spare" if keep.before >= 0.0 else "now it is lost too"
    return f"Mark {keep.name} is lost by {tongue.length(-keep.after)}; {was}."
