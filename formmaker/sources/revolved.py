"""Triangle skins swept about a line: rings of points, thinned toward the axis so that no ring is crowded.

Knows neither wood nor shapes; angles run from 0 to ``sweep``, a full turn closes on itself.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Faces = NDArray[np.int64]

LEAST_SEGMENTS = 8
"""The smallest ring about the axis still has this many segments: an apex is a rosette, not a needle."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """A skin made of rings about the z axis.

    Parameters
    ----------
    points : (n, 3) float
        mm.
    faces : (m, 3) int
        Wound so that the outside lies to the right of the way along the profile: outward for a profile that
        starts on the axis at the low end and climbs round the outside.
    first : (k,) int
        Index of the first point of every ring, which is the one at angle 0.
    last : (k,) int
        Index of its last point: at ``sweep`` for a part of a turn, the one before angle 0 for a full turn.
    """

    points: NDArray[np.float64]
    faces: Faces
    first: NDArray[np.int64]
    last: NDArray[np.int64]


def even_count(radius: float, sagitta: float, *, least: int = 64, step: int = 32) -> int:
    """Segments of a full turn whose chords leave a circle by at most ``sagitta``, rounded up to ``step``.

    Examples
    --------
    >>> even_count(100.0, 0.002)
    512
    """
    half = math.acos(max(0.0, 1.0 - sagitta / radius))
    count = max(least, math.ceil(math.pi / half)) if half > 0.0 else least
    return step * math.ceil(count / step)


def thinned_counts(radii: NDArray[np.float64], most: int) -> NDArray[np.int64]:
    """Segments for each ring, halved as the rings shrink, so that segments stay about as long; 0 on the axis.

    Parameters
    ----------
    radii : (k,) float
        mm; neighbours in the list become neighbouring rings.
    most : int
        Segments of the widest ring.

    Returns
    -------
    (k,) int
        ``most`` divided by powers of two, as far as it can be halved and not under eight; from ring to ring a count
        changes at most by a factor of two.
    """
    twos = min((most & -most).bit_length() - 1, max(0, (most // LEAST_SEGMENTS).bit_length() - 1))
    share = np.maximum(radii, 1e-12) / radii.max()
    halvings = np.clip(np.floor(np.log2(1.0 / share) + 1e-9), 0, twos).astype(np.int64)
    ring = np.flatnonzero(radii > 0.0)
    steps = halvings[ring]
    for order in (range(1, len(ring)), range(len(ring) - 2, -1, -1)):
        for i in order:
            other = i - 1 if order.step > 0 else i + 1
            steps[i] = min(steps[i], steps[other] + 1)
    counts = np.zeros(len(radii), dtype=np.int64)
    counts[ring] = most >> steps
    return counts


def revolve(profile: NDArray[np.float64], counts: NDArray[np.int64], sweep: float = 2.0 * math.pi) -> Rings:
    """Sweep a profile about the z axis.

    Parameters
    ----------
    profile : (k, 2) float
        Radius and height of every ring in order, mm; radius 0 is a single point on the axis.
    counts : (k,) int
        Segments of each ring over the whole sweep, 0 on the axis; neighbours equal or one twice the other.
    sweep : float
        Angle swept from +x toward +y, radians; a full turn closes on itself.

    Returns
    -------
    Rings
    """
    closed = sweep >= 2.0 * math.pi
    sizes = np.where(counts == 0, 1, counts if closed else counts + 1)
    first = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    points = np.concatenate([_ring(r, z, int(n), sweep, closed) for (r, z), n in zip(profile, counts, strict=True)])
    strips = [
        _strip(int(first[i]), int(counts[i]), int(first[i + 1]), int(counts[i + 1]), closed)
        for i in range(len(profile) - 1)
    ]
    return Rings(points=points, faces=np.concatenate(strips), first=first, last=first + sizes - 1)


def _ring(radius: float, height: float, count: int, sweep: float, closed: bool) -> NDArray[np.float64]:
    if count == 0:
        return np.array([[0.0, 0.0, height]])
    angles = np.linspace(0.0, sweep, count + 1)[: count if closed else count + 1]
    cosines, sines = np.cos(angles), np.sin(angles)
    if not closed:
        # The ends lie in the plane of the sweep exactly, or the flat face that meets them would not be flat.
        cosines[[0, -1]], sines[[0, -1]] = (1.0, math.cos(sweep)), (0.0, 0.0 if sweep == math.pi else math.sin(sweep))
    return np.column_stack([radius * cosines, radius * sines, np.full(len(angles), height)])


def _strip(low: int, low_count: int, high: int, high_count: int, closed: bool) -> Faces:
    """Triangles between two neighbouring rings, outward when the profile climbs."""
    if low_count == 0 or high_count == 0:
        return _fan(low, high, high_count, closed) if low_count == 0 else _fan(high, low, low_count, closed)[:, ::-1]
    if low_count < high_count:
        return _halving(high, high_count, low, closed)[:, ::-1]
    if low_count > high_count:
        return _halving(low, low_count, high, closed)
    step = np.arange(low_count)
    after = (step + 1) % low_count if closed else step + 1
    a, b, c, d = low + step, low + after, high + after, high + step
    return np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])


def _fan(apex: int, ring: int, count: int, closed: bool) -> Faces:
    step = np.arange(count)
    after = (step + 1) % count if closed else step + 1
    return np.column_stack([np.full(count, apex), ring + after, ring + step])


def _halving(fine: int, fine_count: int, coarse: int, closed: bool) -> Faces:
    count = fine_count // 2
    step = np.arange(count)
    after = (step + 1) % count if closed else step + 1
    a, b = fine + 2 * step, fine + 2 * step + 1
    c = fine + ((2 * step + 2) % fine_count if closed else 2 * step + 2)
    d, e = coarse + step, coarse + after
    return np.concatenate([np.column_stack(t) for t in ((a, b, d), (b, e, d), (b, c, e))])
