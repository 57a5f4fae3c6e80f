"""What a search came to as plain data: the object that ``formmaker seek --json`` prints.

Keys are fixed; lengths in mm in the blank's own frame, angles in degrees; what is not known is None.
"""

import math

from formmaker.files.plain import Plain, figure, figures
from formmaker.files.verdict_json import MM3_PER_CM3, verdict_to_json
from formmaker.model.choices import Choice, Choices
from formmaker.model.mounting import Mounting


def seek_to_json(found: Choices) -> Plain:
    """Turn what a search came to into what ``json.dumps(..., allow_nan=False)`` takes."""
    searched, clash = found.searched, found.clash
    plain: Plain = {
        "best": _best(found.best) if found.best is not None else None,
        "bound_mm": figure(found.bound),
        "gap": figure(found.gap),
        "proven": found.is_proven,
        "searched": {
            "tilt_deg": math.degrees(searched.tilt),
            "shift_mm": figure(searched.shift),
            "boxes": searched.boxes,
            "seconds": searched.seconds,
        },
        "choices": [_choice(choice) for choice in found.choices],
    }
    if clash is None:
        return plain
    reliefs = [{"without": relief.wish, "diameter_mm": relief.diameter} for relief in clash.reliefs]
    return {**plain, "clash": {"wishes": list(clash.wishes), "reliefs": reliefs}}


def _best(choice: Choice) -> Plain:
    return {
        "diameter_mm": choice.verdict.diameter,
        "height_mm": choice.verdict.height,
        "whole_cm3": choice.whole / MM3_PER_CM3,
        "mounting": mounting_to_json(choice.mounting),
        "verdict": verdict_to_json(choice.verdict),
    }


def _choice(choice: Choice) -> Plain:
    verdict = choice.verdict
    plain: Plain = {
        "why": choice.why,
        "diameter_mm": verdict.diameter,
        "height_mm": verdict.height,
        "lean_mm": figure(verdict.rim.lean),
        "sway_mm": figure(verdict.rim.sway),
        "lowest_rim_mm": figure(float(verdict.rim.height.min())),
        "keep": [{"name": mark.name, "miss_mm": mark.miss} for mark in choice.keep],
        "unbalance_kg_mm": figure(choice.unbalance),
        "move_mm": choice.move,
        "tilt_deg": math.degrees(choice.tilt),
        "mounting": mounting_to_json(choice.mounting),
    }
    return plain if choice.bound is None else {**plain, "bound_mm": choice.bound}


def mounting_to_json(mounting: Mounting) -> Plain:
    """Turn a mounting into plain data."""
    return {
        "foot_centre_mm": figures(mounting.foot_centre),
        "rim_centre_mm": figures(mounting.rim_centre),
        "foot_height_mm": figure(mounting.foot_height),
        "rim_end": mounting.rim_end.value,
    }
