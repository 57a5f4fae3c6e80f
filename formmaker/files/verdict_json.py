"""A verdict as plain data for programs: the object that ``formmaker check --json`` prints.

Keys, units (mm, degrees from 0 up to 360, cm2, cm3) and words are fixed; what is not finite is None.
"""

import math

from formmaker.files.plain import Plain, degrees, figure, figures
from formmaker.model.verdict import Extremum, Finding, HoldCheck, Place, RimLine, Spin, Verdict, Volumes

MM3_PER_CM3 = 1000.0
MM2_PER_CM2 = 100.0


def verdict_to_json(verdict: Verdict) -> Plain:
    """Turn a verdict into what ``json.dumps(..., allow_nan=False)`` takes.

    Parameters
    ----------
    verdict : Verdict

    Returns
    -------
    dict
        Of texts, floats, None, lists and dicts only.

    Notes
    -----
    ``volume_cm3.bowl`` is what of the form alone is wood: neither is a tenon counted nor a recess taken off.

    What ``amount_mm`` of a finding is, by its code; None for codes that are not named here:

    ==================  ================================================================================
    wood missing        how much is short, allowance included
    wood thin           how much is to spare
    rim low             how far the lowest place of the rim lies below the height wanted
    keep met, keep lost distance from the mark to the rim
    flaw met            how deep the flaw's ball reaches into the form
    flaw clear          room left between the two
    hold floor          floor left above the holding; 0 or less where it breaks through
    hold size           part ``foot``: width of the ring or shoulder round the holding, negative where the
                        holding is wider than the foot; any other part: diameter of the holding
    hold depth          depth of the recess
    ==================  ================================================================================
    """
    return {
        "answer": verdict.answer.value,
        "margin_mm": figure(verdict.margin),
        "uncertainty_mm": figure(verdict.uncertainty),
        "worst": _place(verdict.worst),
        "diameter_mm": figure(verdict.diameter),
        "height_mm": figure(verdict.height),
        "foot_mm": figure(verdict.foot),
        "rim": _rim(verdict.rim),
        "spin": _spin(verdict.spin),
        "loose_pieces": [
            {"volume_cm3": figure(piece.volume / MM3_PER_CM3), **_middle(piece.theta, piece.height)}
            for piece in verdict.loose_pieces
        ],
        "weak_necks": [
            {
                "area_cm2": figure(neck.area / MM2_PER_CM2),
                "volume_cm3": figure(neck.volume / MM3_PER_CM3),
                **_middle(neck.theta, neck.height),
            }
            for neck in verdict.weak_necks
        ],
        "windows": [
            {"area_cm2": figure(window.area / MM2_PER_CM2), **_middle(window.theta, window.height)}
            for window in verdict.windows
        ],
        "volume_cm3": _volumes(verdict.volumes),
        "hold": _hold(verdict.hold),
        "findings": [_finding(finding) for finding in verdict.findings],
    }


def _place(place: Place) -> Plain:
    return {
        "theta_deg": degrees(place.theta),
        "radius_mm": figure(place.radius),
        "z_mm": figure(place.height),
        "part": place.part.value,
    }


def _rim(rim: RimLine) -> Plain:
    heights = [float(height) for height in rim.height]
    known = [height for height in heights if math.isfinite(height)]
    return {
        "theta_deg": [degrees(theta) for theta in rim.theta],
        "height_mm": figures(heights),
        "kind": [kind.value for kind in rim.kinds],
        "lowest_mm": min(known, default=None),
        "highest_mm": max(known, default=None),
        "mean_mm": math.fsum(known) / len(known) if known else None,
        "lean_mm": figure(rim.lean),
        "lean_toward_deg": degrees(rim.lean_toward),
        "sway_mm": figure(rim.sway),
        "highs": [_extremum(high) for high in rim.highs],
        "lows": [_extremum(low) for low in rim.lows],
    }


def _extremum(extremum: Extremum) -> Plain:
    return {"theta_deg": degrees(extremum.theta), "height_mm": figure(extremum.height)}


def _spin(spin: Spin) -> Plain:
    return {"z_mm": figures(spin.height), "core_mm": figures(spin.core), "ghost_mm": figures(spin.ghost)}


def _middle(theta: float, height: float) -> Plain:
    return {"theta_deg": degrees(theta), "z_mm": figure(height)}


def _volumes(volumes: Volumes) -> Plain:
    return {name: figure(getattr(volumes, name) / MM3_PER_CM3) for name in ("blank", "bowl", "waste")}


def _hold(hold: HoldCheck) -> Plain:
    return {
        "kind": str(hold.kind),
        "diameter_mm": figure(hold.diameter),
        "ratio": figure(hold.ratio),
        "findings": [_finding(finding) for finding in hold.findings],
    }


def _finding(finding: Finding) -> Plain:
    return {
        "code": finding.reason.value,
        "text": finding.text,
        "part": finding.part.value if finding.part is not None else None,
        "theta_deg": degrees(finding.theta),
        "z_mm": figure(finding.height),
        "amount_mm": figure(finding.amount),
    }
