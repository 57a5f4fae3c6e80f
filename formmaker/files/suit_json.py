"""What each form would give as plain data for programs: the object that ``formmaker suit --json`` prints.

Keys are fixed; lengths in mm, volumes in cm3; what is not finite is None.
"""

from formmaker.files.plain import Plain, figure, figures
from formmaker.files.spoken_suit import sawn_share, why_not
from formmaker.files.verdict_json import MM3_PER_CM3, verdict_to_json
from formmaker.model.suit import Aim, NearMiss, Offer, Suit, Suiting

_RIM = ("lowest_mm", "highest_mm", "lean_mm", "lean_toward_deg", "sway_mm")


def suit_to_json(suit: Suit) -> Plain:
    """Turn what each form would give into what ``json.dumps(..., allow_nan=False)`` takes.

    Parameters
    ----------
    suit : Suit

    Returns
    -------
    dict
        ``forms``: the job's own first. ``widest`` and ``fullest`` are None where no size comes out, and then
        ``nearest`` says for that aim what came nearest and why it does not.
    """
    mounting = suit.mounting
    return {
        "mounting": {
            "foot_centre_mm": figures(mounting.foot_centre),
            "rim_centre_mm": figures(mounting.rim_centre),
            "foot_height_mm": figure(mounting.foot_height),
        },
        "edge": suit.edge.value,
        "lowest_rim_share": suit.low_share,
        "stretch": suit.stretch,
        "tried": {"from_mm": suit.smallest, "to_mm": suit.most},
        "present": verdict_to_json(suit.present),
        "forms": [_form(form) for form in suit.forms],
    }


def _form(form: Suiting) -> Plain:
    answers = {aim: form.at(aim) for aim in Aim}
    return {
        "name": form.name,
        "own": form.is_own,
        "proportion": form.proportion,
        **{aim.value: _offer(found) if isinstance(found, Offer) else None for aim, found in answers.items()},
        "nearest": {aim.value: _miss(found) for aim, found in answers.items() if isinstance(found, NearMiss)},
    }


def _offer(offer: Offer) -> Plain:
    verdict = verdict_to_json(offer.verdict)
    rim, volumes = verdict["rim"], verdict["volume_cm3"]
    return {
        "answer": verdict["answer"],
        "diameter_mm": verdict["diameter_mm"],
        "height_mm": verdict["height_mm"],
        "foot_mm": verdict["foot_mm"],
        "lowest_rim_mm": offer.form.lowest_rim,
        "hold_diameter_mm": offer.hold.diameter,
        "across_mm": offer.across,
        "whole_cm3": offer.whole / MM3_PER_CM3,
        "bowl_cm3": volumes["bowl"],  # type: ignore[index]  # made above
        "holds_cm3": offer.holds / MM3_PER_CM3,
        "rim": {**{key: rim[key] for key in _RIM}, "sawn_share": sawn_share(offer)},  # type: ignore[index]
        "margin_mm": verdict["margin_mm"],
        "uncertainty_mm": verdict["uncertainty_mm"],
        "worst": verdict["worst"],
    }


def _miss(miss: NearMiss) -> Plain:
    return {
        "diameter_mm": miss.diameter,
        "height_mm": miss.height,
        "margin_mm": figure(miss.verdict.margin) if miss.verdict else None,
        "why": why_not(miss),
        "all_ruled_out": miss.all_ruled_out,
    }
