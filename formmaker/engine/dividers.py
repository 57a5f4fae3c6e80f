"""A place on the skin from two marks: settings of dividers, and which crossing of the two arcs it is.

Dividers span straight through the air, so a setting is the straight distance, whatever the skin does between.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.geometry.nearest import SkinTree, signed_distance
from formmaker.model.marks import Mark
from formmaker.model.move import Divider, DividerPair, WhichCrossing

Point = NDArray[np.float64]

NEAREST, FARTHEST = 10.0, 400.0
"""mm. Closer, the leg of the dividers hides the place; farther takes a beam that few have (common practice)."""

MOST_BLUR = 3.0
"""mm of the crossing for each mm of the settings: arcs that cross at less than 27 degrees, 1 - cos 27 = 1/9, are not
used."""

_STEPS = 2880  # round the circle in which the two balls meet: an eighth of a degree, 0.4 mm at 200 mm
_HALVINGS = 40
_CLEARLY = 1.5  # times as far from the old centre: told apart at a glance
_SAME = 0.05  # mm; the place itself, found again


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pair:
    first: Mark
    second: Mark
    blur: float


def usable_marks(marks: Sequence[Mark], place: Point) -> tuple[Mark, ...]:
    """Marks that dividers reach the place from."""
    return tuple(mark for mark in marks if NEAREST <= np.linalg.norm(mark.at - place) <= FARTHEST)


def divider_pair(
    marks: Sequence[Mark], place: Point, old: Point, tree: SkinTree, form_from_blank: Frame
) -> DividerPair | None:
    """Choose the two marks whose arcs cross best at a place.

    Parameters
    ----------
    marks : sequence of Mark
        Usable ones.
    place : (3,) float
        The new centre, on the skin, blank frame, mm.
    old : (3,) float
        The old centre.
    tree : SkinTree
        Of the blank.
    form_from_blank : Frame
        Of the old mounting, for directions.

    Returns
    -------
    DividerPair or None
        None where no two of them cross well enough.
    """
    axis = form_from_blank.rotation[2]
    pairs = [_Pair(first=a, second=b, blur=_blur(a, b, place, axis)) for a, b in itertools.combinations(marks, 2)]
    best = min(pairs, key=lambda pair: pair.blur, default=None)
    if best is None or not best.blur <= MOST_BLUR:
        return None
    middle, others = _other_crossings(best, place, tree)
    settings = (_setting(best.first, place), _setting(best.second, place))
    side = form_from_blank.turn(place - middle)
    return DividerPair(
        settings=settings,
        crossing=_which(place, old, others),
        side=math.atan2(side[1], side[0]) % (2.0 * math.pi),
        blur=best.blur,
    )


def _setting(mark: Mark, place: Point) -> Divider:
    return Divider(mark=mark.name, radius=float(np.linalg.norm(place - mark.at)))


def _blur(first: Mark, second: Mark, place: Point, axis: Point) -> float:
    """Largest shift of the crossing on a skin square to the axis for settings off by 1."""
    rows = np.array([place - first.at, place - second.at])
    rows = rows / np.linalg.norm(rows, axis=1, keepdims=True)
    flat = rows - np.outer(rows @ axis, axis)  # only the part in the skin moves the crossing
    least = float(np.linalg.svd(flat, compute_uv=False)[1])
    return 1.0 / least if least > 0.0 else math.inf


def _other_crossings(pair: _Pair, place: Point, tree: SkinTree) -> tuple[Point, NDArray[np.float64]]:
    """Middle of the circle in which the balls about two marks meet, and where else it crosses the skin, (k, 3)."""
    first, second = pair.first.at, pair.second.at
    line = (second - first) / np.linalg.norm(second - first)
    middle = first + line * float((place - first) @ line)
    out = place - middle
    turned = np.cross(line, out)

    def point(angle: NDArray[np.floating]) -> NDArray[np.float64]:
        return np.asarray(middle + np.outer(np.cos(angle), out) + np.outer(np.sin(angle), turned))

    def depth(angle: NDArray[np.floating]) -> NDArray[np.float64]:
        return signed_distance(tree, point(angle)).distance

    angles = (np.arange(_STEPS + 1) + 0.5) * (2.0 * np.pi / _STEPS)
    inside = depth(angles) > 0.0
    change = np.flatnonzero(inside[1:] != inside[:-1])
    low, high, start = angles[change], angles[change + 1], inside[change]
    for _ in range(_HALVINGS):
        half = (low + high) / 2.0
        same = (depth(half) > 0.0) == start
        low, high = np.where(same, half, low), np.where(same, high, half)
    found = point((low + high) / 2.0)
    return middle, found[np.linalg.norm(found - place, axis=1) > _SAME]


def _which(place: Point, old: Point, others: NDArray[np.float64]) -> WhichCrossing:
    if not len(others):
        return WhichCrossing.ONLY
    mine, theirs = float(np.linalg.norm(place - old)), np.linalg.norm(others - old, axis=1)
    if mine * _CLEARLY < theirs.min():
        return WhichCrossing.NEARER
    if mine > _CLEARLY * theirs.max():
        return WhichCrossing.FARTHER
    return WhichCrossing.SIDE
