"""Pieces of SVG for the page: figures written short, text made harmless, classes instead of colours.

One user unit is one millimetre, y downward. Line widths and letters are set in the style sheet, in pixels.
"""

from collections.abc import Iterable, Sequence
from html import escape

import numpy as np
from numpy.typing import ArrayLike, NDArray


def figure(value: float) -> str:
    """Write a coordinate to a hundredth of a millimetre, without needless zeros.

    Examples
    --------
    >>> figure(12.5), figure(-0.001), figure(3.0)
    ('12.5', '0', '3')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def element(name: str, *inside: str, kind: str = "", **attributes: object) -> str:
    """Write an element; ``kind`` is its class, an underscore in a name stands for a hyphen.

    Examples
    --------
    >>> element("circle", kind="worst", cx=1.0, cy=2.5, r=3)
    '<circle class="worst" cx="1" cy="2.5" r="3"/>'
    """
    words = [f'class="{kind}"'] if kind else []
    for key, value in attributes.items():
        said = figure(value) if isinstance(value, float) else escape(str(value))
        words.append(f'{key.replace("_", "-")}="{said}"')
    head = " ".join([name, *words])
    return f"<{head}>{''.join(inside)}</{name}>" if inside else f"<{head}/>"


def text(words: str, x: float, y: float, *, kind: str = "", anchor: str = "start") -> str:
    """Write letters at a place; the size is the style sheet's."""
    return element("text", escape(words), kind=kind, x=float(x), y=float(y), text_anchor=anchor)


def line(x1: float, y1: float, x2: float, y2: float, *, kind: str) -> str:
    """Draw a straight line."""
    return element("line", kind=kind, x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2))


def points(places: ArrayLike) -> str:
    """Write places (n, 2), up turned down, as a list of points."""
    rows = np.asarray(places, dtype=np.float64)
    return " ".join(f"{figure(x)},{figure(-y)}" for x, y in rows.tolist())


def polyline(places: ArrayLike, *, kind: str) -> str:
    """Draw a line through places (n, 2), y upward."""
    return element("polyline", kind=kind, points=points(places))


def polygon(places: ArrayLike, *, kind: str) -> str:
    """Draw a closed outline through places (n, 2), y upward."""
    return element("polygon", kind=kind, points=points(places))


def area(loops: Iterable[NDArray[np.float64]], *, kind: str) -> str:
    """Fill loops, a loop in a loop being a hollow."""
    rings = [f"M{points(loop)}Z" for loop in loops if len(loop) > 2]
    return element("path", kind=kind, d="".join(rings), fill_rule="evenodd") if rings else ""


def box(low: Sequence[float], high: Sequence[float]) -> str:
    """View box over places from low to high (x, y upward), mm."""
    sides = (low[0], -high[1], high[0] - low[0], high[1] - low[1])
    return " ".join(figure(side) for side in sides)
