"""The end view as a drawing: wood and air round the index positions at the picked height, seen from the rim."""

import math

import numpy as np

from formmaker.desk import svg
from formmaker.geometry.plane_loops import Loops
from formmaker.model.marks import MarkKind
from formmaker.pipeline.sitting import Sitting

_RIM = 1.3
"""Reach of the view beyond the ghost: room for the index numbers."""


_NEAR_LINE = math.radians(30.0)
"""Angle from a mark to the picked line within which the line would run through the mark's name."""


def reach_of(sitting: Sitting) -> float:
    """Half the width of the end view, mm."""
    verdict = sitting.report.verdict
    return _RIM * max(float(verdict.spin.ghost.max()), verdict.diameter / 2.0)


def ring_drawing(sitting: Sitting, wood: Loops, *, theta: float, height: float, reach: float) -> str:
    """Draw the end view at a height.

    Parameters
    ----------
    sitting : Sitting
    wood : tuple of (n, 2) float
        Loops of the skin at this height.
    theta, height : float
        The picked angle (radians) and height (mm).
    reach : float
        Half the width of the view, mm.

    Returns
    -------
    str
        The inside of an SVG element.
    """
    spin = sitting.report.verdict.spin
    core = float(np.interp(height, spin.height, spin.core, left=0.0, right=0.0))
    ghost = float(np.interp(height, spin.height, spin.ghost, left=0.0, right=0.0))
    rings = ((core, "core"), (ghost, "ghost"))
    return "".join(
        (
            svg.area(wood, kind="wood"),
            *(svg.element("circle", kind=kind, cx=0, cy=0, r=radius) for radius, kind in rings if radius > 0.0),
            _form(sitting, height),
            _index(sitting.report.job.index_count, reach),
            _marks(sitting, theta),
            _worst(sitting),
            svg.element(
                "path", kind="centre", d=f"M-{reach / 16:.1f},0H{reach / 16:.1f}M0,-{reach / 16:.1f}V{reach / 16:.1f}"
            ),
            svg.line(0.0, 0.0, reach * math.cos(theta), -reach * math.sin(theta), kind="picked"),
        )
    )


def _form(sitting: Sitting, height: float) -> str:
    """The wall of the form at this height, as a ring between its radii."""
    outline = sitting.report.prepared.outline
    radii = crossings(outline, height)
    if not radii:
        return ""
    circles = [_circle(radius) for radius in radii]
    return svg.element("path", kind="form", d="".join(circles), fill_rule="evenodd")


def crossings(outline: np.ndarray[tuple[int, ...], np.dtype[np.float64]], height: float) -> list[float]:
    """Radii at which a closed outline of the half plane stands at a height."""
    ends = np.roll(outline, -1, axis=0)
    crossed = (outline[:, 1] > height) != (ends[:, 1] > height)
    start, end = outline[crossed], ends[crossed]
    share = (height - start[:, 1]) / (end[:, 1] - start[:, 1])
    radii = start[:, 0] + share * (end[:, 0] - start[:, 0])
    return [float(radius) for radius in radii if radius > 1e-6]


def _circle(radius: float) -> str:
    r, across = svg.figure(radius), svg.figure(2.0 * radius)
    return f"M-{r},0a{r},{r} 0 1 0 {across},0a{r},{r} 0 1 0 -{across},0Z"


def _index(count: int, reach: float) -> str:
    """Index positions round the view, every one a tick, a few of them named."""
    every = max(1, round(count / 12))
    parts = []
    for k in range(count):
        cos, sin = math.cos(2.0 * math.pi * k / count), math.sin(2.0 * math.pi * k / count)
        named = k % every == 0
        inner = 0.8 if named else 0.82
        parts.append(
            svg.line(inner * reach * cos, -inner * reach * sin, 0.84 * reach * cos, -0.84 * reach * sin, kind="tick")
        )
        if named:
            parts.append(svg.text(str(k), 0.92 * reach * cos, -0.92 * reach * sin, kind="index", anchor="middle"))
    return "".join(parts)


def _marks(sitting: Sitting, picked: float) -> str:
    """Marks with their names, which stand away from the middle and clear of the line at the picked angle."""
    form_from_blank = sitting.report.job.mounting.blank_from_form.inverse
    parts = []
    for mark in sitting.report.blank.marks:
        x, y, _ = (float(part) for part in form_from_blank.carry(mark.at))
        kind = f"mark {mark.kind.value}"
        if mark.kind is MarkKind.FLAW:
            parts.append(svg.element("circle", kind=kind, cx=x, cy=-y, r=float(mark.radius)))
        parts.append(svg.element("path", kind=kind, d=f"M{svg.figure(x)},{svg.figure(-y)}h0.001"))
        side, anchor = name_place(x, y, picked)
        parts.append(svg.text(mark.name, x, -y, kind=f"mark-name {side}", anchor=anchor))
    return "".join(parts)


def name_place(x: float, y: float, picked: float) -> tuple[str, str]:
    """Class and anchor of a mark's name: above it and outward, or below it where a line would run through there.

    Examples
    --------
    >>> name_place(50.0, 0.0, 3.0), name_place(-50.0, 0.0, 0.0), name_place(50.0, 0.0, 0.2)
    (('beside', 'start'), ('beside-left', 'end'), ('below', 'start'))
    """
    past = (picked - math.atan2(y, x) + math.pi) % (2.0 * math.pi) - math.pi
    is_right = x >= 0.0
    if 0.0 <= (past if is_right else -past) < _NEAR_LINE:  # the line runs above the mark on that side
        return ("below", "start") if is_right else ("under", "end")
    return ("beside", "start") if is_right else ("beside-left", "end")


def _worst(sitting: Sitting) -> str:
    place, answer = sitting.report.verdict.worst, sitting.report.verdict.answer
    x, y = place.radius * math.cos(place.theta), place.radius * math.sin(place.theta)
    return svg.element("circle", kind=f"worst here {answer.value}", cx=float(x), cy=-float(y))
