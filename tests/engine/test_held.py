"""The whole answer to how a bowl is held: points in order, reasons not to trust a glue joint, laws."""

import re
from dataclasses import replace

import pytest

from formmaker.engine.field import Field
from formmaker.engine.held import hold_bowl
from formmaker.engine.holding_strength import LEAST_FACTOR
from formmaker.engine.mounted import balance_on
from formmaker.engine.preparation import prepare_form
from formmaker.model.blank import Timber
from formmaker.model.chuck import Chuck
from formmaker.model.form import Form
from formmaker.model.grain import Grain, GrainWord
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.holding import HoldCode, Holding, say_factor
from formmaker.model.job import Job
from formmaker.model.lathe import Lathe
from formmaker.model.shapes import Board
from formmaker.units import Units
from tests.engine.jobs import described_field, job_of, straight_form, upright

BOARD = Board(length=260.0, width=240.0, thickness=110.0)
DRY_CHERRY = Timber(name="cherry, black", moisture=10.0)
GREEN_CHERRY = Timber(name="cherry, black")
BOWL = replace(straight_form(100.0, 60.0), floor=15.0)  # foot 200 wide: 30 to 40 % are 60 to 80
JAWS = Chuck(closes_on=(50.0, 80.0), opens_in=(60.0, 90.0), true_circle=70.0, jaw_height=14.0)
LATHE = Lathe(lowest_speed=60.0, highest_speed=2000.0, swing=500.0)
HELD = {
    HoldKind.TENON: Hold(kind=HoldKind.TENON, diameter=75.0, depth=8.0, cut_force=40.0),
    HoldKind.RECESS: Hold(kind=HoldKind.RECESS, diameter=75.0, depth=4.0, cut_force=40.0),
    HoldKind.GLUE_BLOCK: Hold(kind=HoldKind.GLUE_BLOCK, diameter=75.0, depth=30.0, cut_force=40.0),
}


@pytest.fixture(scope="module")
def field() -> Field:
    return described_field(BOARD, uncertainty=0.5)


def job(
    kind: HoldKind = HoldKind.GLUE_BLOCK,
    *,
    timber: Timber = DRY_CHERRY,
    grain: Grain | None = None,
    form: Form = BOWL,
    chuck: Chuck = JAWS,
    units: Units = Units.MM,
) -> Job:
    plain = job_of(form, upright(foot_height=20.0), hold=HELD[kind], units=units)
    plan = replace(plain.plan, timber=timber, grain=grain or Grain(way=GrainWord.X))
    return replace(plain, plan=plan, chuck=chuck, lathe=LATHE)


def answer(field: Field, held: Job, **wish: float) -> Holding:
    barked = replace(field, blank=replace(field.blank, timber=held.plan.timber))
    balance = balance_on(barked.blank, held.mounting, held.lathe)
    return hold_bowl(held, prepare_form(held.form, held.hold), barked, balance, **wish)


def codes(holding: Holding) -> list[tuple[HoldCode, bool]]:
    return [(point.code, point.hinders) for point in holding.points]


@pytest.mark.parametrize("kind", [HoldKind.TENON, HoldKind.RECESS])
def test_a_usual_holding_in_sound_dry_wood_has_nothing_said_of_it(field: Field, kind: HoldKind) -> None:
    assert codes(answer(field, job(kind))) == []


@pytest.mark.parametrize(
    ("timber", "grain", "found"),
    [
        (DRY_CHERRY, None, []),
        (replace(DRY_CHERRY, moisture=6.0), None, []),
        (replace(DRY_CHERRY, moisture=15.0), None, []),
        (replace(DRY_CHERRY, moisture=15.1), None, [HoldCode.WET]),
        (replace(DRY_CHERRY, moisture=5.9), None, [HoldCode.WET]),
        (GREEN_CHERRY, None, [HoldCode.WET]),
        (DRY_CHERRY, Grain(way=GrainWord.AXIS), [HoldCode.END_GRAIN]),
        (DRY_CHERRY, Grain(way=(1.0, 0.0, 0.99)), []),
        (DRY_CHERRY, Grain(way=(1.0, 0.0, 1.01)), [HoldCode.END_GRAIN]),
    ],
)
def test_reasons_not_to_trust_a_glue_joint_hinder(
    field: Field, timber: Timber, grain: Grain | None, found: list[HoldCode]
) -> None:
    holding = answer(field, job(timber=timber, grain=grain))
    assert [point.code for point in holding.hindrances] == found
    for point in holding.hindrances:
        assert point.text.startswith("Do not trust a glue joint")


def test_wet_wood_and_end_grain_are_no_reason_against_a_tenon(field: Field) -> None:
    held = job(HoldKind.TENON, timber=GREEN_CHERRY, grain=Grain(way=GrainWord.AXIS))
    assert answer(field, held).hindrances == ()


def test_a_grain_that_nobody_told_is_told_as_assumed(field: Field) -> None:
    holding = answer(field, job(HoldKind.TENON, grain=Grain()))
    assert codes(holding) == [(HoldCode.GRAIN, False)]


@pytest.mark.parametrize(
    ("timber", "words"),
    [
        (Timber(), "The job names no timber"),
        (Timber(name="sallow"), "sallow is not in the timber table"),
        (Timber(name="elm, American"), r"No handbook value of elm, American, green, for shear in the plane"),
        (Timber(name="boxelder", moisture=10.0), r"boxelder, at 10 %, for tension along the axis or shear"),
    ],
)
def test_where_the_handbook_has_no_value_no_factor_is_given(field: Field, timber: Timber, words: str) -> None:
    holding = answer(field, job(HoldKind.TENON, timber=timber))
    (point,) = [point for point in holding.points if point.code is HoldCode.STRENGTH]
    assert re.search(words, point.text)
    assert not point.hinders
    for stress in holding.stresses:
        assert (stress.factor is None) is (stress.strength is None)


def test_a_factor_below_the_one_asked_hinders(field: Field) -> None:
    held = job(HoldKind.TENON)
    weak = answer(field, held, cut=2000.0)
    found = {point.code for point in weak.hindrances}
    assert found == {HoldCode.STRESS}
    for stress in weak.stresses:
        said = any(f"a factor of {say_factor(stress.factor or 0.1)}" in point.text for point in weak.hindrances)
        assert said is (stress.factor is not None and stress.factor < LEAST_FACTOR)


def test_what_hinders_comes_first(field: Field) -> None:
    held = job(HoldKind.TENON, grain=Grain(), chuck=replace(JAWS, jaw_height=7.0, closes_on=(30.0, 50.0)))
    hinders = [hinders for _, hinders in codes(answer(field, held))]
    assert hinders == sorted(hinders, reverse=True)
    assert hinders.count(True) == 2


def test_a_recess_that_cuts_into_the_inside_hinders(field: Field) -> None:
    held = job(HoldKind.RECESS)
    for depth, found in ((14.9, False), (15.0, True), (17.0, True)):
        deep = replace(held, hold=replace(held.hold, depth=depth))
        gone = {HoldCode.FLOOR, HoldCode.INSIDE} & {point.code for point in answer(field, deep).hindrances}
        assert bool(gone) is found


def test_a_tenon_without_a_shoulder_hinders_and_a_size_out_of_the_usual_does_not(field: Field) -> None:
    narrow = job(HoldKind.TENON, form=straight_form(90.0, 60.0))
    narrow = replace(narrow, hold=replace(narrow.hold, diameter=56.0))
    assert codes(answer(field, narrow)) in ([], [(HoldCode.CIRCLE, False)])
    small = replace(narrow, hold=replace(narrow.hold, diameter=52.0))
    assert (HoldCode.SIZE, False) in codes(answer(field, small))
    none = replace(narrow, hold=replace(narrow.hold, diameter=180.0), chuck=Chuck())
    assert (HoldCode.SHOULDER, True) in codes(answer(field, none))


def test_a_mounting_without_a_speed_to_begin_with_is_told(field: Field) -> None:
    held = replace(job(HoldKind.TENON), lathe=Lathe(swing=100.0, lowest_speed=60.0))
    assert (HoldCode.START, False) in codes(answer(field, held))


def test_a_wider_tenon_bears_more_and_a_harder_cut_less(field: Field) -> None:
    held = job(HoldKind.TENON)
    for wide in (50.0, 60.0, 70.0):
        low, high = (
            answer(field, replace(held, hold=replace(held.hold, diameter=size))).stresses
            for size in (wide, wide + 5.0)
        )
        assert all(a.value > b.value for a, b in zip(low, high, strict=True))
    soft, hard = (answer(field, held, cut=cut).stresses for cut in (40.0, 41.0))
    assert all(a.value < b.value for a, b in zip(soft, hard, strict=True))


@pytest.mark.parametrize(
    ("factor", "said"), [(4.999, "4.9"), (5.0, "5"), (12.99, "12"), (0.0567, "0.056"), (996.0, "990")]
)
def test_a_factor_is_never_said_higher_than_it_is(factor: float, said: str) -> None:
    assert say_factor(factor) == said
