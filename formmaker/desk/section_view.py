"""The half section as a drawing: wood at the picked angle, core, ghost, the form, and where wood is wanting."""

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.desk import svg
from formmaker.desk.ring_view import crossings
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.verdict import Verdict
from formmaker.pipeline.looking import HalfSection
from formmaker.pipeline.sitting import Sitting
from formmaker.units import Units, format_length

_MARGIN = 0.07
"""Paper round the drawing, as a share of its height."""

_NEAR = math.radians(4.0)
"""How near the picked angle must be to the worst place for it to be drawn as lying in this section."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """What of the half plane is drawn: radius to the right, height upward, mm."""

    low: tuple[float, float]
    high: tuple[float, float]

    @property
    def box(self) -> str:
        """The SVG view box."""
        return svg.box(self.low, self.high)


def window_of(sitting: Sitting) -> Window:
    """Window that holds wood, form and holding at every angle, so that turning the wood moves no paper."""
    verdict = sitting.report.verdict
    spin, job = verdict.spin, sitting.report.job
    reach = max(float(spin.ghost.max()), verdict.diameter / 2.0)
    low = min(float(spin.height.min()), -job.hold.depth, 0.0)
    high = max(float(spin.height.max()), verdict.height)
    paper = _MARGIN * (high - low)
    return Window(low=(-0.9 * paper, low - 1.3 * paper), high=(reach + 1.2 * paper, high + paper))


def section_drawing(sitting: Sitting, cut: HalfSection, view: Window, *, theta: float, height: float) -> str:
    """Draw the half section.

    Parameters
    ----------
    sitting : Sitting
    cut : HalfSection
    view : Window
    theta : float
        The picked angle, radians.
    height : float
        The picked height, mm.

    Returns
    -------
    str
        The inside of an SVG element whose view box is the window's.
    """
    verdict, job = sitting.report.verdict, sitting.report.job
    spin = verdict.spin
    half = "half-" + re.sub("[^0-9]+", "-", view.box)  # drawings of one page with one window may share it
    core = np.column_stack([np.r_[0.0, spin.core, 0.0], np.r_[spin.height[0], spin.height, spin.height[-1]]])
    ghost = np.column_stack([spin.ghost, spin.height])
    return "".join(
        (
            _clip(view, half),
            f'<g clip-path="url(#{half})">{svg.area(cut.wood, kind="wood")}{svg.polygon(core, kind="core")}</g>',
            svg.polyline(ghost, kind="ghost"),
            svg.polygon(cut.outline, kind="form"),
            _hold(job.hold),
            _sizes(sitting),
            svg.area(cut.wanting, kind="wanting"),
            svg.line(0.0, -view.low[1], 0.0, -view.high[1], kind="axis"),
            svg.line(view.low[0], 0.0, view.high[0], 0.0, kind="foot-plane"),
            _picked_height(view, height, job.units),
            _rim_here(verdict, theta),
            _worst(verdict, theta),
            _scale(view, job.units),
        )
    )


def _clip(view: Window, name: str) -> str:
    rect = svg.element("rect", x=0.0, y=-view.high[1], width=view.high[0], height=view.high[1] - view.low[1])
    return f'<clipPath id="{name}">{rect}</clipPath>'


def _hold(hold: Hold) -> str:
    low, high = (0.0, hold.depth) if hold.kind is HoldKind.RECESS else (-hold.depth, 0.0)
    corners = [[0.0, low], [hold.radius, low], [hold.radius, high], [0.0, high]]
    return svg.polygon(corners, kind=f"hold {hold.kind.value.replace(' ', '-')}")


def _sizes(sitting: Sitting) -> str:
    """Wall, floor and holding in words, at their places."""
    job = sitting.report.job
    form, hold, units = job.form, job.hold, job.units
    middle = 0.5 * form.height
    inner = min(crossings(sitting.report.prepared.outline, middle), default=0.0)
    thick = " to ".join(
        dict.fromkeys(format_length(float(wall), units) for wall in (form.wall[0, 1], form.wall[-1, 1]))
    )
    held = f"{hold.kind.value} {format_length(hold.diameter, units)}"
    return "".join(
        (
            svg.text(f"wall {thick}", inner, -middle, kind="size before", anchor="end"),
            svg.text(f"floor {format_length(form.floor, units)}", 0.0, -form.floor, kind="size beside"),
            svg.text(held, hold.radius, 0.0, kind="size clear") if hold.kind is not HoldKind.RECESS else "",
        )
    )


def _picked_height(view: Window, height: float, units: Units) -> str:
    return svg.line(0.0, -height, view.high[0], -height, kind="picked") + svg.text(
        format_length(height, units), view.high[0], -height, kind="picked-word above", anchor="end"
    )


def _rim_here(verdict: Verdict, theta: float) -> str:
    """Where the wood ends at this angle going up the outer curve."""
    rim = verdict.rim
    at = int(np.argmin(np.abs(_apart(rim.theta, theta))))
    if not rim.height[at] > 0.0:
        return ""
    return svg.element("path", kind="rim-here", d=_diamond(float(rim.radius[at]), float(rim.height[at])))


def _worst(verdict: Verdict, theta: float) -> str:
    place = verdict.worst
    here = abs(float(_apart(np.array(place.theta), theta))) <= _NEAR
    kind = "worst here" if here else "worst elsewhere"
    return svg.element(
        "circle", kind=f"{kind} {verdict.answer.value}", cx=float(place.radius), cy=-float(place.height)
    )


def _apart(one: NDArray[np.float64], other: float) -> NDArray[np.float64]:
    return np.asarray((one - other + math.pi) % (2.0 * math.pi) - math.pi)


def _diamond(x: float, y: float) -> str:
    """A point that the style sheet's line width makes visible: a path of no length with square ends."""
    return f"M{svg.figure(x)},{svg.figure(-y)}h0.001"


def _scale(view: Window, units: Units) -> str:
    """A bar to measure the drawing by."""
    length, words = (50.0, "50 mm") if units is Units.MM else (50.8, "2 in")
    right = view.high[0] - 0.02 * (view.high[0] - view.low[0])
    y = -view.low[1] - 0.03 * (view.high[1] - view.low[1])
    tick = 0.008 * (view.high[1] - view.low[1])
    path = f"M{svg.figure(right - length)},{svg.figure(y - tick)}v{svg.figure(2 * tick)}v{svg.figure(-tick)}"
    path += f"H{svg.figure(right)}v{svg.figure(tick)}v{svg.figure(-2 * tick)}"
    return svg.element("path", kind="scale", d=path) + svg.text(
        words, right - length / 2.0, y, kind="scale-word above", anchor="middle"
    )
