"""One job: the blank as asked for, the bowl wished from it, and how it is held and mounted.

What a job file says, resolved to millimetres but not yet to wood: the blank is still a request (``BlankPlan``),
because a scan is read only once the file has no faults.
"""

from dataclasses import dataclass
from pathlib import Path

from formmaker.model.blank import UNKNOWN_TIMBER, BlankSource, Timber
from formmaker.model.chuck import UNKNOWN_CHUCK, Chuck
from formmaker.model.cut import BlankCut
from formmaker.model.drying import NO_WISH as DRY_NO_WISH
from formmaker.model.drying import DryWish
from formmaker.model.form import Form
from formmaker.model.grain import UNKNOWN_GRAIN, Grain
from formmaker.model.hold import Hold
from formmaker.model.lathe import UNKNOWN_LATHE, Lathe
from formmaker.model.marks import Mark
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import Shape
from formmaker.model.wish import NO_WISH, Wish
from formmaker.units import Units


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownLength:
    """A caliper distance between two marks, mm."""

    first: str
    second: str
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceRule:
    """The user's word on one face: the patch nearest to ``at`` (mm, before scaling) is ``natural`` or ``sawn``."""

    kind: str
    at: tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankPlan:
    """Where the blank comes from and what is known about it.

    Parameters
    ----------
    source : BlankSource
    path : Path or None
        The scan or the readings, already joined to the job file's folder.
    scan_unit : str
        ``mm``, ``cm``, ``m`` or ``in``; empty where the file carries its own.
    index_count : int
        Readings: positions in one turn where the table counts index positions; 0 where it has degrees.
    shape : Shape or None
    known_lengths : tuple of KnownLength
    uncertainty : float or None
        mm; None for the default of the source.
    marks : tuple of Mark
        As written in the file, before any scaling, mm.
    faces : tuple of FaceRule
    timber : Timber
    grain : Grain
        As written in the file, before any scaling.
    units : Units
        The job's own: that of the readings' plain numbers, and of what is said about the blank.
    cuts : tuple of SawCut or TurnCut
        In order, as written in the file, before any scaling.
    mounting : Mounting or None
        The job's own, before any scaling: where cut wood falls to pieces, the one at its foot stays.
    """

    source: BlankSource
    path: Path | None = None
    scan_unit: str = ""
    index_count: int = 0
    shape: Shape | None = None
    known_lengths: tuple[KnownLength, ...] = ()
    uncertainty: float | None = None
    marks: tuple[Mark, ...] = ()
    faces: tuple[FaceRule, ...] = ()
    timber: Timber = UNKNOWN_TIMBER
    grain: Grain = UNKNOWN_GRAIN
    units: Units = Units.MM
    cuts: tuple[BlankCut, ...] = ()
    mounting: Mounting | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """Everything a job file says.

    Parameters
    ----------
    title : str
    units : Units
        The unit the turner reads and writes.
    plan : BlankPlan
    mounting : Mounting
    form : Form
    hold : Hold
    skin : float
        Wood wanted outside the finished surface, for truing, mm.
    index_count : int
        Index positions of the turner's lathe, for saying angles.
    lathe : Lathe
    dry : DryWish
    chuck : Chuck
    wish : Wish
    """

    title: str
    units: Units
    plan: BlankPlan
    mounting: Mounting
    form: Form
    hold: Hold
    skin: float = 0.0
    index_count: int = 24
    lathe: Lathe = UNKNOWN_LATHE
    chuck: Chuck = UNKNOWN_CHUCK
    dry: DryWish = DRY_NO_WISH
    wish: Wish = NO_WISH
