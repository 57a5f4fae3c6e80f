"""A sheet of paper: a drawing at full size, its lettering, a title block, bars to measure the print by.

``whole`` makes a sheet as large as its drawing asks for; ``pages`` cuts one up for the paper at hand. What is drawn
is not its business.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from formmaker.drawing.lettering import DESCENT, LINE_STEP, text_width, wrap_text
from formmaker.drawing.linestyles import MIDDLE, OUTLINE, SMALL
from formmaker.drawing.marks import Box, Fill, Line, Mark, Polyline, Text, bounds, move
from formmaker.drawing.scale_bars import BAR_LENGTH, BAR_WIDTH, PRINT_NOTE, bars_across, bars_up

MARGIN = 10.0
"""Paper left round the frame: most printers leave 4 to 6 mm blank (common practice, no source)."""

PADDING = 4.0
SIDE = BAR_WIDTH + 2.0
"""Width of the strip at the left with the standing bars."""

BLOCK = BAR_WIDTH + 18.0
"""Height of the title block with the lying bars."""

WARNING = 6.0
"""Height of the cell for a warning, under the bars and their note."""

LEAST_WIDTH = 2.0 * MARGIN + SIDE + BAR_LENGTH + 46.0
LEAST_HEIGHT = 2.0 * MARGIN + BLOCK + BAR_LENGTH + 2.0 * PADDING

READING_WIDTH = 180.0
"""Lines of text are not longer than this: a longer one loses the eye on its way back."""

LEAST_COLUMN = 105.0
COLUMN_GAP = 12.0
LONGEST_TITLE = 90.0
"""A longer one is cut short in the block of the narrowest sheet, in two lines of about 52 mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Caption:
    """What is lettered beside a drawing.

    Parameters
    ----------
    title : str
        Of the job.
    name : str
        What the sheet is.
    purpose : str
        What it is for and how it is used, whole sentences; empty where the drawing says it.
    notes : tuple of str
        Figures and keys, one paragraph each.
    warning : str
        Why nobody shall cut to it, for a cell of every page's title block; short, or empty.
    """

    title: str
    name: str
    purpose: str = ""
    notes: tuple[str, ...] = ()
    warning: str = ""

    @property
    def paragraphs(self) -> tuple[str, ...]:
        """All that is not in the title block; a title too long for it too."""
        title = (self.title,) if text_width(self.title, SMALL) > LONGEST_TITLE else ()
        return tuple(text for text in (*title, self.purpose, *self.notes) if text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Marks at full size in any place, mm, and what is lettered beside them; not yet on paper.

    A dimension in it is already taken apart, so that the room of its lettering counts.
    """

    marks: tuple[Mark, ...]
    caption: Caption


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Marks on paper, from its lower left corner, mm; ``title`` and ``purpose`` are for readers of the file."""

    width: float
    height: float
    title: str
    purpose: str
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Lettering hung from (0, 0) downward: how wide and deep it is, mm."""

    marks: tuple[Mark, ...]
    width: float
    depth: float


def whole(drawing: Drawing) -> Sheet:
    """Lay a drawing out on a sheet as large as it needs: the drawing above, its text below it, the title block."""
    box = bounds(drawing.marks)
    inner = max(LEAST_WIDTH - 2.0 * MARGIN - SIDE, math.ceil(box.width) + 2.0 * PADDING)
    text = text_block(drawing.caption.paragraphs, inner - 2.0 * PADDING)
    height = max(LEAST_HEIGHT, needed_height(box, text))
    return text_below(drawing, text, width=inner + 2.0 * MARGIN + SIDE, height=height)


def needed_height(box: Box, text: Block) -> float:
    """Height of a sheet with a drawing and its text below it, mm."""
    return 2.0 * MARGIN + BLOCK + math.ceil(box.height) + math.ceil(text.depth) + 3.0 * PADDING


def text_below(drawing: Drawing, text: Block, *, width: float, height: float, of: str = "") -> Sheet:
    """A sheet with the drawing in the middle of the room above its text; ``of`` says which page and paper it is."""
    box, room = bounds(drawing.marks), drawing_room(width, height)
    floor = room.low + math.ceil(text.depth) + PADDING
    across = (room.left + room.right - box.width) / 2.0 - box.left
    up = floor + (room.high - floor - box.height) / 2.0 - box.low
    marks = [
        *(move(mark, across, up) for mark in drawing.marks),
        *(move(mark, room.left + PADDING, floor - PADDING) for mark in text.marks),
    ]
    return framed(marks, drawing.caption, width=width, height=height, of=of)


def drawing_room(width: float, height: float) -> Box:
    """The part of a sheet that is left for drawing and text, mm."""
    return Box(left=MARGIN + SIDE, low=MARGIN + BLOCK, right=width - MARGIN, high=height - MARGIN)


def framed(marks: Iterable[Mark], caption: Caption, *, width: float, height: float, of: str = "") -> Sheet:
    """A sheet of some marks with frame, title block and bars."""
    left, right, low, high = MARGIN, width - MARGIN, MARGIN, height - MARGIN
    corners = [[left, low], [right, low], [right, high], [left, high]]
    bars = right - BAR_LENGTH
    note = text_block([PRINT_NOTE], BAR_LENGTH)
    furniture = (
        Polyline(points=corners, closed=True, style=OUTLINE),  # type: ignore[arg-type]  # locked to an array
        Line(start=(left, low + BLOCK), end=(right, low + BLOCK), style=OUTLINE),
        Line(start=(left + SIDE, low + BLOCK), end=(left + SIDE, high), style=OUTLINE),
        *(move(mark, left + 1.0, low + BLOCK + PADDING) for mark in bars_up()),
        *(move(mark, bars, low + BLOCK - BAR_WIDTH - 0.5) for mark in bars_across()),
        *(move(mark, bars, low + BLOCK - BAR_WIDTH - 1.0) for mark in note.marks),
        *(move(mark, bars, low) for mark in _warning(caption.warning)),
        *(move(mark, left + PADDING, low + BLOCK) for mark in _title(caption, bars - left - PADDING - 2.0, of)),
    )
    return Sheet(width=width, height=height, title=caption.title, purpose=caption.name, marks=(*marks, *furniture))


def _warning(text: str) -> list[Mark]:
    """A cell of its own under the bars, its lower left corner near (0, 0)."""
    if not text:
        return []
    bar = np.array([[-3.5, 0.0], [-2.0, 0.0], [-2.0, WARNING], [-3.5, WARNING]])
    edge = Line(start=(-3.5, WARNING), end=(BAR_LENGTH, WARNING), style=OUTLINE)
    return [Fill(points=bar), edge, Text(at=(0.0, (WARNING - SMALL) / 2.0), text=text)]


def _title(caption: Caption, room: float, of: str) -> list[Mark]:
    """Title, name and page, hung from (0, 0) downward in the height of the block; a long title is cut short."""
    height = MIDDLE if text_width(caption.title, MIDDLE) <= room else SMALL
    lines = [
        *((line, height) for line in _cut_short(caption.title, height, room, most=1 if height == MIDDLE else 2)),
        *((line, SMALL) for line in _cut_short(caption.name, SMALL, room, most=2)),
        *((line, SMALL) for line in wrap_text(of, height=SMALL, width=room) if line),
    ]
    marks: list[Mark] = []
    down = 2.0
    for line, size in lines:
        marks.append(Text(at=(0.0, -down - size), text=line, height=size))
        down += 1.55 * size
    return marks


def _cut_short(text: str, height: float, room: float, *, most: int) -> list[str]:
    lines = list(wrap_text(text, height=height, width=room))
    if len(lines) <= most:
        return lines
    last = lines[most - 1]
    while text_width(f"{last}…", height) > room:
        last = last[:-1]
    return [*lines[: most - 1], f"{last.rstrip()}…"]


def text_block(paragraphs: Sequence[str], width: float) -> Block:
    """Paragraphs in as many columns as there is width for, filled in order; lines stay short enough to be read.

    Parameters
    ----------
    paragraphs : sequence of str
    width : float
        mm.

    Returns
    -------
    Block
    """
    count = max(1, min(len(paragraphs), int((width + COLUMN_GAP) // (LEAST_COLUMN + COLUMN_GAP))))
    column = min(READING_WIDTH, (width - (count - 1) * COLUMN_GAP) / count)
    written = [_paragraph(text, column) for text in paragraphs]
    share = sum(depth for _, depth in written) / count
    marks: list[Mark] = []
    depths = [0.0]
    for paragraph, depth in written:
        if len(depths) < count and depths[-1] > 0.0 and depths[-1] + depth / 2.0 > share:
            depths.append(0.0)
        left = (len(depths) - 1) * (column + COLUMN_GAP)
        marks.extend(move(mark, left, -depths[-1]) for mark in paragraph)
        depths[-1] += depth
    used = len(depths) * (column + COLUMN_GAP) - COLUMN_GAP
    return Block(marks=tuple(marks), width=used, depth=max(depths))


def _paragraph(text: str, width: float) -> tuple[list[Mark], float]:
    lines = wrap_text(text, height=SMALL, width=width)
    step = LINE_STEP * SMALL
    marks: list[Mark] = [Text(at=(0.0, -SMALL - i * step), text=line) for i, line in enumerate(lines)]
    return marks, (len(lines) - 1) * step + SMALL + DESCENT * SMALL + 2.0


def caption_width(text: str) -> float:
    """Room that a short label at the small lettering height asks for, mm, a little air included."""
    return text_width(text, SMALL) + 2.0
