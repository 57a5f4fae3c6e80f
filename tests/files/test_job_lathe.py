"""What a job file says of the lathe and of the wood's weight is read as it says, or refused."""

import re
from pathlib import Path

import pytest

from formmaker.errors import JobFileError
from formmaker.files.job_file import read_job
from formmaker.model.job import Job
from formmaker.model.lathe import UNKNOWN_LATHE
from tests.files.test_job_file import SHAPE_JOB

LATHE = """[lathe]
swing = "16 in"
between_centres = 600
lowest_speed = 60
highest_speed = 2400.5
index_count = 48
tool_rest = 8
"""


def job_of(folder: Path, *, lathe: str = "", blank: str = "", head: str = "", units: str = "mm") -> Job:
    text = head + SHAPE_JOB
    if units == "in":
        text = re.sub(r"\b([1-9]\d*)\b", r'"\1 mm"', text).replace('units = "mm"', 'units = "in"')
    path = folder / "job.toml"
    path.write_text(text.replace('shape = "half log"', f'{blank}\nshape = "half log"') + lathe, encoding="utf-8")
    return read_job(path)


def fault_of(folder: Path, **parts: str) -> str:
    with pytest.raises(JobFileError) as caught:
        job_of(folder, **parts)
    (line,) = str(caught.value).splitlines()
    return line.removeprefix(f"{folder / 'job.toml'}: ")


def test_a_lathe_is_read_and_its_index_is_the_jobs(tmp_path: Path) -> None:
    job = job_of(tmp_path, lathe=LATHE)
    lathe = job.lathe
    assert (lathe.swing, lathe.between_centres, lathe.tool_rest) == (pytest.approx(406.4), 600.0, 8.0)
    assert (lathe.lowest_speed, lathe.highest_speed) == (60.0, 2400.5)
    assert (lathe.index_count, job.index_count) == (48, 48)


def test_every_key_of_the_lathe_may_be_missing(tmp_path: Path) -> None:
    assert job_of(tmp_path).lathe == UNKNOWN_LATHE
    assert job_of(tmp_path, lathe="[lathe]\n").lathe == UNKNOWN_LATHE
    assert job_of(tmp_path, head="index_count = 48\n", lathe=LATHE).index_count == 48  # said twice, and the same


@pytest.mark.parametrize(
    ("lathe", "said"),
    [
        ("swing = 0", "lathe.swing = 0: expected a length above 0"),
        ("swing = 5001", "lathe.swing = 5001: expected a length above 0 (at least 0.01 mm) and at most 5 m"),
        ('between_centres = "long"', 'lathe.between_centres = "long": expected a length'),
        ("lowest_speed = 0", "lathe.lowest_speed = 0: expected a speed in rpm from 1 to 20000"),
        ('highest_speed = "3000"', 'lathe.highest_speed = "3000": expected a speed in rpm from 1 to 20000'),
        ("lowest_speed = nan", "lathe.lowest_speed = NaN: expected a speed in rpm"),
        (
            "lowest_speed = 900\nhighest_speed = 300",
            "lathe.lowest_speed = 900: expected a speed not above highest_speed",
        ),
        ("index_count = 1", "lathe.index_count = 1: expected the index positions in one turn, a whole number from 2"),
        ("tool_rest = -3", "lathe.tool_rest = -3: expected a length above 0"),
        ("swng = 300", 'lathe.swng = 300: expected a known key; did you mean "swing"?'),
    ],
)
def test_a_fault_of_the_lathe_is_one_line(tmp_path: Path, lathe: str, said: str) -> None:
    assert fault_of(tmp_path, lathe=f"[lathe]\n{lathe}\n").startswith(said)


def test_two_counts_of_the_index_contradict_each_other(tmp_path: Path) -> None:
    said = fault_of(tmp_path, head="index_count = 24\n", lathe=LATHE)
    assert said == (
        "lathe.index_count = 48: expected the 24 that stands at the top of the file; leave one of the two out"
    )


def test_a_lathe_that_is_no_table_is_refused(tmp_path: Path) -> None:
    assert fault_of(tmp_path, head="lathe = 3\n").startswith("lathe = 3: expected a table [lathe]")


@pytest.mark.parametrize(
    ("key", "units", "kilograms"),
    [
        ("weight = 6.2", "mm", 6.2),
        ("weight = 10", "in", 4.5359237),  # the pound: 0.45359237 kg by the agreement of 1959
        ('weight = "13.5 lb"', "mm", 6.123496995),
        ('weight = "800 g"', "in", 0.8),
        ('weight = "8 oz"', "mm", 0.226796185),
    ],
)
def test_a_weighed_piece_is_read_in_any_unit(tmp_path: Path, key: str, units: str, kilograms: float) -> None:
    assert job_of(tmp_path, blank=key, units=units).plan.timber.weight == pytest.approx(kilograms, rel=1e-12)


@pytest.mark.parametrize(("key", "thick"), [('bark = "ignored"', 0.0), ("bark = 8", 8.0), ('bark = "3/8 in"', 9.525)])
def test_bark_is_ignored_or_has_a_thickness(tmp_path: Path, key: str, thick: float) -> None:
    assert job_of(tmp_path, blank=key).plan.timber.bark == pytest.approx(thick)


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("weight = 0", "blank.weight = 0: expected a weight above 0 and at most 2000.0 kg"),
        ("weight = 2001", "blank.weight = 2001: expected a weight above 0"),
        ("weight = -1", "blank.weight = -1: expected a weight above 0"),
        ("weight = inf", 'blank.weight = Infinity: expected a weight: a number in kg or a text such as "6.2 kg"'),
        ('weight = "6.2"', 'blank.weight = "6.2": expected a weight: a number in kg'),
        ('weight = "1e999 kg"', 'blank.weight = "1e999 kg": expected a weight'),
        ("weight = true", "blank.weight = true: expected a weight"),
        (
            "bark = -1",
            'blank.bark = -1: expected "ignored" (bark counts as wood) or its thickness, a length 0 or more',
        ),
        ('bark = "thick"', 'blank.bark = "thick": expected "ignored"'),
        ("bark = 101", "blank.bark = 101: expected"),
    ],
)
def test_a_weight_or_a_bark_that_cannot_be_is_one_line(tmp_path: Path, key: str, said: str) -> None:
    assert fault_of(tmp_path, blank=key).startswith(said)
