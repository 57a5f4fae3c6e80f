"""The spin command: a ring in words and JSON, the whole turn and its picture, and what is refused."""

import json
import math
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from click.testing import CliRunner, Result

from formmaker.cli import main
from formmaker.sources.samples import sample_job

PLUM = "plum half log"


@pytest.fixture
def job_path(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(sample_job(PLUM))
    return path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def test_a_ring_is_told_in_json_and_in_words_in_any_unit(job_path: Path) -> None:
    # the plum is a half log of radius 4 1/2 in, its foot 9/16 in above the sawn face, 0 along the log
    result = run("spin", job_path, "--radius", "4 1/2 in", "--height", "60 mm", "--json")
    assert result.exit_code == 0, result.stderr
    ring = json.loads(result.stdout)["ring"]
    above = 60.0 + 9.0 / 16.0 * 25.4
    edge = math.degrees(math.asin(math.sqrt((4.5 * 25.4) ** 2 - above**2) / (4.5 * 25.4)))
    assert (ring["radius_mm"], ring["height_mm"]) == (pytest.approx(114.3), pytest.approx(60.0))
    assert [arc["wood"] for arc in ring["arcs"]] == [False, True, False, True]
    assert ring["arcs"][0]["from_deg"] == pytest.approx(edge, abs=0.02)
    assert ring["last_contact_deg"] % 180.0 == pytest.approx(edge, abs=0.02)
    said = run("spin", job_path, "--radius", 4.5, "--height", "60 mm").stdout
    assert f"{100.0 * ring['share_of_air']:.1f} % of the turn is air" in said
    assert "face shield on" in said


def test_the_whole_turn_is_told_and_pictured(job_path: Path, tmp_path: Path) -> None:
    drawn = tmp_path / "turn.svg"
    result = run("spin", job_path, "--all", "-o", drawn, "--json")
    assert result.exit_code == 0, result.stderr
    whole = json.loads(result.stdout)["all"]
    assert len(whole["core_mm"]) == len(whole["ghost_mm"]) == len(whole["height_mm"])
    assert len(whole["curve"]["depth_mm"]) == len(whole["curve"]["height_mm"])
    assert all(0.0 <= share <= 1.0 for row in whole["air"]["share"] for share in row)
    assert ET.parse(drawn).getroot().tag.endswith("svg")
    first = drawn.read_bytes()
    painted = tmp_path / "turn.png"
    said = run("spin", job_path, "--all", "-o", painted)
    assert painted.read_bytes().startswith(b"\x89PNG")
    assert "no wood is missing inside it" in said.stdout
    assert run("spin", job_path, "--all", "-o", drawn).exit_code == 0
    assert drawn.read_bytes() == first


def test_a_title_of_any_letters_costs_no_picture(job_path: Path, tmp_path: Path) -> None:
    text = job_path.read_text().replace('title = "', 'title = "$\\\\frac{ 木 \\n')
    job_path.write_text(text)
    result = run("spin", job_path, "--all", "-o", tmp_path / "turn.png")
    assert result.exit_code == 0, result.stderr
    assert (tmp_path / "turn.png").stat().st_size > 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "give either --radius and --height, or --all"),
        (("--all", "--radius", "3"), "give either --radius and --height, or --all"),
        (("--radius", "3"), "a ring needs both --radius and --height"),
        (("--radius", "x", "--height", "3"), '--radius = "x": expected a length'),
        (("--radius", "0", "--height", "3"), "--radius = 0: expected a length above 0"),
        (("--radius", "-3", "--height", "3"), "--radius = -3: expected a length above 0"),
        (("--radius", "3", "--height", "nan"), "--height = NaN: expected a length"),
        (("--radius", "3", "--height", "1e99"), "--height = 1e+99: expected a length"),
        (("--radius", "3", "--height", "3", "-o", "a.png"), "-o goes with --all"),
        (("--all", "-o", "a.gif"), "a.gif does not end in .svg or .png; name the file so"),
    ],
)
def test_what_cannot_be_told_is_refused(job_path: Path, words: tuple[str, ...], said: str) -> None:
    result = run("spin", job_path, *words)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""
