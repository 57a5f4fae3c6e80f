"""Jobs, sections and verdicts to draw from, built here by hand: no engine is needed to test a drawing."""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from formmaker.geometry.curves import curve_through
from formmaker.model.blank import BlankSource
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.mounting import Mounting
from formmaker.model.section import Section
from formmaker.model.verdict import (
    Answer,
    Extremum,
    HoldCheck,
    Part,
    Place,
    RimKind,
    RimLine,
    Spin,
    Verdict,
    Volumes,
)
from formmaker.units import Units


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """All that a set of sheets is drawn from."""

    job: Job
    section: Section
    verdict: Verdict


def half_log_rim(log: float, radius: float, kinds: tuple[RimKind, ...] | None = None) -> RimLine:
    """The rim of an upright bowl in a half log: z = sqrt(R^2 - r^2 cos^2 t) (check-values, section 7.2)."""
    theta = np.arange(360) * math.tau / 360
    height = np.sqrt(log**2 - (radius * np.cos(theta)) ** 2)
    quarter = math.pi / 2
    ends = [Extremum(theta=i * quarter, height=float(height[90 * i])) for i in range(4)]
    return RimLine(
        theta=theta,
        radius=np.full(360, radius),
        height=height,
        kinds=kinds or (RimKind.NATURAL,) * 360,
        lean=0.0,
        lean_toward=0.0,
        sway=float(np.ptp(height)) / 2,
        highs=(ends[1], ends[3]),
        lows=(ends[0], ends[2]),
    )


def build_case(
    *,
    diameter: float = 280.0,
    height: float = 110.0,
    units: Units = Units.MM,
    edge: Edge = Edge.NATURAL,
    hold: HoldKind = HoldKind.TENON,
    title: str = "Plum half log",
    index_count: int = 24,
) -> Case:
    r = diameter / 2
    wall = 3.0 + diameter / 60
    floor = 4.0 + height / 20
    outer = np.array([[0.36 * r, 0], [0.75 * r, 0.3 * height], [0.95 * r, 0.7 * height], [r, height]])
    inner = np.array([[0, floor], [0.4 * r, floor + 0.05 * height], [0.8 * r, 0.5 * height + 2], [r - wall, height]])
    form = Form(
        handles=outer,
        corners=np.array([True, False, False, True]),
        wall=np.array([[0.0, wall]]),
        floor=floor,
        edge=edge,
        lowest_rim=0.6 * height if edge is Edge.NATURAL else height,
    )
    job = Job(
        title=title,
        units=units,
        plan=BlankPlan(source=BlankSource.SHAPE),
        mounting=Mounting(foot_centre=np.zeros(3), rim_centre=np.array([0, 0, 1.0]), zero=np.array([1.0, 0, 0])),
        form=form,
        hold=Hold(kind=hold, diameter=0.3 * diameter, depth=2.0 + diameter / 100),
        skin=1.0,
        index_count=index_count,
    )
    section = Section(
        outer=curve_through(outer, form.corners),
        inner=curve_through(inner, np.array([True, False, False, True])),
    )
    return Case(job=job, section=section, verdict=_verdict(job, r, height))


def _verdict(job: Job, r: float, height: float) -> Verdict:
    if job.form.edge is Edge.NATURAL:
        kinds = tuple(
            RimKind.SAWN if 200 <= i < 240 else RimKind.TURNED if 75 <= i < 105 else RimKind.NATURAL
            for i in range(360)
        )
        log = math.hypot(r, 0.5 * height)
        rim = half_log_rim(log, r, kinds)
        rim = RimLine(**{f: getattr(rim, f) for f in rim.__slots__} | {"height": rim.height * 0.97 * height / log})
    else:
        level = np.full(360, height)
        theta = np.arange(360) * math.tau / 360
        rim = RimLine(
            theta=theta,
            radius=np.full(360, r),
            height=level,
            kinds=(RimKind.TURNED,) * 360,
            lean=0.0,
            lean_toward=0.0,
            sway=0.0,
            highs=(),
            lows=(),
        )
    z = np.linspace(-0.2 * height, 1.2 * height, 57)
    return Verdict(
        answer=Answer.TIGHT,
        margin=0.7,
        uncertainty=1.2,
        worst=Place(theta=math.pi, radius=0.97 * r, height=0.8 * height, part=Part.WALL),
        diameter=2 * r,
        height=height,
        foot=0.72 * r,
        rim=rim,
        spin=Spin(height=z, core=1.1 * r - 0.2 * r * z / height, ghost=np.full(57, 1.2 * r)),
        loose_pieces=(),
        weak_necks=(),
        windows=(),
        volumes=Volumes(blank=3e6, bowl=8e5, waste=2.2e6),
        hold=HoldCheck(kind=job.hold.kind, diameter=job.hold.diameter, ratio=0.3, findings=()),
        findings=(),
    )


@pytest.fixture(scope="session")
def make_case() -> Callable[..., Case]:
    return build_case


@pytest.fixture(scope="session")
def make_half_log_rim() -> Callable[..., RimLine]:
    return half_log_rim
