"""Shots laid over each other, and what is drawn on top by pen: axis, centres, marks.

Pixels in, pixels out; knows no renderer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from scipy.ndimage import gaussian_filter

from formmaker.pictures.camera import Camera

INK = (44, 34, 28)
LABEL_PAPER = (252, 248, 240)
MARK_INK = {"witness": (40, 74, 110), "keep": (44, 104, 62), "flaw": (164, 44, 30)}

_FINE = 2
"""The pen draws this many times larger, and is then reduced: smooth lines."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pin:
    """A mark to be labelled: where it is, and the head of its pin, out of the wood; scene frame, mm."""

    name: str
    kind: str
    at: NDArray[np.float64]
    head: NDArray[np.float64]

    def is_hidden(self, camera: Camera) -> bool:
        """Whether its side of the blank looks away from the eye."""
        return float((self.head - self.at) @ (camera.eye - self.at)) <= 0.0


def shaded(image: NDArray[np.uint8], sky: NDArray[np.float64], *, strength: float) -> NDArray[np.uint8]:
    """Darken the corners of a shot; shade in wood is warm."""
    shade = strength * (1.0 - sky.clip(0.0, 1.0).astype(np.float32))[..., None]
    return _bytes(image * (1.0 - shade * np.array([0.92, 1.0, 1.06], dtype=np.float32)))


def seen_through(
    inside: NDArray[np.uint8], outside: NDArray[np.uint8], facing: NDArray[np.uint8]
) -> NDArray[np.uint8]:
    """Lay a thing over what it holds as if it were glass: clear where it faces the eye, dense at its outline.

    Parameters
    ----------
    inside, outside : (h, w, 3) uint8
        Shots of the bowl alone and of the blank alone, same camera and ground.
    facing : (h, w, 3) uint8
        Red: how squarely the blank faces the eye; green: 255 on the blank.
    """
    mask = facing[..., 1].astype(np.float32) / 255.0
    square = gaussian_filter(facing[..., 0].astype(np.float32) / 255.0, 2.0)
    alpha = mask * (0.36 + 0.48 * (1.0 - square).clip(0.0, 1.0) ** 2.2)
    mixed = inside * (1.0 - alpha[..., None]) + outside * alpha[..., None]
    rows, columns = np.gradient(gaussian_filter(mask, 1.2))
    line = (2.6 * np.hypot(rows, columns)).clip(0.0, 0.55)[..., None]
    return _bytes(mixed * (1.0 - line) + np.array(INK, dtype=np.float32) * line)


def vignetted(image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Let the corners of the picture fall off a little, as paper under a lamp does."""
    height, width = image.shape[:2]
    rows, columns = np.linspace(-1.0, 1.0, height, dtype=np.float32), np.linspace(-1.0, 1.0, width, dtype=np.float32)
    fall = 0.045 * (rows[:, None, None] ** 2 + columns[None, :, None] ** 2)
    return _bytes(image * (1.0 - fall * np.array([0.8, 1.0, 1.25], dtype=np.float32)))


def with_axis_and_marks(
    image: NDArray[np.uint8], camera: Camera, axis: NDArray[np.float64], pins: Sequence[Pin]
) -> NDArray[np.uint8]:
    """Draw the axis as a fine chain line with its two centres, and the marks as labelled pins.

    Parameters
    ----------
    image : (h, w, 3) uint8
    camera : Camera
    axis : (4, 3) float
        Below the wood, foot centre, rim centre, above the wood; scene frame, mm.
    pins : sequence of Pin
    """
    width, height = camera.size
    layer = Image.new("RGBA", (width * _FINE, height * _FINE), (*INK, 0))
    pen = ImageDraw.Draw(layer)
    unit = _FINE * height / 1200.0
    ends = camera.project(axis)[:, :2] * _FINE
    for start, end, density in ((0, 1, 235), (1, 2, 150), (2, 3, 235)):
        _chain_line(pen, ends[start], ends[end], unit, density)
    for centre in ends[1:3]:
        _centre(pen, centre, unit)
    for pin in sorted(pins, key=lambda pin: not pin.is_hidden(camera)):
        _pin(pen, pin, camera, unit)
    drawn = Image.alpha_composite(
        Image.fromarray(image).convert("RGBA"), layer.resize((width, height), Image.Resampling.BOX)
    )
    return np.asarray(drawn.convert("RGB"))


def _chain_line(
    pen: ImageDraw.ImageDraw, start: NDArray[np.float64], end: NDArray[np.float64], unit: float, density: int
) -> None:
    length = float(np.linalg.norm(end - start))
    place, step = 0.0, 0
    while place < length:
        dash = (26.0, 7.0, 3.0, 7.0)[step % 4] * unit
        if step % 2 == 0:
            points = [start + (end - start) * min(at, length) / length for at in (place, place + dash)]
            pen.line([tuple(point) for point in points], fill=(*INK, density), width=round(2.2 * unit))
        place, step = place + dash, step + 1


def _centre(pen: ImageDraw.ImageDraw, at: NDArray[np.float64], unit: float) -> None:
    for reach, ink, line in ((8.5, LABEL_PAPER, 5.0), (8.5, INK, 2.2)):
        box = [at[0] - reach * unit, at[1] - reach * unit, at[0] + reach * unit, at[1] + reach * unit]
        pen.ellipse(box, outline=(*ink, 245), width=round(line * unit))
    pen.ellipse([*(at - 2.4 * unit), *(at + 2.4 * unit)], fill=(*INK, 255))


def _pin(pen: ImageDraw.ImageDraw, pin: Pin, camera: Camera, unit: float) -> None:
    at, head = camera.project(np.stack([pin.at, pin.head]))[:, :2] * _FINE
    hidden = pin.is_hidden(camera)
    ink = (*MARK_INK.get(pin.kind, INK), 150 if hidden else 255)
    pen.line([*at, *head], fill=ink, width=round(2.4 * unit))
    _foot_of_pin(pen, pin.kind, at, ink, unit)
    font = ImageFont.load_default(size=22.0 * unit)
    text = pin.name if pin.kind == "witness" else f"{pin.name}, {pin.kind}"
    left, top, right, bottom = pen.textbbox((0.0, 0.0), text, font=font)
    half = np.array([right - left, bottom - top]) / 2.0 + np.array([9.0, 6.5]) * unit
    paper = (*LABEL_PAPER, 165 if hidden else 240)
    pen.rounded_rectangle(
        [*(head - half), *(head + half)], radius=5.0 * unit, fill=paper, outline=ink, width=round(1.6 * unit)
    )
    pen.text((head[0] - (left + right) / 2.0, head[1] - (top + bottom) / 2.0), text, font=font, fill=ink)


def _foot_of_pin(
    pen: ImageDraw.ImageDraw, kind: str, at: NDArray[np.float64], ink: tuple[int, ...], unit: float
) -> None:
    """A dot for a witness mark, a ring for a keep mark, a cross for a flaw: told apart without colour."""
    reach = 6.0 * unit
    box = [*(at - reach), *(at + reach)]
    if kind == "keep":
        pen.ellipse(box, outline=ink, width=round(3.0 * unit))
    elif kind == "flaw":
        pen.line([*(at - reach), *(at + reach)], fill=ink, width=round(3.2 * unit))
        pen.line([at[0] - reach, at[1] + reach, at[0] + reach, at[1] - reach], fill=ink, width=round(3.2 * unit))
    else:
        pen.ellipse([*(at - 0.75 * reach), *(at + 0.75 * reach)], fill=ink)


def _bytes(image: NDArray[Any]) -> NDArray[np.uint8]:
    return np.asarray(image.clip(0.0, 255.0).round().astype(np.uint8))
