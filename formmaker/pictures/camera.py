"""Where the eye stands and where a point of the scene falls on the picture: plain projective geometry."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

ELEVATION = np.radians(33.0)
VIEW_ANGLE = np.radians(24.0)
"""Angle of the picture's height seen from the eye: a long lens, so that the bowl keeps its shape."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """An eye, what it looks at, and the picture's size; up is +z of the scene.

    Parameters
    ----------
    eye, focus : (3,) float
        Scene frame, mm.
    size : tuple of int
        Width and height of the picture, pixels.
    """

    eye: NDArray[np.float64]
    focus: NDArray[np.float64]
    size: tuple[int, int]

    @property
    def axes(self) -> NDArray[np.float64]:
        """Rows: right, up, and toward the scene, unit length, (3, 3)."""
        ahead = (self.focus - self.eye) / np.linalg.norm(self.focus - self.eye)
        right = np.cross(ahead, np.array([0.0, 0.0, 1.0]))
        right /= np.linalg.norm(right)
        return np.stack([right, np.cross(right, ahead), ahead])

    def project(self, points: NDArray[np.float64]) -> NDArray[np.float64]:
        """Column, row (pixels from the top left) and depth (mm) of points (..., 3)."""
        seen = (points - self.eye) @ self.axes.T
        width, height = self.size
        scale = 0.5 * height / np.tan(VIEW_ANGLE / 2.0) / seen[..., 2]
        column, row = width / 2.0 + seen[..., 0] * scale, height / 2.0 - seen[..., 1] * scale
        return np.stack([column, row, seen[..., 2]], axis=-1)


def framed(points: NDArray[np.float64], azimuth: float, size: tuple[int, int], *, fill: float = 0.80) -> Camera:
    """Stand the eye so that all points fill the given share of the picture, in its middle.

    Parameters
    ----------
    points : (n, 3) float
        What must be seen, scene frame, mm.
    azimuth : float
        Direction from the scene toward the eye, about z, radians.
    size : tuple of int
    fill : float
        Share of the width or height that is filled, whichever is reached first.
    """
    toward = np.array([np.cos(ELEVATION) * np.cos(azimuth), np.cos(ELEVATION) * np.sin(azimuth), np.sin(ELEVATION)])
    focus = (points.min(axis=0) + points.max(axis=0)) / 2.0
    distance = 3.0 * float(np.linalg.norm(points - focus, axis=1).max()) / np.tan(VIEW_ANGLE)
    for _ in range(6):
        camera = Camera(eye=focus + distance * toward, focus=focus, size=size)
        seen = camera.project(points)[:, :2]
        low, high = seen.min(axis=0), seen.max(axis=0)
        per_pixel = 2.0 * distance * np.tan(VIEW_ANGLE / 2.0) / size[1]
        middle = ((low + high) / 2.0 - np.array(size) / 2.0) * per_pixel
        focus = focus + middle[0] * camera.axes[0] - middle[1] * camera.axes[1]
        distance *= float(((high - low) / (fill * np.array(size))).max())
    return Camera(eye=focus + distance * toward, focus=focus, size=size)


def open_side(points: NDArray[np.float64], *, fallback: float) -> float:
    """Azimuth from which a bowl shows most of its inside: where its rim stands lowest.

    Parameters
    ----------
    points : (n, 3) float
        The bowl's points, z up its axis, mm.
    fallback : float
        Answer for a level rim (within 2 mm), radians.
    """
    sectors = 48
    turn = np.arctan2(points[:, 1], points[:, 0])
    sector = np.floor((turn / (2.0 * np.pi) % 1.0) * sectors).astype(int) % sectors
    top = np.full(sectors, points[:, 2].min())
    np.maximum.at(top, sector, points[:, 2])
    if not np.ptp(top) > 2.0:
        return fallback
    angles = (np.arange(sectors) + 0.5) * (2.0 * np.pi / sectors)
    blur = np.array([top @ np.exp(3.0 * (np.cos(angles - angle) - 1.0)) for angle in angles])
    return float(angles[blur.argmin()])
