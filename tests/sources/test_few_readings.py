"""Few readings from tables and from pairs: what they mean, and every slip told in one line."""

import math
from pathlib import Path

import pytest

from formmaker.errors import BlankError, FormmakerError, JobFileError
from formmaker.model.recentring import ReadingKind
from formmaker.sources.few_readings import ReadingRules, pairs_of, read_few
from formmaker.units import Units

GAPS = (ReadingKind.GAP, ReadingKind.RADIUS)


def table(tmp_path, *lines):
    path = tmp_path / "few.csv"
    path.write_text("\n".join(lines) + "\n")
    return path


def test_a_table_in_inches_and_positions_says_what_pairs_in_mm_and_degrees_say(tmp_path):
    path = table(tmp_path, "# Sunday", "index, gap ,station,at_radius", "0,3/4,1.5,6", "6,1 1/8 in,38.1 mm,6")
    found = read_few(path, ReadingRules(kinds=GAPS, units=Units.INCH, index_count=24))
    pairs = pairs_of(("0:19.05@38.1", "90:28.575@38.1"), ReadingRules(kinds=GAPS, units=Units.MM, at_radius=152.4))
    assert found.kind is pairs.kind is ReadingKind.GAP
    for one, other in zip(found.readings, pairs.readings, strict=True):
        for name in ("angle", "size", "station", "at_radius"):
            assert getattr(one, name) == pytest.approx(getattr(other, name))
    assert found.readings[1].angle == pytest.approx(math.pi / 2)


def test_all_faults_of_a_table_are_told_at_once(tmp_path):
    path = table(
        tmp_path,
        "index_deg,radius",
        *("0,80", "90,eighty", "180,nan", "270,-3", "360,81", "45,19,5", "inf,80", "50,", "60,99999", "1e9,5"),
    )
    with pytest.raises(JobFileError) as error:
        read_few(path, ReadingRules(kinds=GAPS, units=Units.MM))
    text = str(error.value)
    for words in (
        "line 3 radius = eighty: expected a number or a length",
        "line 4 radius = nan",
        "line 5 radius = -3.0 mm: expected a length above 0",
        "line 6 = 0 degrees: expected each place once, line 2 has it already",
        "line 7 = 3 cells: expected 2 cells; for a decimal comma",
        "line 8 index_deg = inf: expected a number",
        "line 9 radius = nothing",
        "line 10 size = 99999 mm: expected a length up to 10000 mm",
        "line 11 = 1e+09: expected degrees from -360 to 720",
    ):
        assert words in text
    assert len(text.splitlines()) == 10  # of 99999, both its names


@pytest.mark.parametrize(
    ("head", "count", "words"),
    [
        ("index,gap", 0, "with --index-count"),
        ("index_deg,gap", 24, "leave out --index-count"),
        ("angle,gap", 0, "column index_deg is missing; the head line is 'angle, gap'"),
        ("index_deg,gap,radius", 0, "found column gap and radius"),
        ("index_deg,height", 0, "found column height of gap, radius, height; expected exactly one, gap or radius"),
        ("index_deg,gap,weight", 0, "unknown column weight; allowed are at_radius, gap, index_deg, station"),
        ("index_deg,gap,gap", 0, "a column named twice"),
    ],
)
def test_head_lines_that_say_something_else_are_refused(tmp_path, head, count, words):
    rows = [",".join(str(k + j) for j in range(head.count(",") + 1)) for k in range(3)]
    with pytest.raises(BlankError, match=words):
        read_few(table(tmp_path, head, *rows), ReadingRules(kinds=GAPS, units=Units.MM, index_count=count))


def test_what_is_no_table_is_refused(tmp_path):
    rules = ReadingRules(kinds=GAPS, units=Units.MM)
    with pytest.raises(BlankError, match="is no file that is there; give a CSV table, or pairs"):
        read_few(tmp_path / "none.csv", rules)
    with pytest.raises(BlankError, match="is no file that is there"):
        read_few(tmp_path, rules)
    with pytest.raises(BlankError, match=r"999 \.\.\. is no file"):
        read_few(Path("9" * 400), rules)
    with pytest.raises(BlankError, match="holds no readings"):
        read_few(table(tmp_path, ""), rules)
    with pytest.raises(BlankError, match="holds 2001 readings; at most 2000"):
        read_few(table(tmp_path, "index_deg,gap", *(f"{k / 10},3" for k in range(2001))), rules)
    long = table(tmp_path, "index_deg,gap", *(f"{k},x" for k in range(300)))
    with pytest.raises(JobFileError, match="and so on = 280 more"):
        read_few(long, rules)
    huge = tmp_path / "huge.csv"
    with huge.open("wb") as file:
        file.truncate(60_000_000)
    with pytest.raises(BlankError, match="60000000 bytes"):
        read_few(huge, rules)


@pytest.mark.parametrize(
    ("texts", "count", "words"),
    [
        (("0:19", "180"), 0, "180: expected ANGLE:SIZE"),
        (("0:19", "180:-3"), 0, "180:-3 gap = -3.0 mm: expected 0 or more"),
        (("0:19", "25:3"), 24, "25:3 = 25: expected an index position from 0 to 24"),
        (("0:19", "24:3"), 24, "0 degrees: expected each place once, 0:19 has it already"),
        (("0:19@5", "0:3@5"), 0, "0 degrees at station 5.0 mm"),
        (("0:ten",), 0, "0:ten"),
        (("nan:3",), 0, "expected degrees"),
        (("0:500",), 0, "500 at_radius = 400.0 mm: expected more than the gap"),
        (("0:1/0",), 0, "1/0"),
    ],
)
def test_pairs_with_slips_are_refused(texts, count, words):
    with pytest.raises(FormmakerError, match=words):
        pairs_of(texts, ReadingRules(kinds=GAPS, units=Units.MM, index_count=count, at_radius=400.0))
