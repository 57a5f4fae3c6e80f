"""Input with bad intentions, through the whole command line: one line a fault, exit code 2, nothing written.

Each row says what is fed and which words the line must hold; the words come from the issue's demand (what, value,
what is allowed, way out), not from a run. What single readers refuse is tested beside them.
"""

import io
import re
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh
from click.testing import CliRunner, Result

from formmaker.cli import main

SHAPE = """title = "t"
units = "mm"
[blank]
shape = "half log"
size = { radius = 120, length = 320 }
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 120]
zero = [1, 0, 0]
foot_height = 6
[form]
outer = [[40, 0], [60, 80]]
joints = ["corner", "corner"]
wall = 8
floor = 10
edge = "natural"
lowest_rim = 60
[hold]
kind = "glue block"
diameter = 60
depth = 25
[allowance]
skin = 2
"""
SCAN = re.sub(r"shape = .*\nsize = .*", 'scan = "NAME"\nscan_unit = "mm"', SHAPE)

PROGRESS = re.compile(r"(reading|repairing|sorting|making|building|checking|drawing|picturing) ?.*")


def box() -> trimesh.Trimesh:
    mesh = trimesh.creation.box((200.0, 160.0, 100.0))
    mesh.apply_translation((0.0, 0.0, 50.0))
    return mesh


def stl(mesh: trimesh.Trimesh) -> bytes:
    content = mesh.export(file_type="stl")
    assert isinstance(content, bytes)
    return content


def with_point(x: float) -> bytes:
    mesh = box()
    mesh.vertices[0, 0] = x
    with np.errstate(invalid="ignore"):  # the writer multiplies the infinite point
        return stl(mesh)


def part_of(mesh: trimesh.Trimesh, keep: np.ndarray) -> trimesh.Trimesh:
    mesh.update_faces(keep)
    return mesh


def ball_open_at_two_sides() -> bytes:
    ball = trimesh.creation.icosphere(3, 100.0)
    middles = ball.triangles_center
    return stl(part_of(ball, (middles[:, 0] < 30.0) & (middles[:, 2] < 40.0)))


def archive(name: str, text: str) -> bytes:
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as file:
        file.writestr(name, text)
    return content.getvalue()


def with_count(count: int) -> bytes:
    whole = stl(box())
    return whole[:80] + struct.pack("<I", count) + whole[84:]


PLY = box().export(file_type="ply", encoding="ascii")
CORNERS = "".join(f"v {x} {y} {z}\n" for x in (-100, 100) for y in (-80, 80) for z in (0, 100))
QUADS = CORNERS + "f 1 2 4 3\nf 5 7 8 6\nf 1 5 6 2\nf 3 4 8 7\nf 1 3 7 5\nf 2 6 8 4\n"

# What is in the file, and the words of its line. Figures: the box is 200 mm long and has 12 triangles of 50 bytes.
SCANS: dict[str, tuple[bytes, tuple[str, ...]]] = {
    "empty.stl": (b"", ("0 bytes",)),
    "letter.stl": (b"Dear aunt, the elm is down.\n" * 20, ("no triangles",)),
    "nan.stl": (with_point(np.nan), ("not finite", "export it again")),
    "infinite.stl": (with_point(np.inf), ("not finite", "export it again")),
    "one.stl": (stl(part_of(box(), np.arange(12) == 0)), ("1 usable triangle", "at least 4")),
    "three.obj": (
        b"v 0 0 0\nv 90 0 0\nv 0 90 0\nv 0 0 90\nf 1 2 3\nf 1 2 4\nf 1 3 4\n",
        ("3 usable triangle", "at least 4"),
    ),
    "two.stl": (
        stl(trimesh.util.concatenate([box(), box().apply_translation((400.0, 0.0, 0.0))])),
        ("2 separate bodies", "3200", "keep the one"),
    ),
    "open.stl": (ball_open_at_two_sides(), ("opening", "close it")),
    "huge.stl": (stl(box().apply_scale(1e7)), ("2e+09 mm", "20 to 3000 mm")),
    "far.stl": (stl(box().apply_translation((1e9, 0.0, 0.0))), ("1e+09 mm", "100000 mm", "move it")),
    "cut.stl": (stl(box())[:-60], ("12 triangles", "684 bytes", "624 bytes", "export it again")),
    "headonly.stl": (stl(box())[:84], ("12 triangles", "684 bytes", "84 bytes")),
    "overcount.stl": (with_count(999_999_999), ("999999999 triangles", "684 bytes long")),
    "undercount.stl": (with_count(5), ("5 triangles", "684 bytes long")),
    "badhead.ply": (PLY.replace(b"end_header", b"end_heder"), ("cannot be read as PLY", "export it again")),
    "overcount.ply": (PLY.replace(b"vertex 8", b"vertex 80000000000"), ("overcount.ply", "export it again")),
    "beyond.obj": (QUADS.replace("1 2 4 3", "1 2 4 33").encode(), ("cannot be read as OBJ", "export it again")),
    "zero.obj": (QUADS.replace("1 2 4 3", "0 2 4 3").encode(), ("line 9", "point 0", "counts from 1")),
    "words.obj": (QUADS.replace("1 2 4 3", "a b c").encode(), ("cannot be read as OBJ", "export it again")),
    "letter.glb": (b"Dear aunt, the elm is down.", ("cannot be read as GLB",)),
    "letter.3mf": (archive("a", "Dear aunt"), ("cannot be read as 3MF",)),
}

# What is changed in the job, into what, and the words of the line.
JOBS: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "wall wider than the radius": ("wall = 8", "wall = 100", ("form.wall = 100", "60.0 mm")),
    "axis of no length": ("[0, 0, 120]", "[0, 0, 0]", ("mounting.rim_centre", "another point than foot_centre")),
    "mounting beside the wood": (
        "[0, 0, 0]\nrim_centre = [0, 0, 120]",
        "[900, 0, 0]\nrim_centre = [900, 0, 120]",
        ("passes through no wood", "740.0 mm", "blank's own frame"),
    ),
    "form above the wood": ("foot_height = 6", "foot_height = 500", ("outside the wood", "500.0 mm")),
    "unknown unit": ('units = "mm"', 'units = "furlong"', ("units", '"furlong"', '"mm", "in"')),
    "diameter not a number": ("diameter = 60", "diameter = nan", ("hold.diameter",)),
    "depth without end": ("depth = 25", "depth = inf", ("hold.depth",)),
    "date for a length": ("skin = 2", "skin = 2020-01-01", ("allowance.skin",)),
    "nothing for a place": ("zero = [1, 0, 0]", "zero = []", ("mounting.zero",)),
    "place not a number": ("[0, 0, 120]", "[nan, 0, 120]", ("mounting.rim_centre",)),
    "negative size": ("radius = 120", "radius = -120", ("size.radius", "above 0")),
    "a shape too small to turn": (
        "radius = 120, length = 320",
        "radius = 2, length = 3",
        ("4 mm long", "20 to 3000 mm", "check its figures"),
    ),
    "a job that names itself": (
        'shape = "half log"\nsize = { radius = 120, length = 320 }',
        'scan = "job.toml"\nscan_unit = "mm"',
        ("blank.scan", '"job.toml"'),
    ),
    "a scan that is missing": (
        'shape = "half log"\nsize = { radius = 120, length = 320 }',
        'scan = "gone.stl"\nscan_unit = "mm"',
        ("blank.scan", '"gone.stl"'),
    ),
}


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def assert_one_line(result: Result, words: tuple[str, ...]) -> None:
    assert result.exception is None or isinstance(result.exception, SystemExit), repr(result.exception)
    assert result.exit_code == 2
    assert result.stdout == ""
    lines = [line for line in result.stderr.splitlines() if not PROGRESS.fullmatch(line)]
    assert len(lines) == 1, lines
    assert len(lines[0]) < 600
    for word in words:
        assert word in lines[0]


def names(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*"))


@pytest.mark.parametrize("name", SCANS)
def test_a_bad_scan_is_refused_in_one_line_and_nothing_is_written(tmp_path: Path, name: str) -> None:
    content, words = SCANS[name]
    (tmp_path / name).write_bytes(content)
    text = SCAN.replace("NAME", name)
    (tmp_path / "job.toml").write_text(text)
    before = names(tmp_path)
    assert_one_line(run("draw", tmp_path / "job.toml", "-o", tmp_path / "out"), words)
    assert names(tmp_path) == before


@pytest.mark.parametrize("case", JOBS)
def test_a_bad_job_is_refused_in_one_line_and_nothing_is_written(tmp_path: Path, case: str) -> None:
    old, new, words = JOBS[case]
    assert old in SHAPE
    (tmp_path / "job.toml").write_text(SHAPE.replace(old, new))
    assert_one_line(run("draw", tmp_path / "job.toml", "-o", tmp_path / "out"), words)
    assert names(tmp_path) == ["job.toml"]


def test_a_folder_in_the_place_of_one_sheet_keeps_all_of_them_from_being_written(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(SHAPE)
    (tmp_path / "out" / "section.svg").mkdir(parents=True)
    before = names(tmp_path)
    assert_one_line(run("draw", tmp_path / "job.toml", "-o", tmp_path / "out"), ("section.svg", "is a folder"))
    assert names(tmp_path) == before


@pytest.mark.parametrize("place", ["job.toml", "job.toml/inside"])
def test_a_file_in_the_place_of_the_folder_is_refused_and_kept(tmp_path: Path, place: str) -> None:
    (tmp_path / "job.toml").write_text(SHAPE)
    assert_one_line(run("draw", tmp_path / "job.toml", "-o", tmp_path / place), ("is not a folder",))
    assert (tmp_path / "job.toml").read_text() == SHAPE


@pytest.mark.parametrize("kind", ["mark and line ends of another system", "umlauts and blanks", "any title"])
def test_what_is_only_unusual_is_answered(tmp_path: Path, kind: str) -> None:
    text, place = SHAPE, tmp_path / "job.toml"
    if kind.startswith("mark"):
        text = "\ufeff" + text.replace("\n", "\r\n")
    elif kind.startswith("umlauts"):
        place = tmp_path / "Höhle & Söhne" / "Rüster 漢字 job.toml"
        place.parent.mkdir()
    else:
        text = text.replace('"t"', '"<b> & „Rüster“ \\u202e\\u001b[31m\\u0000 漢字"')
    place.write_bytes(text.encode())
    result = run("draw", place, "-o", place.parent / "Zeich nung")
    assert result.exit_code == 0, result.output
    assert len(list((place.parent / "Zeich nung").glob("*.svg"))) == 4


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("quads.obj", QUADS.encode()),
        ("counted from the end.obj", QUADS.replace("1 2 4 3", "-8 -7 -5 -6").encode()),
        ("metres.glb", trimesh.Scene(box().apply_scale(0.001)).export(file_type="glb")),
    ],
)
def test_a_brick_is_the_same_brick_in_every_dress(tmp_path: Path, name: str, content: bytes) -> None:
    (tmp_path / name).write_bytes(content)
    result = run("new", tmp_path / "job", "--scan", tmp_path / name, *(() if "glb" in name else ("--unit", "mm")))
    assert result.exit_code == 0, result.output
    assert "200.0 mm along x, 160.0 mm along y, 100.0 mm along z; 3200 cm3" in result.stdout
