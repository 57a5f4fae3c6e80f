"""How a bowl is held, told to people and to programs: units, lines, cautions, and no figure called without danger."""

from dataclasses import replace

import pytest

from formmaker.engine.field import Field
from formmaker.files.hold_json import holding_to_json
from formmaker.files.spoken_hold import say_load, spoken_hold
from formmaker.model.blank import Timber
from formmaker.model.chuck import Chuck
from formmaker.model.hold import HoldKind
from formmaker.model.holding import Load, SpeedFrom
from formmaker.model.lathe import Lathe
from formmaker.model.thread import Thread
from formmaker.units import Units
from tests.engine.jobs import described_field
from tests.engine.test_held import BOARD, JAWS, answer, job


@pytest.fixture(scope="module")
def field() -> Field:
    return described_field(BOARD, uncertainty=0.5)


@pytest.mark.parametrize("kind", HoldKind)
@pytest.mark.parametrize("units", Units)
def test_it_is_told_in_the_job_s_units_within_the_line_and_never_called_safe(
    field: Field, kind: HoldKind, units: Units
) -> None:
    held = job(kind, units=units)
    lines = spoken_hold(answer(field, held), held).splitlines()
    assert max(map(len, lines)) <= 100
    told = " ".join(" ".join(lines).split())
    assert "safe" not in told
    assert ("N/mm2" in told) is (units is Units.MM)
    assert ("lb/in2" in told) is (units is Units.INCH)
    assert ("splits is not reckoned" in told) is (kind is HoldKind.RECESS)
    assert "maker's manual" in told


@pytest.mark.parametrize("kind", HoldKind)
def test_programs_are_given_what_the_record_holds(field: Field, kind: HoldKind) -> None:
    held = job(kind)
    holding = answer(field, held)
    told = holding_to_json(holding, held)
    assert told["kind"] == kind.value
    assert told["hinders"] is bool(holding.hindrances)
    assert told["share_pct"] == pytest.approx(37.5)
    assert told["shoulder_mm"] == pytest.approx(62.5)
    stresses = told["stresses"]
    assert isinstance(stresses, list)
    assert [row["stress_n_mm2"] for row in stresses] == [stress.value for stress in holding.stresses]


LOAD = Load(
    cut=100.0,
    is_assumed=True,
    lever=120.0,
    weight=50.0,
    rpm=300.0,
    speed_from=SpeedFrom.START,
    unbalance=12.0,
    pull=100.0,
    side=162.0,
    moment=15_000.0,
    torque=9_000.0,
)


@pytest.mark.parametrize(
    ("load", "words"),
    [
        (LOAD, "a cut of 100 N at the rim, assumed (no source); the whole piece as it stands, at most 50 N; its"),
        (LOAD, "its unbalance at 300 rpm (the speed to begin under), at most 12 N."),
        (replace(LOAD, is_assumed=False, speed_from=SpeedFrom.LOWEST), "at the rim; the whole piece"),
        (replace(LOAD, speed_from=SpeedFrom.LOWEST), "300 rpm (the lathe's lowest)"),
        (replace(LOAD, speed_from=SpeedFrom.ASKED), "300 rpm (as asked)"),
        (replace(LOAD, weight=None, unbalance=None), "Its weight is not known: weight and unbalance are left out."),
        (replace(LOAD, rpm=None, speed_from=None, unbalance=None), "No speed is known: the unbalance is left out."),
    ],
)  # fmt: skip
def test_the_load_is_told_with_what_is_left_out(load: Load, words: str) -> None:
    assert words in say_load(load, Units.MM)


@pytest.mark.parametrize(
    ("kind", "chuck", "words"),
    [
        (HoldKind.TENON, replace(JAWS, name="big"), "big: jaws close on 50.0 mm to 80.0 mm, a true circle at"),
        (HoldKind.TENON, JAWS, "at 70.0 mm, jaws 14.0 mm high, 6.0 mm of air under the tenon."),
        (HoldKind.RECESS, JAWS, "The chuck: jaws open in 60.0 mm to 90.0 mm, jaws 14.0 mm high."),
        (HoldKind.GLUE_BLOCK, Chuck(screws=20.0), "The faceplate: screws 20.0 mm into the wood, thread M33x3.5."),
        (HoldKind.GLUE_BLOCK, Chuck(), "The block goes on the spindle by a thread M33x3.5 cut in it."),
    ],
)  # fmt: skip
def test_what_the_bowl_goes_on_is_told(field: Field, kind: HoldKind, chuck: Chuck, words: str) -> None:
    spindle = Thread(text="M33x3.5", diameter=33.0, pitch=3.5) if kind is HoldKind.GLUE_BLOCK else None
    held = replace(job(kind, chuck=chuck), lathe=Lathe(thread=spindle))
    assert words in " ".join(spoken_hold(answer(field, held), held).split())


def test_what_hinders_is_counted(field: Field) -> None:
    wet = job(timber=Timber(name="cherry, black"))
    assert "one thing speaks against it:" in " ".join(spoken_hold(answer(field, wet), wet).split())
    two = replace(wet, chuck=Chuck(screws=40.0))
    assert "2 things speak against it:" in " ".join(spoken_hold(answer(field, two), two).split())
