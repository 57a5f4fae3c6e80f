"""Loads and stresses of a holding against the worked numbers of the handbook table, closed forms and quadrature."""

import math
from dataclasses import replace

import numpy as np
import pytest

from formmaker.engine.holding_strength import (
    USUAL_CUT,
    bending_stress,
    load_on,
    shear_strength,
    stresses_of,
    tension_strength,
)
from formmaker.engine.mounted import balance_on
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import moved
from formmaker.model.blank import Blank, Timber
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.holding import Load, SpeedFrom, Stress, StressKind
from formmaker.model.job import Job
from formmaker.model.lathe import Lathe
from formmaker.model.species import Figure, Source, Strength
from formmaker.model.timber import find_species
from formmaker.units import GRAVITY
from tests.bodies import cylinder
from tests.engine.jobs import job_of, plain_blank, straight_form, upright

CHERRY = find_species("cherry, black")
SIDE = math.pi / 2.0  # fibres square to the axis
FORM = straight_form(60.0, 80.0)
NO_LOAD = Load(
    cut=0.0,
    is_assumed=False,
    lever=0.0,
    weight=None,
    rpm=None,
    speed_from=None,
    unbalance=None,
    pull=0.0,
    side=0.0,
    moment=0.0,
    torque=0.0,
)


def held(kind: HoldKind = HoldKind.TENON, diameter: float = 75.0, depth: float = 8.0) -> PreparedForm:
    return prepare_form(FORM, Hold(kind=kind, diameter=diameter, depth=depth))


def stress(kind: StressKind, prepared: PreparedForm, *, moisture: float | None = 12.0, **loads: float) -> Stress:
    found = stresses_of(
        prepared,
        replace(NO_LOAD, **loads),  # type: ignore[arg-type]
        prepared.hold.depth,
        species=CHERRY,
        moisture=moisture,
        lean=SIDE,
    )
    return next(one for one in found if one.kind is kind)


# Worked numbers of 75 mm in black cherry at 12 %: Wood Handbook (2021), Table 5-3a, check values, section 1.7.
def test_a_glue_face_of_75_mm_bears_what_was_worked_by_hand() -> None:
    block = held(HoldKind.GLUE_BLOCK, depth=30.0)
    pulled = stress(StressKind.TENSION, block, pull=17_200.0)
    assert pulled.area == pytest.approx(4417.9, abs=0.05)
    assert pulled.value == pytest.approx(3.9, abs=0.01)
    assert pulled.strength == 3.9
    assert pulled.factor == pytest.approx(1.0, abs=0.003)
    # 51.7 kN is the mean shear; over a round section the greatest is a third more (beams, any textbook)
    assert stress(StressKind.SHEAR, block, side=51_700.0).value == pytest.approx(4.0 / 3.0 * 11.7, rel=1e-3)
    bent = stress(StressKind.TENSION, block, moment=161_500.0)
    assert bent.factor == pytest.approx(1.0, abs=0.001)


def test_a_tenon_of_75_by_8_is_stripped_along_1885_mm2() -> None:
    stripped = stress(StressKind.STRIPPING, held(), pull=11.7 * 1885.0)
    assert stripped.area == pytest.approx(1885.0, abs=0.5)
    assert (stripped.strength, stripped.factor) == (11.7, pytest.approx(1.0, abs=0.001))


def test_bending_turning_and_stripping_carry_their_moment_back() -> None:
    """The stresses of the formulas, summed over the section by quadrature, give the moment again."""
    diameter, depth, moment = 62.0, 7.0, 9_000.0
    prepared = held(diameter=diameter, depth=depth)
    radius = (np.arange(4000) + 0.5) * (diameter / 2.0 / 4000)
    ring = 2.0 * np.pi * radius * (diameter / 2.0 / 4000)
    bent = bending_stress(moment, diameter)
    # a ring's mean of y^2 is r^2 / 2; the stress at y is bent y / (d / 2)
    assert (bent * radius**2 / diameter * ring).sum() == pytest.approx(moment, rel=1e-6)
    turned = stress(StressKind.SHEAR, prepared, torque=moment).value
    assert (turned * radius / (diameter / 2.0) * radius * ring).sum() == pytest.approx(moment, rel=1e-6)
    stripped = stress(StressKind.STRIPPING, prepared, moment=moment).value
    angle = np.arange(720) * (2.0 * np.pi / 720)
    arm = diameter / 2.0 * np.cos(angle)
    pieces = diameter / 2.0 * (2.0 * np.pi / 720) * depth
    assert (stripped * np.cos(angle) * arm * pieces).sum() == pytest.approx(moment, rel=1e-9)


def test_only_what_the_holding_has_is_asked() -> None:
    kinds = {
        kind: [
            one.kind
            for one in stresses_of(held(kind, 50.0, 5.0), NO_LOAD, 5.0, species=None, moisture=None, lean=SIDE)
        ]
        for kind in HoldKind
    }
    plane = [StressKind.TENSION, StressKind.SHEAR]
    assert kinds == {
        HoldKind.TENON: [*plane, StressKind.STRIPPING],
        HoldKind.GLUE_BLOCK: plane,
        HoldKind.RECESS: [StressKind.STRIPPING],
    }


def test_a_block_wider_than_the_foot_holds_by_the_foot() -> None:
    wide = stress(StressKind.TENSION, held(HoldKind.GLUE_BLOCK, 119.0, 30.0), pull=1000.0)
    narrow = prepare_form(
        replace(FORM, handles=np.array([[40.0, 0.0], [60.0, 80.0]])),
        Hold(kind=HoldKind.GLUE_BLOCK, diameter=119.0, depth=30.0),
    )
    assert wide.area == pytest.approx(math.pi * 59.5**2)
    assert stress(StressKind.TENSION, narrow, pull=1000.0).area == pytest.approx(math.pi * 40.0**2)


def test_end_grain_is_not_compared_with_the_strength_across_the_grain() -> None:
    found = stresses_of(held(), replace(NO_LOAD, pull=1.0), 8.0, species=CHERRY, moisture=12.0, lean=0.1)
    assert [one.strength for one in found] == [None, 11.7, 11.7]


# Table 5-3a and equation 5-3 with its Mp of 25 % (check values, section 1.7)
@pytest.mark.parametrize(
    ("moisture", "shear"),
    [
        (None, 7.8),
        (30.0, 7.8),
        (12.0, 11.7),
        (18.5, 11.7 * (11.7 / 7.8) ** (-6.5 / 13.0)),
        (8.0, 11.7 * 1.5 ** (4 / 13)),
    ],
)
def test_shear_strength_goes_by_the_handbook_s_equation(moisture: float | None, shear: float) -> None:
    known = shear_strength(CHERRY, moisture)
    assert known is not None
    assert known.value == pytest.approx(shear)
    assert known.source is Source.STRENGTH_TABLE


def test_strength_across_the_grain_between_green_and_dry_is_the_lower() -> None:
    oak = find_species("white oak")  # 5.3 green, 5.5 at 12 %
    values = [tension_strength(oak, moisture) for moisture in (None, 20.0, 12.0, 6.0)]
    assert [known and known.value for known in values] == [5.3, 5.3, 5.5, 5.5]


def test_where_the_handbook_has_no_value_there_is_none() -> None:
    assert CHERRY is not None
    dry_only = replace(CHERRY, strength=Strength(shear_dry=Figure(value=9.0, source=Source.STRENGTH_TABLE)))
    assert [known and known.value for known in (shear_strength(dry_only, m) for m in (None, 20.0, 12.0, 5.0))] == [
        None,
        None,
        9.0,
        9.0,
    ]
    assert tension_strength(dry_only, None) is shear_strength(None, 12.0) is tension_strength(None, 12.0) is None


def test_a_figure_from_memory_stays_one() -> None:
    assert CHERRY is not None
    green, dry = Figure(value=5.0, source=Source.MEMORY), Figure(value=9.0, source=Source.STRENGTH_TABLE)
    known = shear_strength(replace(CHERRY, strength=Strength(shear_green=green, shear_dry=dry)), 18.0)
    assert known is not None
    assert known.source is Source.MEMORY


def drum(**others: object) -> Blank:
    known = {"timber": Timber(name="cherry, black", weight=5.0)}
    return plain_blank(cylinder(100.0, 90.0), **(known | others))


def load_of(blank: Blank, *, off: float = 10.0, rpm: float | None = 600.0, cut: float | None = None) -> Load:
    job = job_on(off)
    balance = balance_on(blank, job.mounting, job.lathe)
    return load_on(job, held(), blank, balance, rpm=rpm, cut=cut)


def job_on(off: float, *, foot_height: float = 15.0) -> Job:
    return job_of(FORM, upright((off, 0.0, 0.0), foot_height=foot_height), hold=held().hold)


def test_a_drum_off_its_axis_loads_the_tenon_as_the_closed_form_says() -> None:
    load = load_of(drum())
    mass = 5.0 * 1.02  # household scales: 2 %
    middle = 45.0 - 15.0  # of the drum, over the foot's plane
    speed = 600.0 * math.tau / 60.0
    unbalance = mass * 0.010 * speed**2
    assert load.weight == pytest.approx(mass * GRAVITY)
    assert load.unbalance == pytest.approx(unbalance, rel=1e-6)
    assert load.lever == pytest.approx(100.0)  # 60 out and 80 up
    assert (load.cut, load.is_assumed, load.pull) == (USUAL_CUT, True, USUAL_CUT)
    assert load.side == pytest.approx(USUAL_CUT + mass * GRAVITY + unbalance, rel=1e-6)
    assert load.torque == pytest.approx(USUAL_CUT * 60.0)
    assert load.moment == pytest.approx(USUAL_CUT * 100.0 + (mass * GRAVITY + unbalance) * middle, rel=1e-6)
    assert load.speed_from is SpeedFrom.ASKED


def test_a_couple_alone_bends_it_too() -> None:
    """A leaning rod has its centre on the axis and no force, but a couple: mass times the mean of x z."""
    tilt = math.radians(20.0)
    turn = np.array([[math.cos(tilt), 0.0, math.sin(tilt)], [0.0, 1.0, 0.0], [-math.sin(tilt), 0.0, math.cos(tilt)]])
    middle = np.array([0.0, 0.0, -50.0])
    shift = Frame(rotation=np.eye(3), origin=middle)
    lean = Frame(rotation=turn, origin=np.array([0.0, 0.0, 50.0]))
    rod = plain_blank(moved(moved(cylinder(20.0, 100.0), shift), lean), timber=Timber(weight=2.0))
    job = job_on(0.0, foot_height=0.0)
    load = load_on(job, held(), rod, balance_on(rod, job.mounting, job.lathe), rpm=600.0, cut=1.0)
    assert load.unbalance == pytest.approx(0.0, abs=1e-6)
    # mean of x z of a rod: (L^2 / 12 - r^2 / 4) sin cos (any textbook)
    product = (100.0**2 / 12.0 - 20.0**2 / 4.0) * math.sin(tilt) * math.cos(tilt)
    mass, height = 2.0 * 1.02, abs(balance_on(rod, job.mounting, job.lathe).height)
    couple = mass * product / 1000.0 * (600.0 * math.tau / 60.0) ** 2
    assert load.moment == pytest.approx(1.0 * 100.0 + mass * GRAVITY * height + couple, rel=1e-5)


def test_the_skin_s_doubt_is_added_to_the_unbalance() -> None:
    sure, unsure = load_of(drum()), load_of(drum(uncertainty=1.0))
    assert sure.unbalance is not None
    assert unsure.unbalance is not None
    assert unsure.unbalance > sure.unbalance
    assert unsure.moment > sure.moment


@pytest.mark.parametrize(
    ("lathe", "speed", "speed_from"),
    [
        (Lathe(), 400.0, SpeedFrom.START),
        (Lathe(lowest_speed=60.0, highest_speed=90.0), 90.0, SpeedFrom.START),
        (Lathe(lowest_speed=5000.0), 5000.0, SpeedFrom.LOWEST),
        (Lathe(swing=100.0), None, None),
    ],
)
def test_the_speed_is_the_one_to_begin_with_or_the_lathe_s_lowest(
    lathe: Lathe, speed: float | None, speed_from: SpeedFrom | None
) -> None:
    blank, job = drum(), job_on(0.0)
    balance = balance_on(blank, job.mounting, lathe)
    load = load_on(replace(job, lathe=lathe), held(), blank, balance, rpm=None, cut=None)
    assert load.speed_from is speed_from
    if speed_from is SpeedFrom.START:
        assert load.rpm == balance.start.rpm
    else:
        assert load.rpm == speed
        assert (load.unbalance is None) is (speed is None)


def test_the_cut_is_the_asked_one_the_job_s_or_the_usual() -> None:
    blank, job = drum(), job_on(0.0)
    own = replace(job, hold=replace(job.hold, cut_force=40.0))
    balance = balance_on(blank, job.mounting, job.lathe)
    cuts = [
        load_on(one, held(), blank, balance, rpm=None, cut=cut)
        for one, cut in ((job, None), (own, None), (own, 70.0))
    ]
    assert [(load.cut, load.is_assumed) for load in cuts] == [(USUAL_CUT, True), (40.0, False), (70.0, False)]


def test_a_piece_nobody_weighed_is_left_out_of_the_load() -> None:
    load = load_of(drum(timber=Timber()))
    assert (load.weight, load.unbalance) == (None, None)
    assert load.moment == pytest.approx(USUAL_CUT * 100.0)
