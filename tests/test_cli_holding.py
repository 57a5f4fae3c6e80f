"""The command about what holds the bowl: answers, exit codes, and refusals in one line."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from formmaker.cli import main
from tests.test_cli_wood import JOB

CHUCK = """
[chuck]
name = "four jaws"
closes_on = [38, 55]
true_circle = 45
jaw_height = 12
thread = "M33x3.5"
"""


def hold(folder: Path, *words: str, text: str = JOB) -> Result:
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return CliRunner().invoke(main, ["hold", str(path), *words])


def test_a_tenon_in_its_jaws_is_told_and_leaves_with_0(tmp_path: Path) -> None:
    told = hold(tmp_path, "--cut-force", "50", text=JOB + CHUCK)
    assert told.exit_code == 0
    assert "nothing that hinders was found" in told.stdout
    assert "four jaws: jaws close on 38.0 mm to 55.0 mm, a true circle at 45.0 mm" in told.stdout
    assert "maker's manual" in told.stdout
    assert "safe" not in told.stdout


def test_what_hinders_comes_first_and_leaves_with_1(tmp_path: Path) -> None:
    told = hold(
        tmp_path, text=JOB + CHUCK.replace("[38, 55]", "[50, 65]").replace("jaw_height = 12", "jaw_height = 5")
    )
    assert told.exit_code == 1
    first, second, *_ = [line for line in told.stdout.splitlines() if line.startswith("- ")]
    assert "not on this tenon of 45.0 mm" in first
    assert "bottom of the chuck" in second or "6.0 mm long" in second


def test_programs_are_given_the_same(tmp_path: Path) -> None:
    told = json.loads(hold(tmp_path, "--json", "--rpm", "500", "--cut-force", "10lbf", text=JOB + CHUCK).stdout)
    assert told["hinders"] is True
    assert [point["code"] for point in told["hindrances"]] == ["stress"]
    assert told["load"]["rpm"] == 500.0
    assert told["load"]["cut_force_n"] == pytest.approx(10 * 4.4482216152605)  # the pound-force, ISO 80000-4
    assert told["load"]["cut_is_assumed"] is False
    assert told["chuck"]["air_under_tenon_mm"] == pytest.approx(6.0)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--cut-force", "much"), "a force: a number in N"),
        (("--cut-force", "-3"), "a force"),
        (("--cut-force", "nan"), "a force"),
        (("--cut-force", "1e9"), "a force above 0 and at most 20000 N"),
        (("--rpm", "0"), "--rpm"),
        (("--rpm", "nan"), "--rpm"),
    ],
)
def test_a_wrong_wish_is_refused(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    told = hold(tmp_path, *words)
    assert (told.exit_code, told.stdout) == (2, "")
    assert said in told.stderr
