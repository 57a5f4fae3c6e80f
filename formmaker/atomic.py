"""One way to put a file in its place: whole, or not at all.

It knows nothing of what is in the file.
"""

import os
import tempfile
from pathlib import Path

from formmaker.errors import OutputError


def write_atomically(path: Path, data: bytes) -> None:
    """Write a file so that nobody ever sees half of it.

    Parameters
    ----------
    path : Path
        Where the file shall stand; its folder is made if it is missing.
    data : bytes
        The whole file.

    Raises
    ------
    OutputError
        If the place cannot be written; what stood there before still stands there.

    Notes
    -----
    The bytes go to a new file beside the old one, reach the disk, and take its name in one step.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _replace(path, data)
    except (OSError, ValueError) as error:  # a zero byte in the name is a ValueError
        reason = (error.strerror if isinstance(error, OSError) else str(error)) or type(error).__name__
        raise OutputError(
            f"{path} cannot be written: {reason}; free the place, or name another folder with -o"
        ) from error


def _replace(path: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        beside.chmod(_ordinary_mode())  # mkstemp keeps the file to its owner; a drawing is for everyone
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _ordinary_mode() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
