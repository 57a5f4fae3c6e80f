"""From a sheet of marks to an SVG file: one user unit is one millimetre.

The only place that knows SVG, and the only one where y is turned downward.
"""

import base64
import math
from collections.abc import Iterable
from xml.etree.ElementTree import indent, tostring

import numpy as np
import svgwrite
from numpy.typing import ArrayLike, NDArray
from svgwrite.base import BaseElement

from formmaker.drawing.lettering import EM_PER_CAP_HEIGHT, readable
from formmaker.drawing.linestyles import LineStyle
from formmaker.drawing.marks import Arc, Box, Clipped, CubicPath, Fill, Line, Picture, Point, Polyline, Text, text_box
from formmaker.drawing.sheet import Sheet
from formmaker.drawing.simple_marks import SimpleMark, simple_marks

FONTS = "Arial, Helvetica, 'Liberation Sans', 'DejaVu Sans', sans-serif"
DIGITS = 6
"""Figures are written to a millionth of a millimetre: no reader or printer can tell, and the file stays short."""


def svg_bytes(sheet: Sheet) -> bytes:
    """Write a sheet as an SVG document.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    bytes
        UTF-8; width and height in mm, the view box in the same mm. The same sheet gives the same bytes.
    """
    drawing = svgwrite.Drawing(
        size=(f"{_figure(sheet.width)}mm", f"{_figure(sheet.height)}mm"),
        viewBox=f"0 0 {_figure(sheet.width)} {_figure(sheet.height)}",
        debug=False,
    )
    drawing.set_desc(title=readable(f"{sheet.title}: {sheet.purpose}"), desc="One unit is one millimetre on paper.")
    drawing.add(drawing.rect((0, 0), (_figure(sheet.width), _figure(sheet.height)), fill="white"))
    ink = drawing.g(fill="none", stroke="black")
    for mark in simple_marks(sheet.marks):
        for element in _elements(drawing, mark, sheet.height):
            ink.add(element)
    drawing.add(ink)
    tree = drawing.get_xml()
    indent(tree)
    return bytes(tostring(tree, encoding="utf-8", xml_declaration=True))


def _elements(drawing: svgwrite.Drawing, mark: SimpleMark, height: float) -> Iterable[BaseElement]:
    match mark:
        case Line():
            start, end = _down([mark.start, mark.end], height).tolist()
            yield drawing.line(start, end, **_look(mark.style, mark.id))
        case Polyline():
            shape = drawing.polygon if mark.closed else drawing.polyline
            yield shape(_down(mark.points, height).tolist(), **_look(mark.style, mark.id))
        case CubicPath():
            yield drawing.path(_path_data(mark, height), **_look(mark.style, mark.id))
        case Arc():
            yield _arc(drawing, mark, height)
        case Fill():
            yield drawing.polygon(_down(mark.points, height).tolist(), fill="black", stroke="none")
        case Text():
            yield from _text(drawing, mark, height)
        case Picture():
            source = f"data:image/png;base64,{base64.b64encode(mark.png).decode('ascii')}"
            yield drawing.image(source, **_frame(mark.box, height))
        case Clipped():
            yield _clipped(drawing, mark, height)


def _clipped(drawing: svgwrite.Drawing, mark: Clipped, height: float) -> BaseElement:
    window = drawing.clipPath(id="window")
    window.add(drawing.rect(**_frame(mark.window, height)))
    drawing.defs.add(window)
    group = drawing.g(clip_path="url(#window)")
    for inner in simple_marks(mark.marks):
        for element in _elements(drawing, inner, height):
            group.add(element)
    return group


def _frame(box: Box, height: float) -> dict[str, object]:
    """Corner and size of a box as an element asks for them."""
    corner = _down((box.left, box.high), height).tolist()
    return {"insert": corner, "size": (_figure(box.width), _figure(box.height))}


def _down(points: ArrayLike, height: float) -> NDArray[np.float64]:
    """Points (..., 2) of a sheet whose y runs up, in a picture whose y runs down, mm."""
    turned = np.array(points, dtype=np.float64)
    turned[..., 1] = height - turned[..., 1]
    return turned.round(DIGITS) + 0.0


def _look(style: LineStyle, name: str) -> dict[str, object]:
    look: dict[str, object] = {"stroke_width": style.width}
    if style.elements:
        look["stroke_dasharray"] = ",".join(f"{size:g}" for size in style.elements)
    if name:
        look["id"] = name
    return look


def _path_data(path: CubicPath, height: float) -> str:
    pieces = _down(path.pieces, height)
    words = ["M", *_pair(pieces[0, 0])]
    for piece in pieces:
        words.append("C")
        for point in piece[1:]:
            words.extend(_pair(point))
    return " ".join(words)


def _arc(drawing: svgwrite.Drawing, arc: Arc, height: float) -> BaseElement:
    look = _look(arc.style, arc.id)
    sweep = arc.end - arc.start
    if sweep >= math.tau:
        return drawing.circle(_down(arc.centre, height).tolist(), _figure(arc.radius), **look)
    ends = np.array(arc.centre) + arc.radius * np.array(
        [[math.cos(angle), math.sin(angle)] for angle in (arc.start, arc.end)]
    )
    start, end = _down(ends, height)
    size = f"{_figure(arc.radius)} {_figure(arc.radius)} 0 {int(sweep > math.pi)} 0"  # the last 0: up turned down
    return drawing.path(f"M {' '.join(_pair(start))} A {size} {' '.join(_pair(end))}", **look)


def _text(drawing: svgwrite.Drawing, text: Text, height: float) -> Iterable[BaseElement]:
    if text.backed:
        yield drawing.rect(**_frame(text_box(text), height), fill="white", stroke="none")
    at: Point = tuple(_down(text.at, height).tolist())
    look: dict[str, object] = {"text_anchor": text.anchor.value} if text.anchor != "start" else {}
    if text.angle:
        look["transform"] = f"rotate({_figure(-math.degrees(text.angle))} {at[0]} {at[1]})"
    size = _figure(text.height * EM_PER_CAP_HEIGHT)
    yield drawing.text(
        readable(text.text), insert=at, fill="black", stroke="none", font_family=FONTS, font_size=size, **look
    )


def _pair(point: NDArray[np.float64]) -> tuple[str, str]:
    return repr(float(point[0])), repr(float(point[1]))


def _figure(size: float) -> float:
    return round(float(size), DIGITS) + 0.0
