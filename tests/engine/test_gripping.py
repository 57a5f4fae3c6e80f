"""A holding beside its bowl and its chuck: each point where it is due, at its edge, and nothing else."""

import re
from dataclasses import replace

import numpy as np
import pytest

from formmaker.engine.gripping import grip_of, grip_points, length_points, sizes_of
from formmaker.engine.preparation import prepare_form
from formmaker.errors import LatheError
from formmaker.model.chuck import UNKNOWN_CHUCK, Chuck
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.holding import GripWay, HoldCode, HoldPoint
from formmaker.model.lathe import UNKNOWN_LATHE, Lathe
from formmaker.model.thread import Thread
from formmaker.units import Units
from tests.engine.jobs import straight_form

JAWS = Chuck(closes_on=(40.0, 60.0), opens_in=(45.0, 70.0), true_circle=50.0, jaw_height=12.0)
M33 = Thread(text="M33x3.5", diameter=33.0, pitch=3.5)
INCH = Thread(text="1x8", diameter=25.4, pitch=3.175)


def hold(kind: HoldKind, diameter: float = 50.0, depth: float = 8.0) -> Hold:
    return Hold(kind=kind, diameter=diameter, depth=depth)


def points(held: Hold, chuck: Chuck, lathe: Lathe = UNKNOWN_LATHE, units: Units = Units.MM) -> list[HoldPoint]:
    return list(grip_points(held, grip_of(held, chuck, lathe), chuck, lathe, units))


def codes(held: Hold, chuck: Chuck, lathe: Lathe = UNKNOWN_LATHE) -> list[tuple[HoldCode, bool]]:
    return [(point.code, point.hinders) for point in points(held, chuck, lathe)]


@pytest.mark.parametrize("diameter", [40.0, 60.0])
@pytest.mark.parametrize("depth", [1.0, 11.9])
def test_a_tenon_at_the_ends_of_the_range_and_just_off_the_bottom_is_gripped(diameter: float, depth: float) -> None:
    assert not [hinders for _, hinders in codes(hold(HoldKind.TENON, diameter, depth), JAWS) if hinders]


@pytest.mark.parametrize(
    ("held", "found"),
    [
        (hold(HoldKind.TENON), []),
        (hold(HoldKind.TENON, 54.9), []),  # not quite a tenth off the circle
        (hold(HoldKind.TENON, 55.1), [(HoldCode.CIRCLE, False)]),
        (hold(HoldKind.TENON, 44.9), [(HoldCode.CIRCLE, False)]),
        (hold(HoldKind.TENON, 39.9), [(HoldCode.JAWS, True), (HoldCode.CIRCLE, False)]),
        (hold(HoldKind.TENON, 60.1), [(HoldCode.JAWS, True), (HoldCode.CIRCLE, False)]),
        (hold(HoldKind.TENON, 50.0, 12.0), [(HoldCode.BOTTOM, True)]),  # it touches
        (hold(HoldKind.RECESS, 45.0, 30.0), []),
        (hold(HoldKind.RECESS, 44.9), [(HoldCode.JAWS, True)]),
        (hold(HoldKind.RECESS, 70.1), [(HoldCode.JAWS, True)]),
        (hold(HoldKind.GLUE_BLOCK, 50.0, 11.0), []),
        (hold(HoldKind.GLUE_BLOCK, 50.0, 40.0), [(HoldCode.BOTTOM, False)]),
        (hold(HoldKind.GLUE_BLOCK, 39.9, 40.0), [(HoldCode.JAWS, True)]),
        (hold(HoldKind.GLUE_BLOCK, 90.0, 40.0), [(HoldCode.JAWS, False)]),
    ],
)
def test_jaws_are_compared_with_what_they_hold(held: Hold, found: list[tuple[HoldCode, bool]]) -> None:
    assert codes(held, JAWS) == found


@pytest.mark.parametrize(
    ("depth", "found"),
    [(30.0, []), (25.0, []), (24.9, [(HoldCode.SCREWS, False)]), (20.0, [(HoldCode.SCREWS, True)])],
)
def test_screws_of_a_faceplate_stay_in_the_block(depth: float, found: list[tuple[HoldCode, bool]]) -> None:
    plate = replace(JAWS, screws=20.0)
    assert grip_of(hold(HoldKind.GLUE_BLOCK), plate, UNKNOWN_LATHE).way is GripWay.SCREWS
    assert codes(hold(HoldKind.GLUE_BLOCK, 90.0, depth), plate) == found


@pytest.mark.parametrize(
    ("diameter", "depth", "found"),
    [
        (66.0, 40.0, []),
        (65.0, 40.0, [(HoldCode.THREAD, False)]),
        (33.0, 40.0, [(HoldCode.THREAD, True)]),
        (90.0, 37.9, [(HoldCode.BLOCK, False)]),
        (90.0, 38.0, []),
    ],
)
def test_a_thread_cut_in_the_block_wants_wood_round_it(
    diameter: float, depth: float, found: list[tuple[HoldCode, bool]]
) -> None:
    block = hold(HoldKind.GLUE_BLOCK, diameter, depth)
    for chuck, lathe in ((UNKNOWN_CHUCK, Lathe(thread=M33)), (Chuck(thread=M33), UNKNOWN_LATHE)):
        assert grip_of(block, chuck, lathe).way is GripWay.THREAD
        assert codes(block, chuck, lathe) == found


def test_a_chuck_of_another_thread_does_not_go_on_the_spindle() -> None:
    chuck = replace(JAWS, thread=INCH)
    assert codes(hold(HoldKind.TENON), chuck, Lathe(thread=M33)) == [(HoldCode.THREAD, True)]
    same = Lathe(thread=replace(INCH, text="M25.4x3.175"))
    assert codes(hold(HoldKind.TENON), chuck, same) == []


@pytest.mark.parametrize("kind", HoldKind)
def test_without_a_chuck_the_turner_is_told_what_to_give(kind: HoldKind) -> None:
    (point,) = points(hold(kind), UNKNOWN_CHUCK)
    assert (point.code, point.hinders) == (HoldCode.CHUCK, False)
    assert point.text.startswith("The job has no [chuck]: give ")
    (other,) = points(hold(kind), Chuck(name="mine"))
    assert other.text.startswith("The [chuck] of the job lacks")


@pytest.mark.parametrize(
    ("held", "chuck", "words"),
    [
        (hold(HoldKind.TENON, 62.0), JAWS, r"close on 40\.0 mm to 60\.0 mm: not on this tenon of 62\.0 mm"),
        (hold(HoldKind.RECESS, 80.0), JAWS, r"open in 45\.0 mm to 70\.0 mm: not in this recess of 80\.0 mm"),
        (hold(HoldKind.TENON, 58.0), JAWS, r"true circle at 50\.0 mm: on 58\.0 mm they bear on their corners"),
        (hold(HoldKind.TENON, 42.0), JAWS, r"on 42\.0 mm they bear on their middles.*Common practice"),
        (hold(HoldKind.TENON, 50.0, 13.0), JAWS, r"13\.0 mm long and the jaws are 12\.0 mm high.*Make it shorter"),
        (hold(HoldKind.GLUE_BLOCK, 30.0), JAWS, r"the block of 30\.0 mm is too small for them"),
        (hold(HoldKind.GLUE_BLOCK, 90.0), JAWS, r"turn a tenon of that size on the block"),
        (hold(HoldKind.GLUE_BLOCK, 50.0, 30.0), JAWS, r"thicker than the jaws are high \(12\.0 mm\)"),
        (hold(HoldKind.GLUE_BLOCK, 90.0, 9.0), Chuck(screws=20.0), r"come through to the bowl. Use shorter screws"),
        (hold(HoldKind.GLUE_BLOCK, 90.0, 23.0), Chuck(screws=20.0), r"only 3\.0 mm of block is left over them"),
        (hold(HoldKind.GLUE_BLOCK, 30.0, 50.0), Chuck(thread=M33), r"M33x3\.5 is wider than the block of 30\.0 mm"),
        (hold(HoldKind.GLUE_BLOCK, 60.0, 50.0), Chuck(thread=M33), r"13\.5 mm of block is left round the thread"),
        (hold(HoldKind.GLUE_BLOCK, 90.0, 20.0), Chuck(thread=M33), r"20\.0 mm thick; a thread M33x3\.5"),
    ],
)
def test_every_point_has_its_words(held: Hold, chuck: Chuck, words: str) -> None:
    assert re.search(words, points(held, chuck)[0].text)


def test_an_inch_job_is_told_in_inches() -> None:
    assert "2 1/2 in" in points(hold(HoldKind.TENON, 63.5), JAWS, units=Units.INCH)[0].text


def test_the_jaws_take_no_more_of_a_tenon_than_they_are_high() -> None:
    assert grip_of(hold(HoldKind.TENON, depth=8.0), JAWS, UNKNOWN_LATHE).length == 8.0
    assert grip_of(hold(HoldKind.RECESS, depth=20.0), JAWS, UNKNOWN_LATHE).length == 12.0
    assert grip_of(hold(HoldKind.TENON, depth=8.0), JAWS, UNKNOWN_LATHE).below == pytest.approx(4.0)
    assert grip_of(hold(HoldKind.RECESS, depth=8.0), JAWS, UNKNOWN_LATHE).below is None


@pytest.mark.parametrize(
    ("depth", "shoulder", "found"),
    [
        (3.175, 3.0, []),  # an eighth of an inch
        (3.1, 3.0, [(HoldCode.DEPTH, False)]),
        (6.0, 2.9, [(HoldCode.SHOULDER, False)]),
        (6.0, 0.0, [(HoldCode.SHOULDER, True)]),
    ],
)
def test_a_tenon_wants_some_length_and_a_shoulder(
    depth: float, shoulder: float, found: list[tuple[HoldCode, bool]]
) -> None:
    said = length_points(hold(HoldKind.TENON, depth=depth), shoulder, Units.MM)
    assert [(point.code, point.hinders) for point in said] == found
    assert not list(length_points(hold(HoldKind.RECESS, depth=depth), shoulder, Units.MM))


def test_the_sizes_of_a_plain_bowl_are_those_of_its_figures() -> None:
    # an upright form of radius 60, wall 8, floor 10
    tenon = sizes_of(prepare_form(straight_form(60.0, 80.0), hold(HoldKind.TENON)))
    assert (tenon.bowl, tenon.foot, tenon.shoulder) == pytest.approx((120.0, 120.0, 35.0))
    assert (tenon.floor_left, tenon.inside, tenon.glued) == (10.0, pytest.approx(10.0), None)
    recess = sizes_of(prepare_form(straight_form(60.0, 80.0), hold(HoldKind.RECESS, 50.0, 4.0)))
    assert (recess.floor_left, recess.inside) == pytest.approx((6.0, 6.0))
    block = sizes_of(prepare_form(straight_form(60.0, 80.0), hold(HoldKind.GLUE_BLOCK)))
    assert block.glued == pytest.approx(np.pi * 25.0**2)


@pytest.mark.parametrize(
    "wrong",
    [
        {"closes_on": (60.0, 40.0)},
        {"opens_in": (0.0, 40.0)},
        {"true_circle": 0.0},
        {"jaw_height": float("nan")},
        {"screws": -1.0},
    ],
)
def test_a_chuck_that_contradicts_itself_is_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(LatheError, match="of the chuck; give"):
        Chuck(**wrong)  # type: ignore[arg-type]
    with pytest.raises(LatheError, match="the pitch lies between"):
        Thread(text="M3x4", diameter=3.0, pitch=4.0)
