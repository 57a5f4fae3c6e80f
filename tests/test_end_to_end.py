"""The command line with everything behind it: real files in, the promised answer and exit code out."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from click.testing import CliRunner, Result

from formmaker.cli import main
from formmaker.files.job_file import read_job

SHARED = Path(__file__).resolve().parents[2] / "shared" / "data"

JOB = """
title = "a box of wood"
units = "mm"
[blank]
scan = "wood.stl"
scan_unit = "mm"
uncertainty = 0.5
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 100]
zero = [1, 0, 0]
[form]
outer = [[40, 0], [60, 60]]
joints = ["corner", "corner"]
wall = 8
floor = 10
edge = "turned"
[hold]
kind = "glue block"
diameter = 60
depth = 20
"""

# A box 160 mm wide and 100 mm high, its foot face in z = 0; corners of its twelve triangles, wound outward.
CORNERS = np.array([[x, y, z] for x in (-80.0, 80.0) for y in (-80.0, 80.0) for z in (0.0, 100.0)])
QUADS = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
BOX = np.array([CORNERS[[q[i] for i in three]] for q in QUADS for three in ((0, 1, 2), (0, 2, 3))])

Triangles = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def stl(triangles: Triangles) -> bytes:
    rows = ["solid wood"]
    for triangle in triangles:
        corners = "".join("vertex {!r} {!r} {!r}\n".format(*map(float, corner)) for corner in triangle)
        rows.append(f"facet normal 0 0 0\nouter loop\n{corners}endloop\nendfacet")
    return "\n".join([*rows, "endsolid wood\n"]).encode()


def run(*words: str) -> Result:
    result = CliRunner().invoke(main, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "wood.stl").write_bytes(stl(BOX))
    (tmp_path / "job.toml").write_text(JOB)
    return tmp_path


def test_plain_numbers_of_a_readings_table_are_in_the_units_of_the_job(folder: Path) -> None:
    # A log 10 in across and 8 in long, read at 24 positions; its bowl, 6 in across at the rim and 3 in high, upright
    # on the axis: 2 in of wood beside the rim and more everywhere else.
    rows = [f"{index},{station},5" for station in (0, 2, 4, 6, 8) for index in range(24)]
    (folder / "log.csv").write_text("\n".join(["index,station,radius", *rows]))
    job = tomlkit.parse(JOB).unwrap() | {"units": "in", "allowance": {"skin": 0}}
    job["blank"] = {"readings": "log.csv", "index_count": 24, "uncertainty": 0.02}
    job["mounting"] |= {"rim_centre": [0, 0, 8], "foot_height": 2.5}
    job["form"] |= {"outer": [[2, 0], [3, 3]], "wall": 0.5, "floor": 0.5}
    job["hold"] |= {"diameter": 3, "depth": 1}
    (folder / "job.toml").write_text(tomlkit.dumps(job))
    result = run("check", "job.toml", "--json")
    assert result.exit_code == 0, result.stderr
    found = json.loads(result.stdout)
    assert found["margin_mm"] == pytest.approx(2 * 25.4, abs=0.06)  # the search's slack and the chords
    assert found["volume_cm3"]["blank"] == pytest.approx(math.pi * 25 * 8 * 2.54**3, rel=1e-3)
    assert " mm" not in run("check", "job.toml").stdout


@pytest.mark.parametrize(
    ("table", "values", "said"),
    [
        # the wall stands at radius 50 at half the height, 55 mm over the foot face
        (
            "blank",
            {"mark": [{"name": "nail", "kind": "flaw", "at": [50, 0, 55], "radius": 4}]},
            "the form meets a flaw.",
        ),
        # the flaw's ball ends 0.3 mm outside the rim, in a skin known to 0.5 mm
        (
            "blank",
            {"mark": [{"name": "nail", "kind": "flaw", "at": [64.3, 0, 85], "radius": 4}]},
            "whether the form stays clear of a flaw is too close to call.",
        ),
        ("hold", {"kind": "recess", "diameter": 50, "depth": 12}, "the recess breaks through."),
    ],
)
def test_where_the_wood_is_there_and_it_still_does_not_fit_the_reason_is_said(
    folder: Path, table: str, values: dict[str, object], said: str
) -> None:
    job = tomlkit.parse(JOB).unwrap()
    job["mounting"]["foot_height"] = 25
    job[table].update(values)
    (folder / "job.toml").write_text(tomlkit.dumps(job))
    result = run("check", "job.toml")
    assert result.exit_code == 1, result.stderr
    words = " ".join(result.stdout.split())
    assert said in words
    assert "15.0 mm to spare" in words
    assert "this is only known" not in words


def change(folder: Path, table: str, **values: object) -> None:
    document = tomlkit.parse(JOB).unwrap()
    document[table].update(values)
    (folder / "job.toml").write_text(tomlkit.dumps(document))


def test_a_bowl_in_a_box_has_the_margin_of_its_nearest_face(folder: Path) -> None:
    # The rim, of radius 60, stands 20 mm from the sides and 15 mm below the top, the foot 25 mm up.
    change(folder, "mounting", foot_height=25)
    result = run("check", "job.toml", "--json")
    assert result.exit_code == 0, result.stderr
    answer = json.loads(result.stdout)
    assert answer["answer"] == "fits"
    assert answer["margin_mm"] == pytest.approx(15.0, abs=0.05)
    assert answer["volume_cm3"]["blank"] == pytest.approx(2560.0, rel=1e-6)
    assert set(answer["rim"]["kind"]) == {"turned"}


def test_a_bowl_wider_than_the_box_misses_by_what_is_missing(folder: Path) -> None:
    change(folder, "mounting", foot_height=20)
    change(folder, "form", outer=[[40, 0], [85, 60]])
    result = run("check", "job.toml", "--json")
    assert result.exit_code == 1, result.stderr
    answer = json.loads(result.stdout)
    assert answer["answer"] == "misses"
    # Where a bowl misses by far the search stops early and says so in the uncertainty; 0.5 mm is the scan's own.
    assert answer["margin_mm"] == pytest.approx(-5.0, abs=answer["uncertainty_mm"] - 0.5 + 1e-9)
    off_side = answer["worst"]["theta_deg"] % 90.0
    assert min(off_side, 90.0 - off_side) < 3.0


def moved_aside() -> Triangles:
    return np.concatenate([BOX, BOX + np.array([500.0, 0.0, 0.0])])


HOSTILE = {
    "empty": b"",
    "text": b"this is no scan\n" * 20,
    "nan": stl(np.where(np.arange(3) == 2, math.nan, BOX)),
    "one triangle": stl(BOX[:1]),
    "two bodies": stl(moved_aside()),
    "tube": stl(BOX[:8]),
    "far away": stl(BOX + 1e9),
    "as large as a city": stl(BOX * 1e7),
    "flat": stl(BOX * [1.0, 1.0, 0.0]),
    "cut short": b"\0" * 80 + (1000).to_bytes(4, "little") + b"\0" * 100,
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_scan_that_is_no_wood_is_refused_in_one_line(folder: Path, kind: str) -> None:
    (folder / "wood.stl").write_bytes(HOSTILE[kind])
    for words in (("check", "job.toml", "--json"), ("new", "out", "--scan", "wood.stl", "--unit", "mm")):
        result = run(*words)
        assert (result.exit_code, result.stdout) == (2, ""), result.stdout
        refusal = [line for line in result.stderr.splitlines() if "wood.stl" in line or "mm" in line]
        assert refusal, result.stderr
        assert not (folder / "out" / "job.toml").exists()


def test_an_inside_out_scan_is_turned(folder: Path) -> None:
    change(folder, "mounting", foot_height=25)
    (folder / "wood.stl").write_bytes(stl(BOX[:, ::-1]))
    result = run("check", "job.toml", "--json")
    assert result.exit_code == 0, result.stderr
    assert json.loads(result.stdout)["volume_cm3"]["blank"] == pytest.approx(2560.0, rel=1e-6)


def test_a_mounting_off_the_blank_is_refused(folder: Path) -> None:
    change(folder, "mounting", foot_centre=[900, 0, 0], rim_centre=[900, 0, 100])
    result = run("check", "job.toml")
    assert result.exit_code == 2
    assert "mm" in result.stderr.splitlines()[-1]


def test_what_new_writes_checks_at_once_and_fits(folder: Path) -> None:
    result = run("new", "box", "--scan", "wood.stl", "--unit", "mm", "--wood", "elm, American")
    assert result.exit_code == 0, result.stderr
    assert "2560 cm3" in result.stdout
    assert read_job(folder / "box" / "job.toml").plan.path is not None
    assert run("check", "box/job.toml").exit_code == 0
    again = run("new", "box", "--scan", "wood.stl", "--unit", "mm")
    assert (again.exit_code, "already" in again.stderr) == (2, True)


def test_new_writes_for_a_described_shape_in_inches(folder: Path) -> None:
    words = ("--shape", "half log", "--size", "radius=4", "--size", "length=10", "--units", "in")
    assert run("new", "plum", *words).exit_code == 0
    result = run("check", "plum/job.toml")
    assert result.exit_code == 0
    assert " mm" not in result.stdout


@pytest.mark.slow
@pytest.mark.skipif(not SHARED.is_dir(), reason="the shared scans are not beside this checkout")
def test_the_shared_half_log_gets_a_job_that_fits(folder: Path) -> None:
    assert run("new", "butt", "--scan", str(SHARED / "butt_half_log.stl"), "--unit", "mm").exit_code == 0
    assert run("check", "butt/job.toml").exit_code == 0


def test_draw_writes_its_sheets_where_it_was_told(folder: Path) -> None:
    change(folder, "mounting", foot_height=25)
    result = run("draw", "job.toml", "-o", "sheets")
    assert result.exit_code == 0, result.stderr
    paths = [Path(line) for line in result.stdout.splitlines()]
    assert len(paths) == 4
    assert all(path.parent == Path("sheets") and path.stat().st_size > 0 for path in paths)


@pytest.mark.slow
@pytest.mark.kernel
def test_prove_lays_three_answers_side_by_side_and_writes_the_bowl(folder: Path) -> None:
    change(folder, "mounting", foot_height=25)
    result = run("prove", "job.toml", "--step", "bowl.step", "--stl", "bowl.stl")
    assert result.exit_code == 0, result.stderr
    assert all(name in result.stdout for name in ("distance grid", "mesh boolean", "solid kernel"))
    assert (folder / "bowl.step").stat().st_size > 0
    assert (folder / "bowl.stl").stat().st_size > 0
