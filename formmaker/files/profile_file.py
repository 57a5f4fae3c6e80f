"""Forms to start from: finding a profile by its name, reading its TOML file.

Data only goes in and a ``Profile`` comes out; its size is given by the job.
"""

import math
import tomllib
from importlib import resources
from pathlib import Path

import numpy as np

from formmaker.errors import Fault, JobFileError
from formmaker.files.job_faults import LONGEST_VALUE, cut_short, printable
from formmaker.files.job_keys import LONGEST_NAME, MOST_ROWS
from formmaker.model.profile import Profile

_KEYS = ("title", "description", "handles", "joints")
_JOINTS = ("smooth", "corner")


def profiles_folder() -> Path:
    """Where the profiles that come with formmaker lie: in the installed package, else in the repository."""
    installed = Path(str(resources.files("formmaker"))) / "profiles"
    return installed if installed.is_dir() else Path(__file__).resolve().parents[2] / "profiles"


def profile_names() -> tuple[str, ...]:
    """Names of the profiles that come with formmaker, in alphabetical order."""
    return tuple(sorted(path.stem for path in profiles_folder().glob("*.toml")))


def find_profile(name_or_path: str, base: Path) -> Path:
    """Path of a profile's file.

    Parameters
    ----------
    name_or_path : str
        A bare name is one of ``profile_names``; what ends in ``.toml`` or holds a slash is a path.
    base : Path
        Folder that a path is relative to: the job file's.

    Returns
    -------
    Path
        Of a file that exists.

    Raises
    ------
    JobFileError
        If there is none, with the names that there are.

    Examples
    --------
    >>> find_profile("open-bowl", Path()).name
    'open-bowl.toml'
    """
    is_path = name_or_path.endswith(".toml") or "/" in name_or_path or "\\" in name_or_path
    names = profile_names()
    # a name is only looked up among the known ones, so that "..", "con" or an empty text reach no file system
    path = base / name_or_path if is_path else profiles_folder() / f"{name_or_path}.toml"
    if (is_path and path.is_file()) or name_or_path in names:
        return path
    expected = f"one of {', '.join(names)}, or the path of a profile file that exists"
    raise JobFileError(
        str(path if is_path and len(name_or_path) <= LONGEST_VALUE else base),
        (Fault(key="profile", value=_said(name_or_path), expected=expected),),
    )


def read_profile(path: Path) -> Profile:
    """Read a profile from its TOML file.

    Parameters
    ----------
    path : Path
        Keys: ``description``; ``handles``, rows of [radius, height] from the foot's edge at height 0 to the rim;
        ``joints``, "smooth" or "corner" for each handle, optional (both ends are corners whatever is said);
        ``title``, optional.

    Returns
    -------
    Profile
        Named after the file.

    Raises
    ------
    JobFileError
        With every fault of the file; rows are counted from 1, as in a job file.
    """
    table = _read_toml(path)
    faults = [
        Fault(key=cut_short(printable(key), 80), value=_said(value), expected=f"one of the keys {', '.join(_KEYS)}")
        for key, value in table.items()
        if key not in _KEYS
    ]
    title, description = (_text(table, key, faults) for key in ("title", "description"))
    handles = _handles(table, faults)
    corners = _corners(table, handles, faults)
    if faults:
        raise JobFileError(str(path), tuple(faults))
    return Profile(name=path.stem, title=title, description=description, handles=np.array(handles), corners=corners)


def _read_toml(path: Path) -> dict[str, object]:
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        fault = Fault(key="file", value=_said(path.name), expected=f"a file that can be read ({error.strerror})")
        raise JobFileError(str(path), (fault,)) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        fault = Fault(key="file", value=_said(path.name), expected=f"TOML in UTF-8 ({error})")
        raise JobFileError(str(path), (fault,)) from error


def _said(value: object) -> str:
    try:
        return cut_short(repr(value), LONGEST_VALUE)
    except (ValueError, RecursionError):  # an integer of thousands of digits
        return f"(a {type(value).__name__} too large to show)"


def _text(table: dict[str, object], key: str, faults: list[Fault]) -> str:
    value = table.get(key, "")
    if key == "description" and key not in table:
        faults.append(Fault(key=key, value="missing", expected="a sentence: for whom and for what"))
    if isinstance(value, str) and (key != "title" or len(value) <= LONGEST_NAME):
        return value
    faults.append(
        Fault(key=key, value=_said(value), expected=f"a text; a title of at most {LONGEST_NAME} characters")
    )
    return ""


def _handles(table: dict[str, object], faults: list[Fault]) -> list[list[float]]:
    value = table.get("handles")
    if not isinstance(value, list) or len(value) < 2:
        found = "missing" if value is None else _said(value)
        faults.append(Fault(key="handles", value=found, expected="at least two rows of [radius, height]"))
        return []
    if len(value) > MOST_ROWS:
        faults.append(Fault(key="handles", value=f"{len(value)} rows", expected=f"at most {MOST_ROWS} rows"))
        return []
    rows = [row for number, row in enumerate(value, start=1) if _is_point(number, row, faults)]
    if len(rows) == len(value):
        _check_order(rows, faults)
    return rows


def _is_point(number: int, row: object, faults: list[Fault]) -> bool:
    sound = isinstance(row, list) and len(row) == 2 and all(_is_number(value) for value in row)
    if not sound:
        faults.append(
            Fault(key=f"handles[{number}]", value=_said(row), expected="[radius, height], two finite numbers")
        )
    return sound


def _is_number(value: object) -> bool:
    if not isinstance(value, int | float) or isinstance(value, bool):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:  # a whole number of hundreds of digits
        return False


def _check_order(rows: list[list[float]], faults: list[Fault]) -> None:
    for number, row in enumerate(rows, start=1):
        if not row[0] > 0.0:
            faults.append(Fault(key=f"handles[{number}]", value=_said(row), expected="a radius above 0"))
    if rows[0][1] != 0:
        faults.append(Fault(key="handles[1]", value=_said(rows[0]), expected="the edge of the foot, at height 0"))
    if not rows[-1][1] > 0:
        faults.append(
            Fault(key=f"handles[{len(rows)}]", value=_said(rows[-1]), expected="the rim, at a height above 0")
        )


def _corners(
    table: dict[str, object], handles: list[list[float]], faults: list[Fault]
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    value = table.get("joints", ["smooth"] * len(handles))
    if not isinstance(value, list):
        faults.append(Fault(key="joints", value=_said(value), expected='a row of "smooth" or "corner"'))
        return np.zeros(0, dtype=np.bool_)
    for number, joint in enumerate(value, start=1):
        if joint not in _JOINTS:
            faults.append(Fault(key=f"joints[{number}]", value=_said(joint), expected='"smooth" or "corner"'))
    if handles and len(value) != len(handles):
        faults.append(
            Fault(key="joints", value=f"{len(value)} joints", expected=f"one for each of the {len(handles)} handles")
        )
    corners = np.array([joint == "corner" for joint in value], dtype=np.bool_)
    corners[:1] = corners[-1:] = True
    return corners
