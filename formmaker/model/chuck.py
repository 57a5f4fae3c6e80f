"""The chuck or faceplate a bowl is held by: what the turner has said of it. It knows nothing of wood."""

from dataclasses import dataclass

from formmaker.errors import LatheError
from formmaker.model.thread import Thread

Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chuck:
    """One chuck with its jaws, or a faceplate; whatever is not known is None.

    Parameters
    ----------
    name : str
        What the turner calls it; empty where it has none.
    closes_on : tuple of float or None
        Smallest and largest diameter that its jaws close on, mm.
    opens_in : tuple of float or None
        Smallest and largest recess that they open in, mm.
    true_circle : float or None
        Diameter at which the inside of the closing jaws is a true circle, mm.
    jaw_height : float or None
        From the tops of the jaws down to the bottom of the chuck between them, mm.
    thread : Thread or None
        That it is screwed on by.
    screws : float or None
        How deep the screws of a faceplate go into the wood, mm.

    Raises
    ------
    LatheError
        If a figure is not above 0, or a range does not rise.
    """

    name: str = ""
    closes_on: Range | None = None
    opens_in: Range | None = None
    true_circle: float | None = None
    jaw_height: float | None = None
    thread: Thread | None = None
    screws: float | None = None

    def __post_init__(self) -> None:
        for name in ("closes_on", "opens_in"):
            ends = getattr(self, name)
            if ends is not None and not 0.0 < ends[0] < ends[1] < float("inf"):
                raise LatheError(f"{name} {list(ends)} of the chuck; give the smallest and the largest diameter")
        for name in ("true_circle", "jaw_height", "screws"):
            size = getattr(self, name)
            if size is not None and not 0.0 < size < float("inf"):
                raise LatheError(f"{name} {size} of the chuck; give a length above 0, or leave it out")


UNKNOWN_CHUCK = Chuck()
