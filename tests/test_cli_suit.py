"""``formmaker suit`` as it is used: a table or JSON, an exit code, and the job that takes a form."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from formmaker.cli import main
from formmaker.files.job_file import read_job
from formmaker.pipeline import suiting

JOB = """
title = "plum"
units = "mm"
[blank]
shape = "half log"
uncertainty = 0.2
size = { radius = 100, length = 260 }
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 100]
zero = [1, 0, 0]
foot_height = 6
[form]
profile = "open-bowl"  # the everyday one
diameter = 120
height = 60
wall = 6
floor = 9
edge = "natural"
lowest_rim = 36
[hold]
kind = "glue block"
diameter = 40
depth = 20
"""


@pytest.fixture
def job(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job, in a shop with two profiles: fitting all ten takes seconds."""
    monkeypatch.setattr(suiting, "profile_names", lambda: ("flared-bowl", "upright-bowl"))
    path = tmp_path / "job.toml"
    path.write_text(JOB)
    return path


def run(job: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["suit", str(job), *words])


def test_a_table_goes_out_and_progress_beside_it(job: Path) -> None:
    done = run(job)
    assert done.exit_code == 0
    assert done.stdout.count("* open-bowl") == 2
    assert done.stdout.count("  upright-bowl") == 2
    assert [line for line in done.stderr.splitlines() if line.startswith("fitted")] == [
        "fitted open-bowl, 1 of 3",
        "fitted flared-bowl, 2 of 3",
        "fitted upright-bowl, 3 of 3",
    ]


def test_json_is_one_object_and_the_same_from_run_to_run(job: Path) -> None:
    done = run(job, "--json")
    assert done.exit_code == 0
    assert done.stdout == run(job, "--json").stdout
    found = json.loads(done.stdout)
    own = found["forms"][0]
    assert own["own"]
    assert own["widest"]["answer"] == "fits"
    assert own["widest"]["diameter_mm"] > 120.0  # 120 fits with room to spare
    assert own["widest"]["height_mm"] == int(own["widest"]["diameter_mm"] / 2.0)


@pytest.mark.parametrize(("name", "aim"), [("upright-bowl", "fullest"), ("own", "widest")])
def test_the_form_that_is_taken_stands_in_the_job_and_comes_out(job: Path, name: str, aim: str) -> None:
    done = run(job, "--take", name, "--aim", aim)
    assert done.exit_code == 0
    told = json.loads(run(job, "--json").stdout)
    assert told["present"]["answer"] == "fits"  # the job's form is now the one that was taken
    assert told["present"]["diameter_mm"] > 120.0
    form = read_job(job).form
    assert form.name == ("open-bowl" if name == "own" else name)
    assert form.wall.tolist() == [[0.0, 6.0]]
    if name == "own":
        assert "# the everyday one" in job.read_text()


def test_on_a_mounting_sought_the_own_form_is_larger_and_taken_with_it(job: Path) -> None:
    beside = JOB.replace("_centre = [0, 0,", "_centre = [40, 20,") + "[wish]\ntilt_limit = 5\n"
    job.write_text(beside)
    here = json.loads(run(job, "--json").stdout)["forms"][0]["widest"]["diameter_mm"]
    there = json.loads(run(job, "--sought", "--json").stdout)["forms"][0]["widest"]["diameter_mm"]
    assert there > here + 10.0  # the log is 200 mm wide, and its axis lies 20 mm off the middle
    assert job.read_text() == beside
    assert run(job, "--sought", "--take", "own").exit_code == 0
    assert abs(read_job(job).mounting.foot_centre[1]) < 10.0
    told = json.loads(run(job, "--json").stdout)
    assert told["present"]["answer"] == "fits"
    assert told["present"]["diameter_mm"] == pytest.approx(there)


def test_a_form_that_is_no_form_is_refused_before_the_work(job: Path) -> None:
    done = run(job, "--take", "teapot")
    assert done.exit_code == 2
    assert "'teapot' is no form; choose one of own, closed-in-bowl" in done.stderr
    assert "fitted" not in done.stderr
    assert job.read_text() == JOB


def test_where_nothing_comes_out_it_leaves_with_1_and_takes_nothing(job: Path) -> None:
    text = JOB.replace("foot_height = 6", "foot_height = 0")
    job.write_text(text)
    done = run(job)
    assert done.exit_code == 1
    assert done.stdout.count("none; nearest at") == 3
    taken = run(job, "--take", "own")
    assert taken.exit_code == 2
    assert "form own has no size that comes out on this mounting" in taken.stderr
    assert job.read_text() == text


def test_an_axis_beside_the_wood_is_refused_in_one_line(job: Path) -> None:
    job.write_text(JOB.replace("_centre = [0, 0,", "_centre = [0, 300,"))
    done = run(job)
    assert done.exit_code == 2
    assert "passes through no wood" in done.stderr.splitlines()[-1]
