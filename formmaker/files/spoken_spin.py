"""What is seen while the blank spins, in words and as JSON."""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from formmaker.files.spoken import say_angle, say_height, wrapped
from formmaker.model.form import Edge, Form
from formmaker.model.job import Job
from formmaker.model.spin import Ring, RingArc, SpinMap
from formmaker.units import degrees_round, format_length

SPIN_CAUTION = (
    "Look at a spinning piece from outside its line, face shield on; the ghost is solid wood. The lathe maker's "
    "manual, the rules of your place and trained people go before anything said here."
)


def spoken_ring(ring: Ring, job: Job, uncertainty: float) -> str:
    """Say the arcs of wood and air on a ring.

    Parameters
    ----------
    ring : Ring
    job : Job
        For units and index positions.
    uncertainty : float
        How far the skin may be off, mm.

    Returns
    -------
    str
        Lines.
    """
    return "\n".join(wrapped(_ring_lines(ring, job, uncertainty)))


def _ring_lines(ring: Ring, job: Job, uncertainty: float) -> Iterator[str]:
    where = f"Radius {format_length(ring.radius, job.units)}, {say_height(ring.height, job.units)}"
    if len(ring.arcs) == 1:
        yield f"{where}: {'wood' if ring.arcs[0].is_wood else 'air'} all round."
    else:
        yield f"{where}: {100.0 * ring.share_of_air:.1f} % of the turn is air."
        for arc in ring.arcs:
            yield f"- {_say_arc(arc, job.index_count)}"
    if ring.first_contact is not None and ring.last_contact is not None:
        first, last = (say_angle(angle, job.index_count) for angle in (ring.first_contact, ring.last_contact))
        yield f"Counted on from the widest gap, first contact is at {first} and last contact at {last}."
    known = format_length(uncertainty, job.units)
    yield f"The skin is known to within {known}: an end may lie that far along the ring, or more where it is grazed."
    yield SPIN_CAUTION


def _say_arc(arc: RingArc, index_count: int) -> str:
    ends = " to ".join(
        f"{degrees_round(angle):.1f} deg (index {degrees_round(angle) * index_count / 360.0:.1f})"
        for angle in (arc.start, arc.end)
    )
    return f"{'wood' if arc.is_wood else 'air'} from {ends}, {math.degrees(arc.end - arc.start):.1f} deg long"


def ring_to_json(ring: Ring, job: Job, uncertainty: float) -> dict[str, object]:
    """A ring as plain values for a program."""

    def degrees(angle: float | None) -> float | None:
        return None if angle is None else degrees_round(angle)

    return {
        "radius_mm": ring.radius,
        "height_mm": ring.height,
        "index_count": job.index_count,
        "arcs": [
            {
                "from_deg": degrees_round(arc.start),
                "to_deg": degrees_round(arc.end),
                "length_deg": math.degrees(arc.end - arc.start),
                "wood": arc.is_wood,
            }
            for arc in ring.arcs
        ],
        "share_of_air": ring.share_of_air,
        "first_contact_deg": degrees(ring.first_contact),
        "last_contact_deg": degrees(ring.last_contact),
        "uncertainty_mm": uncertainty,
    }


def spoken_turn(seen: SpinMap, job: Job, uncertainty: float) -> str:
    """Say what the whole turn shows, with a table of core, ghost and air by height.

    Parameters
    ----------
    seen : SpinMap
    job : Job
    uncertainty : float
        How far the skin may be off, mm.

    Returns
    -------
    str
        Lines.
    """
    lines = [*wrapped(_turn_lines(seen, job, uncertainty)), "", *_table(seen, job), "", *wrapped([SPIN_CAUTION])]
    return "\n".join(lines)


def _turn_lines(seen: SpinMap, job: Job, uncertainty: float) -> Iterator[str]:
    air = float((seen.depth < 0.0).mean())
    yield f"Of the outer curve, unrolled, {100.0 * (1.0 - air):.0f} % runs in wood and {100.0 * air:.0f} % in air."
    if seen.depth.max() > 0.0:
        yield f"Most wood outside it: {_say_most(seen, job, seen.depth)}."
    wanted = seen.height <= _wanted_height(job.form)
    below = np.where(wanted[:, None], -seen.depth, -np.inf)
    natural = job.form.edge is Edge.NATURAL
    upto = f"Up to the lowest rim accepted, {format_length(job.form.lowest_rim, job.units)}, " if natural else ""
    if below.max() > 0.0:
        yield f"{upto}{'most' if upto else 'Most'} missing inside it: {_say_most(seen, job, below)}."
    else:
        yield f"{upto}{'no' if upto else 'No'} wood is missing inside it."
    yield f"Measured square to the axis; the skin is known to within {format_length(uncertainty, job.units)}."


def _wanted_height(form: Form) -> float:
    return form.lowest_rim if form.edge is Edge.NATURAL else form.height


def _say_most(seen: SpinMap, job: Job, sizes: NDArray[np.float64]) -> str:
    level, turn = np.unravel_index(int(sizes.argmax()), sizes.shape)
    angle = say_angle(float(seen.theta[turn]), job.index_count)
    height = say_height(float(seen.height[level]), job.units)
    return f"{format_length(float(sizes[level, turn]), job.units)} at {angle}, {height}"


def _table(seen: SpinMap, job: Job) -> Iterator[str]:
    """Core, ghost and the radius at which half the turn is air, at every third height."""
    head = ("height", "core", "half air", "ghost")
    rows = [head]
    for place in range(0, len(seen.spin.height), 3)[::-1]:
        height = float(seen.spin.height[place])
        sizes = (height, *(float(line[place]) for line in (seen.spin.core, seen.half_air, seen.spin.ghost)))
        rows.append(tuple(format_length(size, job.units) for size in sizes))  # type: ignore[arg-type]
    widths = [max(len(row[column]) for row in rows) for column in range(len(head))]
    for row in rows:
        yield "  ".join(word.rjust(width) for word, width in zip(row, widths, strict=True))


def turn_to_json(seen: SpinMap, job: Job, uncertainty: float) -> dict[str, object]:
    """The whole turn as plain values for a program."""
    level_most = np.unravel_index(int(seen.depth.argmax()), seen.depth.shape)
    level_least = np.unravel_index(int(seen.depth.argmin()), seen.depth.shape)
    return {
        "index_count": job.index_count,
        "height_mm": seen.spin.height.tolist(),
        "core_mm": seen.spin.core.tolist(),
        "half_air_mm": seen.half_air.tolist(),
        "ghost_mm": seen.spin.ghost.tolist(),
        "air": {
            "radius_mm": seen.air.radius.tolist(),
            "height_mm": seen.air.height.tolist(),
            "share": seen.air.share.tolist(),
        },
        "curve": {
            "theta_deg": np.degrees(seen.theta).tolist(),
            "height_mm": seen.height.tolist(),
            "radius_mm": seen.outside.tolist(),
            "depth_mm": seen.depth.tolist(),
        },
        "most_outside": _place(seen, level_most, 1.0),
        "most_missing": _place(seen, level_least, -1.0),
        "rim": {"theta_deg": np.degrees(seen.rim.theta).tolist(), "height_mm": seen.rim.height.tolist()},
        "uncertainty_mm": uncertainty,
    }


def _place(seen: SpinMap, place: tuple[np.intp, ...], sign: float) -> dict[str, float] | None:
    level, turn = place
    size = sign * float(seen.depth[level, turn])
    if not size > 0.0:
        return None
    return {
        "mm": size,
        "theta_deg": float(np.degrees(seen.theta[turn])),
        "height_mm": float(seen.height[level]),
    }
