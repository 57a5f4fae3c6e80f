"""What a search for mountings came to: the best, the proof, and the choices that a turner would weigh."""

from dataclasses import dataclass

from formmaker.model.form import Form
from formmaker.model.hold import Hold
from formmaker.model.mounting import Mounting
from formmaker.model.verdict import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptMark:
    """A mark to keep and how far from it the rim passes, mm."""

    name: str
    miss: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """A bowl on a mounting that comes out.

    Parameters
    ----------
    why : str
        Plain reason to weigh it.
    form : Form
    hold : Hold
        The job's, made narrower where the foot is too narrow for it.
    mounting : Mounting
        Blank frame, mm.
    verdict : Verdict
        FITS.
    whole : float
        Wood inside the outer curve, bowl and hollow together, mm3.
    keep : tuple of KeptMark
    unbalance : float or None
        Weight times distance from the axis, kg mm; None where the weight is not known.
    move : float
        From a centre now to that centre then, the longer of the two, mm.
    tilt : float
        From the present axis, radians.
    bound : float or None
        A diameter that no mounting with the same wishes exceeds, where one was proven, mm.
    """

    why: str
    form: Form
    hold: Hold
    mounting: Mounting
    verdict: Verdict
    whole: float
    keep: tuple[KeptMark, ...]
    unbalance: float | None
    move: float
    tilt: float
    bound: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Searched:
    """What was searched: tilt (radians) and shift (mm, None for the whole blank), boxes, seconds, stopped or done."""

    tilt: float
    shift: float | None
    boxes: int
    seconds: float
    is_stopped: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Relief:
    """A wish, by its key, and the diameter that was found without it, mm."""

    wish: str
    diameter: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Clash:
    """Wishes that cannot all be had, by their keys, and those that help when left out alone, the best first."""

    wishes: tuple[str, ...]
    reliefs: tuple[Relief, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choices:
    """The whole answer.

    Parameters
    ----------
    best : Choice or None
        None where no mounting was found on which the form comes out.
    bound : float
        A diameter that no mounting within the wishes exceeds, mm.
    gap : float
        The share by which the bound lies above the best; infinite without one.
    asked : float
        The gap that was asked for.
    searched : Searched
    choices : tuple of Choice
        The best first; none better than another in everything.
    clash : Clash or None
        Where there is no best and the job has wishes: which of them stand in each other's way.
    """

    best: Choice | None
    bound: float
    gap: float
    asked: float
    searched: Searched
    choices: tuple[Choice, ...] = ()
    clash: Clash | None = None

    @property
    def is_proven(self) -> bool:
        """Whether the gap asked for was reached."""
        return self.gap <= self.asked + 1e-9
