"""Which form the wood offers: each form at the largest size that comes out on one axis."""

from dataclasses import dataclass
from enum import StrEnum

from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold
from formmaker.model.mounting import Mounting
from formmaker.model.verdict import Verdict

OWN = "own"
"""The name by which the job's own form is asked for."""


class Aim(StrEnum):
    """What a size is the largest of."""

    WIDEST = "widest"
    FULLEST = "fullest"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Offer:
    """A form at a size that comes out.

    Parameters
    ----------
    form : Form
    hold : Hold
        The job's, made narrower where the foot is too narrow for it.
    verdict : Verdict
        FITS.
    across : float
        Greatest diameter of what comes out, mm; of a natural edge the form's own may lie above the rim, in air.
    whole : float
        Wood inside the outer curve, bowl and hollow together, mm3.
    holds : float
        Volume of the hollow up to the lowest place of the rim, mm3.
    """

    form: Form
    hold: Hold
    verdict: Verdict
    across: float
    whole: float
    holds: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NearMiss:
    """No size was found; the one that came nearest.

    Parameters
    ----------
    diameter, height : float
        mm.
    verdict : Verdict or None
        Not FITS; None where the form cannot be drawn in this size.
    problem : str
        Why it cannot be drawn, a clause; empty where there is a verdict.
    all_ruled_out : bool
        Whether every size is known not to come out; else strides may have passed over one that does.
    """

    diameter: float
    height: float
    verdict: Verdict | None = None
    problem: str = ""
    all_ruled_out: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suiting:
    """What one form would give.

    Parameters
    ----------
    name : str
        Of the profile; the job's own form may have none.
    is_own : bool
    proportion : float
        Height over diameter as the form was drawn.
    widest : Offer or NearMiss
        Largest diameter, height in proportion.
    fullest : Offer or NearMiss
        Most wood inside the outer curve, height free within ``Suit.stretch`` of the proportion.
    """

    name: str
    is_own: bool
    proportion: float
    widest: Offer | NearMiss
    fullest: Offer | NearMiss

    def at(self, aim: Aim) -> Offer | NearMiss:
        """The answer for one aim."""
        return self.widest if aim is Aim.WIDEST else self.fullest


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Suit:
    """Forms fitted to one blank on one mounting.

    Parameters
    ----------
    mounting : Mounting
        Blank frame, mm.
    edge : Edge
    low_share : float
        Natural edge: lowest rim accepted, as a share of the height; 1 for a turned edge.
    stretch : float
        Proportions tried run from a form's own divided by this to its own times this.
    smallest, most : float
        Diameters between which sizes were tried, mm: no form is drawn wider than the wood reaches across the axis.
    present : Verdict
        On the job's own form at the job's own size.
    forms : tuple of Suiting
        The job's own first, then in the order they were given.
    """

    mounting: Mounting
    edge: Edge
    low_share: float
    stretch: float
    smallest: float
    most: float
    present: Verdict
    forms: tuple[Suiting, ...]
