"""The cut command as a turner types it: made, refused without a trace, taken back to the byte."""

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from formmaker.cli import main
from formmaker.files.job_file import read_job
from formmaker.files.spoken_cut import SAW_CAUTION, TURN_CAUTION
from formmaker.sources.samples import sample_job

PLUM, ROUND = "plum half log", "sycamore plank round"


@pytest.fixture(params=[PLUM, ROUND])
def job_path(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(sample_job(request.param))
    return path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def told(result: Result) -> str:
    return " ".join(result.stdout.split())


def test_cuts_are_made_said_and_taken_back_to_the_byte(job_path: Path) -> None:
    before = job_path.read_bytes()
    sawn = run("cut", job_path, "saw", "--point", "0,0,40 mm", "--normal", "0,0,1")
    assert sawn.exit_code == 0, sawn.stderr
    assert told(sawn).startswith("Cut 1, sawn: ")
    assert SAW_CAUTION in told(sawn)
    turned = run("cut", job_path, "turn", "--profile", "0 mm:90 mm, 15 mm:90 mm")
    assert turned.exit_code == 0, turned.stderr
    assert "Cut 2, turned: " in told(turned)
    assert TURN_CAUTION in told(turned)
    job = read_job(job_path)
    assert [type(cut).__name__ for cut in job.plan.cuts] == ["SawCut", "TurnCut"]
    assert job.plan.cuts[1].foot_centre == pytest.approx(job.mounting.foot_centre, abs=1e-3)  # type: ignore[union-attr]
    assert "Cut 1" in told(run("check", job_path))
    assert told(run("cut", job_path, "undo")) == "Cut 2 is taken back; the job has 1 left."
    assert told(run("cut", job_path, "undo")) == "Cut 1 is taken back; the job has none left."
    assert job_path.read_bytes() == before


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("saw", "--point", "0,0,900 mm", "--normal", "0,0,1"), "takes no wood off: it passes beside the wood"),
        (("saw", "--point", "0,0,-90 mm", "--normal", "0,0,1"), "leaves no wood at all"),
        (("saw", "--point", "0,0,20 mm", "--normal", "0,0,-1"), "frees the foot"),
        (("saw", "--point", "0,0,x", "--normal", "0,0,1"), 'cut[1].point[3] = "x": expected a length'),
        (("saw", "--point", "0,0,1", "--normal", "0,0,nan"), "cut[1].normal[3] = NaN: expected an ordinary number"),
        (("saw", "--point", "0,0,1", "--normal", ""), 'cut[1].normal = [""]: expected [x, y, z]'),
        (("turn", "--profile", "0:1:2 3:4"), "cut[1].profile[1] = [0, 1, 2]: expected [z, r]"),
        (("turn", "--profile", ""), "cut[1].profile = []: expected a list of at least 2 pairs"),
        (("turn", "--profile", "0:9 9:9", "--rim-centre", "0,0"), "cut[1].rim_centre = [0, 0]: expected [x, y, z]"),
        (("turn", "--profile", "0:0 9 in:0"), "expected"),
        (("undo",), "there is no cut to take back"),
    ],
)
def test_what_cannot_be_cut_is_one_line_and_leaves_the_job_as_it_was(
    job_path: Path, words: tuple[str, ...], said: str
) -> None:
    before = job_path.read_bytes()
    result = run("cut", job_path, *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""
    assert job_path.read_bytes() == before


def test_cuts_that_are_no_tables_of_their_own_are_left_alone(job_path: Path) -> None:
    text = 'cut = [{kind = "saw", point = [0, 0, 900], normal = [0, 0, 1]}]\n' + job_path.read_text()
    job_path.write_text(text)
    result = run("cut", job_path, "undo")
    assert result.exit_code == 2
    assert "take the last one out by hand" in result.stderr
    assert job_path.read_text() == text
