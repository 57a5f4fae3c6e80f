"""Figures and words that come from the page, each read or refused: a browser may send anything."""

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import FormmakerError
from formmaker.pipeline import looking

Data = Mapping[str, object]


class WishError(FormmakerError, ValueError):
    """The page asked for something with figures that mean nothing."""


def number(data: Data, key: str, otherwise: float | None = None) -> float:
    """Read a figure.

    Raises
    ------
    WishError
        If it is missing without another to take, no number, or beyond all reason.
    """
    value = data.get(key, otherwise)
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e6:
        raise WishError(f"{key} {str(value)[:40]!r} is no figure the desk can use")
    return float(value)


def whole(data: Data, key: str) -> int:
    """Read a whole number; refused as ``number`` refuses."""
    value = number(data, key)
    if not value.is_integer():
        raise WishError(f"{key} {value} is no whole number")
    return int(value)


def word(data: Data, key: str, words: tuple[str, ...]) -> str:
    """Read one of some words.

    Raises
    ------
    WishError
        If it is none of them.
    """
    value = data.get(key)
    if value not in words:
        raise WishError(f"{key} {str(value)[:40]!r} is none of {', '.join(words)}")
    return str(value)


def sight(data: Data) -> looking.Sight:
    """The line of sight through a place of the scene, from the browser's own camera."""
    camera = data.get("camera")
    if not isinstance(camera, Mapping):
        raise WishError("the page sent no camera with the place")
    seen_by = looking.Camera(
        position=triple(camera, "position"),
        focus=triple(camera, "focalPoint"),
        up=triple(camera, "viewUp"),
        angle=math.radians(number(camera, "viewAngle")),
    )
    return looking.sight_of(
        seen_by, across=number(data, "across"), up=number(data, "up"), aspect=number(data, "aspect")
    )


def triple(data: Data, key: str) -> NDArray[np.float64]:
    """Read a place or a direction, (3,); refused as ``number`` refuses."""
    value = data.get(key)
    if not isinstance(value, list | tuple) or len(value) != 3:
        raise WishError(f"{key} is no place in space")
    return np.array([number({key: part}, key) for part in value])
