"""What drying does to a bowl, in a few lines that a turner understands.

It chooses words only; every figure comes from ``Drying``, in the job's units.
"""

import math
from collections.abc import Iterator

from formmaker.files.spoken import say_angle
from formmaker.model.drying import Drying, GrainModel, Oval, RoughOut
from formmaker.model.form import Edge
from formmaker.model.job import Job
from formmaker.units import Units, format_length, format_weight

CAUTION = (
    "Means of many trees, not this one: weigh the piece until it stops losing weight, and measure it, before you "
    "turn it again."
)


def spoken_dry(drying: Drying, job: Job) -> tuple[str, ...]:
    """Say what drying does to a job's bowl.

    Parameters
    ----------
    drying : Drying
    job : Job
        For its title, units, index positions and edge.

    Returns
    -------
    tuple of str
        Paragraphs, to be wrapped.
    """
    units = job.units
    return (
        f"{job.title}: {_way(drying)}",
        *(f"- {text}" for text in (*drying.warnings, *drying.assumed)),
        _rough(drying, units),
        _careful(drying, units),
        _tenth(drying, units),
        *_weights(drying, units),
        _finished(drying, job),
        *_last(drying, job),
    )


def say_in_brief(drying: Drying, job: Job) -> str:
    """Say in a line what becomes of the bowl where it is turned to finish as wet as it is."""
    oval, units = drying.finished, job.units
    before, longest, shortest = (format_length(size, units) for size in (oval.before, oval.longest, oval.shortest))
    return f"{before} turned now comes to about {longest} by {shortest} at {drying.end:.0f} % of moisture."


def say_climate(climate: tuple[float, float] | None) -> tuple[str, ...]:
    """Say a climate, temperature (C) and humidity (share); nothing where there is none."""
    if climate is None:
        return ()
    celsius, humidity = climate
    air = f"In air of {celsius:.0f} C ({1.8 * celsius + 32.0:.0f} F) and {100.0 * humidity:.0f} % humidity"
    return (f"{air}; what wood comes to there is known to half a point of moisture.",)


def _way(drying: Drying) -> str:
    name = drying.timber or "this wood"
    start = f"green ({drying.start:.0f} %)" if drying.is_green else f"{drying.start:g} %"
    shares = [f"{100.0 * share:.1f} %" for share in (drying.tangential, drying.radial, drying.along)]
    return (
        f"{name}, from {start} to {drying.end:.1f} % of moisture, loses {shares[0]} of its size along the rings, "
        f"{shares[1]} across them and {shares[2]} along the grain ({drying.source}), give or take "
        f"{100.0 * drying.spread:.0f} % of that from piece to piece. The rings are taken to lie {drying.model.value}."
    )


def _rough(drying: Drying, units: Units) -> str:
    rough = drying.rough
    outside, inside, rim, foot = (
        format_length(size, units) for size in (rough.outside, rough.inside, rough.rim, rough.foot)
    )
    return (
        f"Roughed out now and turned again when dry, with {format_length(drying.skin, units)} to true up all over: "
        f"leave at least {outside} outside, {inside} inside, {rim} above the rim and {foot} under the foot. That is "
        f"{_wall(rough, units)}. It dries to an oval: {_say_oval(rough.oval, units)}."
    )


def _wall(rough: RoughOut, units: Units) -> str:
    return (
        f"a wall of {format_length(rough.wall, units)} on a rough-out {format_length(rough.diameter, units)} across "
        f"and {format_length(rough.height, units)} high, {100.0 * rough.share:.1f} % of its diameter"
    )


def _careful(drying: Drying, units: Units) -> str:
    return (
        f"If this piece shrinks by {100.0 * 2.0 * drying.spread:.0f} % more than its kind (about one in forty does): "
        f"{_wall(drying.careful, units)}, {format_length(drying.careful.outside, units)} outside and "
        f"{format_length(drying.careful.inside, units)} inside."
    )


def _tenth(drying: Drying, units: Units) -> str:
    rule, least, careful = drying.tenth, drying.rough.wall, drying.careful.wall
    said = f"The ten-percent rule (common practice) gives a wall of {format_length(rule, units)}"
    if rule >= careful:
        return f"{said}: more than either, if it is left on the sides that need it."
    if rule >= least:
        return f"{said}: more than the first and less than the second."
    return f"{said}: less than the least found here. Leave more."


def _weights(drying: Drying, units: Units) -> Iterator[str]:
    share = f"{100.0 * drying.ready_share:.0f} %"
    if drying.rough.weight is None or drying.rough.ready is None:
        yield f"Weigh the rough-out as soon as it is turned: it is ready when it weighs {share} of that."
        return
    now, ready = (format_weight(weight, units) for weight in (drying.rough.weight, drying.rough.ready))
    yield (
        f"The rough-out weighs about {now} as turned and about {ready} when it is ready, each known to 10 %. Better: "
        f"weigh it as soon as it is turned; it is ready when it weighs about {share} of that"
        f"{', if it was as wet as its kind is on the mean' if drying.is_green else ''}."
    )


def _finished(drying: Drying, job: Job) -> str:
    units = job.units
    oval = drying.finished
    level = f"; the rim goes {format_length(oval.level, units)} out of level" if oval.level >= 0.05 else ""
    toward = say_angle(oval.toward, job.index_count)
    weight = (
        f" It will weigh about {format_weight(drying.bowl_ready, units)}." if drying.bowl_ready is not None else ""
    )
    longest = f", longest toward {toward} and opposite" if oval.oval >= 0.05 else ""
    return (
        f"Turned to finish now, without turning it again: {format_length(oval.before, units)} across becomes "
        f"{_say_oval(oval, units)}{longest}{level}.{weight}"
    )


def _say_oval(oval: Oval, units: Units) -> str:
    shape = f"{format_length(oval.longest, units)} by {format_length(oval.shortest, units)}"
    share = f"{100.0 * oval.oval / oval.before:.1f} % of the diameter out of round"
    if oval.along is None or oval.across is None or math.isclose(oval.along, oval.across, abs_tol=0.05):
        return f"{shape} ({share})"
    along, across = format_length(oval.along, units), format_length(oval.across, units)
    return f"{along} along the grain, {across} across it ({share})"


def _last(drying: Drying, job: Job) -> Iterator[str]:
    if job.form.edge is Edge.NATURAL:
        yield "- A natural edge cannot be trued again: what is said of a rough-out holds for the wall below it."
    if drying.model is GrainModel.RINGED:
        yield "- Rings are reckoned as round about the pith; knots, forks and burrs move in ways that no table knows."
    skin = format_length(drying.rough.outside, job.units)
    yield (
        f"Whether the wood holds the rough-out: set skin = {_quoted(skin)} in [allowance] and ask `formmaker check`. "
        f"{CAUTION}"
    )


def _quoted(text: str) -> str:
    return f'"{text}"'
