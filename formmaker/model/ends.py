"""The two ends of a mounting."""

from enum import StrEnum


class End(StrEnum):
    """Which centre: the one under the foot or the one on the rim's side."""

    FOOT = "foot"
    RIM = "rim"

    @property
    def other(self) -> "End":
        """The end across."""
        return End.RIM if self is End.FOOT else End.FOOT
