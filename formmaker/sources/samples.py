"""The demo's own wood, all of it invented: a hedge-elm burr as a phone would scan it, and three job files.

Deterministic: the same generator gives the same burr to the last bit. No file of a user is read here.
"""

from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formmaker.atomic import write_atomically
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.noise import layered_noise, noise_lattice, smooth_noise

SAMPLES = ("hedge-elm burr", "plum half log", "sycamore plank round")
SCAN_NAME = "hedge-elm-burr.ply"
SEED = 1887

_RINGS = 71
"""Rings of points from the middle of a disc to its edge: two discs of 6 n^2 triangles make about 60 000."""

_EYE_HEIGHT = 40.0
"""The burr is drawn outward along rays from the point (0, 0, 40 mm), so no two parts of it can overlap."""


def hedge_elm_burr(random: np.random.Generator | None = None) -> Mesh:
    """Grow the burr of the demo: a knobbly cap with a wing of bark, sawn off its tree, with colours.

    Parameters
    ----------
    random : Generator, optional
        Where the knobs come from; the demo's own seed without it.

    Returns
    -------
    Mesh
        About 330 x 290 x 170 mm, 60 492 triangles, closed; blank frame with z up and the sawn face near z = 0.
    """
    random = np.random.default_rng(SEED) if random is None else random
    ring, turn, faces = _disc(_RINGS)
    burr = _Burr(random)
    edge = burr.edge_polar(turn)
    dome = burr.skin(ring * edge, turn)
    flat = _flat(ring, turn, np.linalg.norm(dome[-6 * _RINGS :, :2], axis=1))
    under = np.column_stack([flat, burr.saw_marks(flat)])
    inner = ring < 1.0 - 1e-9
    vertices, joined = _glue(dome, under, faces, inner)
    bark = np.arange(len(vertices)) < len(dome)
    return Mesh(vertices=vertices, faces=joined.astype(np.int32), colours=burr.colours(vertices, bark))


def write_sample_scan(path: Path) -> None:
    """Write the burr as a scanner's program would: binary PLY, millimetres, a colour for every vertex.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    mesh = hedge_elm_burr()
    points = np.zeros(len(mesh.vertices), dtype=[("place", "<f4", 3), ("colour", "u1", 3)])
    points["place"], points["colour"] = mesh.vertices, mesh.colours
    faces = np.zeros(len(mesh.faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    faces["count"], faces["corners"] = 3, mesh.faces
    header = [
        "ply",
        "format binary_little_endian 1.0",
        "comment invented wood of the demo, millimetres",
        f"element vertex {len(points)}",
        *[f"property float {name}" for name in "xyz"],
        *[f"property uchar {name}" for name in ("red", "green", "blue")],
        f"element face {len(faces)}",
        "property list uchar int vertex_indices",
        "end_header",
    ]
    write_atomically(path, "\n".join(header).encode() + b"\n" + points.tobytes() + faces.tobytes())


def sample_job(name: str) -> str:
    """Job file of a sample, TOML; the burr's names its scan ``SCAN_NAME``, beside the job.

    Parameters
    ----------
    name : str
        One of ``SAMPLES``.

    Raises
    ------
    KeyError
        If there is no such sample.

    Examples
    --------
    >>> sample_job("plum half log").splitlines()[1]
    'title = "Plum half log"'
    """
    if name not in SAMPLES:
        raise KeyError(name)
    folder = resources.files("formmaker.sources") / "sample_jobs"
    return (folder / f"{name.replace(' ', '-')}.toml").read_text(encoding="utf-8")


class _Burr:
    """The random fields of one burr, and its skin as a radius along every ray."""

    def __init__(self, random: np.random.Generator) -> None:
        self.lattice = noise_lattice(random)
        self.knobs = _directions(random, 300)
        self.knob_width = random.uniform(0.045, 0.16, len(self.knobs))
        self.knob_rise = self.knob_width * random.uniform(45.0, 95.0, len(self.knobs))
        self.lobes = _directions(random, 13)

    def edge_polar(self, turn: NDArray[np.float64]) -> NDArray[np.float64]:
        """Polar angle at which each ray direction meets the sawn plane, found by repeated substitution.

        Solved at the points of the edge and read between them: only the edge itself has to lie in the plane.
        """
        around = np.arange(6 * _RINGS) * (2.0 * np.pi / (6 * _RINGS))
        polar = np.full(around.shape, np.radians(105.0), dtype=np.float64)
        for _ in range(40):
            reach = np.linalg.norm(self.skin(polar, around)[:, :2], axis=1)
            polar = np.asarray(0.5 * polar + 0.5 * (np.pi - np.arctan2(reach, _EYE_HEIGHT)), dtype=np.float64)
        return np.asarray(np.interp(turn, around, polar, period=2.0 * np.pi))

    def skin(self, polar: NDArray[np.float64], turn: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
        """Points of the bark, (n, 3), mm."""
        rays = _rays(polar, turn)
        return np.asarray(self.reach(rays, turn)[:, None] * rays + np.array([0.0, 0.0, _EYE_HEIGHT]))

    def reach(self, rays: NDArray[np.float64], turn: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
        """Distance from the eye to the bark along each ray, mm."""
        round_cap = 1.0 / np.sqrt((rays[:, 0] / 139.0) ** 2 + (rays[:, 1] / 135.0) ** 2 + (rays[:, 2] / 119.0) ** 2)
        aside = np.angle(np.exp(1j * (turn - np.radians(28.0))))
        wing = 44.0 * np.exp(-((aside / 0.42) ** 2) - ((rays[:, 2] - 0.12) / 0.42) ** 2)
        lumps = 7.0 * layered_noise(self.lattice, rays * 130.0, grain=85.0, layers=2)
        rough = 1.1 * layered_noise(self.lattice, rays * 130.0 + 400.0, grain=9.0, layers=3)
        return np.asarray(round_cap + wing + lumps + rough + self._knobs(rays) - self._folds(rays))

    def _knobs(self, rays: NDArray[np.float64]) -> NDArray[np.float64]:
        angle = np.arccos(np.clip(rays @ self.knobs.T, -1.0, 1.0))
        part = np.clip(angle / self.knob_width, 0.0, 1.0)
        heights = self.knob_rise * (1.0 - part**2) ** 2
        # a soft maximum of order 4: knobs that meet keep a crease between them
        return np.asarray((heights**4).sum(axis=1) ** 0.25)

    def _folds(self, rays: NDArray[np.float64]) -> NDArray[np.float64]:
        bend = 0.22 * np.column_stack(
            [
                layered_noise(self.lattice, rays * 130.0 + shift, grain=55.0, layers=2)
                for shift in (90.0, 170.0, 260.0)
            ]
        )
        angle = np.sort(np.arccos(np.clip((rays + bend) @ self.lobes.T, -1.0, 1.0)), axis=1)
        deep = 5.5 + 5.0 * smooth_noise(self.lattice, rays * 3.0 + 5.0)
        return np.asarray(deep * np.exp(-(((angle[:, 1] - angle[:, 0]) / 0.10) ** 2)))

    def saw_marks(self, flat: NDArray[np.float64]) -> NDArray[np.float64]:
        """Height of the sawn face, mm: a chainsaw's faint ridges, fading out where the bark begins."""
        ridges = 0.16 * np.sin((flat[:, 0] * 0.8 + flat[:, 1] * 0.6) / 3.1)
        places = np.column_stack([flat, np.zeros(len(flat))])
        return ridges + 0.25 * layered_noise(self.lattice, places + 37.0, grain=90.0, layers=2)

    def colours(self, points: NDArray[np.float64], bark: NDArray[np.bool_]) -> NDArray[np.uint8]:
        """Colour of every vertex, (n, 3): bark with moss, sawn wood with the eyes of the burr."""
        return np.where(bark[:, None], self._bark_colour(points), self._sawn_colour(points)).round().astype(np.uint8)

    def _bark_colour(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        rays = points - np.array([0.0, 0.0, _EYE_HEIGHT])
        rays = rays / np.linalg.norm(rays, axis=1, keepdims=True)
        rise = self._knobs(rays) / 6.0 - self._folds(rays) / 7.0
        light = 0.55 + 0.26 * rise + 0.16 * layered_noise(self.lattice, points, grain=14.0, layers=4)
        base = _blend((70, 52, 40), (200, 170, 136), light)
        grey = np.clip(0.9 * layered_noise(self.lattice, points + 51.0, grain=60.0, layers=2) + 0.1, 0.0, 0.55)
        base = _mix(base, np.array([146.0, 144.0, 136.0]), grey * light.clip(0.2, 1.0))
        damp = (
            layered_noise(self.lattice, points + 13.0, grain=48.0, layers=4) + 0.75 * rays[:, 1] + 0.35 * rays[:, 2]
        )
        moss = np.clip((damp - 0.72) * 2.2, 0.0, 0.85) * (0.55 + 0.45 * np.clip(light, 0.0, 1.0))
        return _mix(base, np.array([104.0, 118.0, 58.0]), moss)

    def _sawn_colour(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        swirl = layered_noise(self.lattice, points * np.array([1.0, 1.0, 0.0]) + 71.0, grain=42.0, layers=3)
        return _blend((176, 132, 86), (226, 194, 148), 0.5 + 0.32 * np.sin(9.0 * swirl) + 0.25 * swirl)


def _directions(random: np.random.Generator, count: int) -> NDArray[np.float64]:
    """Directions over the upper part of the ball, evenly drawn, (count, 3)."""
    height = random.uniform(-0.3, 1.0, count)
    turn = random.uniform(0.0, 2.0 * np.pi, count)
    wide = np.sqrt(1.0 - height**2)
    return np.column_stack([wide * np.cos(turn), wide * np.sin(turn), height])


def _rays(polar: NDArray[np.float64], turn: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
    wide = np.sin(polar)
    return np.column_stack([wide * np.cos(turn), wide * np.sin(turn), np.cos(polar)])


def _disc(rings: int) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    """A disc of even triangles: share of the radius and angle of each point, and the faces seen from above."""
    ring = np.concatenate([[0], *[np.full(6 * k, k) for k in range(1, rings + 1)]])
    turn = np.concatenate([[0.0], *[np.arange(6 * k) * (2.0 * np.pi / (6 * k)) for k in range(1, rings + 1)]])
    faces = np.concatenate([_ring_faces(k) for k in range(1, rings + 1)])
    return ring / rings, turn, faces


def _ring_faces(k: int) -> NDArray[np.int64]:
    """Triangles between ring k - 1 (6k - 6 points) and ring k (6k points)."""
    start, before = 1 + 3 * k * (k - 1), 1 + 3 * (k - 1) * (k - 2) if k > 1 else 0
    side, step = np.divmod(np.arange(6 * k), k)
    outer = start + np.arange(6 * k)
    after = start + (np.arange(6 * k) + 1) % (6 * k)
    wide = max(6 * (k - 1), 1)
    inner = before + (side * (k - 1) + step) % wide
    outward = np.column_stack([outer, after, inner])
    has_inward = step < k - 1
    inward = np.column_stack([inner, after, before + (side * (k - 1) + step + 1) % wide])[has_inward]
    return np.concatenate([outward, inward])


def _flat(ring: NDArray[np.float64], turn: NDArray[np.float64], edge: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points of the sawn face, (n, 2): rings that turn from an even outline in the middle to the edge's own."""
    waves = np.fft.rfft(edge)
    waves[6:] = 0.0
    even = np.fft.irfft(waves, len(edge))
    around = np.arange(len(edge)) * (2.0 * np.pi / len(edge))
    own = ring**6
    reach = ring * (
        (1.0 - own) * np.interp(turn, around, even, period=2.0 * np.pi)
        + own * np.interp(turn, around, edge, period=2.0 * np.pi)
    )
    return np.column_stack([reach * np.cos(turn), reach * np.sin(turn)])


def _glue(
    dome: NDArray[np.float64], under: NDArray[np.float64], faces: NDArray[np.int64], inner: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Join two discs at their edge: the second keeps its inner points and is wound the other way."""
    number = np.arange(len(dome))
    number[inner] = len(dome) + np.arange(int(inner.sum()))
    return np.concatenate([dome, under[inner]]), np.concatenate([faces, number[faces[:, ::-1]]])


def _blend(dark: tuple[int, int, int], pale: tuple[int, int, int], share: NDArray[np.float64]) -> NDArray[np.float64]:
    part = np.clip(share, 0.0, 1.0)[:, None]
    return np.asarray(np.array(dark) * (1.0 - part) + np.array(pale) * part)


def _mix(base: NDArray[np.float64], tint: NDArray[np.float64], share: NDArray[np.float64]) -> NDArray[np.float64]:
    part = np.clip(share, 0.0, 1.0)[:, None]
    return np.asarray(base * (1.0 - part) + tint * part)
