"""From sheets of marks to a PDF file: one page a sheet, drawn in millimetres.

The only place that knows PDF. The page box is the paper's; readers are asked not to fit it to their own.
"""

import functools
import io
import math
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from reportlab import rl_config
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from formmaker.drawing.lettering import EM_PER_CAP_HEIGHT, readable
from formmaker.drawing.linestyles import LineStyle
from formmaker.drawing.marks import (
    Anchor,
    Arc,
    Box,
    Clipped,
    CubicPath,
    Fill,
    Line,
    Picture,
    Polyline,
    Text,
    text_box,
)
from formmaker.drawing.sheet import Sheet
from formmaker.drawing.simple_marks import SimpleMark, simple_marks
from formmaker.geometry.curves import arc_about
from formmaker.units import MM_PER_INCH

POINTS_PER_MM = 72.0 / MM_PER_INCH
"""The unit of a page is 1/72 in (ISO 32000-1, 8.3.2.3)."""

rl_config.useA85 = 0  # streams as they are: letters of seven bits are a fifth longer, and slow to write


def pdf_bytes(sheets: Sequence[Sheet]) -> bytes:
    """Write sheets as one PDF document.

    Parameters
    ----------
    sheets : sequence of Sheet
        At least one.

    Returns
    -------
    bytes
        A page for each, its box the size of the sheet. The same sheets give the same bytes.
    """
    stream = io.BytesIO()
    canvas = Canvas(stream, invariant=1, pageCompression=1)
    canvas.setTitle(readable(f"{sheets[0].title}: {sheets[0].purpose}"))
    canvas.setAuthor("formmaker")
    canvas.setViewerPreference("PrintScaling", "None")
    for sheet in sheets:
        canvas.setPageSize((sheet.width * POINTS_PER_MM, sheet.height * POINTS_PER_MM))
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        for mark in simple_marks(sheet.marks):
            _draw(canvas, mark)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


@functools.cache
def _font() -> str:
    """Name of the lettering, whose letters go into the file: it looks the same on every machine."""
    name = "DejaVuSans"
    library = find_spec("matplotlib")  # it brings the font; to find it is enough, loading takes 0.1 s
    folder = Path(*library.submodule_search_locations or ()) if library else Path()
    pdfmetrics.registerFont(TTFont(name, folder / "mpl-data" / "fonts" / "ttf" / "DejaVuSans.ttf"))
    return name


def _draw(canvas: Canvas, mark: SimpleMark) -> None:
    match mark:
        case Line():
            _style(canvas, mark.style)
            canvas.line(*mark.start, *mark.end)
        case Polyline():
            _style(canvas, mark.style)
            canvas.drawPath(_chain(canvas, mark.points, closed=mark.closed))
        case CubicPath():
            _style(canvas, mark.style)
            canvas.drawPath(_curve(canvas, mark.pieces))
        case Arc():
            _style(canvas, mark.style)
            canvas.drawPath(_arc(canvas, mark))
        case Fill():
            canvas.setFillGray(0.0)
            canvas.drawPath(_chain(canvas, mark.points, closed=True), stroke=0, fill=1)
        case Text():
            _text(canvas, mark)
        case Picture():
            box = mark.box
            canvas.drawImage(ImageReader(io.BytesIO(mark.png)), box.left, box.low, box.width, box.height)
        case Clipped():
            _clipped(canvas, mark)


def _style(canvas: Canvas, style: LineStyle) -> None:
    canvas.setLineWidth(style.width)
    canvas.setDash(list(style.elements), 0)


def _chain(canvas: Canvas, points: NDArray[np.float64], *, closed: bool) -> PDFPathObject:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()
    return path


def _curve(canvas: Canvas, pieces: NDArray[np.float64]) -> PDFPathObject:
    path = canvas.beginPath()
    path.moveTo(*pieces[0, 0])
    for piece in pieces:
        path.curveTo(*piece[1:].ravel())
    return path


def _arc(canvas: Canvas, arc: Arc) -> PDFPathObject:
    """PDF knows no arcs: cubics of 30 degrees leave the circle by 4e-7 of its radius."""
    return _curve(canvas, arc_about(arc.centre, arc.radius, start=arc.start, end=arc.end).pieces)


def _text(canvas: Canvas, text: Text) -> None:
    if text.backed:
        _white(canvas, text_box(text))
    canvas.saveState()
    canvas.setFillGray(0.0)
    canvas.translate(*text.at)
    if text.angle:
        canvas.rotate(math.degrees(text.angle))
    canvas.setFont(_font(), text.height * EM_PER_CAP_HEIGHT)
    write = {
        Anchor.START: canvas.drawString,
        Anchor.MIDDLE: canvas.drawCentredString,
        Anchor.END: canvas.drawRightString,
    }
    write[text.anchor](0.0, 0.0, readable(text.text))
    canvas.restoreState()


def _white(canvas: Canvas, box: Box) -> None:
    canvas.setFillGray(1.0)
    canvas.rect(box.left, box.low, box.width, box.height, stroke=0, fill=1)


def _clipped(canvas: Canvas, mark: Clipped) -> None:
    box = mark.window
    canvas.saveState()
    path = canvas.beginPath()
    path.rect(box.left, box.low, box.width, box.height)
    canvas.clipPath(path, stroke=0, fill=0)
    for inner in simple_marks(mark.marks):
        _draw(canvas, inner)
    canvas.restoreState()
