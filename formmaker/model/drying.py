"""What drying does to a bowl, as a record: the shrinkage reckoned with, the oval, the rough-out, the weights."""

from dataclasses import dataclass
from enum import StrEnum

from formmaker.errors import MeasureError


class GrainModel(StrEnum):
    """How the rings are taken to lie."""

    RINGED = "round about the pith"
    SIDE_GRAIN = "flat, along the rings across the bowl"
    END_GRAIN = "flat, fibres along the axis"


@dataclass(frozen=True, slots=True, kw_only=True)
class DryWish:
    """What the turner has said of drying; whatever is not said is None.

    Parameters
    ----------
    to : float or None
        Moisture wanted, % of the dry weight.
    temperature, humidity : float or None
        Of the air it is to live in: C, and a share of 1.
    skin : float or None
        Wood wanted outside every surface of the finished bowl when the dried rough-out is turned again, mm.
    radial, tangential : float or None
        Shrinkage of this wood from green to ovendry, %, where the turner knows it better than the table.
    """

    to: float | None = None
    temperature: float | None = None
    humidity: float | None = None
    skin: float | None = None
    radial: float | None = None
    tangential: float | None = None

    def __post_init__(self) -> None:
        if (self.temperature is None) != (self.humidity is None):
            raise MeasureError("a climate is both a temperature and a humidity; give the other one too, or neither")
        if self.to is not None and self.temperature is not None:
            raise MeasureError("both a moisture and a climate to dry to; leave one of the two out")
        if (self.radial is None) != (self.tangential is None):
            raise MeasureError("a shrinkage is both radial and tangential; give the other one too, or neither")


NO_WISH = DryWish()


@dataclass(frozen=True, slots=True, kw_only=True)
class Oval:
    """What becomes of a turned ring as it dries.

    Parameters
    ----------
    height : float
        Of the ring above the foot plane, form frame, mm.
    before : float
        Its diameter as turned, mm.
    longest, shortest : float
        Greatest and least width of the dried ring, mm.
    toward : float
        Angle of the longest width, radians, from 0 to pi.
    along, across : float or None
        Width along the fibres and square to them; None where the fibres run along the axis.
    level : float
        How far the dried ring is out of one level, highest to lowest, mm.
    """

    height: float
    before: float
    longest: float
    shortest: float
    toward: float
    along: float | None
    across: float | None
    level: float

    @property
    def oval(self) -> float:
        """Longest less shortest, mm."""
        return self.longest - self.shortest


@dataclass(frozen=True, slots=True, kw_only=True)
class RoughOut:
    """A bowl turned wet to be turned again when dry.

    Parameters
    ----------
    outside, inside, rim, foot : float
        What it has more than the finished bowl: square to the outer and inner curve, above the rim, below the foot
        plane, mm.
    wall : float
        Finished wall, where it is thickest, with both; mm.
    diameter, height : float
        As turned wet, mm.
    volume : float
        As turned wet, mm3.
    weight, ready : float or None
        As turned, and when it has come to the moisture wanted, kg; None where the timber is not in the table.
    oval : Oval
    """

    outside: float
    inside: float
    rim: float
    foot: float
    wall: float
    diameter: float
    height: float
    volume: float
    weight: float | None
    ready: float | None
    oval: Oval

    @property
    def share(self) -> float:
        """Wall over diameter."""
        return self.wall / self.diameter


@dataclass(frozen=True, slots=True, kw_only=True)
class Drying:
    """What to expect of a bowl on its way from one moisture to another.

    Parameters
    ----------
    timber : str
        Name in the table; empty where it is not there.
    start, end : float
        Moisture, % of the dry weight.
    is_green : bool
        True where the start is the table's mean for green wood.
    radial, tangential, along : float
        Shares of its size that the wood loses on this way.
    spread : float
        Coefficient of variation of these from piece to piece.
    source : str
        Where the shrinkage was read.
    model : GrainModel
    assumed : tuple of str
        What was not known and had to be taken for granted, sentences.
    warnings : tuple of str
    skin : float
        Wood wanted for truing, mm.
    rough : RoughOut
        The least that holds the finished bowl if the piece shrinks as its kind does.
    careful : RoughOut
        The least if it shrinks by two spreads more: about one piece in forty does.
    finished : Oval
        The finished bowl's rim, if it is turned to finish wet.
    bowl_weight, bowl_ready : float or None
        Of the finished bowl, as ``RoughOut``.
    ready_share : float
        Weight when ready over weight as turned.
    """

    timber: str
    start: float
    end: float
    is_green: bool
    radial: float
    tangential: float
    along: float
    spread: float
    source: str
    model: GrainModel
    assumed: tuple[str, ...]
    warnings: tuple[str, ...]
    skin: float
    rough: RoughOut
    careful: RoughOut
    finished: Oval
    bowl_weight: float | None
    bowl_ready: float | None
    ready_share: float

    @property
    def tenth(self) -> float:
        """Wall of the ten-percent rule (common practice), a tenth of the rough-out's diameter, mm."""
        return self.rough.diameter / 10.0
