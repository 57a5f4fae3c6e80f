"""A drawing on the paper at hand: on one page where there is room, else cut into pages that go together again.

The first of several pages says how: each of the others has crosses with numbers at its corners, and crosses of one
number lie on each other. Every page is drawn at full size; nothing is ever made smaller to fit.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from formmaker.drawing.linestyles import CENTRE, SMALL, THIN
from formmaker.drawing.marks import (
    Anchor,
    Arc,
    Box,
    Carriage,
    Clipped,
    CubicPath,
    Line,
    Mark,
    Polyline,
    Text,
    bounds,
    carried,
    move,
)
from formmaker.drawing.papers import Paper
from formmaker.drawing.sheet import (
    MARGIN,
    PADDING,
    Drawing,
    Sheet,
    drawing_room,
    framed,
    needed_height,
    text_below,
    text_block,
)

OVERLAP = 16.0
"""Neighbours share a band so wide: a cross in the middle of it, and room for its number."""

CROSS = 5.0
SHORTER = 24.0
"""How much shorter than the paper allows a cell may be, for better edges, mm."""

AIR = 1.0
"""Between a mark and the edge of a page, mm."""

LEAST_BESIDE = 50.0
"""Text beside a drawing is set no narrower than this."""

_GO_TOGETHER = (
    "This drawing is larger than the paper: it goes over {count} pages. Each has crosses with numbers where it meets "
    "its neighbours. Cut one of two neighbours along the chain line through its crosses, lay cross on cross of the "
    "same number, and stick them down; then measure the whole once more."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """How a drawing is cut: so many columns and rows of cells, the lower left one from ``left``, ``low``, mm."""

    left: float
    low: float
    cell: tuple[float, float]
    columns: int
    rows: int

    @property
    def names(self) -> Iterator[tuple[str, int, int]]:
        """Name, column and row of each cell, from the top row down as one reads; rows counted from below."""
        for row in reversed(range(self.rows)):
            for column in range(self.columns):
                yield f"{_letter(self.rows - 1 - row)}{column + 1}", column, row

    def cell_box(self, column: int, row: int) -> Box:
        """A cell, in the drawing's own mm."""
        left, low = self.left + column * self.cell[0], self.low + row * self.cell[1]
        return Box(left=left, low=low, right=left + self.cell[0], high=low + self.cell[1])

    def number(self, column: int, row: int) -> int:
        """Number of the cross at the lower left corner of a cell, counted from the top left one."""
        return (self.rows - row) * (self.columns + 1) + column + 1


def _letter(count: int) -> str:
    return chr(ord("A") + count % 26) * (count // 26 + 1)


def pages(drawing: Drawing, paper: Paper) -> tuple[Sheet, ...]:
    """Lay a drawing on paper.

    Parameters
    ----------
    drawing : Drawing
    paper : Paper

    Returns
    -------
    tuple of Sheet
        One page where drawing and text find room on one, upright or lying; else a page that says how the others go
        together, and as few others as the paper allows. A cell without a mark gives no page.
    """
    for width, height in _ways(paper):
        for lay in (_one_below, _one_beside):
            sheet = lay(drawing, width, height, paper.name)
            if sheet is not None:
                return (sheet,)
    grids = [(_grid(drawing, *way), way) for way in _ways(paper)]
    grid, (width, height) = min(grids, key=lambda found: found[0].columns * found[0].rows)
    return _cut_up(drawing, grid, (width, height), paper.name)


def _ways(paper: Paper) -> tuple[tuple[float, float], tuple[float, float]]:
    return (paper.width, paper.height), (paper.height, paper.width)


def _one_below(drawing: Drawing, width: float, height: float, paper: str) -> Sheet | None:
    """Drawing over text; a roll's open side is cut where they end."""
    box = bounds(drawing.marks)
    if math.isinf(width):
        width = 2.0 * MARGIN + _room_width(box)
    if _room_width(box) > width - 2.0 * MARGIN:
        return None
    text = text_block(drawing.caption.paragraphs, drawing_room(width, 0.0).width - 2.0 * PADDING)
    needed = needed_height(box, text)
    if math.isinf(height):
        height = needed
    if needed > height:
        return None
    return text_below(drawing, text, width=width, height=height, of=_said(paper, "one page"))


def _room_width(box: Box) -> float:
    strip = drawing_room(0.0, 0.0).left - MARGIN
    return max(math.ceil(box.width) + 2.0 * PADDING + strip, 180.0)


def _one_beside(drawing: Drawing, width: float, height: float, paper: str) -> Sheet | None:
    """Text to the right of the drawing, where the paper is wide but not high."""
    if math.isinf(width) or math.isinf(height):
        return None
    box, room = bounds(drawing.marks), drawing_room(width, height)
    column = room.width - box.width - 3.5 * PADDING
    if column < LEAST_BESIDE or box.height + 2.0 * PADDING > room.height:
        return None
    text = text_block(drawing.caption.paragraphs, column)
    if text.depth + 2.0 * PADDING > room.height:
        return None
    across = room.left + PADDING + (column - text.width) / 2.0 - box.left
    up = room.low + (room.height - box.height) / 2.0 - box.low
    marks = [
        *(move(mark, across, up) for mark in drawing.marks),
        *(move(mark, room.right - PADDING - text.width, room.high - PADDING) for mark in text.marks),
    ]
    return framed(marks, drawing.caption, width=width, height=height, of=_said(paper, "one page"))


def _said(paper: str, page: str) -> str:
    return f"{page}, {paper}"


def _grid(drawing: Drawing, width: float, height: float) -> Grid:
    """The fewest cells that hold a drawing, laid so that their edges cut through as little of it as can be."""
    room, box = drawing_room(width, height), bounds(drawing.marks)
    boxes = [(_weight(mark), bounds([mark])) for mark in drawing.marks]
    across = _cuts(box.left, box.right, room.width, [(weight, b.left, b.right) for weight, b in boxes])
    up = _cuts(box.low, box.high, room.height, [(weight, b.low, b.high) for weight, b in boxes])
    return Grid(left=across.start, low=up.start, cell=(across.step, up.step), columns=across.count, rows=up.count)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """Cells one way: where the first begins, how long each is, how many, mm."""

    start: float
    step: float
    count: int


def _cuts(low: float, high: float, room: float, spans: Sequence[tuple[float, float, float]]) -> Cuts:
    need = high - low + 2.0
    step = need if math.isinf(room) else room - OVERLAP
    if need <= room:  # a single cell may be filled into the band that it shares with no neighbour
        return Cuts(start=(low + high - step) / 2.0, step=step, count=1)
    count = math.ceil(need / step)
    tries = [_slid(low, need, Cuts(start=low, step=size, count=count), spans) for size in _steps(need / count, step)]
    return min(tries, key=lambda slid: slid[0])[1]


def _steps(least: float, most: float) -> Sequence[float]:
    """Lengths of cells to try, mm: the longest first, for of equals it is taken."""
    return tuple(float(step) for step in np.linspace(most, max(least, most - SHORTER), 5))


def _slid(low: float, need: float, cuts: Cuts, spans: Sequence[tuple[float, float, float]]) -> tuple[float, Cuts]:
    """Cells of one length slid to where their edges cut through least, and what they still cut through."""
    step, count = cuts.step, cuts.count
    starts = low - 1.0 - (count * step - need) * np.linspace(0.0, 1.0, 81)
    weights, lows, highs = np.array(spans).T
    edges = starts[:, None, None] + step * np.arange(1, count)[:, None]
    crossed = (lows < edges + AIR) & (edges - AIR < highs)
    torn = (lows < edges - OVERLAP / 2.0) & (edges + OVERLAP / 2.0 < highs)
    cost = (weights * (1.0 * crossed + 6.0 * torn)).sum(axis=(1, 2))
    cost += 0.5 * np.abs(np.linspace(-1.0, 1.0, len(starts)))  # of equals, the one in the middle
    best = int(np.argmin(cost))
    return float(cost[best]), replace(cuts, start=float(starts[best]))


def _weight(mark: Mark) -> float:
    """How much it matters that no edge of a page goes through a mark: a named curve most, lettering next."""
    if isinstance(mark, CubicPath):
        return 20.0
    return 8.0 if isinstance(mark, Text) else 1.0


def _cut_up(drawing: Drawing, grid: Grid, size: tuple[float, float], paper: str) -> tuple[Sheet, ...]:
    simple = [(mark, bounds([mark])) for mark in drawing.marks]
    cells = [(*place, grid.cell_box(*place[1:])) for place in grid.names]
    used = [place for place in cells if any(box.meets(place[-1]) for _, box in simple)]
    windows = [_grown(cell, OVERLAP / 2.0) for *_, cell in used]
    sheets: list[tuple[str, list[Mark], Box]] = []
    for (name, column, row, _), window in zip(used, windows, strict=True):
        seen = [found for found in simple if found[1].meets(window) and not _is_elsewhere(*found, window, windows)]
        joins = [*_corner_marks(grid, column, row)]
        marks = [*joins, Clipped(window=window, marks=tuple(_before(mark, box, joins) for mark, box in seen))]
        sheets.append((name, marks, window))
    count = len(sheets) + 1
    width, height = (
        2.0 * MARGIN + part + gap + OVERLAP if math.isinf(whole) else whole
        for whole, part, gap in zip(
            size, grid.cell, (drawing_room(0, 0).left - MARGIN, drawing_room(0, 0).low - MARGIN), strict=True
        )
    )
    first = _first_page(drawing, grid, [name for name, _, _ in sheets], (width, height), paper)
    room = drawing_room(width, height)
    others = [
        framed(
            [move(mark, room.left - window.left, room.low - window.low) for mark in marks],
            drawing.caption,
            width=width,
            height=height,
            of=_said(paper, f"page {name}, {number} of {count}" if count > 2 else "page 2 of 2"),
        )
        for number, (name, marks, window) in enumerate(sheets, start=2)
    ]
    return (first, *others)


def _is_elsewhere(mark: Mark, box: Box, window: Box, windows: Sequence[Box]) -> bool:
    """Whether a mark is lettering that is whole on another page and would be cut off on this one."""
    return isinstance(mark, Text) and not window.holds(box) and any(other.holds(box) for other in windows)


def _before(mark: Mark, box: Box, joins: Sequence[Mark]) -> Mark:
    """Lettering covers the chain line that it stands across; all else is as it was."""
    if isinstance(mark, Text) and any(box.meets(bounds([join])) for join in joins):
        return replace(mark, backed=True)
    return mark


def _grown(box: Box, by: float) -> Box:
    return Box(left=box.left - by, low=box.low - by, right=box.right + by, high=box.high + by)


def _corner_marks(grid: Grid, column: int, row: int) -> Iterable[Mark]:
    """A chain line along each edge that a cell shares, a cross and its number at each end of it."""
    cell = grid.cell_box(column, row)
    left, right = column > 0, column < grid.columns - 1
    low, high = row > 0, row < grid.rows - 1
    shared = (
        (left, (cell.left, cell.low), (cell.left, cell.high)),
        (right, (cell.right, cell.low), (cell.right, cell.high)),
        (low, (cell.left, cell.low), (cell.right, cell.low)),
        (high, (cell.left, cell.high), (cell.right, cell.high)),
    )
    for is_shared, start, end in shared:
        if is_shared:
            yield Line(start=start, end=end, style=CENTRE)
    for right_side, x, side_shared in ((0, cell.left, left), (1, cell.right, right)):
        for upper, y, end_shared in ((0, cell.low, low), (1, cell.high, high)):
            if side_shared or end_shared:
                yield from _cross(x, y, right_side, upper, grid.number(column + right_side, row + upper))


def _cross(x: float, y: float, right: int, upper: int, number: int) -> Iterable[Mark]:
    yield Line(start=(x - CROSS, y), end=(x + CROSS, y), style=THIN)
    yield Line(start=(x, y - CROSS), end=(x, y + CROSS), style=THIN)
    yield Text(
        at=(x + (0.8 if right else -0.8), y + (1.6 if upper else -1.6 - SMALL)),
        text=str(number),
        anchor=Anchor.START if right else Anchor.END,
        backed=True,
    )


def _first_page(drawing: Drawing, grid: Grid, names: list[str], size: tuple[float, float], paper: str) -> Sheet:
    room = drawing_room(*size)
    join = _GO_TOGETHER.format(count=len(names)) if len(names) > 1 else "The drawing stands on the next page."
    told = (*drawing.caption.paragraphs, join)
    text = text_block(told, room.width - 2.0 * PADDING)
    left = Box(
        left=room.left + 2.0 * PADDING,
        low=room.low + 2.0 * PADDING,
        right=room.right - 2.0 * PADDING,
        high=room.high - text.depth - 3.0 * PADDING,
    )
    marks = [move(mark, room.left + PADDING, room.high - PADDING) for mark in text.marks]
    if len(names) > 1:
        marks.extend(_small_map(drawing, grid, names, left))
    of = _said(paper, f"page 1 of {len(names) + 1}")
    return framed(marks, drawing.caption, width=size[0], height=size[1], of=of)


def _small_map(drawing: Drawing, grid: Grid, names: list[str], room: Box) -> Iterable[Mark]:
    """The whole drawing made small, its lines alone, with the cells over it and their names in them."""
    wide, high = grid.columns * grid.cell[0], grid.rows * grid.cell[1]
    scale = min(room.width / wide, room.height / high, 0.5)
    shift = (
        (room.left + room.right - scale * wide) / 2.0 - scale * grid.left,
        room.high - scale * (grid.low + high),
    )
    small = Carriage(scale=scale, shift=shift)
    for mark in drawing.marks:
        if isinstance(mark, Line | Polyline | CubicPath | Arc):
            line: Mark = replace(mark, style=THIN, id="")
            yield carried(line, small)
    for name, column, row in grid.names:
        if name in names:
            box = grid.cell_box(column, row)
            corners = [[box.left, box.low], [box.right, box.low], [box.right, box.high], [box.left, box.high]]
            yield Polyline(points=small.points(corners), closed=True, style=CENTRE)
            x, y = small.points([(box.left + box.right) / 2.0, (box.low + box.high) / 2.0])
            yield Text(at=(float(x), float(y) - SMALL / 2.0), text=name, anchor=Anchor.MIDDLE, backed=True)
