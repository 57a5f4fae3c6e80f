"""A cut said on a command line, as the keys and values of a ``[[cut]]`` table; ``job_cuts`` judges them."""

import re

from formmaker.files.job_edit import written_point
from formmaker.model.job import Job


def saw_entry(point: str, normal: str) -> dict[str, object]:
    """Keys of a saw cut.

    Examples
    --------
    >>> saw_entry("0, 0, 3 1/2 in", "0,0,1")
    {'kind': 'saw', 'point': [0, 0, '3 1/2 in'], 'normal': [0, 0, 1]}
    """
    return {"kind": "saw", "point": plain_list(point), "normal": plain_list(normal)}


def turn_entry(job: Job, profile: str, *, foot_centre: str | None, rim_centre: str | None) -> dict[str, object]:
    """Keys of a turned cut; a centre that is not given is that of the job's present mounting."""
    mounting = job.mounting
    return {
        "kind": "turn",
        "foot_centre": _centre(foot_centre) or written_point(mounting.foot_centre, job.units),
        "rim_centre": _centre(rim_centre) or written_point(mounting.rim_centre, job.units),
        "profile": plain_rows(profile),
    }


def _centre(text: str | None) -> list[object]:
    return [] if text is None else plain_list(text)


def plain_list(text: str) -> list[object]:
    """Values between commas."""
    return [plain_value(part) for part in text.split(",")]


def plain_rows(text: str) -> list[list[object]]:
    """Rows of ``height:radius`` between blanks, or between commas or semicolons where the lengths have blanks.

    Examples
    --------
    >>> plain_rows("0:60 40:82.5"), plain_rows("0 in:2 1/2 in, 3 in:4 in")
    ([[0, 60], [40, 82.5]], [['0 in', '2 1/2 in'], ['3 in', '4 in']])
    """
    parts = re.split(r"[,;]", text) if re.search(r"[,;]", text) else text.split()
    return [[plain_value(value) for value in part.split(":")] for part in parts if part.strip()]


def plain_value(text: str) -> object:
    """A number where the text is one, otherwise the text without the blanks round it."""
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text.strip()
