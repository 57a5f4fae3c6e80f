"""What a set of sheets is drawn from, in one record, so that every sheet is asked for in the same way."""

from dataclasses import dataclass

from formmaker.engine.wood_sections import EndOutline, WoodSection
from formmaker.model.balance import Balance
from formmaker.model.job import Job
from formmaker.model.marks import Mark
from formmaker.model.move import Move
from formmaker.model.section import Section
from formmaker.model.verdict import Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class PassMark:
    """A keep mark as a strip shows it: its name, angle (radians) and height (mm), form frame."""

    name: str
    theta: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subject:
    """A job that has been checked, and all that its sheets show.

    Parameters
    ----------
    job : Job
    section : Section
    verdict : Verdict
    passes : tuple of PassMark
        Keep marks.
    axis_top : float or None
        Height at which the axis leaves the wood on the rim's side, form frame, mm; None where it is not known.
    quarters : tuple of WoodSection
        The wood at the angles that are drawn.
    witnesses : tuple of Mark
        The blank's marks, for the end sheets.
    move : Move or None
        Of the centres; one from a mounting to itself where nothing is moved.
    outline : EndOutline or None
    pencil : float
        From the edge of the inside template to the line that a pencil run along it draws, mm; 0 for none.
    balance : Balance or None
    hindrances : tuple of str
        Why the blank is not to be started on this mounting, sentences.
    holding : tuple of str
        Of the chuck, the stresses and what speaks against the holding, sentences.
    drying : str
        What drying does to the bowl, a sentence or two; empty where it is not told.
    pictures : tuple of bytes
        PNG files, for the set-up sheet; none on a machine that cannot render.
    """

    job: Job
    section: Section
    verdict: Verdict
    passes: tuple[PassMark, ...] = ()
    axis_top: float | None = None
    quarters: tuple[WoodSection, ...] = ()
    witnesses: tuple[Mark, ...] = ()
    move: Move | None = None
    outline: EndOutline | None = None
    pencil: float = 0.0
    balance: Balance | None = None
    hindrances: tuple[str, ...] = ()
    holding: tuple[str, ...] = ()
    drying: str = ""
    pictures: tuple[bytes, ...] = ()
