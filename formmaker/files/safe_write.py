"""Files written whole or not at all: a reader never sees half of one, a crash leaves the old one."""

import contextlib
import os
import tempfile
from pathlib import Path

from formmaker.errors import OutputError


def write_text(path: Path, text: str) -> Path:
    """Write a text as UTF-8, see `write_bytes`."""
    try:
        content = text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise OutputError(
            f"{path} cannot be written: the text holds {error.object[error.start]!r}; rename it"
        ) from error
    return write_bytes(path, content)


def write_bytes(path: Path, content: bytes) -> Path:
    """Write a file whole: beside its place first, then in one step into it.

    Parameters
    ----------
    path : Path
        Where to write; what stands there is replaced.
    content : bytes
        The whole file.

    Returns
    -------
    Path
        The path written.

    Raises
    ------
    OutputError
        If it cannot be written there; what stood there is left as it was.
    """
    check_target(path)
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".formmaker-")
    except OSError as error:
        raise OutputError(_reason(path, error)) from error
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(_usual_mode(path))
        Path(name).replace(path)
    except OSError as error:
        raise OutputError(_reason(path, error)) from error
    finally:
        with contextlib.suppress(OSError):
            Path(name).unlink(missing_ok=True)
    return path


def check_target(path: Path) -> None:
    """Refuse a place that no file can be written to, before the work for it is done.

    Raises
    ------
    OutputError
        If the path is a folder, or its folder is missing, no folder or closed to us.
    """
    try:
        refusal = _refusal(path, path.parent)
    except (OSError, ValueError) as error:  # a name too long, a zero byte in it
        raise OutputError(_reason(path, error)) from error
    if refusal:
        raise OutputError(refusal)


def _refusal(path: Path, folder: Path) -> str:
    if path.is_dir():
        return f"{path} is a folder; give the name of a file in it"
    if not folder.exists():
        return f"{path} cannot be written: there is no folder {folder}; make it first"
    if not folder.is_dir():
        return f"{path} cannot be written: {folder} is not a folder; choose another place"
    if not os.access(folder, os.W_OK | os.X_OK):
        return f"{path} cannot be written: no right to write in {folder}; choose another folder"
    return ""


def make_folder(folder: Path) -> Path:
    """Make a folder, and the folders above it, where they are not there.

    Raises
    ------
    OutputError
        If a file stands in the way or the place is closed to us.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError) as error:
        raise OutputError(f"{folder} cannot be made: a file stands in the way; choose another folder") from error
    except (OSError, ValueError) as error:
        raise OutputError(_reason(folder, error)) from error
    if not os.access(folder, os.W_OK | os.X_OK):
        raise OutputError(f"{folder} is closed to writing; choose another folder or change its rights")
    return folder


def _reason(path: Path, error: OSError | ValueError) -> str:
    reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return f"{path} cannot be written: {reason}; free some space or choose another place"


def _usual_mode(path: Path) -> int:
    """Rights of the file that is replaced, or those an ordinary new file would have."""
    with contextlib.suppress(OSError):
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
