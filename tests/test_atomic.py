"""A file is written whole or not at all."""

import os
from pathlib import Path

import pytest

from formmaker.atomic import write_atomically
from formmaker.errors import OutputError


def test_a_file_is_replaced_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "new" / "sheet.svg"
    write_atomically(path, b"old")
    write_atomically(path, b"new")
    assert path.read_bytes() == b"new"
    assert [entry.name for entry in path.parent.iterdir()] == ["sheet.svg"]


def test_a_failure_leaves_the_old_file_and_no_part_of_the_new(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "sheet.svg"
    write_atomically(path, b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match=r"sheet\.svg cannot be written: No space left on device; free the place"):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["sheet.svg"]


@pytest.mark.parametrize("name", ["", "file/x.txt", "a\0b", "a" * 300])
def test_a_place_that_cannot_be_written_is_refused_and_left_as_it_was(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="cannot be written"):
        write_atomically(tmp_path / name, b"")
    assert [entry.name for entry in tmp_path.iterdir()] == ["file"]


def test_a_new_file_has_the_rights_of_any_other(tmp_path: Path) -> None:
    (tmp_path / "plain").touch()
    write_atomically(tmp_path / "ours", b"")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode
