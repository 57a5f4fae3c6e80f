"""Line types and widths, and heights of lettering, after the standards of technical drawing.

Source: ISO 128-2 (types 01, 02, 03, 04, 07; widths in steps of root two; wide to narrow 2:1; element lengths 24 d,
18 d, 12 d, 3 d, 0.5 d at most) and ISO 3098 (heights of lettering), both from memory, not confirmed against the text.
It draws nothing itself.
"""

from dataclasses import dataclass

WIDE = 0.35
NARROW = 0.18

SMALL = 3.5
MIDDLE = 5.0
LARGE = 7.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LineStyle:
    """How a line is drawn.

    Parameters
    ----------
    number : str
        Type and kind as the standard counts them: ``01.2`` is continuous wide, ``01.1`` continuous narrow.
    width : float
        mm.
    elements : tuple of float
        Lengths drawn and left out in turn, mm; empty for a continuous line.
    """

    number: str
    width: float
    elements: tuple[float, ...] = ()


def _broken(number: str, width: float, *elements: float) -> LineStyle:
    return LineStyle(number=number, width=width, elements=tuple(round(size * width, 6) for size in elements))


OUTLINE = LineStyle(number="01.2", width=WIDE)
THIN = LineStyle(number="01.1", width=NARROW)
HIDDEN = _broken("02.1", NARROW, 12, 3)
SAWN = _broken("03.2", WIDE, 12, 18)
CENTRE = _broken("04.1", NARROW, 24, 3, 0.5, 3)
ZONE = _broken("04.2", WIDE, 24, 3, 0.5, 3)
GRID = _broken("07.1", NARROW, 0.5, 3)
GHOST = _broken("07.2", WIDE, 0.5, 3)
