"""Sheets read back from their files by libraries that had no part in writing them; lengths in mm, y upward."""

import functools
import math
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pdfplumber
import shapely
import svgelements

from formmaker.drawing.subject import Subject
from formmaker.engine.wood_sections import EndOutline, WoodSection
from formmaker.model.ends import End
from formmaker.model.move import CheckRing, EndMove, Move

PX_PER_MM = 96 * 1.0000005407 / 25.4  # svgelements counts 3.7795296 px to the mm (check-values, section 6)
MM_PER_POINT = 25.4 / 72
SVG = "{http://www.w3.org/2000/svg}"


def staying(case: Any) -> Move:
    """A move from a mounting to itself."""
    place = np.zeros(3)
    ends = tuple(
        EndMove(
            end=end,
            before=place,
            after=place,
            toward=math.nan,
            across=0.0,
            rise=0.0,
            bearing=None,
            dividers=None,
            usable=(),
        )
        for end in End
    )
    ring = CheckRing(height=10.0, from_foot=10.0, touching=0.0, gaps=())
    mounting = case.job.mounting
    return Move(old=mounting, new=mounting, ends=ends, tilt=0.0, foot_slip=0.0, run_out=(), keep=(), ring=ring)


def subject_of(case: Any, **changes: Any) -> Subject:
    """A case as sheets are drawn from it, in wood that leans and waves from quarter to quarter."""
    form, r = case.job.form, case.verdict.diameter / 2
    heights = np.linspace(-0.2, 1.2, 40) * form.height
    quarters = []
    for turn in range(4):
        reach = (
            1.1 * r + 0.2 * r * np.sin(4.0 * heights / form.height + turn) - 0.3 * turn * r * heights / form.height
        )
        area = shapely.Polygon([(0.0, heights[0]), *zip(reach, heights, strict=True), (0.0, heights[-1])])
        quarters.append(WoodSection(theta=turn * math.pi / 2, area=area))
    subject = Subject(
        job=case.job,
        section=case.section,
        verdict=case.verdict,
        axis_top=1.1 * form.height,
        quarters=tuple(quarters),
        move=staying(case),
        outline=EndOutline(
            shadow=shapely.Point(0, 0).buffer(1.2 * r), inside=dict.fromkeys(End, shapely.box(-r, -r, r, r))
        ),
    )
    return replace(subject, **changes)


def bezier_points(pieces: np.ndarray, count: int = 200) -> np.ndarray:
    """Oracle: de Casteljau at even parameters of each cubic."""
    points, t = pieces[:, None], np.linspace(0, 1, count)[None, :, None, None]
    while points.shape[2] > 1:
        points = points[:, :, :-1] * (1 - t) + points[:, :, 1:] * t
    return points.reshape(-1, 2)


@functools.cache
def svg_shapes(path: Path) -> dict[str, svgelements.Path]:
    """Every element with an id, by its id, in px, y downward."""
    svg = svgelements.SVG.parse(str(path), ppi=96)
    return {
        e.id: abs(svgelements.Path(e))
        for e in svg.elements()
        if getattr(e, "id", None) and isinstance(e, svgelements.Shape)
    }


def svg_curve(path: Path, name: str) -> np.ndarray:
    """Points along a named chain of cubics or of lines, y downward as in the file."""
    shape = svg_shapes(path)[name]
    parts = [part for part in shape if isinstance(part, svgelements.CubicBezier)]
    if not parts:
        return np.array([[part.end.x, part.end.y] for part in shape]) / PX_PER_MM
    points = [[[p.x, p.y] for p in (c.start, c.control1, c.control2, c.end)] for c in parts]
    return bezier_points(np.array(points) / PX_PER_MM)


def pdf_curves(path: Path) -> list[np.ndarray]:
    """Every chain of cubics at full size as points along it, y upward; the page that says how others go together has
    it small."""
    found = []
    with pdfplumber.open(path) as pdf:
        for page in pdf.pages[1:] or pdf.pages:
            for curve in page.curves:
                steps = [step for step in curve["path"] if step[0] in "mc"]
                if not any(step[0] == "c" for step in steps):
                    continue
                at, pieces = np.array(steps[0][1]), []
                for step in steps[1:]:
                    pieces.append(np.stack([at, *map(np.array, step[1:])]))
                    at = np.array(step[-1])
                found.append(bezier_points(np.array(pieces) * MM_PER_POINT) * [1, -1])
    return found


def pdf_lines(page: Any) -> np.ndarray:
    """Lengths across and up of all straight lines of a page, (n, 2)."""
    lines = [[line["x1"] - line["x0"], line["y1"] - line["y0"]] for line in page.lines]
    return np.abs(np.array(lines)) * MM_PER_POINT


def dxf_curve(path: Path, layer: str) -> np.ndarray:
    """Points along the spline of a layer."""
    (spline,) = ezdxf.readfile(path).modelspace().query(f'SPLINE[layer=="{layer}"]')
    tool = spline.construction_tool()
    return np.array([[p.x, p.y] for p in tool.points(np.linspace(0, tool.max_t, 2000))])


def crosses(path: Path) -> dict[int, np.ndarray]:
    """Numbered crosses of a page: where they stand, y downward as in the file."""
    root = ET.parse(path).getroot()
    lines = [
        [float(e.get(name)) for name in ("x1", "y1", "x2", "y2")]
        for e in root.iter(f"{SVG}line")
        if e.get("stroke-dasharray") is None and not e.get("id")
    ]
    level = [np.array([(a + c) / 2, b]) for a, b, c, d in lines if b == d and math.isclose(abs(c - a), 10.0)]
    upright = [np.array([a, (b + d) / 2]) for a, b, c, d in lines if a == c and math.isclose(abs(d - b), 10.0)]
    middles = [p for p in level if any(np.allclose(p, q, atol=1e-5) for q in upright)]
    numbers = [
        (int(e.text), np.array([float(e.get("x")), float(e.get("y"))]))
        for e in root.iter(f"{SVG}text")
        if e.text.isdigit()
    ]
    found = {}
    for middle in middles:
        number, place = min(numbers, key=lambda pair: float(np.hypot(*(pair[1] - middle))))
        assert np.hypot(*(place - middle)) < 8.0
        found[number] = middle
    return found
