"""Finding a free place for lettering in a crowded drawing.

It tries places in the order they are offered and takes the first that is free; it never makes letters smaller.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from formmaker.drawing.linestyles import SMALL
from formmaker.drawing.marks import Anchor, Box, Point, Text, text_box

LINE_STEP = 1.6 * SMALL
AIR = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """Where lettering may stand.

    Parameters
    ----------
    room : Box
        It stays inside.
    lines : (n, 2) float
        Points along lines that it should not cover, close together, mm.
    barred : (n, 2) float
        Points along lines that it never covers, close together, mm.
    """

    room: Box
    lines: NDArray[np.float64]
    barred: NDArray[np.float64] = field(default_factory=lambda: np.zeros((0, 2)))


def place_label(
    words: Sequence[str], places: Iterable[Point], ground: Ground, taken: Sequence[Box]
) -> tuple[Text, ...]:
    """Letter some lines of text, one under the other, at the first place that is free.

    Parameters
    ----------
    words : sequence of str
    places : iterable of (float, float)
        Middles of the block of lettering, the best first, mm; moved sideways where they would leave the room.
    ground : Ground
    taken : sequence of Box
        Lettering that stands already, never to be covered.

    Returns
    -------
    tuple of Text
        Free of the ground's lines where any place is; else across one that is not barred; empty where every place
        is taken.
    """
    across_a_line: tuple[Text, ...] = ()
    for place in places:
        texts = tuple(_block(words, place, ground.room))
        boxes = [text_box(text) for text in texts]
        if any(not _lies_in(box, ground.room) or any(box.meets(other) for other in taken) for box in boxes):
            continue
        if any(_covers(box, ground.barred) for box in boxes):
            continue
        if not any(_covers(box, ground.lines) for box in boxes):
            return texts
        across_a_line = across_a_line or texts
    return across_a_line


def _block(words: Sequence[str], place: Point, room: Box) -> Iterable[Text]:
    top = place[1] + LINE_STEP * (len(words) - 1) / 2.0 - SMALL / 2.0
    for i, word in enumerate(words):
        half = text_box(Text(at=(0.0, 0.0), text=word)).width / 2.0
        x = min(max(place[0], room.left + half), room.right - half)
        yield Text(at=(x, top - i * LINE_STEP), text=word, anchor=Anchor.MIDDLE, backed=True)


def _lies_in(box: Box, room: Box) -> bool:
    slack = 1e-6  # a block pushed against the edge lies inside
    return (
        room.left - slack <= box.left
        and box.right <= room.right + slack
        and room.low <= box.low
        and box.high <= room.high
    )


def _covers(box: Box, lines: NDArray[np.float64]) -> bool:
    x, y = lines.T
    inside = (x > box.left - AIR) & (x < box.right + AIR) & (y > box.low - AIR) & (y < box.high + AIR)
    return bool(inside.any())
