"""What lies on the desk: the sitting, what was done in it, and where the turner is looking.

The one thing here that changes. Every wish of the page changes it through ``actions``; the page is told of it through
``told``. Only one wish is fulfilled at a time.
"""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from formmaker.desk.weighing import Found
from formmaker.model.form import Form
from formmaker.pipeline.sitting import Sitting

MOST_STEPS = 500
"""Texts that undo remembers: a job file is a few kilobytes."""

SHOWN_FIRST = ("blank", "bowl", "axis", "marks")


@dataclass(frozen=True, slots=True, kw_only=True)
class Picked:
    """The angle (radians) and height (mm) that all four views mark."""

    theta: float = 0.0
    height: float = 0.0


class History:
    """Texts of the job in the order they came, and which of them counts now."""

    def __init__(self, text: str) -> None:
        self._texts = [text]
        self._at = 0

    @property
    def text(self) -> str:
        """The text that counts."""
        return self._texts[self._at]

    @property
    def first(self) -> str:
        """The text that the sitting began with."""
        return self._texts[0]

    @property
    def can_undo(self) -> bool:
        """Whether there is an earlier text."""
        return self._at > 0

    @property
    def can_redo(self) -> bool:
        """Whether there is a later one."""
        return self._at + 1 < len(self._texts)

    def add(self, text: str) -> None:
        """Put a text behind the one that counts; later ones are forgotten."""
        if text == self.text:
            return
        self._texts = [*self._texts[: self._at + 1], text][-MOST_STEPS:]
        self._at = len(self._texts) - 1

    def step(self, by: int) -> str:
        """Go back or forward; the text that counts then."""
        self._at = min(max(self._at + by, 0), len(self._texts) - 1)
        return self.text


class Board:
    """Everything on the desk, plain attributes."""

    def __init__(self, sitting: Sitting) -> None:
        self.sitting = sitting
        self.history = History(sitting.text)
        self.begun = sitting.report.job.mounting
        self.saved = sitting.text
        self.on_disk = digest(sitting.path)
        self.disk_changed = False
        self.picked = Picked(
            theta=sitting.report.verdict.worst.theta, height=max(sitting.report.verdict.worst.height, 0.0)
        )
        self.step = "1 mm" if sitting.units.value == "mm" else "1/16 in"
        self.refusal = ""
        self.news = ""
        self.dragged: Form | None = None
        self.shown = set(SHOWN_FIRST)
        self.made: tuple[Path, ...] = ()
        self.found: Found | None = None
        self.rim_aspect = 5.0
        self.is_dark = False

    @property
    def is_saved(self) -> bool:
        """Whether the file says what the desk says."""
        return self.history.text == self.saved

    @property
    def folder(self) -> Path:
        """Of the job file."""
        return self.sitting.path.parent


def digest(path: Path) -> str:
    """Tell one content of a file from another; empty where it cannot be read."""
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return ""
