"""How well a bowl is held as plain data for programs: the object that ``formmaker hold --json`` prints.

Keys, units (mm, mm2, degrees, N, N m, N/mm2, rpm, %) and words are fixed; what is not known is None.
"""

from formmaker.engine.gripping import spindle_thread
from formmaker.engine.holding import USUAL_SHARE
from formmaker.engine.holding_strength import LEAST_FACTOR
from formmaker.files.plain import Plain, degrees, figure
from formmaker.files.spoken_hold import CAUTIONS
from formmaker.model.holding import Holding, Load, Seat, Stress
from formmaker.model.job import Job

_MM_PER_M = 1000.0


def holding_to_json(holding: Holding, job: Job) -> Plain:
    """Turn the answer into what ``json.dumps(..., allow_nan=False)`` takes.

    Parameters
    ----------
    holding : Holding
    job : Job
        For its holding and its chuck.

    Returns
    -------
    dict
        Of texts, floats, booleans, None, lists and dicts only.
    """
    sizes, hold = holding.sizes, job.hold
    return {
        "kind": hold.kind.value,
        "hinders": bool(holding.hindrances),
        "hindrances": [{"code": point.code.value, "text": point.text} for point in holding.hindrances],
        "remarks": [{"code": point.code.value, "text": point.text} for point in holding.points if not point.hinders],
        "diameter_mm": hold.diameter,
        "depth_mm": hold.depth,
        "bowl_diameter_mm": sizes.bowl,
        "foot_mm": sizes.foot,
        "share_pct": 100.0 * hold.diameter / sizes.bowl,
        "usual_share_pct": [100.0 * share for share in USUAL_SHARE],
        "shoulder_mm": sizes.shoulder,
        "floor_left_mm": sizes.floor_left,
        "inside_clearance_mm": sizes.inside,
        "glued_area_mm2": sizes.glued,
        "chuck": _chuck(holding, job),
        "seat": _seat(holding.seat),
        "wood": {
            "name": holding.wood or None,
            "moisture_pct": holding.moisture,
            "is_green": holding.is_green,
            "grain_to_axis_deg": degrees(holding.lean),
        },
        "load": _load(holding.load),
        "stresses": [_stress(stress) for stress in holding.stresses],
        "factor_asked": LEAST_FACTOR,
        "cautions": list(CAUTIONS),
    }


def _chuck(holding: Holding, job: Job) -> Plain:
    chuck, grip = job.chuck, holding.grip
    thread = spindle_thread(chuck, job.lathe)
    return {
        "name": chuck.name or None,
        "way": grip.way.value,
        "grips_mm": None if grip.ends is None else list(grip.ends),
        "within_range": None if grip.ends is None else grip.ends[0] <= job.hold.diameter <= grip.ends[1],
        "true_circle_mm": chuck.true_circle,
        "jaw_height_mm": chuck.jaw_height,
        "gripped_mm": grip.length,
        "air_under_tenon_mm": grip.below,
        "screws_mm": chuck.screws,
        "thread": None if thread is None else thread.text,
        "thread_diameter_mm": None if thread is None else thread.diameter,
        "thread_pitch_mm": None if thread is None else thread.pitch,
    }


def _seat(seat: Seat) -> Plain:
    return {
        "depth_mm": figure(seat.depth),
        "uncertainty_mm": seat.slack,
        "is_in_wood": seat.is_in_wood,
        "in_wood_pct": 100.0 * seat.in_wood,
        "bark_pct": None if seat.bark is None else 100.0 * seat.bark,
        "natural_skin_mm": figure(seat.natural),
        "flaws": list(seat.flaws),
        "at": {"theta_deg": degrees(seat.theta), "radius_mm": seat.radius, "height_mm": seat.height},
    }


def _load(load: Load) -> Plain:
    return {
        "cut_force_n": load.cut,
        "cut_is_assumed": load.is_assumed,
        "lever_mm": load.lever,
        "weight_n": load.weight,
        "rpm": load.rpm,
        "rpm_from": None if load.speed_from is None else load.speed_from.value,
        "unbalance_n": load.unbalance,
        "pull_n": load.pull,
        "side_n": load.side,
        "bending_n_m": load.moment / _MM_PER_M,
        "torque_n_m": load.torque / _MM_PER_M,
    }


def _stress(stress: Stress) -> Plain:
    return {
        "kind": stress.kind.value,
        "area_mm2": stress.area,
        "stress_n_mm2": stress.value,
        "strength_n_mm2": stress.strength,
        "source": stress.source or None,
        "factor": figure(stress.factor),
    }
