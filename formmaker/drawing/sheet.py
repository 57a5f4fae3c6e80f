"""A sheet of paper: a drawing, the block of lettering under it, bars to measure the print by.

Every sheet is as large as its drawing at full size asks for; cutting it up for smaller paper is left to the printing.
It knows nothing of what is drawn.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from formmaker.drawing.lettering import DESCENT, LINE_STEP, text_width, wrap_text
from formmaker.drawing.linestyles import LARGE, MIDDLE, OUTLINE, SMALL
from formmaker.drawing.marks import Line, Mark, Polyline, Text, bounds, move
from formmaker.units import MM_PER_INCH

MARGIN = 10.0
"""Paper left round the frame: most printers leave 4 to 6 mm blank (common practice, no source)."""

PADDING = 6.0
LEAST_WIDTH = 190.0
"""Fits A4 (210 mm) and Letter (216 mm) paper with a printer's own edge."""

READING_WIDTH = 200.0
"""Lines of text are not longer than this: a longer one loses the eye on its way back."""

BAR_ROOM = 125.0
COLUMN_GAP = 12.0
TWO_COLUMNS = BAR_ROOM + COLUMN_GAP + 115.0
THREE_COLUMNS = BAR_ROOM + 2.0 * (COLUMN_GAP + READING_WIDTH)

PRINT_NOTE = (
    "Print at 100 %, with every fitting to the page switched off; then measure the bars on the paper. "
    "By what share a bar is off, everything on the sheet is off."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Caption:
    """What is lettered under a drawing.

    Parameters
    ----------
    title : str
        Of the job.
    name : str
        What the sheet is.
    purpose : str
        What it is for and how it is used, whole sentences.
    notes : tuple of str
        Figures and keys, one paragraph each.
    """

    title: str
    name: str
    purpose: str
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Marks on paper, from its lower left corner, mm; ``title`` and ``purpose`` are for readers of the file."""

    width: float
    height: float
    title: str
    purpose: str
    marks: tuple[Mark, ...]


def compose(drawing: Sequence[Mark], caption: Caption) -> Sheet:
    """Lay a drawing and its lettering out on a sheet as large as they need.

    Parameters
    ----------
    drawing : sequence of Mark
        In any place; simple marks and hatches (a dimension already taken apart, so that its lettering counts).
    caption : Caption

    Returns
    -------
    Sheet
        The drawing in the middle above, the lettering below it, a frame round both.
    """
    box = bounds(drawing)
    inner = max(LEAST_WIDTH - 2.0 * (MARGIN + PADDING), math.ceil(box.width))
    left = MARGIN + PADDING
    block, depth = _caption_block(caption, inner)
    floor = MARGIN + 2.0 * PADDING + math.ceil(depth)
    top = floor + PADDING
    width, height = inner + 2.0 * left, top + math.ceil(box.height) + PADDING + MARGIN
    across = left + (inner - box.width) / 2.0 - box.left
    marks = [
        *_frame(width, height, floor),
        *(move(mark, across, top - box.low) for mark in drawing),
        *(move(mark, left, floor - PADDING) for mark in block),
    ]
    return Sheet(width=width, height=height, title=caption.title, purpose=caption.name, marks=tuple(marks))


def _frame(width: float, height: float, floor: float) -> tuple[Mark, ...]:
    left, right, low, high = MARGIN, width - MARGIN, MARGIN, height - MARGIN
    corners = [[left, low], [right, low], [right, high], [left, high]]
    return (
        Polyline(points=corners, closed=True, style=OUTLINE),  # type: ignore[arg-type]  # locked to an array
        Line(start=(left, floor), end=(right, floor), style=OUTLINE),
    )


def _caption_block(caption: Caption, width: float) -> tuple[list[Mark], float]:
    """The lettering, hung from (0, 0) downward, and how deep it reaches, mm."""
    beside = width >= TWO_COLUMNS
    room = min(width - BAR_ROOM - COLUMN_GAP if beside else width, READING_WIDTH)
    words: list[Mark] = []
    down = _paragraph(words, caption.title, height=LARGE, room=room, down=0.0)
    down = _paragraph(words, caption.name, height=MIDDLE, room=room, down=down)
    down = _paragraph(words, caption.purpose, height=SMALL, room=room, down=down)
    notes: list[Mark] = []
    apart = width >= THREE_COLUMNS
    note_down = 0.0 if apart else down
    for text in caption.notes:
        note_down = _paragraph(notes, text, height=SMALL, room=room, down=note_down)
    words.extend(move(mark, room + COLUMN_GAP if apart else 0.0, 0.0) for mark in notes)
    down = max(down, note_down)
    bars, bar_depth = _bars(BAR_ROOM if beside else room)
    if beside:
        words.extend(move(mark, width - BAR_ROOM, 0.0) for mark in bars)
        return words, max(down, bar_depth)
    words.extend(move(mark, 0.0, -down) for mark in bars)
    return words, down + bar_depth


def _paragraph(marks: list[Mark], text: str, *, height: float, room: float, down: float) -> float:
    for line in wrap_text(text, height=height, width=room):
        down += height
        marks.append(Text(at=(0.0, -down), text=line, height=height))
        down += (LINE_STEP - 1.0) * height
    return down + DESCENT * height + 0.6


def _bars(room: float) -> tuple[list[Mark], float]:
    marks: list[Mark] = []
    marks.extend(_bar("bar-100mm", length=100.0, step=10.0, label="100 mm", up=-6.0))
    marks.extend(_bar("bar-4in", length=4.0 * MM_PER_INCH, step=MM_PER_INCH / 2.0, label="4 in", up=-16.0))
    depth = _paragraph(marks, PRINT_NOTE, height=SMALL, room=room, down=20.0)
    return marks, depth


def _bar(name: str, *, length: float, step: float, label: str, up: float) -> list[Mark]:
    ticks = range(round(length / step) + 1)
    far = len(ticks) - 1
    marks: list[Mark] = [Line(start=(0.0, up), end=(length, up), style=OUTLINE, id=name)]
    marks.extend(
        Line(start=(tick * step, up), end=(tick * step, up + (4.0 if tick in (0, far) else 2.0))) for tick in ticks
    )
    marks.append(Text(at=(length + 3.0, up), text=label))
    return marks


def caption_width(text: str) -> float:
    """Room that a short label at the small lettering height asks for, mm, a little air included."""
    return text_width(text, SMALL) + 2.0
