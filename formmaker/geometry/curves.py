"""Plane curves as chains of cubic pieces: the one currency from handles to solids and drawings.

A cubic piece is carried unchanged into the solid kernel and into an SVG path, so what is checked, cut and drawn
is one and the same curve. Lengths, radii and volumes are in ``curve_measures``, walls in ``curve_offsets``.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline

from formmaker.errors import FormError
from formmaker.tolerances import DEFAULT, Tolerances

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curve:
    """A chain of cubic Bezier pieces in the half plane of radius and height.

    The parameter of a curve runs from 0 to the number of pieces; its whole part counts the pieces.

    Parameters
    ----------
    pieces : (n, 4, 2) float
        Control points (radius, height) of each piece, mm; each piece starts where the one before ends.
    """

    pieces: Floats

    def __post_init__(self) -> None:
        array = np.array(self.pieces, dtype=np.float64).reshape(-1, 4, 2)
        array.flags.writeable = False
        object.__setattr__(self, "pieces", array)

    @property
    def start(self) -> Floats:
        """First point, (2,), mm."""
        return np.asarray(self.pieces[0, 0])

    @property
    def end(self) -> Floats:
        """Last point, (2,), mm."""
        return np.asarray(self.pieces[-1, 3])


def curve_through(points: Floats, corners: NDArray[np.bool_]) -> Curve:
    """Fair curve through handles, as exact cubic pieces.

    Parameters
    ----------
    points : (n, 2) float
        Radius and height of each handle in order, mm; at least two, neighbours apart.
    corners : (n,) bool
        True where the curve may turn sharply; both ends count as corners.

    Returns
    -------
    Curve
        One piece between each two handles; straight where a stretch between corners has only its two ends.

    Raises
    ------
    FormError
        If two neighbouring handles are the same point.

    Notes
    -----
    Between corners it is the C2 cubic spline over the length of the chords, the small-deflection form of the
    batten that a draughtsman bends round pins. At its ends it follows the circle through the nearest three
    handles: a batten's free ends would go straight and flatten foot and rim. On handles 18 degrees apart on a
    circle it keeps within 2e-4 of the radius.

    Examples
    --------
    >>> curve_through(np.array([[30.0, 0.0], [60.0, 90.0]]), np.array([True, True])).pieces[0].tolist()
    [[30.0, 0.0], [40.0, 30.0], [50.0, 60.0], [60.0, 90.0]]
    """
    points = np.asarray(points, dtype=np.float64)
    _check_apart(points)
    breaks = [0, *(np.flatnonzero(corners[1:-1]) + 1).tolist(), len(points) - 1]
    runs = [_fair_run(points[low : high + 1]) for low, high in itertools.pairwise(breaks)]
    return Curve(pieces=np.concatenate(runs))


def _check_apart(points: Floats) -> None:
    steps = np.hypot(*np.diff(points, axis=0).T)
    if not (steps > DEFAULT.same_point).all():
        r, z = points[int(steps.argmin())]
        raise FormError(
            f"two neighbouring handles are both at [{r:.6g}, {z:.6g}]; move one or take it out", radius=r, height=z
        )


def _fair_run(points: Floats) -> Floats:
    """Control points (n - 1, 4, 2) of the spline through one stretch between corners."""
    if len(points) == 2:
        return np.stack([points[0], (2 * points[0] + points[1]) / 3, (points[0] + 2 * points[1]) / 3, points[1]])[
            None
        ]
    chords = np.hypot(*np.diff(points, axis=0).T)
    knots = np.concatenate([[0.0], np.cumsum(chords)])
    ends = (_circle_start(*points[:3]), -_circle_start(*points[:-4:-1]))
    spline = CubicSpline(knots, points, bc_type=((1, ends[0]), (1, ends[1])))
    slopes = spline(knots, 1)
    thirds = chords[:, None] / 3.0
    return np.stack(
        [points[:-1], points[:-1] + slopes[:-1] * thirds, points[1:] - slopes[1:] * thirds, points[1:]], 1
    )


def _circle_start(a: Floats, b: Floats, c: Floats) -> Floats:
    """Unit direction at ``a`` of the circle (or line) through three points, going toward ``b`` first."""
    far, near = c - a, c - b
    # tangent and chord at a stand at the angle under which the chord is seen from c (Euclid, Elements III.32)
    angle = np.arctan2(far[0] * near[1] - far[1] * near[0], far @ near)
    along = (b - a) / np.hypot(*(b - a))
    cos, sin = np.cos(angle), np.sin(angle)
    return np.array([cos * along[0] + sin * along[1], cos * along[1] - sin * along[0]])


def straight_line(start: ArrayLike, end: ArrayLike) -> Curve:
    """Curve of one straight piece between two points (2,), mm."""
    a, b = np.asarray(start, dtype=np.float64), np.asarray(end, dtype=np.float64)
    return Curve(pieces=np.stack([a, (2 * a + b) / 3, (a + 2 * b) / 3, b])[None])


def arc_about(centre: ArrayLike, radius: float, *, start: float, end: float) -> Curve:
    """Arc of a circle as cubic pieces.

    Parameters
    ----------
    centre : (2,) float
        mm.
    radius : float
        mm, above 0.
    start, end : float
        Angles from the radius direction toward the height direction, radians; the arc runs from one to the other
        the way their difference says.

    Returns
    -------
    Curve
        Pieces of at most 30 degrees.

    Notes
    -----
    A cubic with control arms of 4/3 tan(angle/4) leaves the circle by 27e-5 of its radius at 90 degrees, falling
    with the sixth power of the angle: 4e-7 of it at 30 degrees.
    """
    count = max(1, int(np.ceil(abs(end - start) / np.radians(30.0))))
    angles = np.linspace(start, end, count + 1)
    arm = 4.0 / 3.0 * np.tan((end - start) / count / 4.0)
    spokes = np.column_stack([np.cos(angles), np.sin(angles)])
    along = np.column_stack([-spokes[:, 1], spokes[:, 0]]) * arm
    inner = np.stack([spokes[:-1], spokes[:-1] + along[:-1], spokes[1:] - along[1:], spokes[1:]], axis=1)
    return Curve(pieces=np.asarray(centre, dtype=np.float64) + radius * inner)


def points_on(curve: Curve, t: ArrayLike) -> Floats:
    """Points (..., 2) of a curve at parameters ``t`` (...,) from 0 to the number of pieces, mm."""
    piece, u = _split(curve, t)
    a, b, c, d = np.moveaxis(curve.pieces[piece], -2, 0)
    v = 1.0 - u
    return np.asarray(v**3 * a + 3 * v**2 * u * b + 3 * v * u**2 * c + u**3 * d)


def slopes_on(curve: Curve, t: ArrayLike) -> Floats:
    """First derivatives (..., 2) by the parameter, mm; at a joint those of the piece that begins there."""
    piece, u = _split(curve, t)
    b, c, d = np.moveaxis(3.0 * np.diff(curve.pieces[piece], axis=-2), -2, 0)
    v = 1.0 - u
    return np.asarray(v**2 * b + 2 * v * u * c + u**2 * d)


def bends_on(curve: Curve, t: ArrayLike) -> Floats:
    """Second derivatives (..., 2) by the parameter, mm; at a joint those of the piece that begins there."""
    piece, u = _split(curve, t)
    c, d = np.moveaxis(6.0 * np.diff(curve.pieces[piece], n=2, axis=-2), -2, 0)
    return np.asarray((1.0 - u) * c + u * d)


def _split(curve: Curve, t: ArrayLike) -> tuple[NDArray[np.intp], Floats]:
    """Piece (...) and place within it (..., 1) of each parameter."""
    values = np.asarray(t, dtype=np.float64)
    piece = np.clip(np.floor(values).astype(np.intp), 0, len(curve.pieces) - 1)
    return piece, (values - piece)[..., None]


def polyline(curve: Curve, *, chord: float = DEFAULT.chord) -> Floats:
    """Points along a curve, close enough together to stand for it.

    Parameters
    ----------
    curve : Curve
    chord : float
        The straight steps leave the curve by no more than this, mm.

    Returns
    -------
    (n, 2) float
        Both ends of every piece are among them, mm.
    """
    return points_on(curve, polyline_parameters(curve, chord=chord))


def polyline_parameters(curve: Curve, *, chord: float = DEFAULT.chord) -> Floats:
    """Parameters (n,) of the points of ``polyline``, rising."""
    # a chord over the step h leaves a curve by at most h^2 / 8 of its greatest second derivative
    bend = 6.0 * np.hypot(*np.moveaxis(np.diff(curve.pieces, n=2, axis=1), -1, 0)).max(axis=1)
    counts = np.maximum(1, np.ceil(np.sqrt(bend / (8.0 * chord)))).astype(int)
    steps = [i + np.arange(count) / count for i, count in enumerate(counts)]
    return np.concatenate([*steps, [float(len(counts))]])


def part_of(curve: Curve, low: float, high: float) -> Curve:
    """Stretch of a curve between two parameters, exactly.

    Parameters
    ----------
    curve : Curve
    low, high : float
        Parameters, ``low`` below ``high``.

    Returns
    -------
    Curve

    Examples
    --------
    >>> half = part_of(straight_line([0.0, 0.0], [6.0, 0.0]), 0.5, 1.0)
    >>> half.start.tolist(), half.end.tolist()
    ([3.0, 0.0], [6.0, 0.0])
    """
    count = len(curve.pieces)
    low, high = max(0.0, low), min(float(count), high)
    if not low < high:
        raise ValueError(f"part of a curve from {low} to {high}; the first must be the lower")
    first, last = int(min(np.floor(low), count - 1)), int(np.ceil(high)) - 1
    pieces = [_cut(curve.pieces[i], max(0.0, low - i), min(1.0, high - i)) for i in range(first, last + 1)]
    return Curve(pieces=np.stack(pieces))


def _cut(piece: Floats, low: float, high: float) -> Floats:
    """Control points of a cubic between two of its parameters, by polar forms."""
    corners = ((low, low, low), (low, low, high), (low, high, high), (high, high, high))
    cut = np.stack([_polar(piece, *corner) for corner in corners])
    # whole ends are kept to the last bit, so that joined pieces still meet
    cut[0] = piece[0] if low == 0.0 else cut[0]
    cut[3] = piece[3] if high == 1.0 else cut[3]
    return cut


def _polar(piece: Floats, *places: float) -> Floats:
    points = piece
    for place in places:
        points = points[:-1] * (1.0 - place) + points[1:] * place
    return np.asarray(points[0])


def joined(curves: Sequence[Curve]) -> Curve:
    """One curve of several, end to start; small gaps of rounding are closed by moving the later start.

    Raises
    ------
    ValueError
        If an end and the next start lie apart.
    """
    for one, other in itertools.pairwise(curves):
        gap = float(np.hypot(*(other.start - one.end)))
        if not gap <= 10 * DEFAULT.same_point:
            raise ValueError(f"curves {gap} mm apart cannot be joined")
    pieces = np.concatenate([curve.pieces for curve in curves])
    pieces[1:, 0] = pieces[:-1, 3]
    return Curve(pieces=pieces)


def reversed_curve(curve: Curve) -> Curve:
    """The same curve run the other way."""
    return Curve(pieces=curve.pieces[::-1, ::-1])


def corner_joints(curve: Curve, *, tolerances: Tolerances = DEFAULT) -> list[int]:
    """Joints between pieces, counted as parameters, where the direction jumps."""
    before = curve.pieces[:-1, 3] - curve.pieces[:-1, 2]
    after = curve.pieces[1:, 1] - curve.pieces[1:, 0]
    sine = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    size = np.hypot(*before.T) * np.hypot(*after.T)
    sharp = (np.abs(sine) > tolerances.same_angle * size) | ((before * after).sum(axis=1) < 0.0)
    return (np.flatnonzero(sharp) + 1).tolist()
