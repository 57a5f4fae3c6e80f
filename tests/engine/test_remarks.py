"""What is said of a verdict: order, sentences, places; and what becomes of marks near the edge of their wish."""

from dataclasses import replace

import numpy as np
import pytest

from formmaker.engine.field import Field
from formmaker.engine.marks import check_marks
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.engine.remarks import remarks
from formmaker.model.blank import BlankSource, Repair
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.shapes import Board
from formmaker.model.verdict import (
    Answer,
    Finding,
    LoosePiece,
    Part,
    Place,
    Reason,
    RimKind,
    RimLine,
    Verdict,
    WeakNeck,
    Window,
)
from formmaker.units import Units
from tests.engine.jobs import BLOCK, described_field, straight_form, upright, verdict_on

TURN = 2.0 * np.pi * np.arange(360) / 360
WISH = prepare_form(straight_form(60.0, 50.0), Hold(kind=HoldKind.GLUE_BLOCK, diameter=42.0, depth=20.0))
NATURAL = prepare_form(straight_form(60.0, 50.0, lowest_rim=30.0), WISH.hold)


@pytest.fixture(scope="module")
def board() -> Field:
    return described_field(Board(length=200.0, width=180.0, thickness=90.0), cells=48)


@pytest.fixture(scope="module")
def sound(board: Field) -> Verdict:
    return verdict_on(board, WISH, upright(foot_height=10.0))


def job(prepared: PreparedForm = WISH, *, skin: float = 0.0, units: Units = Units.MM) -> Job:
    plan = BlankPlan(source=BlankSource.SHAPE)
    mounting = upright(foot_height=10.0)
    return Job(title="", units=units, plan=plan, mounting=mounting, form=prepared.form, hold=prepared.hold, skin=skin)


def said(verdict: Verdict, asked: Job) -> tuple[Finding, ...]:
    return remarks(verdict, (), asked, ()).findings


def rim(height: np.ndarray, kinds: tuple[RimKind, ...] = (RimKind.NATURAL,) * 360) -> RimLine:
    flat = {"lean": 0.0, "lean_toward": 0.0, "sway": 0.0, "highs": (), "lows": ()}
    return RimLine(theta=TURN, radius=np.full(360, 60.0), height=height, kinds=kinds, **flat)  # type: ignore[arg-type]


def test_nothing_is_said_of_a_usual_bowl_in_sound_wood(sound: Verdict) -> None:
    assert sound.answer is Answer.FITS
    assert [finding.reason for finding in sound.findings] == []


@pytest.mark.parametrize(
    ("margin", "skin", "reason", "text"),
    [
        (-4.0, 0.0, Reason.WOOD_MISSING, "4.0 mm of wood is missing at the tenon."),
        (-4.0, 2.0, Reason.WOOD_MISSING,
         "2.0 mm of wood is missing at the tenon, and the 2.0 mm wanted for truing as well."),
        (-1.5, 2.0, Reason.WOOD_MISSING,
         "The tenon itself is in wood, but 1.5 mm of the 2.0 mm wanted for truing is not there."),
        (0.5, 2.0, Reason.WOOD_THIN, "Only 0.5 mm of wood to spare at the tenon, less than the "),
        (0.0, 0.0, Reason.WOOD_THIN, "Only 0.0 mm of wood to spare at the tenon, less than the 1.0 mm to which"),
    ],
)  # fmt: skip
def test_a_margin_short_of_the_uncertainty_is_told_at_its_place(
    sound: Verdict, margin: float, skin: float, reason: Reason, text: str
) -> None:
    place = Place(theta=1.0, radius=20.0, height=-3.0, part=Part.TENON)
    (finding,) = said(replace(sound, margin=margin, uncertainty=1.0, worst=place), job(skin=skin))
    assert finding.text.startswith(text)
    assert (finding.reason, finding.part, finding.theta, finding.height) == (reason, Part.TENON, 1.0, -3.0)
    assert finding.amount == abs(margin)


def test_a_margin_of_exactly_the_uncertainty_is_not_worth_a_word(sound: Verdict) -> None:
    assert said(replace(sound, margin=1.0, uncertainty=1.0), job()) == ()


def test_a_low_rim_is_told_at_its_lowest_against_what_was_wanted(sound: Verdict) -> None:
    low = replace(sound, rim=rim(40.0 + 5.0 * np.cos(TURN - 1.0)))
    (finding,) = said(low, job())  # turned edge: all of 50 is wanted
    assert (finding.reason, finding.part) == (Reason.RIM_LOW, Part.RIM)
    assert finding.text == "The rim drops to 35.0 mm, below the 50.0 mm wanted."
    assert finding.amount == pytest.approx(15.0, abs=1e-3)
    assert finding.theta == pytest.approx(1.0 + np.pi, abs=0.01)
    assert said(low, job(NATURAL)) == ()  # from 30 up every rim was accepted
    assert said(replace(sound, rim=rim(np.full(360, 30.0))), job(NATURAL)) == ()


def test_a_sawn_rim_is_told_with_its_share_of_the_turn(sound: Verdict) -> None:
    kinds = tuple(RimKind.SAWN if 90 <= i < 126 else RimKind.NATURAL for i in range(360))
    (finding,) = said(replace(sound, rim=rim(np.full(360, 45.0), kinds)), job(NATURAL))
    assert finding.reason is Reason.SAWN_RIM
    assert "Over 10 % of the turn" in finding.text
    assert np.degrees(finding.theta) == pytest.approx(108.0, abs=1.0)


def test_findings_stand_worst_first_and_notes_last(sound: Verdict) -> None:
    troubled = replace(
        sound,
        margin=-4.0,
        rim=rim(np.full(360, 20.0), (RimKind.SAWN,) * 360),
        loose_pieces=(LoosePiece(volume=2000.0, theta=0.1, height=40.0),),
        weak_necks=(WeakNeck(area=80.0, volume=9000.0, theta=0.2, height=41.0),),
        windows=(Window(area=500.0, theta=0.3, height=20.0),),
        hold=replace(sound.hold, findings=(Finding(reason=Reason.HOLD_SIZE, text="hold"),)),
    )
    marks = check_marks(
        (
            Mark(name="A", kind=MarkKind.KEEP, at=np.array([300.0, 0, 0]), radius=5.0),
            Mark(name="B", kind=MarkKind.WITNESS, at=np.array([0.0, 0, 0])),
            Mark(name="C", kind=MarkKind.FLAW, at=np.array([60.0, 0, 30.0]), radius=5.0),
        ),
        troubled.rim,
        WISH.solid,
        upright().blank_from_form,
        Units.MM,
    )
    found = remarks(troubled, marks, job(NATURAL), ("a note", "another")).findings
    assert [finding.reason for finding in found] == [
        Reason.WOOD_MISSING,
        Reason.LOOSE_PIECE,
        Reason.WEAK_NECK,
        Reason.WINDOW,
        Reason.SAWN_RIM,
        Reason.RIM_LOW,
        Reason.KEEP_LOST,
        Reason.FLAW_MET,
        Reason.HOLD_SIZE,
        Reason.BLANK_NOTE,
        Reason.BLANK_NOTE,
    ]
    assert [finding.text for finding in found[-2:]] == ["a note", "another"]
    by_reason = {finding.reason: finding for finding in found}
    assert "2.00 cm3 is not joined to the foot" in by_reason[Reason.LOOSE_PIECE].text
    assert (by_reason[Reason.WEAK_NECK].theta, by_reason[Reason.WINDOW].theta) == (0.2, 0.3)
    assert (by_reason[Reason.WEAK_NECK].height, by_reason[Reason.LOOSE_PIECE].height) == (41.0, 40.0)


def test_repairs_worth_knowing_and_notes_of_the_blank_are_said(board: Field) -> None:
    repairs = (
        Repair(code="welded", text="points were welded"),
        Repair(code="hole filled", text="a hole was filled"),
        Repair(code="scaled", text="scaled by 1.01"),
    )
    field = replace(board, blank=replace(board.blank, repairs=repairs, notes=("a gap",)))
    verdict = verdict_on(field, WISH, upright(foot_height=10.0))
    assert [finding.text for finding in verdict.findings] == ["Repaired: a hole was filled", "a gap"]


# ---- marks ---------------------------------------------------------------------------------------------------------


def flaw(at: tuple[float, float, float], radius: float, prepared: PreparedForm) -> tuple[Finding, float]:
    mark = Mark(name="F", kind=MarkKind.FLAW, at=np.array(at), radius=radius)
    (checked,) = check_marks((mark,), rim(np.full(360, 50.0)), prepared.solid, upright().blank_from_form, Units.MM)
    return checked.finding, checked.spare


@pytest.mark.parametrize(
    ("at", "radius", "spare"),
    [
        ((0.0, 66.0, 25.0), 4.0, 2.0),  # outside the wall
        ((0.0, -56.0, 30.0), 1.0, -5.0),  # in the middle of a wall of 8
        ((30.0, 0.0, 40.0), 3.0, 19.0),  # in the hollow, 22 from the inside
        ((0.0, 0.0, 5.0), 0.0, -5.0),  # in the middle of the floor
        ((0.0, 0.0, -8.0), 3.0, 5.0),  # under the foot
        ((0.0, 0.0, 57.0), 3.0, 47.0 - 3.0),  # over the floor
    ],
)
def test_a_flaw_is_as_clear_of_the_form_as_its_ball_is(
    at: tuple[float, float, float], radius: float, spare: float
) -> None:
    finding, found = flaw(at, radius, WISH)
    assert found == pytest.approx(spare, abs=0.02)
    assert finding.reason is (Reason.FLAW_CLEAR if spare > 0.0 else Reason.FLAW_MET)
    assert finding.amount == pytest.approx(abs(spare), abs=0.02)


def test_a_flaw_in_the_tenon_is_met_and_one_in_a_glue_block_is_other_wood() -> None:
    tenon = prepare_form(WISH.form, Hold(kind=HoldKind.TENON, diameter=44.0, depth=8.0))
    finding, spare = flaw((20.0, 0.0, -4.0), 1.0, tenon)
    assert (finding.reason, finding.part) == (Reason.FLAW_MET, Part.FOOT)
    assert spare == pytest.approx(-3.0)
    assert flaw((20.0, 0.0, -4.0), 1.0, WISH)[0].reason is Reason.FLAW_CLEAR


def test_a_keep_mark_between_two_angles_is_passed_where_the_rim_runs_between_them() -> None:
    half = np.radians(0.5)
    keep = Mark(
        name="K", kind=MarkKind.KEEP, at=60.0 * np.array([np.cos(half), np.sin(half), 50.0 / 60.0]), radius=0.2
    )
    (checked,) = check_marks((keep,), rim(np.full(360, 50.0)), WISH.solid, upright().blank_from_form, Units.MM)
    # the rim runs straight between angles a degree apart: 60 (1 - cos 0.5 degrees) within the circle
    assert checked.spare == pytest.approx(0.2 - 60.0 * (1.0 - np.cos(half)), abs=1e-6)
    assert checked.finding.reason is Reason.KEEP_MET


@pytest.mark.parametrize(
    ("radius", "answer"), [(9.0, Answer.FITS), (5.3, Answer.TIGHT), (4.7, Answer.TIGHT), (4.0, Answer.MISSES)]
)
def test_a_mark_met_or_lost_within_the_uncertainty_is_tight(board: Field, radius: float, answer: Answer) -> None:
    # the rim, at 50 over the foot at 10, passes (60, 0, 65) by 5
    keep = Mark(name="K", kind=MarkKind.KEEP, at=np.array([60.0, 0.0, 65.0]), radius=radius)
    field = replace(board, blank=replace(board.blank, marks=(keep,), uncertainty=0.5))
    assert verdict_on(field, WISH, upright(foot_height=10.0)).answer is answer


def test_a_flaw_by_the_tenon_of_a_job_makes_it_a_miss(board: Field) -> None:
    crack = Mark(name="F", kind=MarkKind.FLAW, at=np.array([18.0, 0.0, 6.0]), radius=2.0)
    field = replace(board, blank=replace(board.blank, marks=(crack,)))
    tenon = prepare_form(WISH.form, Hold(kind=HoldKind.TENON, diameter=44.0, depth=8.0))
    assert verdict_on(field, tenon, upright(foot_height=10.0)).answer is Answer.MISSES
    assert verdict_on(field, prepare_form(WISH.form, BLOCK), upright(foot_height=10.0)).answer is Answer.FITS
