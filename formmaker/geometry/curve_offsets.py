"""A curve's neighbour at true normal distance: the inside of a wall of given thickness.

Left of the direction of travel is the inside. One stretch between corners at a time is offset and fitted with
cubics (``offset_runs``); ``offset_above`` joins the stretches at their corners. It knows no floor and no rim.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formmaker.errors import FormError
from formmaker.geometry.curve_crossings import last_crossing
from formmaker.geometry.curve_measures import (
    crossings_at,
    length,
    lengths_to,
    nearest_parameter,
    parameters_by_length,
)
from formmaker.geometry.curves import (
    Curve,
    arc_about,
    bends_on,
    corner_joints,
    joined,
    part_of,
    points_on,
    slopes_on,
)
from formmaker.tolerances import DEFAULT, Tolerances

Floats = NDArray[np.float64]

_SAMPLES = 48
"""Places a piece is looked at for bends tighter than the wall; between two the place is closed in by halving."""

_LEAST_ROOM = 1e-3
"""An offset that has shrunk to a thousandth of its curve's length has run into a point: no tool cuts that."""

_LEAST_SPAN = 1e-7
"""Spans of the parameter are not halved below this."""

_SLIP_SHARE = 5e-3
"""Weight of a slip along the offset against a gap across it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallLaw:
    """Thickness by the fraction of a curve's length.

    Parameters
    ----------
    rows : (k, 2) float
        Fraction from 0 to 1, rising, and thickness there, mm; linear between, level beyond the first and last row.
    """

    rows: Floats

    def __post_init__(self) -> None:
        array = np.array(self.rows, dtype=np.float64).reshape(-1, 2)
        array.flags.writeable = False
        object.__setattr__(self, "rows", array)

    def thickness(self, fractions: ArrayLike) -> Floats:
        """Thickness (...,) at fractions (...,), mm."""
        return np.asarray(np.interp(np.asarray(fractions, dtype=np.float64), self.rows[:, 0], self.rows[:, 1]))

    def taper(self, fractions: ArrayLike) -> Floats:
        """Change of thickness by fraction (...,), mm; at a row that of the stretch above it."""
        steps = np.diff(self.rows, axis=0)
        slopes = np.concatenate([[0.0], steps[:, 1] / steps[:, 0], [0.0]])
        return np.asarray(slopes[np.searchsorted(self.rows[:, 0], fractions, side="right")])


@dataclass(frozen=True, slots=True, kw_only=True)
class TightBend:
    """Where a curve bends inward more tightly than its wall allows: radius of the bend, wall, place, mm."""

    bend: float
    wall: float
    radius: float
    height: float

    @property
    def error(self) -> FormError:
        """The refusal that says so."""
        return FormError(
            f"outer curve bends to a radius of {self.bend:.1f} mm at height {self.height:.1f} mm, tighter than the "
            f"wall of {self.wall:.1f} mm; soften the curve there or thin the wall",
            radius=self.radius,
            height=self.height,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetRun:
    """Offset of one stretch between corners.

    Parameters
    ----------
    low, high : float
        Parameters of the original curve between which the offset stands.
    curve : Curve or None
        The offset; None where the whole stretch is too tight.
    tight : TightBend or None
        Why the offset does not reach the start of its stretch.
    """

    low: float
    high: float
    curve: Curve | None
    tight: TightBend | None


def offset_runs(curve: Curve, law: WallLaw, *, tolerances: Tolerances = DEFAULT) -> list[OffsetRun]:
    """Offset every stretch between corners to the left.

    Parameters
    ----------
    curve : Curve
    law : WallLaw
        Fractions are of the length of the whole curve.
    tolerances : Tolerances
        ``fit`` bounds the distance of the fitted cubics from the exact offset.

    Returns
    -------
    list of OffsetRun
        From start to end; each as far down from its end as the curve bends more gently than the wall is thick.

    Notes
    -----
    The offset Q = P + d N has the derivative (1 - k d) P' + d' N (k the curvature, positive where the curve turns
    left, d' the taper by the parameter). Each fitted cubic meets Q and Q' at both its ends and is halved until it
    keeps to Q at seven places between.
    """
    total = length(curve)
    breaks = [0, *corner_joints(curve, tolerances=tolerances), len(curve.pieces)]
    return [_offset_run(_Offset(curve=curve, law=law, total=total), *run, tolerances) for run in pairwise(breaks)]


def offset_above(curve: Curve, law: WallLaw, *, level: float, tolerances: Tolerances = DEFAULT) -> Curve:
    """Offset of a rising curve to the left, joined at its corners, from where it last rises through a height.

    Parameters
    ----------
    curve : Curve
        Run upward, the inside to its left.
    law : WallLaw
    level : float
        Height at which the offset may begin, mm.
    tolerances : Tolerances

    Returns
    -------
    Curve
        Begins at ``level``, or above it where the whole offset lies above.

    Raises
    ------
    FormError
        If the curve bends inward more tightly than the wall anywhere that the offset is wanted, or the whole
        offset lies below ``level``.

    Notes
    -----
    Where the curve turns left at a corner the two offsets are cut at their crossing; where it turns right they are
    joined by the arc about the corner, so that the distance stays true.
    """
    offset = _Offset(curve=curve, law=law, total=length(curve))
    *lower, top = offset_runs(curve, law, tolerances=tolerances)
    chain = _Chain(curve=top.curve, tight=top.tight, whole=top.tight is None)
    for run in reversed(lower):
        chain = _lengthened(chain, run, offset, level)
    return _cut_at(chain, level)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Offset:
    """The exact offset of a curve, as a function of the curve's parameter."""

    curve: Curve
    law: WallLaw
    total: float

    def fractions(self, t: Floats) -> Floats:
        return lengths_to(self.curve, t) / self.total

    def sides(self, t: Floats) -> Floats:
        return _left(slopes_on(self.curve, t))

    def bend(self, t: Floats) -> Floats:
        """Curvature, positive where the curve turns left, 1/mm."""
        slope, second = slopes_on(self.curve, t), bends_on(self.curve, t)
        return np.asarray(_cross(slope, second) / np.hypot(slope[..., 0], slope[..., 1]) ** 3)

    def room(self, t: Floats) -> Floats:
        """One less wall times curvature: at 0 the offset stands still, below 0 it runs backward."""
        return np.asarray(1.0 - self.law.thickness(self.fractions(t)) * self.bend(t))

    def points(self, t: Floats) -> Floats:
        return points_on(self.curve, t) + self.law.thickness(self.fractions(t))[..., None] * self.sides(t)

    def slopes(self, t: Floats, tapers: Floats) -> Floats:
        """Derivative by the parameter; tapers are handed in, because at a row of the law there are two."""
        slope = slopes_on(self.curve, t)
        speed = np.hypot(slope[..., 0], slope[..., 1])
        return np.asarray(self.room(t)[..., None] * slope + (tapers / self.total * speed)[..., None] * _left(slope))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Chain:
    """The joined offset as far down as it has come; ``whole`` while it still begins at the last joint."""

    curve: Curve | None
    tight: TightBend | None
    whole: bool


def _cross(a: Floats, b: Floats) -> Floats:
    return np.asarray(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0])


def _left(directions: Floats) -> Floats:
    """Unit normals (..., 2) to the left of directions (..., 2)."""
    turned = np.stack([-directions[..., 1], directions[..., 0]], axis=-1)
    return np.asarray(turned / np.hypot(directions[..., 0], directions[..., 1])[..., None])


def _offset_run(offset: _Offset, low: int, high: int, tolerances: Tolerances) -> OffsetRun:
    grid = np.linspace(low, np.nextafter(high, low), _SAMPLES * (high - low) + 1)
    tight = np.flatnonzero(offset.room(grid) < _LEAST_ROOM)
    if not len(tight):
        return OffsetRun(low=low, high=high, curve=_fitted(offset, low, high, tolerances), tight=None)
    last = int(tight[-1])
    reason = _tight_bend(offset, grid[_same_stretch(tight)])
    if last == len(grid) - 1:
        return OffsetRun(low=high, high=high, curve=None, tight=reason)
    bottom = _sound_from(offset, float(grid[last]), float(grid[last + 1]))
    return OffsetRun(low=bottom, high=high, curve=_fitted(offset, bottom, high, tolerances), tight=reason)


def _same_stretch(indices: NDArray[np.intp]) -> NDArray[np.intp]:
    """The last unbroken stretch of rising indices."""
    gaps = np.flatnonzero(np.diff(indices) > 1)
    return indices[gaps[-1] + 1 :] if len(gaps) else indices


def _sound_from(offset: _Offset, tight: float, sound: float) -> float:
    for _ in range(40):
        middle = (tight + sound) / 2.0
        if offset.room(np.array(middle)) < _LEAST_ROOM:
            tight = middle
        else:
            sound = middle
    return sound


def _tight_bend(offset: _Offset, places: Floats) -> TightBend:
    bends = offset.bend(places)
    worst = int(bends.argmax())
    place = points_on(offset.curve, places[worst])
    wall = float(offset.law.thickness(offset.fractions(places[worst])))
    return TightBend(bend=float(1.0 / bends[worst]), wall=wall, radius=float(place[0]), height=float(place[1]))


def _fitted(offset: _Offset, low: float, high: float, tolerances: Tolerances) -> Curve:
    """Cubics along the exact offset between two parameters, halved until they keep to it."""
    rows = parameters_by_length(offset.curve, offset.law.rows[:, 0])
    ends = np.concatenate([np.arange(np.ceil(low), high + 1.0), rows, [low, high]])
    spans = np.array(list(pairwise(_distinct(np.sort(ends[(ends >= low) & (ends <= high)])))))
    done: list[tuple[float, Floats]] = []
    while len(spans):
        pieces = _hermite(offset, spans)
        far = _departure(offset, spans, pieces) > tolerances.fit
        far &= spans[:, 1] - spans[:, 0] > _LEAST_SPAN
        done += zip(spans[~far, 0], pieces[~far], strict=True)
        middle = spans[far].mean(axis=1)
        spans = np.column_stack([spans[far, 0], middle, middle, spans[far, 1]]).reshape(-1, 2)
    done.sort(key=lambda each: each[0])
    curve = np.stack([piece for _, piece in done])
    curve[1:, 0] = curve[:-1, 3]
    return Curve(pieces=curve)


def _distinct(values: Floats) -> Floats:
    return np.asarray(values[np.concatenate([[True], np.diff(values) > _LEAST_SPAN])])


def _places(spans: Floats, shares: Floats) -> Floats:
    """Parameters (n, k) at shares of each span, kept on the piece that the span lies on."""
    low, high = spans[:, :1], spans[:, 1:]
    return np.minimum(low + shares * (high - low), np.nextafter(np.floor((low + high) / 2.0) + 1.0, 0.0))


def _hermite(offset: _Offset, spans: Floats) -> Floats:
    """One cubic (n, 4, 2) for each span of parameters (n, 2), with the offset's points and slopes at its ends."""
    places = _places(spans, np.array([0.0, 1.0]))
    tapers = offset.law.taper(offset.fractions(spans.mean(axis=1)))
    points = offset.points(places)
    arms = offset.slopes(places, np.column_stack([tapers, tapers])) * (spans[:, 1] - spans[:, 0])[:, None, None] / 3.0
    return np.stack([points[:, 0], points[:, 0] + arms[:, 0], points[:, 1] - arms[:, 1], points[:, 1]], axis=1)


def _departure(offset: _Offset, spans: Floats, pieces: Floats) -> Floats:
    """How far each cubic (n, 4, 2) leaves the exact offset, (n,), mm: the part of the gap square to it."""
    shares = np.arange(1, 8) / 8.0
    places = _places(spans, shares)
    drawn = points_on(Curve(pieces=pieces), np.arange(len(pieces))[:, None] + shares)
    gaps = drawn - offset.points(places)
    tapers = offset.law.taper(offset.fractions(spans.mean(axis=1)))
    sides = _left(offset.slopes(places, np.broadcast_to(tapers[:, None], places.shape)))
    across = np.abs((gaps * sides).sum(axis=-1))
    along = np.abs(_cross(gaps, sides))
    # a slip along the curve is harmless until, squared, it shows across a bend: 0.01 mm on a 1 mm bend is 5e-5
    return np.asarray(np.maximum(across, along * _SLIP_SHARE).max(axis=1))


def _lengthened(chain: _Chain, run: OffsetRun, offset: _Offset, level: float) -> _Chain:
    """The chain carried down over one more stretch, where that stretch takes part in it."""
    if chain.curve is None or run.curve is None:
        return _Chain(curve=chain.curve, tight=chain.tight or run.tight, whole=False)
    before, after = slopes_on(offset.curve, [np.nextafter(run.high, 0.0), run.high])
    if float(_cross(before, after)) < 0.0 and chain.whole:
        arc = _corner_arc(points_on(offset.curve, run.high), run.curve.end, chain.curve.start)
        return _Chain(curve=joined([run.curve, arc, chain.curve]), tight=run.tight, whole=run.tight is None)
    crossing = last_crossing(chain.curve, run.curve)
    if crossing is None and _lies_in_wall(chain.curve.end, run, offset):
        return _Chain(curve=run.curve, tight=run.tight, whole=run.tight is None)
    if crossing is None or crossing.height <= level:
        # the stretch is swallowed by the wall above it, or they meet in wood that the floor keeps
        return _Chain(curve=chain.curve, tight=chain.tight, whole=False)
    kept = part_of(chain.curve, crossing.on_first, len(chain.curve.pieces))
    return _Chain(
        curve=joined([part_of(run.curve, 0.0, crossing.on_second), kept]), tight=run.tight, whole=run.tight is None
    )


def _lies_in_wall(point: Floats, run: OffsetRun, offset: _Offset) -> bool:
    """Whether a point comes nearer to a stretch of the curve than its wall: a facet at the rim, swallowed whole."""
    stretch = part_of(offset.curve, run.low, run.high)
    place = run.low + nearest_parameter(stretch, point)
    wall = float(offset.law.thickness(offset.fractions(np.array(place))))
    return bool(np.hypot(*(points_on(offset.curve, place) - point)) < wall - DEFAULT.chord)


def _corner_arc(corner: Floats, start: Floats, end: Floats) -> Curve:
    """Arc about a corner from the offset that arrives to the one that leaves, turning right."""
    first, last = start - corner, end - corner
    turn = np.arctan2(_cross(first, last), first @ last)
    angle = np.arctan2(first[1], first[0])
    return arc_about(corner, float(np.hypot(*first)), start=float(angle), end=float(angle + turn))


def _cut_at(chain: _Chain, level: float) -> Curve:
    if chain.curve is None:
        raise chain.tight.error if chain.tight else FormError("the wall leaves no inside; thin it")
    radius, height = chain.curve.end
    if not height > level:
        raise FormError(
            f"inside of the wall ends at height {height:.1f} mm, below the floor at {level:.1f} mm; thin the wall at "
            "the rim or lower the floor",
            radius=float(radius),
            height=float(height),
        )
    crossings = crossings_at(chain.curve, level)
    if len(crossings):
        return part_of(chain.curve, float(crossings[-1]), len(chain.curve.pieces))
    if chain.tight is not None:
        raise chain.tight.error
    return chain.curve
