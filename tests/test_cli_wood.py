"""The commands about the timber: names found, slips answered, drying and holding told or refused in one line."""

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
