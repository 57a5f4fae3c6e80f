"""The whole turn as a picture: outer curve unrolled against the wood, and the half section with core and ghost.

It reads without colour: every band has its hatching and its words. SVG or PNG, by the name of the file.
"""

import io
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib import rc_context
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from formmaker.atomic import write_atomically
from formmaker.model.job import Job
from formmaker.model.spin import SpinMap
from formmaker.model.verdict import Extremum
from formmaker.units import MM_PER_UNIT, Units, format_length, nearest_index

PAPER, INK, FAINT = "#f8f3e8", "#2a241e", "#8c8172"
AIR_TINTS, AIR_HATCHES = ("#b9c0bd", "#dbdfdb"), ("xxxx", "////")
WOOD_TINTS, WOOD_HATCHES = ("#fffdf6", "#efdcb9", "#d8b988", "#b98f5a"), ("", "..", "oo", "OO")
INCHES = (15.0, 8.6)
DPI = 130
_NAMED = 2
"""Highs and lows that are lettered, the most marked of each."""

_LETTERING = 50.0
"""Degrees of the picture that the lettering of one takes."""

_ROOM = 0.05
"""Where core and ghost are nearer than this share of the reach, lines between them would run together."""

_STEPS = {Units.MM: (2, 5, 10, 20, 25, 50, 100, 200), Units.INCH: (0.125, 0.25, 0.5, 1, 2, 4, 8)}
_STYLE = {
    "font.family": "DejaVu Sans",
    "font.size": 9.5,
    "text.color": INK,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.facecolor": PAPER,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.linewidth": 0.45,
    "hatch.color": INK,
    "svg.fonttype": "path",
    "svg.hashsalt": "formmaker",
    "text.parse_math": False,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bands:
    """Edges of the bands of depth in the job's unit, rising, and the words, tint and hatching of each."""

    edges: tuple[float, ...]
    words: tuple[str, ...]
    tints: tuple[str, ...]
    hatches: tuple[str, ...]


def turn_map(seen: SpinMap, job: Job, target: Path) -> None:
    """Write the picture of a whole turn.

    Parameters
    ----------
    seen : SpinMap
    job : Job
        For its title, units and index positions.
    target : Path
        SVG or PNG, by its ending.

    Raises
    ------
    OutputError
        If the file cannot be written.
    """
    stream = io.BytesIO()
    kind = target.suffix.lower().removeprefix(".")
    with rc_context(_STYLE), warnings.catch_warnings():
        # a title may hold letters that the font has not; that costs the letters, not the picture
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        figure = _figure(seen, job)
        metadata = {"Date": None} if kind == "svg" else {}
        figure.savefig(stream, format=kind, dpi=DPI, facecolor=PAPER, metadata=metadata)
    write_atomically(target, stream.getvalue())


def _figure(seen: SpinMap, job: Job) -> Figure:
    figure = Figure(figsize=INCHES)
    figure.text(0.045, 0.955, f"{job.title[:90]}: the whole turn".replace("\n", " "), fontsize=15, weight="bold")
    figure.text(0.045, 0.925, "Wood outside the outer curve, and wood missing from it, at every angle and height.")
    unrolled = figure.add_axes((0.065, 0.25, 0.56, 0.59))
    section = figure.add_axes((0.695, 0.25, 0.28, 0.59))
    bands = _bands(seen.depth / MM_PER_UNIT[job.units], job.units)
    _draw_unrolled(unrolled, seen, job, bands)
    _draw_section(section, seen, job)
    _draw_key(figure, bands)
    return figure


# ---- the unrolled curve ----------------------------------------------------------------------------------------


def _bands(depth: NDArray[np.float64], units: Units) -> _Bands:
    """Bands of even steps: two of air, up to four of wood; the last of each takes all that lies beyond."""
    wood, air = max(float(depth.max()), 0.0), max(float(-depth.min()), 0.0)
    step = next((step for step in _STEPS[units] if 5.0 * step >= max(wood, air / 2.0)), _STEPS[units][-1])
    said = [format_length(k * step * MM_PER_UNIT[units], units).replace(".0 mm", " mm") for k in range(4)]
    edges = (-max(air, 2.0 * step) - 1.0, -step, 0.0, step, 2.0 * step, 3.0 * step, max(wood, 3.0 * step) + 1.0)
    words = (
        f"air: wood begins more than {said[1]} further in",
        f"air: wood begins up to {said[1]} further in",
        f"wood, up to {said[1]} outside the curve",
        f"{said[1]} to {said[2]} outside",
        f"{said[2]} to {said[3]} outside",
        f"more than {said[3]} outside",
    )
    return _Bands(edges=edges, words=words, tints=AIR_TINTS + WOOD_TINTS, hatches=AIR_HATCHES + WOOD_HATCHES)


def _draw_unrolled(axes: Axes, seen: SpinMap, job: Job, bands: _Bands) -> None:
    unit = MM_PER_UNIT[job.units]
    # closed: the turn ends where it began
    degrees = np.append(np.degrees(seen.theta), 360.0)
    depth = np.column_stack([seen.depth, seen.depth[:, :1]]) / unit
    height = seen.height / unit
    axes.contourf(degrees, height, depth, levels=bands.edges, colors=bands.tints, hatches=bands.hatches)
    lines = axes.contour(degrees, height, depth, levels=bands.edges[1:-1], colors=INK, linewidths=0.6, linestyles="-")
    above = [edge for edge in lines.levels if edge > 0.0]
    for text in axes.clabel(lines, above, fmt=_length_words(job.units), fontsize=8.5, inline=False):
        text.set_bbox({"facecolor": PAPER, "edgecolor": "none", "pad": 0.8})
    rim = np.append(seen.rim.height, seen.rim.height[0]) / unit
    axes.plot(np.linspace(0.0, 360.0, len(rim)), rim, color=PAPER, linewidth=4.5)
    axes.plot(np.linspace(0.0, 360.0, len(rim)), rim, color=INK, linewidth=2.2)
    top = float(height[-1])
    axes.set_xlim(0.0, 360.0)
    axes.set_ylim(0.0, 1.06 * top)
    for word, places, below in (("high", seen.rim.highs, False), ("low", seen.rim.lows, True)):
        _name_places(axes, job, word, places, below=below)
    _scales(axes, job)


def _length_words(units: Units) -> object:
    return lambda size: format_length(float(size) * MM_PER_UNIT[units], units).replace(".0 mm", " mm")


def _name_places(axes: Axes, job: Job, word: str, places: Sequence[Extremum], *, below: bool) -> None:
    unit = MM_PER_UNIT[job.units]
    for place in _apart(places):
        degrees = float(np.degrees(place.theta)) % 360.0
        index = nearest_index(degrees, job.index_count)
        text = f"{word} {format_length(place.height, job.units)}\n{degrees:.0f} deg, index {index}"
        axes.annotate(
            text,
            (degrees, place.height / unit),
            xytext=(0, -12 if below else 10),
            textcoords="offset points",
            ha="left" if degrees < 40.0 else "right" if degrees > 320.0 else "center",
            va="top" if below else "bottom",
            fontsize=8.5,
            bbox={"facecolor": PAPER, "edgecolor": INK, "linewidth": 0.5, "pad": 2.0},
            arrowprops={"arrowstyle": "-", "color": INK, "linewidth": 0.8},
        )


def _apart(places: Sequence[Extremum]) -> list[Extremum]:
    """The most marked places that leave room for each other's lettering."""
    named: list[Extremum] = []
    for place in places:
        turns = (abs(float(np.degrees(place.theta - other.theta))) for other in named)
        if len(named) < _NAMED and all(min(turn, 360.0 - turn) > _LETTERING for turn in turns):
            named.append(place)
    return named


def _scales(axes: Axes, job: Job) -> None:
    every = max(1, round(job.index_count / 24))
    positions = np.arange(0, job.index_count + 1, every)
    axes.set_xticks(360.0 * positions / job.index_count, [str(k % job.index_count) for k in positions], fontsize=8.5)
    axes.set_xlabel(f"index position of {job.index_count}, counter-clockwise looking at the rim toward the foot")
    above = axes.secondary_xaxis("top")
    above.set_xticks(np.arange(0, 361, 30))
    above.set_xlabel("degrees from zero")
    axes.set_ylabel(f"height above the foot, {job.units.value}")
    axes.spines[["right"]].set_visible(False)


# ---- the half section ------------------------------------------------------------------------------------------


def _draw_section(axes: Axes, seen: SpinMap, job: Job) -> None:
    unit = MM_PER_UNIT[job.units]
    height, core, ghost = (values / unit for values in (seen.spin.height, seen.spin.core, seen.spin.ghost))
    axes.fill_betweenx(height, 0.0, core, facecolor=WOOD_TINTS[1], edgecolor=INK, hatch="///", linewidth=0.8)
    if (ghost - core).max() > _ROOM * ghost.max():
        shares = 100.0 * seen.air.share
        places = seen.air.radius / unit, seen.air.height / unit
        axes.contour(*places, shares, levels=[25, 75], colors=FAINT, linewidths=0.8)
        axes.plot(seen.half_air / unit, height, color=INK, linewidth=1.0, linestyle=(0, (6, 3)))
    axes.plot(ghost, height, color=INK, linewidth=1.8, linestyle=(0, (0.5, 2.0)))
    axes.plot(np.append(0.0, seen.outside) / unit, np.append(0.0, seen.height) / unit, color=INK, linewidth=2.2)
    axes.axhline(0.0, color=INK, linewidth=0.6, linestyle=(0, (12, 3, 1, 3)))
    axes.set_xlim(0.0, 1.05 * max(float(ghost.max()), float(seen.outside.max()) / unit))
    axes.set_ylim(min(float(height[0]), 0.0), 1.03 * max(float(height[-1]), float(seen.height[-1]) / unit))
    axes.set_aspect("equal", anchor="S")
    axes.set_xlabel(f"radius from the axis, {job.units.value}")
    axes.set_ylabel(f"height above the foot, {job.units.value}")
    axes.spines[["top", "right"]].set_visible(False)


def _draw_key(figure: Figure, bands: _Bands) -> None:
    patches = [
        Patch(facecolor=tint, edgecolor=INK, hatch=hatch, linewidth=0.6, label=words)
        for words, tint, hatch in zip(bands.words, bands.tints, bands.hatches, strict=True)
    ]
    figure.legend(
        handles=patches, loc="upper left", bbox_to_anchor=(0.06, 0.165), ncols=3, frameon=False, handlelength=3.2,
        handleheight=1.6, columnspacing=1.6,
    )  # fmt: skip
    figure.text(0.065, 0.035, "Heavy line: the rim, where the wood first ends going up the curve.")
    figure.text(
        0.695,
        0.165,
        "Hatched: the core, wood at every angle.\nDotted: the ghost, the farthest wood.\n"
        "Heavy line: the outer curve of the form.\nDashed: half the turn is air; grey: a quarter, three quarters.",
        va="top",
        linespacing=1.6,
    )
