"""Is the holding a sensible one for this bowl: its size beside the bowl's, and the floor it leaves.

Whether there is wood for it is the check's question; stresses and jaws are not asked here.
"""

import shapely

from formmaker.engine.preparation import PreparedForm
from formmaker.geometry.curves import polyline
from formmaker.model.form import Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.verdict import Finding, HoldCheck, Part, Reason
from formmaker.units import Units, format_length

# Common practice, no source: a tenon or foot of 30 to 40 % of the bowl's diameter, a recess 3 to 8 mm deep, a ring of
# about 10 mm left round a recess. They are ranges to think about, not limits.
USUAL_SHARE = (0.30, 0.40)
USUAL_RECESS_DEPTH = (3.0, 8.0)
USUAL_RECESS_RING = 10.0


def check_hold(prepared: PreparedForm, *, units: Units) -> HoldCheck:
    """Compare a holding with the bowl it has to carry.

    Parameters
    ----------
    prepared : PreparedForm
        A floor left thinner than its thinnest wall is a finding.
    units : Units
        For the sentences.

    Returns
    -------
    HoldCheck
        Findings, the graver first; none when everything is usual. ``HOLD_FLOOR`` with an amount of 0 or less: the
        recess breaks through, and what is left is no bowl.
    """
    hold, form, diameter = prepared.hold, prepared.form, 2.0 * prepared.radius
    ring = ring_left(prepared)
    findings = (
        *_floor_findings(hold, form, float(form.wall[:, 1].min()), units),
        *_side_findings(hold, ring, units),
        *_shoulder_findings(hold, ring, form, units),
        *_size_findings(hold, diameter, units),
        *_depth_findings(hold, units),
    )
    return HoldCheck(kind=hold.kind.value, diameter=hold.diameter, ratio=hold.diameter / diameter, findings=findings)


def floor_left(hold: Hold, form: Form) -> float:
    """Wood between the inside of the bowl and the holding, on the axis, mm; negative where it breaks through."""
    return form.floor - hold.depth if hold.kind is HoldKind.RECESS else form.floor


def ring_left(prepared: PreparedForm) -> float:
    """Wood round a recess where it is narrowest over its depth, round any other holding in the foot plane, mm."""
    hold, form = prepared.hold, prepared.form
    if hold.kind is not HoldKind.RECESS:
        return form.foot_radius - hold.radius
    beside = shapely.box(0.0, 0.0, 2.0 * prepared.radius, min(hold.depth, form.height))
    narrowest = shapely.LineString(polyline(prepared.section.outer)).intersection(beside).bounds[0]
    return float(narrowest) - hold.radius


def breaks_through(check: HoldCheck) -> bool:
    """Whether a recess leaves no floor above it or no wood round it."""
    return any(found.reason is Reason.HOLD_FLOOR and not (found.amount or 0.0) > 0.0 for found in check.findings)


def _floor_findings(hold: Hold, form: Form, thinnest_wall: float, units: Units) -> tuple[Finding, ...]:
    left = floor_left(hold, form)
    if left <= 0.0:
        text = (
            f"The recess of {format_length(hold.depth, units)} breaks through the floor of "
            f"{format_length(form.floor, units)}: make the floor thicker or the recess shallower."
        )
    elif left < thinnest_wall:
        text = (
            f"Only {format_length(left, units)} of floor is left above the {hold.kind.value}, thinner than the wall."
        )
    else:
        return ()
    return (Finding(reason=Reason.HOLD_FLOOR, text=text, part=Part.FLOOR, height=form.floor - left, amount=left),)


def _side_findings(hold: Hold, ring: float, units: Units) -> tuple[Finding, ...]:
    if hold.kind is not HoldKind.RECESS or ring > 0.0:
        return ()
    text = (
        f"The recess of {format_length(hold.diameter, units)} breaks out through the side of the bowl, which is "
        f"{format_length(2.0 * (ring + hold.radius), units)} wide there: make it narrower or the foot wider."
    )
    return (Finding(reason=Reason.HOLD_FLOOR, text=text, part=Part.FOOT, height=0.0, amount=ring),)


def _shoulder_findings(hold: Hold, ring: float, form: Form, units: Units) -> tuple[Finding, ...]:
    if hold.kind is HoldKind.TENON and ring < 0.0:
        text = (
            f"The tenon of {format_length(hold.diameter, units)} is wider than the foot of "
            f"{format_length(2.0 * form.foot_radius, units)}: it leaves no shoulder to seat on the jaws."
        )
    elif hold.kind is HoldKind.GLUE_BLOCK and ring < 0.0:
        text = (
            f"The glue block of {format_length(hold.diameter, units)} is wider than the foot of "
            f"{format_length(2.0 * form.foot_radius, units)}: only the foot is glued, and its edge is in the way."
        )
    elif hold.kind is HoldKind.RECESS and 0.0 < ring < USUAL_RECESS_RING:
        text = (
            f"The ring of wood round the recess is {format_length(ring, units)} wide; common practice "
            f"leaves about {format_length(USUAL_RECESS_RING, units)}, since the jaws push outward on it."
        )
    else:
        return ()
    return (Finding(reason=Reason.HOLD_SIZE, text=text, part=Part.FOOT, height=0.0, amount=ring),)


def _size_findings(hold: Hold, diameter: float, units: Units) -> tuple[Finding, ...]:
    share = hold.diameter / diameter
    low, high = USUAL_SHARE
    if low <= share <= high:
        return ()
    side = "less" if share < low else "more"
    text = (
        f"The {hold.kind.value} of {format_length(hold.diameter, units)} is {100.0 * share:.0f} % of the bowl's "
        f"diameter, {side} than the {100.0 * low:.0f} to {100.0 * high:.0f} % of common practice."
    )
    return (Finding(reason=Reason.HOLD_SIZE, text=text, part=_hold_part(hold), height=0.0, amount=hold.diameter),)


def _depth_findings(hold: Hold, units: Units) -> tuple[Finding, ...]:
    low, high = USUAL_RECESS_DEPTH
    if hold.kind is not HoldKind.RECESS or low <= hold.depth <= high:
        return ()
    text = (
        f"The recess is {format_length(hold.depth, units)} deep; common practice is {format_length(low, units)} to "
        f"{format_length(high, units)}."
    )
    return (Finding(reason=Reason.HOLD_DEPTH, text=text, part=Part.FOOT, height=0.0, amount=hold.depth),)


def _hold_part(hold: Hold) -> Part:
    return {HoldKind.TENON: Part.TENON, HoldKind.GLUE_BLOCK: Part.GLUE_FACE, HoldKind.RECESS: Part.FOOT}[hold.kind]
