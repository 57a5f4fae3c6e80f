"""The lathe a job goes on: what the turner has said of it. It knows nothing of wood."""

from dataclasses import dataclass, fields

from formmaker.errors import LatheError
from formmaker.model.thread import Thread


@dataclass(frozen=True, slots=True, kw_only=True)
class Lathe:
    """One lathe; whatever is not known is None.

    Parameters
    ----------
    swing : float or None
        Largest diameter that turns over the bed, twice the height of the centres, mm.
    between_centres : float or None
        Longest piece that goes between the centres, mm.
    lowest_speed, highest_speed : float or None
        What the spindle can be set to, rpm.
    index_count : int or None
        Index positions in one turn of the spindle.
    tool_rest : float or None
        Air wanted between the tool rest and the farthest wood, mm.
    thread : Thread or None
        Of the spindle.

    Raises
    ------
    LatheError
        If a figure is not above 0 or the lowest speed is above the highest.
    """

    swing: float | None = None
    between_centres: float | None = None
    lowest_speed: float | None = None
    highest_speed: float | None = None
    index_count: int | None = None
    tool_rest: float | None = None
    thread: Thread | None = None

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, int | float) and not 0.0 < value < float("inf"):
                raise LatheError(f"{field.name} {value} of the lathe; give a figure above 0, or leave it out")
        low, high = self.lowest_speed, self.highest_speed
        if low is not None and high is not None and not low <= high:
            raise LatheError(
                f"the lathe's lowest_speed {low:g} rpm is above its highest_speed {high:g} rpm; change one of them"
            )


UNKNOWN_LATHE = Lathe()
