"""formmaker move from the command line: what is said, what is written, what is refused."""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from formmaker.cli import main
from formmaker.files.job_file import read_job
from formmaker.sources.samples import SCAN_NAME, sample_job, write_sample_scan

MARKS = """
[[blank.mark]]   # pricked with an awl
name = "P"
kind = "witness"
at = [60, 0, 0]

[[blank.mark]]
name = "Q"
kind = "witness"
at = [0, 70, 0]
"""


@pytest.fixture
def round_job(tmp_path):
    path = tmp_path / "round.toml"
    path.write_text(sample_job("sycamore plank round").replace("[mounting]", MARKS + "\n[mounting]"))
    return path


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def frame(path):
    return read_job(path).mounting.blank_from_form


def require_same_mounting(one: Path, other: Path):
    first, second = read_job(one).mounting, read_job(other).mounting
    for name in ("foot_centre", "rim_centre"):
        np.testing.assert_allclose(getattr(first, name), getattr(second, name), rtol=0.0, atol=1e-9)
    for name in ("rotation", "origin"):
        np.testing.assert_allclose(getattr(frame(one), name), getattr(frame(other), name), rtol=0.0, atol=1e-9)
    assert first.foot_height == pytest.approx(second.foot_height, abs=1e-9)
    assert (first.rim_end, first.zero_name) == (second.rim_end, second.zero_name)


def test_the_move_is_told_in_the_order_of_the_hands(round_job):
    result = run("move", round_job, "--foot-centre", "4,3,0", "--rim-centre", "4,3,76")
    assert result.exit_code == 0, result.output
    said = " ".join(result.stdout.split())
    parts = [
        "The foot centre (headstock): 5.0 mm toward 36.9 deg (index 2 of 24)",
        "4.0 mm toward 0 deg, then 3.0 mm toward 90 deg.",
        # from (60, 0) and from (0, 70) to (4, 3)
        "With dividers: 56.1 mm from mark P and 67.1 mm from mark Q; of their crossings",
        "the new centre is the one nearer the old centre.",
        "The rim centre (tailstock): 5.0 mm toward 36.9 deg",
        "No divider settings: there is no witness mark near this end.",
        "clockwise as you look at the foot end",
        "prick two witness marks",
        "The axis stays parallel. The plane of the foot keeps its place; it is 3.5 mm from the new foot centre.",
        "Before you cut: set a pointer 37.5 mm along the axis",
        "will run out by 10.0 mm at the foot and 10.0 mm at the rim",
        # 150 less 5 less 142 of the bowl less 2 for truing
        "On the new axis, it comes out, with 1.0 mm to spare",
        "turn it by hand first",
    ]
    where = [said.index(part) for part in parts]
    assert where == sorted(where)
    assert "safe" not in said.lower()


def test_inches_are_rounded_to_what_is_marked_and_the_cost_is_said(round_job):
    round_job.write_text(
        round_job.read_text().replace('units = "mm"', 'units = "in"').replace("[60, 0, 0]", '["60 mm", 0, 0]')
    )
    text = round_job.read_text().partition("[lathe]")[0]  # its chuck is in mm, and not needed here
    for name in ("diameter = 300", "thickness = 76", "0, 76]", "foot_height = 3.5", "diameter = 284", "height = 68"):
        key, sign, size = name.rpartition(" ")
        text = text.replace(name, f'{key}{sign}"{size.rstrip("]")} mm"' + ("]" if name.endswith("]") else ""))
    for name in ("wall = 8", "floor = 15", "diameter = 90", "depth = 5", "skin = 2", "uncertainty = 0.5"):
        key, _, size = name.partition(" = ")
        text = text.replace(name, f'{key} = "{size} mm"')
    round_job.write_text(text.replace("at = [0, 70, 0]", 'at = [0, "70 mm", 0]'))
    said = " ".join(run("move", round_job, "--foot-centre", "0.2105,0,0", "--parts", "16").stdout.split())
    # 0.2105 in is 3/16 in and 23 thousandths, 0.58 mm; from P 60 mm - 0.2105 in = 2.1517 in, 2 1/8 in and 26.7
    assert (
        "3/16 in (rounded down by 23 thousandths, 0.58 mm) toward 0 deg (index 0 of 24), straight toward mark P"
        in said
    )
    # Q is 2.7639 in away, 2 3/4 and 13.9 thousandths; hypot(26.7, 13.9) = 30 at a crossing of nearly a right angle
    assert "so rounded, they cross within 0.03" in said
    assert "2 1/8 in from mark P (rounded down by 27 thousandths, 0.68 mm)" in said


def test_the_keys_of_the_answer_are_those_of_the_issue(round_job):
    plain = json.loads(run("move", round_job, "--foot-centre", "4,3,0", "--json").stdout)
    assert list(plain) == ["ends", "tilt_deg", "keep", "check_gaps"]
    keys = ["end", "from_mm", "to_mm", "shift_mm", "toward_deg", "dividers"]
    assert [list(end) for end in plain["ends"]] == [keys, keys]
    foot, rim = plain["ends"]
    assert (foot["end"], rim["end"]) == ("foot", "rim")
    assert foot["to_mm"] == pytest.approx([4.0, 3.0, 0.0], abs=1e-9)
    assert foot["shift_mm"] == pytest.approx(5.0)
    assert foot["dividers"][0] == {"mark": "P", "radius_mm": pytest.approx(np.hypot(56.0, 3.0))}
    assert rim["toward_deg"] is None
    assert rim["dividers"] == []
    assert [gap["theta_deg"] for gap in plain["check_gaps"]] == [0.0, 90.0, 180.0, 270.0]
    assert min(gap["gap_mm"] for gap in plain["check_gaps"]) == 0.0


def test_write_puts_the_new_mounting_in_and_leaves_the_rest_as_it_was(round_job):
    before = round_job.read_text().splitlines()
    assert run("move", round_job, "--foot-centre", "4,3,0", "--write").exit_code == 0
    after = round_job.read_text().splitlines()
    changed = [(old, new) for old, new in zip(before, after, strict=True) if old != new]
    assert [old.split(" = ")[0] for old, _ in changed] == ["foot_centre", "foot_height"]
    mounting = read_job(round_job).mounting
    np.testing.assert_allclose(mounting.foot_centre, [4.0, 3.0, 0.0])
    # the middle of the foot stays square to the mean of the axes: see remounted
    assert mounting.foot_height == pytest.approx(3.5, abs=0.2)


def test_a_move_there_and_back_through_the_file_is_the_same_job(round_job, tmp_path):
    first, text = tmp_path / "first.toml", round_job.read_text()
    first.write_text(text)
    run("move", round_job, "--foot-centre", "4,3,0", "--rim-centre", "-2.5,1,76", "--write")
    assert round_job.read_text() != text
    run("move", round_job, "--foot-centre", "0,0,0", "--rim-centre", "0,0,76", "--write")
    require_same_mounting(round_job, first)


def test_a_scaled_scan_is_written_back_in_its_own_figures(tmp_path):
    write_sample_scan(tmp_path / SCAN_NAME)
    one, two, first = (tmp_path / name for name in ("one.toml", "two.toml", "first.toml"))
    text = sample_job("hedge-elm burr")
    one.write_text(text)
    first.write_text(text)
    two.write_text(
        text.replace("foot_centre = [2, -2, 0]", "foot_centre = [9, -6, 0.1]")
        .replace("rim_centre = [2, -2, 160]", "rim_centre = [-1, 4, 161]")
        .replace("foot_height = 6 ", "foot_height = 7 ")
        .replace('zero = "A"', 'zero = "B"')
        .replace('"headstock"', '"tailstock"')
    )
    there = run("move", one, "--to", two, "--write", "--json")
    assert there.exit_code == 0, there.output
    np.testing.assert_allclose(read_job(one).mounting.foot_centre, [9.0, -6.0, 0.1], atol=1e-9)
    require_same_mounting(one, two)
    plain = json.loads(there.stdout)
    # true millimetres: the known lengths scale this scan by 1.01002
    assert plain["ends"][0]["to_mm"] == pytest.approx(np.multiply([9.0, -6.0, 0.1], 1.01002), abs=0.4)
    assert plain["ends"][1]["to_mm"][2] < 161.0  # the axis leaves the wood before the point that was given
    run("move", one, "--to", first, "--write")
    require_same_mounting(one, first)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ((), "say where to"),
        (("--foot-centre", "1,2"), "three lengths"),
        (("--foot-centre", "1,two,3"), "'two' is no length"),
        (("--foot-centre", "nan,2,3"), "no finite length"),
        (("--foot-centre", "0,0,76"), "one point"),
        (("--foot-centre", "0,0,200"), "points the other way"),
        (("--foot-centre", "500,0,0", "--rim-centre", "500,0,76"), "beside the wood"),
        (("--to", "none.toml"), "no such file"),
        (("--to", "other.toml"), "is about another blank"),
        (("--to", "thicker.toml"), "is about another blank"),
        (("--to", "other.toml", "--rim-centre", "0,0,70"), "say where to"),
    ],
)
def test_what_cannot_be_done_is_refused_and_nothing_written(round_job, tmp_path, monkeypatch, words, expected):
    monkeypatch.chdir(tmp_path)
    Path("other.toml").write_text(sample_job("plum half log"))
    Path("thicker.toml").write_text(round_job.read_text().replace("thickness = 76", "thickness = 80"))
    before = round_job.read_bytes()
    result = run("move", round_job, *words, "--write")
    assert result.exit_code == 2
    assert expected in result.output
    assert round_job.read_bytes() == before


def test_two_jobs_of_one_scan_that_scale_it_differently_are_refused(tmp_path):
    write_sample_scan(tmp_path / SCAN_NAME)
    one, two = tmp_path / "one.toml", tmp_path / "two.toml"
    one.write_text(sample_job("hedge-elm burr"))
    two.write_text(sample_job("hedge-elm burr").replace('["A", "B", 255]', '["A", "B", 251]'))
    result = run("move", one, "--to", two)
    assert result.exit_code == 2
    assert "known lengths" in result.output


def test_balance_goes_to_the_axis_through_the_centre_of_mass(tmp_path):
    path = tmp_path / "log.toml"
    text = sample_job("plum half log").replace("foot_centre = [0, 0, 0]", "foot_centre = [0.3, 0.2, 0]")
    path.write_text(text)
    result = run("move", path, "--balance", "--write")
    assert result.exit_code == 0, result.output
    mounting = read_job(path).mounting
    # the half log is its own mirror image in both planes through its middle: its centre of mass lies on x = y = 0
    at = mounting.foot_centre + mounting.axis * 0.4244 * 114.3 / mounting.axis[2]  # 4 R / 3 pi up, R = 4 1/2 in
    assert np.linalg.norm(at[:2]) < 0.01
    held = json.loads(run("move", path, "--balance", "--hold-end", "foot", "--json").stdout)
    assert held["ends"][0]["shift_mm"] < 1e-9
    assert "both centres stay where they are" in run("move", path, "--balance").stdout
