"""The rim unrolled as a drawing: height over one turn; natural edge ragged, sawn plain, turned double."""

import math

import numpy as np
from numpy.typing import NDArray

from formmaker.desk import svg
from formmaker.model.form import Edge
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.verdict import Extremum, RimKind, RimLine
from formmaker.pipeline.sitting import Sitting
from formmaker.units import degrees_round, format_length

_ROOM = math.radians(45.0)
"""Angle between two highs, or two lows, that are both named."""

_WORDS_AT = ((0.0, "small below", "start"), (1.0, "small under", "end"), (0.5, "small under", "middle"))
"""Where the words on the lowest rim accepted may stand: share of the turn, class, anchor."""

_WORDS_WIDE = 0.2
"""Share of the turn within which a mark's name would meet them."""

_BELOW, _ABOVE = 0.16, 0.2
"""Paper below the foot and above the highest rim, as a share of its height: index numbers below, words above."""


def rim_window(sitting: Sitting, aspect: float) -> tuple[float, float, float]:
    """Width of the view, its low and its high, mm; the width follows from the shape of its place on the page."""
    verdict = sitting.report.verdict
    top = max(verdict.height, float(np.nanmax(verdict.rim.height)))
    low, high = -_BELOW * top, (1.0 + _ABOVE) * top
    return aspect * (high - low), low, high


def rim_drawing(sitting: Sitting, *, theta: float, height: float, aspect: float) -> str:
    """Draw the rim unrolled; the inside of an SVG element whose view box is that of ``rim_window``."""
    rim, job = sitting.report.verdict.rim, sitting.report.job
    width, low, high = rim_window(sitting, aspect)
    per = width / (2.0 * math.pi)
    across = np.append(rim.theta, 2.0 * math.pi) * per
    heights = np.append(rim.height, rim.height[0])
    line = np.column_stack([across, heights])
    under = np.vstack([[0.0, 0.0], line, [width, 0.0]])
    return "".join(
        (
            svg.polygon(under, kind="wood"),
            _index(job.index_count, width, low, high),
            svg.line(0.0, 0.0, width, 0.0, kind="foot-plane"),
            _wished(sitting, per, width),
            _stretches(rim, line),
            _extremes(sitting, per, width, high),
            _marks(sitting, per, width),
            svg.line(0.0, -height, width, -height, kind="picked height"),
            svg.line(theta * per, -low, theta * per, -high, kind="picked"),
        )
    )


def _index(count: int, width: float, low: float, high: float) -> str:
    every = max(1, round(count / 12))
    parts = []
    for k in range(0, count + 1, every):
        x = width * k / count
        anchor = {0: "start", count: "end"}.get(k, "middle")
        parts.append(svg.line(x, -0.0, x, -high, kind="grid"))
        parts.append(svg.text(str(k % count), x, -low, kind="index foot", anchor=anchor))
    return "".join(parts)


def _wished(sitting: Sitting, per: float, width: float) -> str:
    """The lowest rim that would still be accepted; its words where the fewest marks stand."""
    form, units = sitting.report.job.form, sitting.report.job.units
    if form.edge is not Edge.NATURAL:
        return ""
    words = f"at least {format_length(form.lowest_rim, units)}"
    marks = [at / width for _, at, _ in _placed(sitting, per)]
    share, kind, anchor = min(
        _WORDS_AT, key=lambda place: sum(abs(mark - (0.15 + 0.7 * place[0])) < _WORDS_WIDE for mark in marks)
    )
    return svg.line(0.0, -form.lowest_rim, width, -form.lowest_rim, kind="lowest") + svg.text(
        words, share * width, -form.lowest_rim, kind=kind, anchor=anchor
    )


def _placed(sitting: Sitting, per: float) -> list[tuple[Mark, float, float]]:
    """Keep marks and flaws with their places on the paper, mm."""
    form_from_blank = sitting.report.job.mounting.blank_from_form.inverse
    placed = []
    for mark in sitting.report.blank.marks:
        if mark.kind is MarkKind.WITNESS:
            continue
        x, y, z = (float(part) for part in form_from_blank.carry(mark.at))
        placed.append((mark, math.radians(degrees_round(math.atan2(y, x))) * per, z))
    return placed


def _stretches(rim: RimLine, line: NDArray[np.float64]) -> str:
    """The line itself: bark gets hairs, a turned edge is drawn double, a sawn one plain."""
    parts = []
    for kind, start, end in _runs(rim.kinds):
        stretch = line[start : end + 1]
        parts.append(svg.polyline(stretch, kind=f"rim {kind.value}"))
        if kind is RimKind.TURNED:
            parts.append(svg.polyline(stretch, kind="rim inlay"))
        if kind is RimKind.NATURAL:
            parts.append(_hairs(stretch, start))
    return "".join(parts)


def _hairs(stretch: NDArray[np.float64], start: int) -> str:
    """Short strokes of uneven length above the line, for bark."""
    step = float(np.ptp(stretch[:, 0])) / max(len(stretch) - 1, 1)
    hairs = []
    for k, (x, y) in enumerate(stretch[:-1:2].tolist()):
        length = step * (1.4 + 1.2 * math.sin(2.4 * (start + k)) ** 2)
        hairs.append(f"M{svg.figure(x)},{svg.figure(-y)}l{svg.figure(0.5 * step)},{svg.figure(-length)}")
    return svg.element("path", kind="bark", d="".join(hairs)) if hairs else ""


def _runs(kinds: tuple[RimKind, ...]) -> list[tuple[RimKind, int, int]]:
    """Stretches of one kind: the kind, its first place and the place after its last."""
    starts = [0, *(at for at in range(1, len(kinds)) if kinds[at] is not kinds[at - 1])]
    return [(kinds[start], start, end) for start, end in zip(starts, [*starts[1:], len(kinds)], strict=True)]


def _extremes(sitting: Sitting, per: float, width: float, high: float) -> str:
    """Highs and lows with their heights; none where a flaw's name stands."""
    rim, units = sitting.report.verdict.rim, sitting.report.job.units
    if float(np.ptp(rim.height)) < 1.0:
        return ""
    names = [(at + 0.05 * width, z) for mark, at, z in _placed(sitting, per) if mark.kind is MarkKind.FLAW]

    def is_free(place: Extremum) -> bool:
        x, y = place.theta * per, place.height + 0.08 * high
        return all(abs(x - at) > 0.12 * width or abs(y - z) > 0.15 * high for at, z in names)

    highs = [place for place in _apart(rim.highs) if is_free(place)]
    words = [_extreme(at, per, format_length(at.height, units), "high") for at in highs]
    for low in _apart(rim.lows):  # at the foot the index numbers stand below
        words.append(
            _extreme(low, per, format_length(low.height, units), "high" if low.height < 0.1 * high else "low")
        )
    return "".join(words)


def _apart(places: tuple[Extremum, ...]) -> list[Extremum]:
    """The first few that leave each other room for their figures."""
    chosen: list[Extremum] = []
    for place in places:
        gaps = [abs((place.theta - other.theta + math.pi) % (2.0 * math.pi) - math.pi) for other in chosen]
        if all(gap > _ROOM for gap in gaps) and len(chosen) < 3:
            chosen.append(place)
    return chosen


def _extreme(place: Extremum, per: float, words: str, kind: str) -> str:
    x = place.theta * per
    share = place.theta / (2.0 * math.pi)
    anchor = "start" if share < 0.04 else "end" if share > 0.96 else "middle"
    dot = svg.element("path", kind="extreme", d=f"M{svg.figure(x)},{svg.figure(-place.height)}h0.001")
    return dot + svg.text(words, x, -place.height, kind=f"extreme-word {kind}", anchor=anchor)


def _marks(sitting: Sitting, per: float, width: float) -> str:
    """Keep marks as flags on poles from the foot, flaws as crosses, each with its name."""
    parts = []
    for mark, at, z in _placed(sitting, per):
        anchor = "end" if at > 0.9 * width else "start"
        if mark.kind is MarkKind.KEEP:
            parts.append(svg.line(at, 0.0, at, -z, kind="pole"))
        parts.append(
            svg.element("path", kind=f"mark {mark.kind.value}", d=f"M{svg.figure(at)},{svg.figure(-z)}h0.001")
        )
        name_at = 0.3 * z if mark.kind is MarkKind.KEEP else z  # on the pole, clear of what is said of the rim
        parts.append(svg.text(mark.name, at, -name_at, kind="mark-name beside", anchor=anchor))
    return "".join(parts)
