"""Papers to print on: the sheets of ISO 216, those of the United States, and rolls.

Sizes: ISO 216 (A0 to A4) and ANSI/ASME Y14.1 (letter to E), as given in handbooks; portrait, as they lie in the tray.
"""

import math
from dataclasses import dataclass

from formmaker.errors import MeasureError
from formmaker.units import MM_PER_INCH, Units, format_length, parse_length


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """A size of paper, mm; the ``height`` of a roll is infinite: it is cut where the drawing ends."""

    name: str
    width: float
    height: float


def _in_inches(name: str, width: float, height: float) -> Paper:
    return Paper(name=name, width=width * MM_PER_INCH, height=height * MM_PER_INCH)


PAPERS = {
    paper.name.lower(): paper
    for paper in (
        Paper(name="A4", width=210.0, height=297.0),
        Paper(name="A3", width=297.0, height=420.0),
        Paper(name="A2", width=420.0, height=594.0),
        Paper(name="A1", width=594.0, height=841.0),
        Paper(name="A0", width=841.0, height=1189.0),
        _in_inches("letter", 8.5, 11.0),
        _in_inches("legal", 8.5, 14.0),
        _in_inches("tabloid", 11.0, 17.0),
        _in_inches("C", 17.0, 22.0),
        _in_inches("D", 22.0, 34.0),
        _in_inches("E", 34.0, 44.0),
    )
}

ROLL = "roll:"
NARROWEST_ROLL = 200.0
WIDEST_ROLL = 2000.0


def paper_named(text: str, units: Units) -> Paper:
    """Find a paper by what a turner would write.

    Parameters
    ----------
    text : str
        ``A4``, ``letter`` and the like, capitals or not; or ``roll:WIDTH``.
    units : Units
        Of a roll's width that says none.

    Returns
    -------
    Paper

    Raises
    ------
    MeasureError
        If there is no such paper, or a roll's width cannot be read or used.

    Examples
    --------
    >>> paper_named("letter", Units.MM).height, paper_named("roll: 610 mm", Units.INCH).width
    (279.4, 610.0)
    """
    name = text.strip().lower()
    if name in PAPERS:
        return PAPERS[name]
    if not name.startswith(ROLL):
        listed = ", ".join(paper.name for paper in PAPERS.values())
        raise MeasureError(f"paper {text.strip()[:40]!r} is not known; it is one of {listed} or roll:WIDTH")
    width = parse_length(_number_or_text(name.removeprefix(ROLL)), units)
    if not NARROWEST_ROLL <= width <= WIDEST_ROLL:
        least, most = (format_length(size, units) for size in (NARROWEST_ROLL, WIDEST_ROLL))
        raise MeasureError(f"a roll {format_length(width, units)} wide; give a width from {least} to {most}")
    return Paper(name=f"roll {format_length(width, units)}", width=width, height=math.inf)


def _number_or_text(word: str) -> float | str:
    try:
        return float(word)
    except ValueError:
        return word.strip()
