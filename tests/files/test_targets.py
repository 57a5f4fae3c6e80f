"""Places that cannot be written to are refused before the work for them is done."""

from pathlib import Path

import pytest

from formmaker.errors import OutputError
from formmaker.files import targets
from formmaker.files.targets import check_folder, check_target


@pytest.mark.parametrize("name", ["", "file/x.txt", "a" * 300])
def test_a_place_that_cannot_be_written_is_refused(tmp_path: Path, name: str) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OutputError):
        check_target(tmp_path / name)


def test_a_closed_folder_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(targets.os, "access", lambda *_: False)  # root may write everywhere
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
