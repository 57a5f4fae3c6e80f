"""Places to write to, refused before the work for them is done; the writing itself is in ``atomic``."""

import os
from collections.abc import Iterable
from pathlib import Path

from formmaker.errors import OutputError


def check_target(path: Path, *, endings: tuple[str, ...] = (), inputs: Iterable[Path] = ()) -> None:
    """Refuse a place that no file can be written to, before the work for it is done.

    Parameters
    ----------
    path : Path
        Where a file is to go; folders above it may still be missing.
    endings : tuple of str
        What its name has to end in, one of these; any, if empty.
    inputs : iterable of Path
        Files that the answer is made from: none of them is ever written over.

    Raises
    ------
    OutputError
        If the path is a folder or an input, has another ending, or its folder is no folder or closed to us.
    """
    if endings and path.suffix.lower() not in endings:
        raise OutputError(f"{path} does not end in {' or '.join(endings)}; name the file so")
    try:
        is_folder = path.is_dir()
        same = path.exists() and any(source.exists() and path.samefile(source) for source in inputs)
    except (OSError, ValueError) as error:  # a name too long, a zero byte in it
        raise OutputError(_reason(path, error)) from error
    if is_folder:
        raise OutputError(f"{path} is a folder; give the name of a file in it")
    if same:
        raise OutputError(f"{path} is what the answer is made from and is not written over; choose another name")
    check_folder(path.parent)


def check_folder(folder: Path) -> None:
    """Refuse a folder that is not there and cannot be made, or that is closed to writing.

    Raises
    ------
    OutputError
        If a file stands in the way or there is no right to write.
    """
    try:
        place = next(place for place in (folder, *folder.absolute().parents) if place.exists())
        is_folder = place.is_dir()
    except (OSError, ValueError) as error:
        raise OutputError(_reason(folder, error)) from error
    if not is_folder:
        raise OutputError(f"nothing can be written in {folder}: {place} is not a folder; choose another place")
    if not os.access(place, os.W_OK | os.X_OK):
        raise OutputError(f"nothing can be written in {folder}: no right to write in {place}; choose another place")


def _reason(path: Path, error: OSError | ValueError) -> str:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return f"{path} cannot be written: {reason}; free some space or choose another place"
