"""What ``formmaker new`` writes is read back as what was meant, with every key explained."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formmaker.engine.sketching import form_from_profile
from formmaker.files.job_file import read_job
from formmaker.files.job_template import job_text
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.model.blank import BlankSource, Timber
from formmaker.model.chuck import Chuck
from formmaker.model.drying import DryWish
from formmaker.model.form import Edge, Form
from formmaker.model.grain import Grain, GrainWord
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, FaceRule, Job, KnownLength
from formmaker.model.lathe import Lathe
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting, RimEnd
from formmaker.model.shapes import SHAPES, CapBurr, Crotch, HalfLog, Shape
from formmaker.model.thread import Thread
from formmaker.units import Units

# Half of the last figure written: 0.01 mm, 0.0001 in.
ROUNDING = {Units.MM: 0.005 + 1e-9, Units.INCH: 0.00005 * 25.4 + 1e-9}


def own_form(edge: Edge = Edge.TURNED) -> Form:
    return Form(
        handles=np.array([[40.0, 0.0], [61.237, 33.333], [70.0, 80.0]]),
        corners=np.array([True, False, True]),
        wall=np.array([[0.0, 9.0], [0.5, 8.123], [1.0, 7.0]]),
        floor=10.0,
        edge=edge,
        lowest_rim=80.0 if edge is Edge.TURNED else 55.5,
        name="my own",
    )


def scan_job(units: Units) -> Job:
    marks = (
        Mark(name='A "1"', kind=MarkKind.WITNESS, at=np.array([12.3456, -7.0, 99.0])),
        Mark(name="eye", kind=MarkKind.KEEP, at=np.array([1.0, 2.0, 3.0]), radius=12.0),
    )
    plan = BlankPlan(
        source=BlankSource.SCAN,
        path=Path("burr.stl"),
        scan_unit="m",
        known_lengths=(KnownLength(first='A "1"', second="eye", length=123.4),),
        uncertainty=1.25,
        marks=marks,
        faces=(FaceRule(kind="natural", at=(1.0, 2.0, 3.0)), FaceRule(kind="sawn", at=(4.0, 5.0, 6.0))),
        timber=Timber(name="elm, American", moisture=12.5),
    )
    foot = np.array([1.111, 2.0, 3.0])
    mounting = Mounting(
        foot_centre=foot,
        rim_centre=np.array([1.0, 2.0, 103.0]),
        zero=marks[0].at - foot,
        foot_height=4.4,
        rim_end=RimEnd.TAILSTOCK,
        zero_name='A "1"',
    )
    return Job(
        title="hedge elm\nburr: è",
        units=units,
        plan=plan,
        mounting=mounting,
        form=own_form(Edge.NATURAL),
        hold=Hold(kind=HoldKind.RECESS, diameter=55.0, depth=4.0),
        skin=1.5,
        index_count=36,
    )


def shape_job(shape: Shape, zero: tuple[float, float, float] = (1.0, 0.0, 0.0)) -> Job:
    return replace(
        scan_job(Units.MM),
        title="plain",
        plan=BlankPlan(source=BlankSource.SHAPE, shape=shape),
        mounting=Mounting(foot_centre=np.zeros(3), rim_centre=np.array([0.0, 0.0, 50.0]), zero=np.array(zero)),
    )


def read_back(job: Job, folder: Path, diameter: float | None = None) -> Job:
    (folder / "burr.stl").touch()
    (folder / "burr.csv").touch()
    path = folder / "job.toml"
    path.write_text(job_text(job, diameter=diameter), encoding="utf-8")
    return read_job(path)


@pytest.mark.parametrize("units", Units)
def test_a_job_comes_back_to_the_rounding(tmp_path: Path, units: Units) -> None:
    job, tolerance = scan_job(units), ROUNDING[units]
    back = read_back(job, tmp_path)
    assert (back.title, back.units, back.index_count) == (job.title, units, 36)
    assert back.skin == pytest.approx(job.skin, abs=tolerance)
    assert back.plan.path == tmp_path / "burr.stl"
    assert (back.plan.scan_unit, back.plan.timber) == (job.plan.scan_unit, job.plan.timber)
    assert back.plan.uncertainty == pytest.approx(1.25, abs=tolerance)
    known = back.plan.known_lengths[0]
    assert (known.first, known.second) == ('A "1"', "eye")
    assert known.length == pytest.approx(123.4, abs=tolerance)
    assert [face.kind for face in back.plan.faces] == ["natural", "sawn"]
    for mark, twin in zip(back.plan.marks, job.plan.marks, strict=True):
        assert (mark.name, mark.kind) == (twin.name, twin.kind)
        assert mark.radius == pytest.approx(twin.radius, abs=tolerance)
        np.testing.assert_allclose(mark.at, twin.at, atol=tolerance)
    assert (back.mounting.zero_name, back.mounting.rim_end) == ('A "1"', RimEnd.TAILSTOCK)
    for name in ("foot_centre", "rim_centre", "foot_height"):
        np.testing.assert_allclose(getattr(back.mounting, name), getattr(job.mounting, name), atol=tolerance)
    for name in ("handles", "wall", "floor", "lowest_rim"):
        np.testing.assert_allclose(getattr(back.form, name), getattr(job.form, name), atol=tolerance)
    np.testing.assert_array_equal(back.form.corners, job.form.corners)
    assert (back.form.name, back.form.edge) == ("my own", Edge.NATURAL)
    assert (back.hold.kind, back.hold.depth) == (HoldKind.RECESS, pytest.approx(4.0, abs=tolerance))


def test_a_form_from_a_profile_is_written_by_its_name_and_size(tmp_path: Path) -> None:
    profile = read_profile(find_profile("open-bowl", tmp_path))
    form = form_from_profile(profile, diameter=211.0, height=74.5, wall=8.0, floor=10.0)
    back = read_back(replace(scan_job(Units.MM), form=form), tmp_path, diameter=211.0)
    assert 'profile = "open-bowl"' in (tmp_path / "job.toml").read_text(encoding="utf-8")
    np.testing.assert_allclose(back.form.handles, form.handles, atol=1e-6)


@pytest.mark.parametrize(
    "shape",
    [
        HalfLog(radius=100.0, length=262.5),
        CapBurr(diameter=300.0, height=120.0),
        Crotch(stem_radius=80, stem_length=200, branch_radius=50, branch_length=150, angle=0.5),
    ],
)
def test_a_described_shape_comes_back(tmp_path: Path, shape: Shape) -> None:
    back = read_back(shape_job(shape), tmp_path).plan.shape
    assert type(back) is type(shape)
    for name in shape.__slots__:
        assert getattr(back, name) == pytest.approx(getattr(shape, name), abs=1e-5)


def test_every_shape_has_a_name_in_the_file(tmp_path: Path) -> None:
    assert {type(shape) for shape in (HalfLog, CapBurr)} <= {type}  # records, not names
    for name, kind in SHAPES.items():
        sizes = dict.fromkeys(kind.__slots__, 50.0) | ({"angle": 0.5} if "angle" in kind.__slots__ else {})
        sizes |= {"height": 20.0} if "height" in kind.__slots__ else {}
        assert f'shape = "{name}"' in job_text(shape_job(kind(**sizes)))


def test_readings_come_back_with_their_positions(tmp_path: Path) -> None:
    plan = BlankPlan(source=BlankSource.READINGS, path=Path("burr.csv"), index_count=48)
    back = read_back(replace(shape_job(HalfLog(radius=1, length=1)), plan=plan), tmp_path).plan
    assert (back.source, back.path, back.index_count) == (BlankSource.READINGS, tmp_path / "burr.csv", 48)


@settings(max_examples=20, deadline=None)
@given(
    x=st.floats(-1, 1).filter(lambda value: abs(value) > 1e-3),
    y=st.floats(-1, 1),
    scale=st.sampled_from([1e-3, 1.0, 1e3]),
)
def test_a_zero_direction_keeps_its_direction(
    tmp_path_factory: pytest.TempPathFactory, x: float, y: float, scale: float
) -> None:
    job = shape_job(HalfLog(radius=100, length=200), zero=(x * scale, y * scale, 0.0))
    zero = read_back(job, tmp_path_factory.mktemp("job")).mounting.zero
    turned = np.arctan2(zero[1], zero[0]) - np.arctan2(y, x)
    assert abs((turned + np.pi) % (2 * np.pi) - np.pi) < 1e-4  # four figures of the larger part


def test_every_line_with_a_key_not_plain_in_itself_is_explained_and_remarks_stay_comments(tmp_path: Path) -> None:
    text = job_text(scan_job(Units.MM), remarks=["A burr of 5.2 kg.", "x\n[blank]\ny" + " long" * 60])
    assert text.startswith("# A burr of 5.2 kg.\n")
    head = text.split("title =")[0]
    assert all(not line or line.startswith("#") for line in head.splitlines())
    lines = [line for line in text.splitlines() if re.match(r"(# )?\w+ = ", line)]
    bare = {line.split(" = ")[0] for line in lines if "  # " not in line}
    assert bare <= {"title", "diameter"}


@pytest.mark.parametrize("units", Units)
def test_the_examples_that_are_switched_off_are_right_when_switched_on(tmp_path: Path, units: Units) -> None:
    job = replace(
        scan_job(units),
        plan=BlankPlan(
            source=BlankSource.SCAN,
            path=Path("burr.stl"),
            scan_unit="mm",
            marks=tuple(
                Mark(name=name, kind=MarkKind.WITNESS, at=np.array([x, 0.0, 0.0]))
                for name, x in (("A", 1), ("B", 99))
            ),
        ),
        form=own_form(),
        mounting=replace(scan_job(units).mounting, zero_name="", zero=np.array([1.0, 0, 0])),
    )
    (tmp_path / "burr.stl").touch()
    text = job_text(job)
    switched = re.sub(r"^# (\w+ = |\[)", r"\1", text, flags=re.MULTILINE)
    assert switched.count("\n# ") < text.count("\n# ")
    path = tmp_path / "job.toml"
    path.write_text(switched, encoding="utf-8")
    back = read_job(path)
    assert back.plan.known_lengths
    assert back.plan.timber.weight == pytest.approx(6.2, abs=0.1)  # 13.5 lb are 6.12 kg
    assert back.lathe.swing == pytest.approx(400.0, rel=0.02)  # 16 in are 406.4 mm
    assert back.lathe.thread is not None
    assert back.lathe.thread.pitch == 3.5
    assert back.chuck.closes_on == pytest.approx((45.0, 65.0), rel=0.03)  # 1 3/4 and 2 1/2 in
    assert back.hold.cut_force == 100.0


@pytest.mark.parametrize("units", Units)
def test_the_lathe_and_what_is_said_of_the_weight_come_back(tmp_path: Path, units: Units) -> None:
    lathe = Lathe(swing=356.0, between_centres=700.0, lowest_speed=62.5, highest_speed=3200.0, tool_rest=8.0)
    job = replace(scan_job(units), lathe=lathe)
    job = replace(job, plan=replace(job.plan, timber=Timber(name="elm", moisture=None, weight=6.123, bark=7.5)))
    back = read_back(job, tmp_path)
    assert back.plan.timber.weight == 6.123
    assert back.plan.timber.bark == pytest.approx(7.5, abs=ROUNDING[units])
    assert (back.lathe.lowest_speed, back.lathe.highest_speed) == (62.5, 3200.0)
    for name in ("swing", "between_centres", "tool_rest"):
        assert getattr(back.lathe, name) == pytest.approx(getattr(lathe, name), abs=ROUNDING[units])


@pytest.mark.parametrize("units", Units)
@pytest.mark.parametrize(
    ("grain", "wish"),
    [
        (Grain(way=(1.0, 0.25, 0.0), pith=(1.0, -2.0, -300.0), sapwood=22.0), DryWish(to=8.0, skin=2.5)),
        (Grain(way=GrainWord.AXIS), DryWish(temperature=18.0, humidity=0.55, radial=4.0, tangential=9.5)),
    ],
)
def test_the_tree_and_the_wish_for_drying_come_back(
    tmp_path: Path, units: Units, grain: Grain, wish: DryWish
) -> None:
    job = replace(scan_job(units), dry=wish)
    back = read_back(replace(job, plan=replace(job.plan, grain=grain)), tmp_path)
    assert back.plan.grain.way == grain.way
    assert back.plan.grain.pith == (grain.pith and pytest.approx(grain.pith, abs=ROUNDING[units]))
    assert back.plan.grain.sapwood == (grain.sapwood and pytest.approx(grain.sapwood, abs=ROUNDING[units]))
    assert (back.dry.to, back.dry.temperature, back.dry.radial) == (wish.to, wish.temperature, wish.radial)
    assert back.dry.humidity == (wish.humidity and pytest.approx(wish.humidity))
    assert back.dry.skin == (wish.skin and pytest.approx(wish.skin, abs=ROUNDING[units]))


@pytest.mark.parametrize("units", Units)
@pytest.mark.parametrize(
    "chuck",
    [
        Chuck(name="big jaws", closes_on=(51.5, 77.0), true_circle=58.0, jaw_height=14.0),
        Chuck(opens_in=(52.0, 80.0), thread=Thread(text="1x8", diameter=25.4, pitch=3.175), screws=18.0),
    ],
)
def test_the_chuck_the_threads_and_the_cut_come_back(tmp_path: Path, units: Units, chuck: Chuck) -> None:
    spindle = Thread(text="M33x3.5", diameter=33.0, pitch=3.5)
    job = replace(scan_job(units), chuck=chuck, lathe=Lathe(thread=spindle))
    back = read_back(replace(job, hold=replace(job.hold, cut_force=62.5)), tmp_path)
    assert (back.hold.cut_force, back.lathe.thread) == (62.5, spindle)
    assert (back.chuck.name, back.chuck.thread) == (chuck.name, chuck.thread)
    for name in ("closes_on", "opens_in", "true_circle", "jaw_height", "screws"):
        given = getattr(chuck, name)
        assert getattr(back.chuck, name) == (given and pytest.approx(given, abs=ROUNDING[units]))
