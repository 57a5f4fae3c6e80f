"""A move as plain data: the object that ``formmaker move --json`` prints.

Keys and units are fixed. ``from_mm`` and ``to_mm`` are in the blank's own millimetres: where known lengths scale a
scan, divide them by that factor to get the figures of the job file. ``shift_mm`` is the straight distance between
them, ``toward_deg`` the direction about the old axis (None where the centre stays). ``before_mm`` and ``after_mm`` of
a keep mark say how much nearer than wanted the rim passes; below 0 the mark is lost. ``gap_mm`` counts from a pointer
that touches the wood at the angle with gap 0, half way up the form, or as near to it as all four angles meet wood.
"""

import math

from formmaker.model.move import EndMove, Move
from formmaker.units import degrees_round

Plain = dict[str, object]


def move_to_json(move: Move) -> Plain:
    """Turn a move into what ``json.dumps(..., allow_nan=False)`` takes."""
    return {
        "ends": [_end(end) for end in move.ends],
        "tilt_deg": math.degrees(move.tilt),
        "keep": [{"name": keep.name, "before_mm": keep.before, "after_mm": keep.after} for keep in move.keep],
        "check_gaps": [
            {"theta_deg": degrees_round(gap.theta), "gap_mm": gap.gap if math.isfinite(gap.gap) else None}
            for gap in move.ring.gaps
        ],
    }


def _end(end: EndMove) -> Plain:
    settings = end.dividers.settings if end.dividers is not None else ()
    return {
        "end": end.end.value,
        "from_mm": end.before.tolist(),
        "to_mm": end.after.tolist(),
        "shift_mm": end.shift,
        "toward_deg": degrees_round(end.toward) if math.isfinite(end.toward) else None,
        "dividers": [{"mark": setting.mark, "radius_mm": setting.radius} for setting in settings],
    }
