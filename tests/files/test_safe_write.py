"""A file is written whole or not at all."""

import os
from pathlib import Path

import pytest

from formmaker.errors import OutputError
from formmaker.files import safe_write
from formmaker.files.safe_write import check_folder, check_target, write_bytes, write_text


def test_a_file_replaces_the_old_one_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b.txt"
    assert write_text(path, "one è") == path
    write_bytes(path, b"two")
    assert path.read_bytes() == b"two"
    assert [entry.name for entry in path.parent.iterdir()] == ["b.txt"]


def test_a_new_file_has_the_rights_of_any_other(tmp_path: Path) -> None:
    (tmp_path / "plain").touch()
    write_bytes(tmp_path / "ours", b"")
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_a_full_disk_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "b.txt"
    path.write_text("old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left on device; free"):
        write_bytes(path, b"new")
    assert path.read_text() == "old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["b.txt"]


@pytest.mark.parametrize("name", ["", "file/x.txt", "a\0b", "a" * 300])
def test_a_place_that_cannot_be_written_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputError):
        write_bytes(tmp_path / name, b"")
    assert [entry.name for entry in tmp_path.iterdir()] == ["file"]


def test_a_closed_folder_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(safe_write.os, "access", lambda *_: False)  # root may write everywhere
    with pytest.raises(OutputError, match="no right to write"):
        check_folder(tmp_path)
    with pytest.raises(OutputError, match="no right to write"):
        check_target(tmp_path / "x" / "y.txt")


def test_a_target_is_no_folder_no_input_and_has_its_ending(tmp_path: Path) -> None:
    scan = tmp_path / "burr.stl"
    scan.touch()
    with pytest.raises(OutputError, match="is a folder"):
        check_target(tmp_path)
    with pytest.raises(OutputError, match="not written over"):
        check_target(tmp_path / "." / "burr.stl", inputs=(scan,))
    with pytest.raises(OutputError, match=r"\.png"):
        check_target(tmp_path / "x.jpg", endings=(".png",))
    check_target(tmp_path / "new" / "x.PNG", endings=(".png",), inputs=(scan,))
    assert not (tmp_path / "new").exists()


def test_a_file_in_the_way_of_a_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputError, match="file is not a folder"):
        check_folder(tmp_path / "file" / "deep")


def test_a_name_that_is_no_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="rename"):
        write_text(tmp_path / "x", "\udcff")
