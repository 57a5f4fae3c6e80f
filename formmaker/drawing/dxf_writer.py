"""From a sheet of marks to a DXF file in millimetres, for cutters and drawing programs.

The only place that knows DXF. Curves are splines of the very same cubics, arcs are arcs. A named mark lies on a layer
of its name, lettering and hatching on theirs, so that a cutter can be given the curve alone. Pictures stay behind.
"""

import io
import math

import ezdxf
import numpy as np
from ezdxf import units
from ezdxf.document import Drawing
from ezdxf.enums import TextEntityAlignment
from ezdxf.layouts import Modelspace
from ezdxf.lldxf.const import VALID_DXF_LINEWEIGHTS

from formmaker.drawing.hatching import hatch_lines
from formmaker.drawing.lettering import readable
from formmaker.drawing.linestyles import LineStyle
from formmaker.drawing.marks import Anchor, Arc, Clipped, CubicPath, Fill, Hatch, Line, Mark, Picture, Polyline, Text
from formmaker.drawing.sheet import Sheet
from formmaker.drawing.simple_marks import SimpleMark, simple_marks

VERSION = "R2010"
DRAWING, LETTERING, HATCHING = "drawing", "lettering", "hatching"
STYLE = "formmaker"

_PLACES = {
    Anchor.START: TextEntityAlignment.LEFT,
    Anchor.MIDDLE: TextEntityAlignment.CENTER,
    Anchor.END: TextEntityAlignment.RIGHT,
}


def dxf_bytes(sheet: Sheet) -> bytes:
    """Write a sheet as a DXF document.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    bytes
        Release 2010; $INSUNITS 4, one unit a millimetre; line types, widths and letter heights as on paper.
    """
    document = ezdxf.new(VERSION, units=units.MM)
    document.header["$LTSCALE"] = 1.0
    document.header["$LWDISPLAY"] = 1
    document.styles.add(STYLE, font="arial.ttf")
    for name in (DRAWING, LETTERING, HATCHING):
        document.layers.add(name)
    space = document.modelspace()
    for mark in sheet.marks:
        _draw_mark(document, space, mark)
    stream = io.StringIO()
    document.write(stream)
    return bytes(document.encode(stream.getvalue()))


def _draw_mark(document: Drawing, space: Modelspace, mark: Mark) -> None:
    if isinstance(mark, Hatch):
        for line in hatch_lines(mark):
            space.add_line(line.start, line.end, dxfattribs={**_look(document, line.style), "layer": HATCHING})
        return
    for simple in simple_marks([mark]):
        _draw(document, space, simple)


def _draw(document: Drawing, space: Modelspace, mark: SimpleMark) -> None:
    match mark:
        case Line():
            space.add_line(mark.start, mark.end, dxfattribs=_attributes(document, mark))
        case Polyline():
            space.add_lwpolyline(mark.points.tolist(), close=mark.closed, dxfattribs=_attributes(document, mark))
        case CubicPath():
            _spline(space, mark.pieces, _attributes(document, mark))
        case Arc():
            _arc(space, mark, _attributes(document, mark))
        case Fill():
            hatch = space.add_hatch(color=7, dxfattribs={"layer": DRAWING})
            hatch.paths.add_polyline_path(mark.points.tolist(), is_closed=True)
        case Text():
            _text(space, mark)
        case Picture():
            pass
        case Clipped():
            for inner in mark.marks:
                _draw_mark(document, space, inner)


def _attributes(document: Drawing, mark: Line | Polyline | CubicPath | Arc) -> dict[str, object]:
    layer = mark.id or DRAWING
    if layer not in document.layers:
        document.layers.add(layer)
    return {**_look(document, mark.style), "layer": layer}


def _look(document: Drawing, style: LineStyle) -> dict[str, object]:
    return {"linetype": _line_type(document, style), "lineweight": _line_weight(style.width)}


def _line_type(document: Drawing, style: LineStyle) -> str:
    if not style.elements:
        return "CONTINUOUS"
    name = f"ISO-{style.number}-{style.width:g}".replace(".", "_")
    if name not in document.linetypes:
        signs = np.resize([1.0, -1.0], len(style.elements))
        pattern = [sum(style.elements), *(signs * style.elements).tolist()]
        document.linetypes.add(name, pattern=pattern, description=f"line {style.number} of ISO 128-2")
    return name


def _line_weight(width: float) -> int:
    """Width in hundredths of a millimetre, the nearest that the format knows."""
    known = [weight for weight in VALID_DXF_LINEWEIGHTS if weight > 0]
    return int(min(known, key=lambda weight: abs(weight - 100.0 * width)))


def _spline(space: Modelspace, pieces: np.ndarray, attributes: dict[str, object]) -> None:
    """The chain of cubics as one spline: joints are knots of multiplicity three, so that no curve is bent."""
    points = np.concatenate([pieces[:1, 0], pieces[:, 1:].reshape(-1, 2)])
    joints = np.arange(len(pieces) + 1.0)
    spline = space.add_spline(degree=3, dxfattribs=attributes)
    spline.control_points = np.column_stack([points, np.zeros(len(points))])
    spline.knots = np.concatenate([[0.0], np.repeat(joints, 3), [joints[-1]]])


def _arc(space: Modelspace, arc: Arc, attributes: dict[str, object]) -> None:
    if arc.end - arc.start >= math.tau:
        space.add_circle(arc.centre, arc.radius, dxfattribs=attributes)
        return
    space.add_arc(arc.centre, arc.radius, math.degrees(arc.start), math.degrees(arc.end), dxfattribs=attributes)


def _text(space: Modelspace, text: Text) -> None:
    entity = space.add_text(
        readable(text.text),
        height=text.height,
        rotation=math.degrees(text.angle),
        dxfattribs={"layer": LETTERING, "style": STYLE},
    )
    entity.set_placement(text.at, align=_PLACES[text.anchor])
