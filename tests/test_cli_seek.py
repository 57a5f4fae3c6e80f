"""The command that searches, as a turner runs it: answers, what is written, what is refused."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from formmaker.cli.commands import main
from formmaker.files.job_file import read_job

JOB = """
title = "Board"
units = "{units}"   # kept

[blank]
shape = "board"
wood = "elm, American"
size = {{ length = {length}, width = {width}, thickness = {thick} }}

[mounting]
foot_centre = [{aside}, 0, 0]
rim_centre = [{aside}, 0, {thick}]
zero = [1, 0, 0]
foot_height = {up}

[form]
profile = "open-bowl"
edge = "turned"
diameter = {small}
height = {high}
wall = {wall}
floor = {wall}

[hold]
kind = "glue block"
diameter = {hold}
depth = {wall}

[wish]
tilt_limit = 10
most_diameter = {most}
"""
SIZES = {
    "length": 260,
    "width": 200,
    "thick": 90,
    "aside": 10,
    "up": 5,
    "small": 120,
    "high": 48,
    "wall": 8,
    "hold": 40,
}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "board.toml"
    path.write_text(JOB.format(units="mm", most=400, **SIZES), encoding="utf-8")
    return path


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)


def test_the_answer_has_the_keys_that_are_promised(job: Path) -> None:
    result = run("seek", job, "--json", "--gap", 0.05)
    assert result.exit_code == 0
    found = json.loads(result.stdout)
    assert list(found) == ["best", "bound_mm", "gap", "proven", "searched", "choices"]
    assert {"diameter_mm", "height_mm", "mounting", "verdict"} <= found["best"].keys()
    assert list(found["searched"]) == ["tilt_deg", "shift_mm", "boxes", "seconds"]
    wanted = "why diameter_mm height_mm lean_mm sway_mm lowest_rim_mm keep unbalance_kg_mm move_mm tilt_deg mounting"
    assert all(set(wanted.split()) <= choice.keys() for choice in found["choices"])
    assert found["best"]["verdict"]["answer"] == "fits"
    # a board of 200 by 90 mm holds no bowl wider than 200 mm lying flat; its own proportion makes that 80 mm high
    assert found["proven"]
    assert found["best"]["diameter_mm"] <= found["bound_mm"] <= 1.05 * found["best"]["diameter_mm"] + 1e-6
    assert 190.0 < found["best"]["diameter_mm"] < 200.5


def test_a_choice_is_written_with_its_mounting_and_its_size_and_fits(job: Path) -> None:
    result = run("seek", job, "--take", 1, "--gap", 0.1)
    assert result.exit_code == 0
    assert "# kept" in job.read_text(encoding="utf-8")
    assert 2.0 * read_job(job).form.handles[:, 0].max() > 170.0
    assert run("check", job).exit_code == 0


def test_a_choice_that_is_not_there_is_refused_and_nothing_is_written(job: Path) -> None:
    before = job.read_bytes()
    result = run("seek", job, "--take", 6, "--gap", 0.1)
    assert result.exit_code == 2
    assert "--take 6" in result.stderr
    assert job.read_bytes() == before


def test_stopped_early_it_says_so_and_the_gap_is_honest(job: Path) -> None:
    result = run("seek", job, "--json", "--time", 0.01, "--gap", 0.001)
    found = json.loads(result.stdout)
    assert not found["proven"]
    assert found["bound_mm"] >= 200.0 - 4.0
    assert found["gap"] == pytest.approx(found["bound_mm"] / found["best"]["diameter_mm"] - 1.0)


def test_unbalance_cannot_be_limited_where_the_weight_is_not_known(job: Path) -> None:
    text = job.read_text(encoding="utf-8").replace('wood = "elm, American"\n', "") + "unbalance_limit = 5\n"
    job.write_text(text, encoding="utf-8")
    result = run("seek", job)
    assert result.exit_code == 2
    assert "unbalance_limit" in result.stderr


def test_where_nothing_comes_out_it_leaves_with_1(job: Path) -> None:
    job.write_text(job.read_text(encoding="utf-8").replace("most_diameter = 400", "least_diameter = 400"), "utf-8")
    result = run("seek", job)
    assert result.exit_code == 1
    assert "no mounting was found" in result.stdout
    assert "stands in the way is least_diameter" in result.stdout.replace("\n", " ")
