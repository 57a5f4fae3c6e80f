"""A verdict made by hand, whose every figure is known."""

from dataclasses import replace

import numpy as np
import pytest

from formmaker.model.blank import BlankSource
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import HalfLog
from formmaker.model.verdict import (
    Answer,
    Extremum,
    Finding,
    HoldCheck,
    LoosePiece,
    Part,
    Place,
    Reason,
    RimKind,
    RimLine,
    Spin,
    Verdict,
    Volumes,
    WeakNeck,
    Window,
)
from formmaker.units import Units


@pytest.fixture
def job() -> Job:
    return Job(
        title="plum",
        units=Units.MM,
        plan=BlankPlan(source=BlankSource.SHAPE, shape=HalfLog(radius=100, length=200)),
        mounting=Mounting(
            foot_centre=np.zeros(3), rim_centre=np.array([0.0, 0.0, 100.0]), zero=np.array([1.0, 0.0, 0.0])
        ),
        form=Form(
            handles=np.array([[40.0, 0.0], [60.0, 80.0]]),
            corners=np.array([True, True]),
            wall=np.array([[0.0, 8.0]]),
            floor=10.0,
            edge=Edge.NATURAL,
            lowest_rim=60.0,
        ),
        hold=Hold(kind=HoldKind.TENON, diameter=48.0, depth=6.0),
        index_count=24,
    )


@pytest.fixture
def rim() -> RimLine:
    """Mean 70, lean 6 toward 90 deg, sway 4 with its highs at 0 and 180 deg, at four angles."""
    theta = np.radians([0.0, 90.0, 180.0, 270.0])
    return RimLine(
        theta=theta,
        radius=np.full(4, 55.0),
        height=70.0 + 6.0 * np.cos(theta - np.pi / 2) + 4.0 * np.cos(2 * theta),
        kinds=(RimKind.NATURAL, RimKind.NATURAL, RimKind.SAWN, RimKind.TURNED),
        lean=6.0,
        lean_toward=np.pi / 2,
        sway=4.0,
        highs=(Extremum(theta=0.0, height=74.0),),
        lows=(Extremum(theta=-np.pi / 2, height=60.0),),
    )


@pytest.fixture
def verdict(rim: RimLine) -> Verdict:
    return Verdict(
        answer=Answer.FITS,
        margin=3.2,
        uncertainty=1.1,
        worst=Place(theta=np.radians(214.0), radius=50.0, height=41.0, part=Part.WALL),
        diameter=120.0,
        height=80.0,
        foot=80.0,
        rim=rim,
        spin=Spin(height=np.array([0.0, 80.0]), core=np.array([60.0, np.nan]), ghost=np.array([100.0, np.inf])),
        loose_pieces=(),
        weak_necks=(),
        windows=(),
        volumes=Volumes(blank=3_000_000.0, bowl=250_000.0, waste=2_750_000.0),
        hold=HoldCheck(kind="tenon", diameter=48.0, ratio=0.4, findings=()),
        findings=(),
    )


@pytest.fixture
def broken(verdict: Verdict) -> Verdict:
    """A bowl that misses, with everything that can be found on one."""
    at_neck = {"theta": -np.pi / 2, "height": 61.0}
    finding = Finding(reason=Reason.WEAK_NECK, text="A part hangs by a neck.", part=Part.RIM, amount=12.5, **at_neck)
    note = Finding(reason=Reason.BLANK_NOTE, text="The scan had a hole.", amount=float("nan"))
    hold = Finding(reason=Reason.HOLD_SIZE, text="The tenon is small.", part=Part.TENON)
    return replace(
        verdict,
        answer=Answer.MISSES,
        margin=-4.1,
        loose_pieces=(LoosePiece(volume=2_500.0, theta=np.pi, height=70.0),),
        weak_necks=(WeakNeck(area=125.0, volume=12_000.0, **at_neck),),
        windows=(Window(area=350.0, theta=1.0, height=30.0),),
        hold=replace(verdict.hold, findings=(hold,)),
        findings=(finding, note, hold),
    )
