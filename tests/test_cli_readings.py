"""The commands centre and level as a turner gives them."""

import json

import pytest
from click.testing import CliRunner

from formmaker.cli import main


def run(*words):
    return CliRunner().invoke(main, list(words))


def test_centre_says_it_in_the_order_of_the_hands():
    result = run("centre", "0:3/4", "12:0", "--unit", "in", "--index-count", "24", "--parts", "16")
    assert result.exit_code == 0
    assert result.output.startswith("Both centre marks, alike: 3/8 in toward 180 deg (index 12 of 24).")
    rounded = run("centre", "0:0.7", "180:0", "--unit", "in", "--parts", "16").output
    # 0.35 in is 5.6 sixteenths: 6/16 = 0.375
    assert "3/8 in (rounded up by 25 thousandths, 0.64 mm) toward 180 deg" in rounded


def test_the_keys_of_the_answer_are_those_of_the_issue(tmp_path):
    path = tmp_path / "gaps.csv"
    path.write_text(
        "index_deg,gap,station\n0,12,40\n90,9,40\n180,3,40\n270,6,40\n0,8,200\n90,8,200\n180,4,200\n270,4,200\n"
    )
    plain = json.loads(run("centre", str(path), "--length", "240", "--json").output)
    assert list(plain) == ["shifts", "tilt_deg", "residual_mm", "warnings"]
    assert [list(shift) for shift in plain["shifts"]] == [["end", "shift_mm", "toward_deg"]] * 2
    assert [shift["end"] for shift in plain["shifts"]] == ["foot", "rim"]
    still = json.loads(run("centre", "0:5", "90:5", "180:5", "270:5", "--json").output)
    assert still["shifts"][0] == {"end": "foot", "shift_mm": 0.0, "toward_deg": None}


def test_level_names_the_end_that_moves_the_one_that_stays_and_the_high_side():
    text = run("level", "0:62", "180:50", "--at-radius", "100", "--length", "150").output
    assert text.startswith("The foot centre: 9.0 mm toward 0 deg.\nThe rim centre stays where it is.\n")
    assert "tilts the axis by 3.43 deg; the high side is at 0 deg." in text
    held = run("level", "0:62", "180:50", "--at-radius", "100", "--length", "150", "--hold", "foot").output
    assert held.startswith("The rim centre: 9.0 mm toward 180 deg.")


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("centre", "none.csv"), "none.csv is no file that is there"),
        (("centre", "0:12"), "1 reading"),
        (("centre", "0:" + "9" * 400), "0:9999"),
        (("centre", "0:12", "180:3", "--length", "0"), "above 0"),
        (("centre", "0:12", "180:3", "--length", "nan"), "finite"),
        (("level", "0:62", "180:50", "--length", "150"), "--at-radius"),
        (("level", "0:62", "180:50"), "--length"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_two(words, expected):
    result = run(*words)
    assert result.exit_code == 2
    assert expected in result.output
    assert "Traceback" not in result.output
