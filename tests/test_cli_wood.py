"""The commands about the timber: names found, slips answered, drying and holding told or refused in one line."""

import json
import math
from pathlib import Path

import pytest
from click.testing import CliRunner

from formmaker.cli import main


def test_timber_finds_a_part_of_a_name_and_answers_a_slip_with_a_near_one() -> None:
    told = CliRunner().invoke(main, ["timber", "cherry"])
    assert told.exit_code == 0
    assert told.stdout.startswith("cherry, black")
    slip = CliRunner().invoke(main, ["timber", "chery"])
    assert (slip.exit_code, slip.stdout) == (2, "")
    assert slip.stderr.count("\n") == 1
    assert "cherry, black" in slip.stderr


def test_timber_alone_tells_the_whole_table_in_either_unit() -> None:
    told = CliRunner().invoke(main, ["timber", "--units", "in"])
    assert told.exit_code == 0
    assert told.stdout.count("lb/ft3 green") >= 35


JOB = """
title = "plum"
units = "mm"
[blank]
shape = "half log"
size = { radius = 100, length = 260 }
wood = "cherry, black"
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 100]
zero = [1, 0, 0]
foot_height = 15
[form]
outer = [[40, 0], [60, 80]]
joints = ["corner", "corner"]
wall = 8
floor = 10
edge = "turned"
[hold]
kind = "tenon"
diameter = 45
depth = 6
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def test_dry_tells_the_rough_out_and_the_oval(job: Path) -> None:
    told = CliRunner().invoke(main, ["dry", str(job)])
    assert told.exit_code == 0
    assert "20 C (68 F) and 50 %" in told.stdout  # nobody said another air
    assert "ten-percent rule" in told.stdout


def test_the_command_line_stands_before_the_job(job: Path) -> None:
    job.write_text(JOB + "[dry]\nto = 6\n", encoding="utf-8")
    ends = {}
    for words in ((), ("--to", "12"), ("--climate", "68F,65%")):
        told = CliRunner().invoke(main, ["dry", str(job), "--json", *words])
        ends[words] = json.loads(told.stdout)["end_moisture_pct"]
    assert list(ends.values()) == pytest.approx([6.0, 12.0, 12.0], abs=0.05)  # 65 % at 70 F: Wood Handbook, table 4-2


def test_a_weighed_blank_gives_the_weight_of_the_rough_out(job: Path) -> None:
    job.write_text(JOB.replace("[mounting]", "weight = 3.0\n[mounting]"), encoding="utf-8")
    told = json.loads(CliRunner().invoke(main, ["dry", str(job), "--json"]).stdout)
    rough = told["rough_out"]
    half_log = math.pi * 100.0**2 / 2.0 * 260.0 / 1000.0
    assert rough["weight_kg"] == pytest.approx(3.0 * rough["volume_cm3"] / half_log, rel=2e-3)


def test_what_a_cut_takes_off_goes_off_weight_and_volume_alike(job: Path) -> None:
    weights = []
    for cut in ("", '[[cut]]\nkind = "saw"\npoint = [90, 0, 0]\nnormal = [1, 0, 0]\n'):
        text = JOB.replace("[mounting]", "weight = 3.0\n[mounting]")
        job.write_text(text + cut, encoding="utf-8")
        told = CliRunner().invoke(main, ["dry", str(job), "--json"])
        weights.append(json.loads(told.stdout)["rough_out"]["weight_kg"])
    assert weights[0] == pytest.approx(weights[1], rel=2e-3)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--to", "8", "--climate", "20C,50%"), "both given"),
        (("--climate", "20C"), "20C,50%"),
        (("--to", "-3"), "--to"),
        (("--to", "nan"), "nan is no number"),
    ],
)
def test_a_wrong_wish_is_refused(job: Path, words: tuple[str, ...], said: str) -> None:
    told = CliRunner().invoke(main, ["dry", str(job), *words])
    assert (told.exit_code, told.stdout) == (2, "")
    assert said in told.stderr


def test_a_timber_that_nobody_knows_is_refused_in_one_line(job: Path) -> None:
    job.write_text(JOB.replace("cherry, black", "unobtainium"), encoding="utf-8")
    told = CliRunner().invoke(main, ["dry", str(job)])
    assert (told.exit_code, told.stdout) == (2, "")
    assert "[dry] shrinkage" in told.stderr
