"""A job file changed in place: what was not meant to change has not, and what would be no job is never written."""

import difflib
import tomllib
from pathlib import Path

import numpy as np
import pytest

from formmaker.errors import JobFileError
from formmaker.files.job_edit import rewrite_job, with_entry, with_values, without_last_entry, written_point
from formmaker.files.job_file import read_job
from formmaker.sources.samples import SAMPLES, sample_job
from formmaker.units import Units


def changed_lines(old: str, new: str) -> list[str]:
    found = difflib.ndiff(old.splitlines(), new.splitlines())
    return [line[2:] for line in found if line.startswith(("- ", "+ "))]


@pytest.mark.parametrize("name", SAMPLES)
def test_a_value_is_set_in_its_own_line_and_nowhere_else(name: str) -> None:
    text = sample_job(name)
    new = with_values(text, {"form.floor": 21.5, "mounting.foot_centre": [1.5, 2.0, 0.25]})
    wished = tomllib.loads(text)
    wished["form"]["floor"], wished["mounting"]["foot_centre"] = 21.5, [1.5, 2.0, 0.25]
    assert tomllib.loads(new) == wished
    assert all(line.startswith(("floor =", "foot_centre =")) for line in changed_lines(text, new))
    assert text.count("#") == new.count("#")


def test_tables_and_keys_that_are_missing_are_made() -> None:
    new = with_values("units = 'mm'\n", {"form.wall": 9, "title": "burr"})
    assert tomllib.loads(new) == {"units": "mm", "form": {"wall": 9}, "title": "burr"}


@pytest.mark.parametrize("name", SAMPLES)
def test_entries_are_added_in_order_and_taken_back_to_the_byte(name: str) -> None:
    text = sample_job(name)
    once = with_entry(text, "cut", {"kind": "saw", "point": [1, 2, 3]})
    twice = with_entry(once, "cut", {"kind": "turn", "profile": [[0, 1], [2, 3]]})
    assert [cut["kind"] for cut in tomllib.loads(twice)["cut"]] == ["saw", "turn"]
    assert twice.startswith(once.rstrip("\n"))
    assert without_last_entry(twice, "cut") == once
    assert without_last_entry(once, "cut") == text
    assert without_last_entry(text, "cut") == text


@pytest.fixture
def job_path(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(sample_job("plum half log"))
    return path


def test_the_changed_job_is_written_and_given_back(job_path: Path) -> None:
    job = rewrite_job(job_path, lambda text: with_values(text, {"title": "Another"}))
    assert job.title == read_job(job_path).title == "Another"


def test_a_change_that_leaves_no_job_leaves_the_file(job_path: Path) -> None:
    before = job_path.read_bytes()
    with pytest.raises(JobFileError, match=r"form\.wall"):
        rewrite_job(job_path, lambda text: with_values(text, {"form.wall": -3}))
    with pytest.raises(JobFileError, match="not TOML"):
        rewrite_job(job_path, lambda text: text + "]]")
    assert job_path.read_bytes() == before
    assert list(job_path.parent.iterdir()) == [job_path]


def test_places_are_written_to_a_tenth_of_a_micron() -> None:
    place = np.array([123.456789, -0.00001, 1e-9])
    for units, factor in ((Units.MM, 1.0), (Units.INCH, 25.4)):
        assert np.abs(np.array(written_point(place, units)) * factor - place).max() < 1e-4
