"""A screw thread, such as that of a spindle: what people call it, how wide and how steep it is."""

from dataclasses import dataclass

from formmaker.errors import LatheError

_SAME = 0.05  # mm: threads are named to a tenth and cut to a few hundredths


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A thread; ``diameter`` and ``pitch`` in mm, ``text`` as the turner wrote it."""

    text: str
    diameter: float
    pitch: float

    def __post_init__(self) -> None:
        if not 0.0 < self.pitch < self.diameter < float("inf"):
            raise LatheError(f"thread {self.text}: the pitch lies between 0 and the diameter")

    def fits(self, other: "Thread") -> bool:
        """Whether the two are one thread, however they are written."""
        return abs(self.diameter - other.diameter) <= _SAME and abs(self.pitch - other.pitch) <= _SAME
