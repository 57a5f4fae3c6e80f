"""What is said of a holding: each finding where it is due, ranges named as common practice, nothing else."""

import re
from dataclasses import replace

import numpy as np
import pytest

from formmaker.engine.holding import breaks_through, check_hold, ring_left
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.verdict import Part, Reason
from formmaker.units import Units

# foot 60 wide, 150 wide at the rim: 30 to 40 % of it are 45 to 60
BOWL = Form(
    handles=np.array([[30.0, 0.0], [60.0, 25.0], [75.0, 60.0]]),
    corners=np.array([True, False, True]),
    wall=np.array([[0.0, 7.0]]),
    floor=12.0,
    edge=Edge.TURNED,
    lowest_rim=60.0,
)
# a waist of 25 above a foot of 35
WAISTED = replace(
    BOWL,
    handles=np.array([[35.0, 0.0], [25.0, 6.0], [60.0, 25.0], [75.0, 60.0]]),
    corners=np.array([True, True, False, True]),
    floor=20.0,
)


def held(kind: HoldKind, diameter: float, depth: float, form: Form = BOWL) -> PreparedForm:
    return prepare_form(form, Hold(kind=kind, diameter=diameter, depth=depth))


@pytest.mark.parametrize(
    "prepared",
    [
        held(HoldKind.TENON, 52.0, 6.0),
        held(HoldKind.GLUE_BLOCK, 60.0, 25.0),
        held(HoldKind.GLUE_BLOCK, 45.0, 9.0),
        held(HoldKind.RECESS, 48.0, 5.0, replace(BOWL, handles=np.array([[34.5, 0.0], [60.0, 25.0], [75.0, 60.0]]))),
    ],
)
def test_a_usual_holding_has_no_findings(prepared: PreparedForm) -> None:
    checked = check_hold(prepared, units=Units.MM)
    assert checked.findings == ()
    assert checked.kind == prepared.hold.kind.value
    assert checked.ratio == pytest.approx(prepared.hold.diameter / 150.0, rel=1e-6)
    assert not breaks_through(checked)


@pytest.mark.parametrize(
    ("prepared", "reason", "part", "amount", "words"),
    [
        (held(HoldKind.TENON, 44.0, 6.0), Reason.HOLD_SIZE, Part.TENON, 44.0, "29 % of the bowl's .* less than"),
        (held(HoldKind.GLUE_BLOCK, 62.0, 6.0, replace(BOWL, handles=BOWL.handles - [[-2, 0], [0, 0], [0, 0]])),
         Reason.HOLD_SIZE, Part.GLUE_FACE, 62.0, "41 % .* more than"),
        (held(HoldKind.GLUE_BLOCK, 58.0, 6.0, replace(BOWL, handles=BOWL.handles - [[2, 0], [0, 0], [0, 0]])),
         Reason.HOLD_SIZE, Part.FOOT, -1.0, "glue block of 58.0 mm is wider than the foot of 56.0 mm"),
        (held(HoldKind.RECESS, 48.0, 5.0), Reason.HOLD_SIZE, Part.FOOT, 6.0, "round the recess is 6.0 mm"),
        (held(HoldKind.TENON, 60.0, 6.0, replace(BOWL, handles=BOWL.handles - [[2, 0], [0, 0], [0, 0]])),
         Reason.HOLD_SIZE, Part.FOOT, -2.0, "tenon of 60.0 mm is wider than the foot of 56.0 mm"),
    ],
)  # fmt: skip
def test_a_holding_out_of_the_usual_has_its_one_finding(
    prepared: PreparedForm, reason: Reason, part: Part, amount: float, words: str
) -> None:
    (finding,) = check_hold(prepared, units=Units.MM).findings
    assert (finding.reason, finding.part) == (reason, part)
    assert finding.amount == pytest.approx(amount)
    assert re.search(words, finding.text)


def findings_of(prepared: PreparedForm) -> list[tuple[Reason, float]]:
    return [(f.reason, f.amount or 0.0) for f in check_hold(prepared, units=Units.MM).findings]


def test_ranges_are_named_as_common_practice_and_not_as_limits() -> None:
    unusual = [held(HoldKind.TENON, 30.0, 6.0), held(HoldKind.RECESS, 48.0, 9.0), held(HoldKind.RECESS, 48.0, 2.0)]
    for prepared in unusual:
        for finding in check_hold(prepared, units=Units.MM).findings:
            if finding.reason is not Reason.HOLD_FLOOR:
                assert "common practice" in finding.text


@pytest.mark.parametrize(("depth", "said"), [(2.9, True), (3.0, False), (8.0, False), (8.1, True)])
def test_the_depth_of_a_recess_is_compared_with_three_to_eight_millimetres(depth: float, said: bool) -> None:
    deep = held(HoldKind.RECESS, 48.0, depth, replace(BOWL, floor=20.0))
    assert any(reason is Reason.HOLD_DEPTH for reason, _ in findings_of(deep)) is said


def test_a_floor_thinner_than_the_wall_is_said_and_one_that_is_gone_breaks_through() -> None:
    assert (Reason.HOLD_FLOOR, pytest.approx(6.0)) in findings_of(held(HoldKind.RECESS, 48.0, 6.0))
    assert not [reason for reason, _ in findings_of(held(HoldKind.RECESS, 48.0, 5.0)) if reason is Reason.HOLD_FLOOR]
    for depth in (12.0, 14.0):
        through = check_hold(held(HoldKind.RECESS, 48.0, depth), units=Units.MM)
        assert breaks_through(through)
        assert "breaks through the floor" in through.findings[0].text
    assert not breaks_through(check_hold(held(HoldKind.RECESS, 48.0, 11.9), units=Units.MM))
    assert not breaks_through(check_hold(held(HoldKind.TENON, 48.0, 30.0), units=Units.MM))


@pytest.mark.parametrize(("diameter", "ring"), [(40.0, 5.0), (50.0, 0.0), (52.0, -1.0), (80.0, -15.0)])
def test_the_ring_round_a_recess_is_measured_where_the_bowl_is_narrowest(diameter: float, ring: float) -> None:
    # the waist of 25 lies within the recess, where the foot plane says 35
    prepared = held(HoldKind.RECESS, diameter, 8.0, WAISTED)
    assert ring_left(prepared) == pytest.approx(ring, abs=1e-6)
    checked = check_hold(prepared, units=Units.MM)
    assert breaks_through(checked) is (ring <= 0.0)
    assert ("breaks out through the side" in checked.findings[0].text) is (ring <= 0.0)


def test_a_shallow_recess_ends_below_the_waist() -> None:
    # the side leans in by 10 over the first 6: at 3 it stands at 30
    assert ring_left(held(HoldKind.RECESS, 52.0, 3.0, WAISTED)) == pytest.approx(4.0)


def test_an_inch_job_is_told_in_inches() -> None:
    (finding,) = check_hold(held(HoldKind.TENON, 38.1, 6.0), units=Units.INCH).findings
    assert "1 1/2 in" in finding.text
