"""What `formmaker timber` says: the handbook's figures under the name asked for, and near names for a slip."""

import pytest

from formmaker.files.spoken_timber import say_unknown, spoken_matches
from formmaker.units import Units


@pytest.mark.parametrize("name", ["cherry", "black cherry", "Cherry, Black", "cher"])
def test_one_timber_is_told_in_full_with_the_sources_of_its_figures(name: str) -> None:
    told = "\n".join(spoken_matches(name, Units.MM))
    # Wood Handbook, tables 4-3, 4-1 and 5-3; check values 1.3 to 1.5 for the densities and the 300 mm bowl
    for words in (
        "721 kg/m3 green",
        "565 kg/m3 at 12 %",
        "3.7 %",
        "7.1 %",
        "11.5 %",
        "58 %",
        "3.9 N/mm2",
        "284.4 mm",
    ):
        assert words in told
    assert "Table 4-3" in told
    assert "REF_SPECIES" in told


def test_a_figure_from_memory_says_so_and_an_estimate_says_so() -> None:
    assert "from memory" in "\n".join(spoken_matches("silver maple", Units.MM))
    plum = "\n".join(spoken_matches("plum", Units.MM))
    assert "No handbook value of its shrinkage here" in plum
    assert "estimated from its weight" in plum


def test_several_of_a_name_are_told_in_a_line_each_and_no_name_tells_all() -> None:
    assert [line.split(":")[0] for line in spoken_matches("oak", Units.MM)] == ["oak, northern red", "oak, white"]
    assert len(spoken_matches("", Units.INCH)) >= 35


def test_a_slip_is_answered_with_near_names() -> None:
    assert spoken_matches("chery", Units.MM) == ()
    assert "cherry, black" in say_unknown("chery")
    assert "lists all" in say_unknown("qqqq")


def test_inches_are_told_in_pounds() -> None:
    told = "\n".join(spoken_matches("cherry", Units.INCH))
    assert "45 lb/ft3" in told  # the forest service's whole pound per cubic foot
    assert "1700 lb/in2" in told  # Wood Handbook, Table 5-3b
