"""How the tree stands in the blank: the way of its fibres, its pith, the thickness of its sapwood."""

import math
from dataclasses import dataclass
from enum import StrEnum

from formmaker.errors import BlankError
from formmaker.model.shapes import Board, Crotch, HalfLog, Log, Round, Shape

Triple = tuple[float, float, float]


class GrainWord(StrEnum):
    """Ways the fibres can run that need no figures: along an axis of the blank's frame, or along the turning axis."""

    X = "x"
    Y = "y"
    Z = "z"
    AXIS = "axis"


@dataclass(frozen=True, slots=True, kw_only=True)
class Grain:
    """What is said of the tree in the blank; whatever is not said is None.

    Parameters
    ----------
    way : tuple of float, GrainWord or None
        Direction of the fibres in the blank frame, any length but zero, or a word.
    pith : tuple of float or None
        A place on the pith, in the wood or outside it; the pith runs along the fibres. Blank frame, mm, before
        scaling.
    sapwood : float or None
        Thickness of the sapwood under the bark, mm.

    Raises
    ------
    BlankError
        If the direction has no length.
    """

    way: Triple | GrainWord | None = None
    pith: Triple | None = None
    sapwood: float | None = None

    def __post_init__(self) -> None:
        if isinstance(self.way, tuple) and not has_length(self.way):
            raise BlankError(f"grain {list(self.way)} has no direction; give three numbers, not all 0")


UNKNOWN_GRAIN = Grain()


def has_length(way: Triple) -> bool:
    """Whether three numbers give a direction: not all of them 0, none of them beyond all measure."""
    return 1e-6 < math.hypot(*way) < 1e6


def known_grain(grain: Grain, shape: Shape | None) -> Grain:
    """What is said of the tree, and what a described shape says of it by itself.

    Parameters
    ----------
    grain : Grain
    shape : Shape or None
        A log and a half log have their pith along x; a fork, a board and a round have their fibres along x.

    Returns
    -------
    Grain
        The user's own word stands before the shape's.
    """
    if grain.way is not None or shape is None or not isinstance(shape, Log | HalfLog | Crotch | Board | Round):
        return grain
    pith = (0.0, 0.0, 0.0) if isinstance(shape, Log | HalfLog) and grain.pith is None else grain.pith
    return Grain(way=GrainWord.X, pith=pith, sapwood=grain.sapwood)
