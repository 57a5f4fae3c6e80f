"""Places on or in the wood that somebody has named."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray


class MarkKind(StrEnum):
    """What a mark is for."""

    WITNESS = "witness"
    KEEP = "keep"
    FLAW = "flaw"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mark:
    """A named place.

    Parameters
    ----------
    name : str
        What the turner wrote beside it.
    kind : MarkKind
        ``witness``: a mark to measure from; ``keep``: the rim must pass here; ``flaw``: the wall must stay clear.
    at : (3,) float
        Place, blank frame, mm.
    radius : float
        mm; flaw: what to stay clear of; keep: how near the rim must pass; witness: not used.
    cut_away : int
        Number of the cut that its place on the skin went with (of a flaw: its middle); 0 while it is there.
    """

    name: str
    kind: MarkKind
    at: NDArray[np.float64]
    radius: float = 0.0
    cut_away: int = 0

    def __post_init__(self) -> None:
        place = np.array(self.at, dtype=np.float64)
        place.flags.writeable = False
        object.__setattr__(self, "at", place)
