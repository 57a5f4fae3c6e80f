"""What drying does to a bowl as plain data for programs: the object that ``formmaker dry --json`` prints.

Keys, units (mm, degrees from 0 up to 180, cm3, kg, %) and words are fixed; what is not known is None.
"""

import math

from formmaker.files.plain import Plain
from formmaker.files.verdict_json import MM3_PER_CM3
from formmaker.model.drying import Drying, Oval, RoughOut


def drying_to_json(drying: Drying, climate: tuple[float, float] | None) -> Plain:
    """Turn the answer into what ``json.dumps(..., allow_nan=False)`` takes.

    Parameters
    ----------
    drying : Drying
    climate : tuple of float or None
        Temperature (C) and humidity (share) where the moisture was taken from air.

    Returns
    -------
    dict
        Of texts, floats, booleans, None, lists and dicts only.
    """
    return {
        "wood": drying.timber or None,
        "start_moisture_pct": drying.start,
        "is_green": drying.is_green,
        "end_moisture_pct": drying.end,
        "climate": None if climate is None else {"temperature_c": climate[0], "humidity_pct": 100.0 * climate[1]},
        "shrinkage_pct": {
            "tangential": 100.0 * drying.tangential,
            "radial": 100.0 * drying.radial,
            "along": 100.0 * drying.along,
            "spread": 100.0 * drying.spread,
            "source": drying.source,
        },
        "rings": drying.model.name.lower().replace("_", " "),
        "assumed": list(drying.assumed),
        "warnings": list(drying.warnings),
        "skin_mm": drying.skin,
        "rough_out": _rough(drying.rough),
        "careful_rough_out": _rough(drying.careful),
        "ten_percent_wall_mm": drying.tenth,
        "ten_percent_holds": drying.tenth >= drying.rough.wall,
        "ten_percent_holds_careful": drying.tenth >= drying.careful.wall,
        "finished": {
            "oval": _oval(drying.finished),
            "weight_kg": drying.bowl_weight,
            "ready_kg": drying.bowl_ready,
        },
        "ready_share": drying.ready_share,
    }


def _rough(rough: RoughOut) -> Plain:
    return {
        "outside_mm": rough.outside,
        "inside_mm": rough.inside,
        "rim_mm": rough.rim,
        "foot_mm": rough.foot,
        "wall_mm": rough.wall,
        "wall_pct": 100.0 * rough.share,
        "diameter_mm": rough.diameter,
        "height_mm": rough.height,
        "volume_cm3": rough.volume / MM3_PER_CM3,
        "weight_kg": rough.weight,
        "ready_kg": rough.ready,
        "oval": _oval(rough.oval),
    }


def _oval(oval: Oval) -> Plain:
    return {
        "height_mm": oval.height,
        "before_mm": oval.before,
        "longest_mm": oval.longest,
        "shortest_mm": oval.shortest,
        "longest_deg": math.degrees(oval.toward),
        "along_grain_mm": oval.along,
        "across_grain_mm": oval.across,
        "out_of_level_mm": oval.level,
    }
