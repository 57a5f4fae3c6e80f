"""A job file is read as it says, or refused with every fault it has."""

import copy
import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from formmaker.errors import JobFileError
from formmaker.files.job_file import read_job
from formmaker.model.blank import BlankSource
from formmaker.model.form import Edge
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job, KnownLength
from formmaker.model.marks import MarkKind
from formmaker.model.mounting import RimEnd
from formmaker.model.shapes import CapBurr, Crotch, HalfLog
from formmaker.units import Units

Document = dict[str, object]

SCAN_JOB = """
title = "hedge elm"
units = "in"
index_count = 48
[blank]
scan = "burr.stl"
scan_unit = "cm"
known_length = [["A", "B", "212 mm"]]
uncertainty = "1 mm"
wood = "elm, American"
moisture = 30
weight = "6.2 kg"
bark = "8 mm"
[[blank.mark]]
name = "A"
kind = "witness"
at = [1, "1/2 in", "-2 cm"]
[[blank.mark]]
name = "B"
kind = "flaw"
at = [9, 0, 0]
radius = "10 mm"
[[blank.face]]
at = [0, 0, 1]
kind = "natural"
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 4]
zero = "A"
foot_height = "12 mm"
rim_end = "tailstock"
[form]
profile = "open-bowl"
diameter = 11
height = 4
wall = [[0.0, "12 mm"], [1.0, "6 mm"]]
floor = "10 mm"
edge = "natural"
lowest_rim = 3
[hold]
kind = "glue block"
diameter = "90 mm"
depth = "6 mm"
[allowance]
skin = "2 mm"
[lathe]
swing = 16
between_centres = "600 mm"
lowest_speed = 60
highest_speed = 2000
index_count = 48
tool_rest = "1/2 in"
"""

SHAPE_JOB = """
title = "plum"
units = "mm"
[blank]
shape = "half log"
size = { radius = 100, length = 260 }
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 100]
zero = [1, 0, 0]
[form]
outer = [[40, 0], [60, 80]]
joints = ["corner", "corner"]
wall = 8
floor = 10
edge = "turned"
[hold]
kind = "tenon"
diameter = 60
depth = 6
"""


def write(folder: Path, text: str) -> Path:
    (folder / "burr.stl").touch()
    (folder / "burr.csv").touch()
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def write_document(folder: Path, document: Document) -> Path:
    return write(folder, tomlkit.dumps(document))


def shape_document() -> Document:
    return copy.deepcopy(tomlkit.parse(SHAPE_JOB).unwrap())


def scan_document() -> Document:
    return copy.deepcopy(tomlkit.parse(SCAN_JOB).unwrap())


def faults_of(path: Path) -> dict[str, str]:
    """Faults of a file as key -> expectation; each message is one line that names the file."""
    with pytest.raises(JobFileError) as caught:
        read_job(path)
    lines = str(caught.value).splitlines()
    assert len(lines) == len(caught.value.faults)
    assert all(line.startswith(f"{path}: ") for line in lines)
    return {fault.key: fault.expected for fault in caught.value.faults}


def faults_with(folder: Path, table: str, **changes: object) -> dict[str, str]:
    """Faults of the described-shape job with some keys changed; None takes a key away."""
    document = shape_document()
    content = document.setdefault(table, {}) if table else document
    assert isinstance(content, dict)
    for key, value in changes.items():
        if value is None:
            content.pop(key, None)
        else:
            content[key] = value
    return faults_of(write_document(folder, document))


def job_with(folder: Path, table: str, **changes: object) -> Job:
    document = shape_document()
    content = document.setdefault(table, {}) if table else document
    assert isinstance(content, dict)
    content.update(changes)
    return read_job(write_document(folder, document))


def test_every_key_arrives_in_millimetres(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, SCAN_JOB))
    plan, mounting, form = job.plan, job.mounting, job.form
    assert (job.title, job.units, job.index_count) == ("hedge elm", Units.INCH, 48)
    assert (plan.source, plan.path, plan.scan_unit) == (BlankSource.SCAN, tmp_path / "burr.stl", "cm")
    assert plan.known_lengths == (KnownLength(first="A", second="B", length=212.0),)
    assert (plan.uncertainty, plan.timber.name, plan.timber.moisture) == (1.0, "elm, American", 30.0)
    assert [(mark.name, mark.kind, mark.radius) for mark in plan.marks] == [
        ("A", MarkKind.WITNESS, 0.0),
        ("B", MarkKind.FLAW, 10.0),
    ]
    np.testing.assert_allclose(plan.marks[0].at, [25.4, 12.7, -20.0])
    assert [(face.kind, face.at) for face in plan.faces] == [("natural", (0.0, 0.0, 25.4))]
    np.testing.assert_allclose(mounting.rim_centre, [0, 0, 101.6])
    np.testing.assert_allclose(mounting.zero, [25.4, 12.7, -20.0])  # from the foot centre to the mark
    assert (mounting.zero_name, mounting.foot_height, mounting.rim_end) == ("A", 12.0, RimEnd.TAILSTOCK)
    np.testing.assert_allclose(form.wall, [[0, 12], [1, 6]])
    assert (form.name, form.edge, form.floor) == ("open-bowl", Edge.NATURAL, 10.0)
    assert form.height == pytest.approx(101.6)
    assert form.lowest_rim == pytest.approx(76.2)
    assert (job.hold.kind, job.hold.diameter, job.hold.depth, job.skin) == (HoldKind.GLUE_BLOCK, 90.0, 6.0, 2.0)


def test_what_is_not_said_has_a_plain_default(tmp_path: Path) -> None:
    job = read_job(write(tmp_path, SHAPE_JOB.replace('title = "plum"', "")))
    assert job.title == "job"
    assert (job.skin, job.index_count, job.mounting.foot_height) == (0.0, 24, 0.0)
    assert (job.plan.uncertainty, job.plan.timber.moisture, job.plan.marks) == (None, None, ())


def test_an_own_curve_keeps_its_handles_and_a_turned_rim_stands_at_its_height(tmp_path: Path) -> None:
    form = read_job(write(tmp_path, SHAPE_JOB)).form
    np.testing.assert_array_equal(form.handles, [[40, 0], [60, 80]])
    assert form.corners.all()
    assert form.lowest_rim == form.height == 80.0


def test_an_own_curve_is_brought_to_a_size_that_is_asked(tmp_path: Path) -> None:
    form = job_with(tmp_path, "form", diameter=200, height=60).form
    np.testing.assert_allclose(form.handles[-1], [100, 60], atol=1e-6)


def test_a_zero_mark_is_seen_from_the_foot_centre(tmp_path: Path) -> None:
    document = scan_document()
    document["mounting"]["foot_centre"] = [1, 0, 0]  # type: ignore[index]
    mounting = read_job(write_document(tmp_path, document)).mounting
    np.testing.assert_allclose(mounting.zero, [0.0, 12.7, -20.0], atol=1e-12)


@pytest.mark.parametrize(
    ("name", "size", "shape"),
    [
        ("half log", {"radius": 100, "length": "26 cm"}, HalfLog(radius=100.0, length=260.0)),
        ("cap burr", {"diameter": 300, "height": 150}, CapBurr(diameter=300.0, height=150.0)),
        (
            "crotch",
            {"stem_radius": 80, "stem_length": 200, "branch_radius": 50, "branch_length": 150, "angle": 30},
            Crotch(stem_radius=80, stem_length=200, branch_radius=50, branch_length=150, angle=math.pi / 6),
        ),
    ],
)
def test_a_described_shape_has_the_sizes_of_its_record(
    tmp_path: Path, name: str, size: Document, shape: object
) -> None:
    assert job_with(tmp_path, "blank", shape=name, size=size).plan.shape == shape


def test_readings_count_in_the_positions_of_the_lathe_unless_they_have_their_own(tmp_path: Path) -> None:
    document = shape_document()
    document["index_count"] = 36
    document["blank"] = {"readings": "burr.csv"}
    plan = read_job(write_document(tmp_path, document)).plan
    assert (plan.source, plan.path, plan.index_count) == (BlankSource.READINGS, tmp_path / "burr.csv", 36)
    document["blank"] = {"readings": "burr.csv", "index_count": 48}
    job = read_job(write_document(tmp_path, document))
    assert (job.plan.index_count, job.index_count) == (48, 36)


def test_glb_and_3mf_carry_their_unit_and_other_scans_do_not(tmp_path: Path) -> None:
    for name in ("burr.glb", "burr.3MF"):
        (tmp_path / name).touch()
        document = shape_document() | {"blank": {"scan": name}}
        assert read_job(write_document(tmp_path, document)).plan.scan_unit == ""
    document = shape_document() | {"blank": {"scan": "burr.stl"}}
    assert list(faults_of(write_document(tmp_path, document))) == ["blank.scan_unit"]


def test_a_byte_order_mark_and_foreign_line_ends_do_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SHAPE_JOB.replace("\n", "\r\n").encode())
    assert read_job(path).title == "plum"


# Values of every type TOML has; what a key takes is listed below by the names of the types.
WRONG = {
    "flag": True,
    "number": 3,
    "huge": 10**400,
    "negative": -3.5,
    "nan": math.nan,
    "infinite": -math.inf,
    "text": "zz zz",
    "blank text": " ",
    "empty list": [],
    "numbers": [1, 2, 3, 4],
    "texts": ["a"],
    "table": {"x": 1},
    "date": dt.date(2026, 1, 1),
    "deep": [[[[[1]]]]],
}
TAKEN = {
    "title": {"text", "blank text"},
    "index_count": {"number"},
    "blank.wood": {"text"},
    "blank.moisture": {"number"},
    "blank.uncertainty": {"number"},
    "blank.index_count": {"number"},
    "blank.known_length": {"empty list"},
    "blank.mark": {"empty list"},
    "blank.face": {"empty list"},
    "blank.mark[1].name": {"text"},
    "blank.mark[1].radius": {"number"},
    "blank.mark[2].name": {"text"},
    "blank.mark[2].radius": {"number"},
    "mounting.foot_height": {"number", "negative"},
    "form.name": {"text", "blank text"},
    "form.diameter": {"number"},
    "form.height": {"number"},
    "form.wall": {"number"},
    "form.floor": {"number"},
    "form.lowest_rim": {"number"},
    "hold.diameter": {"number"},
    "hold.depth": {"number"},
    "allowance.skin": {"number"},
    "blank.weight": {"number"},
    "blank.bark": {"number"},
    "lathe.swing": {"number"},
    "lathe.between_centres": {"number"},
    "lathe.lowest_speed": {"number"},
    "lathe.highest_speed": {"number"},
    "lathe.index_count": {"number"},
    "lathe.tool_rest": {"number"},
    "blank.size.radius": {"number"},
    "blank.size.length": {"number"},
    "allowance": set(),
}
TABLE_KEYS = ["blank", "blank.mark", "blank.face", "mounting", "form", "hold", "allowance", "lathe"]


def leaves(document: object, name: str = "") -> list[str]:
    if isinstance(document, dict):
        return [leaf for key, value in document.items() for leaf in leaves(value, f"{name}.{key}".lstrip("."))]
    if isinstance(document, list) and document and isinstance(document[0], dict):
        return [leaf for i, entry in enumerate(document, start=1) for leaf in leaves(entry, f"{name}[{i}]")]
    return [name]


def put(document: Document, key: str, value: object) -> None:
    *path, last = key.replace("]", "").replace("[", ".").split(".")
    place: object = document
    for step in path:
        place = place[int(step) - 1] if isinstance(place, list) else place[step]  # type: ignore[index]
    place[last] = value  # type: ignore[index]


def full_documents() -> list[Document]:
    """Between them every key that a job file knows."""
    scan, shape = scan_document(), shape_document()
    scan["blank"]["mark"][0]["radius"] = 1  # type: ignore[index]
    scan["blank"]["index_count"] = 24  # type: ignore[index]
    scan["form"]["name"] = "my bowl"  # type: ignore[index]
    readings = shape_document() | {"blank": {"readings": "burr.csv"}}
    return [scan, shape, readings]


@pytest.mark.parametrize("kind", WRONG)
def test_a_wrong_value_is_a_fault_at_every_key_at_once(tmp_path: Path, kind: str) -> None:
    for document in full_documents():
        keys = [key for key in leaves(document) if kind not in TAKEN.get(key, set())]
        for key in keys:
            put(document, key, WRONG[kind])
        faults = faults_of(write_document(tmp_path, document))
        missed = [key for key in keys if not any(fault.startswith(key) for fault in faults)]
        # marks that lost their names, and sizes of a shape that lost its name, cannot be judged
        if "blank.shape" in keys:
            missed = [key for key in missed if not key.startswith("blank.size")]
        assert missed == []


@pytest.mark.parametrize("kind", [kind for kind in WRONG if kind not in ("table", "empty list")])
@pytest.mark.parametrize("key", TABLE_KEYS)
def test_a_table_that_is_none_is_a_fault_at_its_key(tmp_path: Path, key: str, kind: str) -> None:
    document = scan_document()
    put(document, key, WRONG[kind])
    assert any(fault.startswith(key) for fault in faults_of(write_document(tmp_path, document)))


values = st.recursive(
    st.booleans() | st.integers() | st.floats() | st.text(st.characters(exclude_categories=["Cs"])),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("abkx_", min_size=1), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=60, deadline=None)
@given(value=values, key=st.sampled_from([key for document in full_documents() for key in leaves(document)]))
def test_no_value_at_any_key_gets_past_the_faults(
    tmp_path_factory: pytest.TempPathFactory, value: object, key: str
) -> None:
    folder = tmp_path_factory.mktemp("job")
    document = next(document for document in full_documents() if key in leaves(document))
    document["hold"] = {}  # so that the file is refused in any case, without drawing the form each time
    put(document, key, value) if not key.startswith("hold") else None
    assert "hold.kind" in faults_of(write_document(folder, document))


def test_all_faults_come_together_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = SCAN_JOB.replace('units = "in"', 'units = "furlong"').replace("radius =", "radus =")
    text = text.replace('zero = "A"', 'zero = "C"').replace("lowest_rim = 3", "lowest_rim = -3")
    assert list(faults_of(write(tmp_path, text))) == [
        "units",
        "blank.mark[2].radius",
        "blank.mark[2].radus",
        "mounting.zero",
        "form.lowest_rim",
    ]


def test_the_order_is_that_of_the_file_and_not_of_its_reading(tmp_path: Path) -> None:
    text = '[hold]\ndepth = -1\nkind = "tenon"\ndiameter = 0\n[form]\nfloor = 0\n[blank]\nwood = 3\n'
    order = list(faults_of(write(tmp_path, text)))
    assert order.index("hold.depth") < order.index("hold.diameter") < order.index("form.floor")
    assert order.index("form.floor") < order.index("blank.wood")


def test_no_place_is_farther_than_a_kilometre(tmp_path: Path) -> None:
    assert "1000 m" in faults_with(tmp_path, "mounting", foot_centre=[1e9, 0, 0])["mounting.foot_centre[1]"]


def test_a_key_nearly_right_is_named(tmp_path: Path) -> None:
    assert 'did you mean "wood"?' in faults_with(tmp_path, "blank", woood="elm")["blank.woood"]
    assert 'did you mean "round"?' in faults_with(tmp_path, "blank", shape="rund")["blank.shape"]


@pytest.mark.parametrize("key", ["scan", "readings", "shape"])
def test_a_blank_has_exactly_one_source(tmp_path: Path, key: str) -> None:
    words = {"scan": "burr.stl", "readings": "burr.csv", "shape": "half log"}
    document = shape_document()
    document["blank"] = {name: word for name, word in words.items() if name != key}
    assert "exactly one" in faults_of(write_document(tmp_path, document))["blank"]
    document["blank"] = {}
    assert "exactly one" in faults_of(write_document(tmp_path, document))["blank"]


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("nothing.stl", "a file that is there"),
        (".", "this is a folder"),
        ("job.toml", "the job names itself"),
        ("a\0b.stl", "a file"),
        ("a" * 5000 + ".stl", "a file"),
    ],
)
def test_a_scan_is_a_file_that_is_there_and_not_the_job(tmp_path: Path, name: str, said: str) -> None:
    document = scan_document()
    document["blank"]["scan"] = name  # type: ignore[index]
    assert said in faults_of(write_document(tmp_path, document))["blank.scan"]


def test_readings_and_profiles_are_not_the_job_either(tmp_path: Path) -> None:
    document = shape_document() | {"blank": {"readings": "job.toml"}}
    assert "names itself" in faults_of(write_document(tmp_path, document))["blank.readings"]
    faults = faults_with(tmp_path, "form", outer=None, joints=None, profile="job.toml", diameter=100, height=50)
    assert "names itself" in faults["form.profile"]


def test_a_faulty_profile_tells_its_faults_and_an_unknown_one_the_names(tmp_path: Path) -> None:
    (tmp_path / "my.toml").write_text("handles = 3\n")
    faults = faults_with(tmp_path, "form", outer=None, joints=None, profile="my.toml", diameter=100, height=50)
    assert "handles" in faults["form.profile"]
    faults = faults_with(tmp_path, "form", outer=None, joints=None, profile="opn-bowl", diameter=100, height=50)
    assert "open-bowl" in faults["form.profile"]


def test_a_scan_of_an_unknown_kind_and_an_unknown_unit_are_refused(tmp_path: Path) -> None:
    (tmp_path / "burr.jpg").touch()
    document = scan_document()
    document["blank"] |= {"scan": "burr.jpg", "scan_unit": "yd"}  # type: ignore[operator]
    faults = faults_of(write_document(tmp_path, document))
    assert ".stl" in faults["blank.scan"]
    assert '"mm"' in faults["blank.scan_unit"]


def test_names_of_marks_are_unique_and_known(tmp_path: Path) -> None:
    document = scan_document()
    document["blank"]["mark"][1]["name"] = "A"  # type: ignore[index]
    faults = faults_of(write_document(tmp_path, document))
    assert set(faults) == {"blank.mark[2].name", "blank.known_length[1][2]"}


@pytest.mark.parametrize("kind", ["keep", "flaw"])
def test_a_keep_mark_and_a_flaw_need_a_radius(tmp_path: Path, kind: str) -> None:
    mark = {"name": "A", "kind": kind, "at": [0, 0, 0]}
    assert list(faults_with(tmp_path, "blank", mark=[mark])) == ["blank.mark[1].radius"]
    assert list(faults_with(tmp_path, "blank", mark=[mark | {"radius": 0}])) == ["blank.mark[1].radius"]


def test_a_known_length_is_between_two_places(tmp_path: Path) -> None:
    document = scan_document()
    document["blank"]["known_length"] = [["A", "A", 3], ["A", "B", 0]]  # type: ignore[index]
    assert list(faults_of(write_document(tmp_path, document))) == ["blank.known_length[1]"]
    document["blank"]["known_length"] = [["A", "B", 0]]  # type: ignore[index]
    assert list(faults_of(write_document(tmp_path, document))) == ["blank.known_length[1][3]"]


def test_only_a_scan_is_scaled_and_only_a_shape_has_sizes(tmp_path: Path) -> None:
    marks = [{"name": name, "kind": "witness", "at": [x, 0, 0]} for name, x in (("A", 0), ("B", 9))]
    faults = faults_with(tmp_path, "blank", mark=marks, known_length=[["A", "B", 10]])
    assert list(faults) == ["blank.known_length"]
    document = shape_document()
    document["blank"] = {"readings": "burr.csv", "size": {"radius": 1}}
    assert list(faults_of(write_document(tmp_path, document))) == ["blank.size"]


def test_a_shape_asks_for_its_own_sizes(tmp_path: Path) -> None:
    faults = faults_with(tmp_path, "blank", shape="round", size={"diameter": 0, "radius": 3})
    assert set(faults) == {"blank.size.diameter", "blank.size.radius", "blank.size.thickness"}
    assert list(faults_with(tmp_path, "blank", size=None)) == ["blank.size"]
    faults = faults_with(tmp_path, "blank", shape="cap burr", size={"diameter": 100, "height": 51})
    assert "half its diameter" in faults["blank.size"]


@pytest.mark.parametrize("moisture", [-1, 251, "wet", True])
def test_moisture_is_green_or_a_percentage(tmp_path: Path, moisture: object) -> None:
    assert "0 to 250" in faults_with(tmp_path, "blank", moisture=moisture)["blank.moisture"]


@pytest.mark.parametrize(("said", "moisture"), [("green", None), (0, 0.0), (12.5, 12.5), ("12 %", 12.0)])
def test_moisture_is_read(tmp_path: Path, said: object, moisture: float | None) -> None:
    assert job_with(tmp_path, "blank", moisture=said).plan.timber.moisture == moisture


def test_an_axis_has_two_ends_and_zero_lies_off_it(tmp_path: Path) -> None:
    assert "another point" in faults_with(tmp_path, "mounting", rim_centre=[0, 0, 0])["mounting.rim_centre"]
    for zero in ([0, 0, 1], [0, 0, 0], [0, 0, -5]):
        assert "away from the axis" in faults_with(tmp_path, "mounting", zero=zero)["mounting.zero"]
    document = scan_document()
    document["blank"]["mark"][0]["at"] = [0, 0, 2]  # type: ignore[index]
    assert "off it" in faults_of(write_document(tmp_path, document))["mounting.zero"]


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("wall", 60, "less than the radius of the bowl, 60.0 mm"),
        ("wall", [[0, 8], [1, 61]], "less than the radius of the bowl, 60.0 mm"),
        ("wall", [[1, 8], [0, 6]], "rise from 0"),
        ("floor", 80, "less than the height of the bowl, 80.0 mm"),
        ("outer", [[60, 80], [40, 0]], "edge of the foot"),
        ("outer", [[0, 0], [40, 80]], "edge of the foot"),
        ("outer", [[40, 0]], "at least 2"),
        ("joints", ["corner"], "2 of them"),
        ("joints", ["corner", "bend"], "smooth"),
        ("height", 1e9, "at most 2 m"),
    ],
)
def test_the_figures_of_a_form_are_held_against_each_other(
    tmp_path: Path, key: str, value: object, said: str
) -> None:
    faults = faults_with(tmp_path, "form", **{key: value})
    assert any(fault.startswith(f"form.{key}") and said in text for fault, text in faults.items())


def test_a_natural_edge_needs_a_lowest_rim_within_the_height(tmp_path: Path) -> None:
    assert list(faults_with(tmp_path, "form", edge="natural")) == ["form.lowest_rim"]
    assert "80.0 mm" in faults_with(tmp_path, "form", edge="natural", lowest_rim=81)["form.lowest_rim"]


def test_a_form_has_one_curve_and_a_profile_its_size(tmp_path: Path) -> None:
    assert "exactly one" in faults_with(tmp_path, "form", profile="open-bowl")["form"]
    assert "exactly one" in faults_with(tmp_path, "form", outer=None, joints=None)["form"]
    faults = faults_with(tmp_path, "form", outer=None, joints=None, profile="open-bowl")
    assert set(faults) == {"form.diameter", "form.height"}
    assert list(faults_with(tmp_path, "form", diameter=100)) == ["form.height"]


def test_a_form_that_crosses_itself_is_refused_before_any_wood_is_read(tmp_path: Path) -> None:
    bent = [[40, 0], [90, 20], [30, 60], [95, 30], [60, 80]]
    assert "can be turned" in faults_with(tmp_path, "form", outer=bent, joints=["smooth"] * 5)["form.outer"]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"a = [\n", "not TOML"),
        (b'title = "x"\nunits = \n', "line 2"),
        (b"\x80\x81", "not UTF-8 in line 1"),
        (b"a = " + b"[" * 20_000, "nested"),
        (b"a = " + b"9" * 5_000, "not TOML"),
    ],
)
def test_a_file_that_is_no_toml_is_refused_in_one_line(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(content)
    with pytest.raises(JobFileError) as caught:
        read_job(path)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file_a_folder_and_an_empty_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(JobFileError, match="no such file"):
        read_job(tmp_path / "job.toml")
    with pytest.raises(JobFileError, match="a folder"):
        read_job(tmp_path)
    assert set(faults_of(write(tmp_path, ""))) == {"units", "blank", "mounting", "form", "hold"}


def test_a_job_file_is_a_page_and_not_a_scan(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    with path.open("wb") as file:
        file.truncate(5_000_000)
    with pytest.raises(JobFileError, match="at most 4000000 bytes"):
        read_job(path)


def test_what_a_fault_repeats_cannot_break_its_line(tmp_path: Path) -> None:
    document = shape_document() | {"bad\nkey\x1b[31m": "a\u2028b"}
    assert any("bad\\nkey" in key for key in faults_of(write_document(tmp_path, document)))


# Limits agreed for what cannot be meant: key, first value refused, last value taken, words of the refusal.
LIMITS = [
    ("allowance", "skin", 100.01, 100, "at most 100.0 mm"),
    ("allowance", "skin", -0.01, 0, "0 or more"),
    ("blank", "uncertainty", 9999, 100, "at most 100.0 mm"),
    ("hold", "depth", 200.01, 200, "at most 200.0 mm"),
    ("hold", "depth", 0.009, 0.01, "at least 0.01 mm"),
    ("hold", "diameter", 120, 119.9, "less than the diameter of the bowl, 120.0 mm"),
    ("form", "floor", 1e-300, 0.01, "at least 0.01 mm"),
    ("form", "wall", 1e-300, 0.01, "at least 0.01 mm"),
    ("form", "outer", [[40, 0], [1000.1, 80]], [[40, 0], [1000, 80]], "at most 2000.0 mm across"),
    ("form", "outer", [[40, 0], [60, 2000.1]], [[40, 0], [60, 2000]], "2000.0 mm high"),
    ("form", "name", "n" * 201, "n" * 200, "at most 200 characters"),
    ("", "title", "t" * 201, "t" * 200, "at most 200 characters"),
    ("blank", "wood", "w" * 201, "w" * 200, "at most 200 characters"),
]


@pytest.mark.parametrize(("table", "key", "refused", "taken", "said"), LIMITS)
def test_a_figure_that_cannot_be_meant_is_refused_and_its_neighbour_taken(
    tmp_path: Path, table: str, key: str, refused: object, taken: object, said: str
) -> None:
    faults = faults_with(tmp_path, table, **{key: refused})
    assert list(faults) == [f"{table}.{key}" if table else key]
    assert said in next(iter(faults.values()))
    job_with(tmp_path, table, **{key: taken})


def test_a_bowl_brought_to_a_size_is_at_most_two_metres(tmp_path: Path) -> None:
    assert set(faults_with(tmp_path, "form", diameter=2001, height=2001)) == {"form.diameter", "form.height"}
    document = shape_document()
    document["units"] = "in"
    form = document["form"]
    assert isinstance(form, dict)
    form |= {"diameter": 80, "height": 4}  # 2 m are 78.74 in
    assert "78 3/4 in" in faults_of(write_document(tmp_path, document))["form.diameter"]


def test_marks_and_handles_are_counted(tmp_path: Path) -> None:
    marks = [{"name": f"m{i}", "kind": "witness", "at": [i, 0, 0]} for i in range(201)]
    assert "at most 200 marks; there are 201" in faults_with(tmp_path, "blank", mark=marks)["blank.mark"]
    assert len(job_with(tmp_path, "blank", mark=marks[:200]).plan.marks) == 200
    handles = [[40 + 0.1 * i, 0.4 * i] for i in range(201)]
    joints = ["smooth"] * 201
    assert "at most 200 pairs" in faults_with(tmp_path, "form", outer=handles, joints=joints)["form.outer"]


@pytest.mark.parametrize(
    ("table", "key"),
    [("", "title"), ("", "units"), ("form", "profile"), ("blank", "scan"), ("hold", "kind"), ("hold", "depth")],
)
@pytest.mark.parametrize("letters", ["x" * 300, "x/" * 150, "x" * 300 + ".toml"])
def test_no_message_repeats_more_than_a_line_of_a_value(tmp_path: Path, table: str, key: str, letters: str) -> None:
    document = shape_document()
    content = document[table] if table else document
    assert isinstance(content, dict)
    content[key] = letters
    content["k" * 300] = 1
    with pytest.raises(JobFileError) as caught:
        read_job(write_document(tmp_path, document))
    told = str(caught.value)
    assert len(caught.value.faults) >= 2
    for repeated in (letters[:90], "k" * 90):
        assert repeated not in told
