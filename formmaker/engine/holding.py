"""Is the holding a sensible one for this bowl: its size beside the bowl's, and the floor it leaves.

Whether there is wood for it is the check's question; stresses and jaws are not asked here.
"""

from formmaker.model.form import Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.verdict import Finding, HoldCheck, Part, Reason
from formmaker.units import Units, format_length

# Common practice, no source: a tenon or foot of 30 to 40 % of the bowl's diameter, a recess 3 to 8 mm deep, a ring of
# about 10 mm left round a recess. They are ranges to think about, not limits.
USUAL_SHARE = (0.30, 0.40)
USUAL_RECESS_DEPTH = (3.0, 8.0)
USUAL_RECESS_RING = 10.0


def check_hold(hold: Hold, form: Form, diameter: float, thinnest_wall: float, *, units: Units) -> HoldCheck:
    """Compare a holding with the bowl it has to carry.

    Parameters
    ----------
    hold : Hold
    form : Form
    diameter : float
        Largest diameter of the bowl, mm.
    thinnest_wall : float
        Thinnest wall asked for, mm; a floor left thinner than this is a finding.
    units : Units
        For the sentences.

    Returns
    -------
    HoldCheck
        Findings, the graver first; none when everything is usual.
    """
    findings = (
        *_floor_findings(hold, form, thinnest_wall, units),
        *_shoulder_findings(hold, form, units),
        *_size_findings(hold, diameter, units),
        *_depth_findings(hold, units),
    )
    return HoldCheck(kind=hold.kind.value, diameter=hold.diameter, ratio=hold.diameter / diameter, findings=findings)


def floor_left(hold: Hold, form: Form) -> float:
    """Wood between the inside of the bowl and the holding, on the axis, mm; negative where it breaks through."""
    return form.floor - hold.depth if hold.kind is HoldKind.RECESS else form.floor


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


def _shoulder_findings(hold: Hold, form: Form, units: Units) -> tuple[Finding, ...]:
    ring = form.foot_radius - hold.radius
    if hold.kind is HoldKind.TENON and ring < 0.0:
        text = (
            f"The tenon of {format_length(hold.diameter, units)} is wider than the foot of "
            f"{format_length(2.0 * form.foot_radius, units)}: it leaves no shoulder to seat on the jaws."
        )
    elif hold.kind is HoldKind.RECESS and ring < USUAL_RECESS_RING:
        text = (
            f"The ring of wood round the recess is {format_length(max(ring, 0.0), units)} wide; common practice "
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
