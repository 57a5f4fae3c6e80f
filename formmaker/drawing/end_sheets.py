"""One sheet for each end, seen from outside, at full size: where the centre is, where it goes, how it is found.

Everything is seen along the present axis: a paper held square to it. Divider settings are straight through the air,
as dividers span; their arcs are drawn where they are seen, so that they cross at the centre.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.drawing.dimensions import arrow
from formmaker.drawing.labels import Ground, place_label
from formmaker.drawing.linestyles import CENTRE, GHOST, OUTLINE, THIN, LineStyle
from formmaker.drawing.marks import Arc, Box, Line, Mark, Point, Polyline, Text, bounds, text_box
from formmaker.drawing.sheet import Caption, Drawing
from formmaker.drawing.subject import Subject
from formmaker.model.ends import End
from formmaker.model.marks import MarkKind
from formmaker.model.move import EndMove
from formmaker.units import degrees_round, format_length, nearest_index

Floats = NDArray[np.float64]

_PURPOSE = (
    "For marking the {end} end, seen from outside, held square to the axis. {way} Dotted line: the outline of all "
    "the wood; wide line: the wood just inside this end."
)
_BY_MARKS = (
    "Lay it on by the witness marks, or swing the arcs: dividers set to each length, one leg in its mark; where the "
    "arcs cross is the centre."
)
_BY_OUTLINE = (
    "Cut it out along the outline, lay it on the wood with angle 0 where it belongs, and prick the centre through."
)
ARC_HALF = 9.0
"""How far an arc is drawn on either side of the centre, mm."""

STAYS = 0.05
"""A centre that goes less far stays, mm: half of what is lettered."""


def end_sheet(subject: Subject, end: End) -> Drawing:
    """The sheet of one end; a subject without a move or outlines has none of them."""
    view = _View(subject=subject, end=end)
    move = view.move
    centre = view.seen(move.after)
    signs = [*view.outlines(), *view.directions(), *_cross(centre, OUTLINE, "new-centre")]
    wanted: list[tuple[list[str], Point]] = [([*view.name_of_centre()], centre)]
    if move.shift > STAYS:
        old = view.seen(move.before)
        signs.extend(_cross(old, THIN, "old-centre"))
        signs.extend(_shift(old, centre))
        wanted.append((["old centre"], old))
    for name, at in view.witnesses():
        signs.extend([Arc(centre=at, radius=2.0, style=OUTLINE, id=f"mark-{name}"), *_cross(at, THIN, "", half=3.5)])
        wanted.append(([f"mark {name}"], at))
    wanted.extend(view.direction_names())
    signs.extend(view.arcs(centre))
    caption = Caption(
        title=subject.job.title,
        name=f"End sheet, {end.value} end",
        purpose=_PURPOSE.format(end=end.value, way=_BY_OUTLINE if move.dividers is None else _BY_MARKS),
        notes=view.notes(),
    )
    return Drawing(marks=(*signs, *_lettered(signs, wanted)), caption=caption)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _View:
    """One end looked at from outside: x toward angle 0; the foot is seen from below, so that angles run clockwise."""

    subject: Subject
    end: End

    @property
    def move(self) -> EndMove:
        if self.subject.move is None:
            raise ValueError("an end sheet needs a move, if only one from a mounting to itself")
        return next(move for move in self.subject.move.ends if move.end is self.end)

    def flat(self, points: Floats) -> Floats:
        return points[..., :2] * [1.0, -1.0 if self.end is End.FOOT else 1.0]

    def seen(self, place: Floats) -> Point:
        x, y = self.flat(self.subject.job.mounting.blank_from_form.inverse.carry(place))
        return float(x), float(y)

    def outlines(self) -> Iterable[Mark]:
        ends = self.subject.outline
        if ends is None:
            return
        for area, style, name in ((ends.shadow, GHOST, "shadow"), (ends.inside[self.end], OUTLINE, "end-outline")):
            parts = [part for part in shapely.get_parts(area) if part.geom_type == "Polygon" and part.area > 4.0]
            for i, part in enumerate(sorted(parts, key=lambda part: -part.area)):
                ring = self.flat(shapely.get_coordinates(part.exterior)[:-1])
                yield Polyline(points=ring, closed=True, style=style, id=name if i == 0 else "")

    def directions(self) -> Iterable[Mark]:
        """Index 0 and the quarters, as short lines at the edge of the outline."""
        reach = 0.5 * self.subject.verdict.diameter
        for quarter in range(4):
            way = self.flat(np.array([math.cos(quarter * math.pi / 2.0), math.sin(quarter * math.pi / 2.0)]))
            ends = [tuple((size * way).tolist()) for size in (reach - 12.0, reach)]
            yield Line(start=ends[0], end=ends[1], style=CENTRE)

    def direction_names(self) -> Iterable[tuple[list[str], Point]]:
        job, reach = self.subject.job, 0.5 * self.subject.verdict.diameter - 6.0
        for quarter in range(4):
            x, y = reach * self.flat(np.array([math.cos(quarter * math.pi / 2.0), math.sin(quarter * math.pi / 2.0)]))
            yield (
                [f"{90 * quarter}°", f"index {nearest_index(90.0 * quarter, job.index_count)}"],
                (float(x), float(y)),
            )

    def name_of_centre(self) -> tuple[str, ...]:
        return ("new centre",) if self.move.shift > STAYS else ("centre",)

    def witnesses(self) -> Iterable[tuple[str, Point]]:
        """Witness marks that lie nearer to this end."""
        for mark in self.subject.witnesses:
            if mark.kind is MarkKind.WITNESS and mark.name in self.move.usable:
                yield mark.name, self.seen(mark.at)

    def arcs(self, centre: Point) -> Iterable[Mark]:
        if self.move.dividers is None:
            return
        places = dict(self.witnesses())
        for setting in self.move.dividers.settings:
            at = places[setting.mark]
            radius = math.dist(at, centre)
            if radius <= 0.0:
                continue
            middle = math.atan2(centre[1] - at[1], centre[0] - at[0])
            half = min(ARC_HALF / radius, 1.0)
            yield Arc(centre=at, radius=radius, start=middle - half, end=middle + half, id=f"arc-{setting.mark}")
            yield Line(start=at, end=centre, style=CENTRE)

    def notes(self) -> tuple[str, ...]:
        move, units = self.move, self.subject.job.units
        is_moved, said = move.shift > STAYS, []
        if is_moved:
            degrees = degrees_round(move.toward)
            index = nearest_index(degrees, self.subject.job.index_count)
            said.append(f"The centre goes {format_length(move.shift, units)} toward {degrees:.0f}° (index {index}).")
        else:
            said.append("The centre stays where it is.")
        if move.dividers is not None:
            pair = " and ".join(
                f"{format_length(setting.radius, units)} from mark {setting.mark}"
                for setting in move.dividers.settings
            )
            blur = move.dividers.blur
            said.append(
                f"Dividers: {pair}; a setting 1 off puts the centre up to {blur:.1f} off. The crossing is the "
                f"{_CROSSINGS.get(move.dividers.crossing.value if is_moved else '', 'one drawn')}."
            )
        else:
            said.append(
                "No two witness marks near this end give arcs that cross well: make two that do, or go by the "
                "outline and check with a rule."
            )
        side = "clockwise" if self.end is End.FOOT else "counter-clockwise"
        return (" ".join(said), f"From this side angles run {side}.")


_CROSSINGS = {
    "only": "only one on the wood",
    "nearer the old centre": "one nearer the old centre",
    "farther from the old centre": "one farther from the old centre",
}


def _cross(at: Point, style: LineStyle, name: str, half: float = 6.0) -> Iterable[Mark]:
    x, y = at
    yield Line(start=(x - half, y), end=(x + half, y), style=style, id=name)
    yield Line(start=(x, y - half), end=(x, y + half), style=style)


def _shift(old: Point, new: Point) -> Iterable[Mark]:
    return arrow(old, new, OUTLINE) if math.dist(old, new) > 1.0 else ()


def _lettered(signs: list[Mark], wanted: list[tuple[list[str], Point]]) -> list[Mark]:
    """Each name near its place, off the lines and off one another."""
    box = bounds(signs)
    room = Box(left=box.left, low=box.low, right=box.right, high=box.high)
    lines = [points for mark in signs for points in _along(mark)]
    ground = Ground(room=room, lines=np.concatenate(lines))
    texts: list[Text] = [mark for mark in signs if isinstance(mark, Text)]
    placed: list[Mark] = []
    for words, (x, y) in wanted:
        ups = (8.0, -8.0, 14.0, -14.0, 22.0, -22.0, 0.0)
        places = [(x + across, y + up) for across in (0.0, 18.0, -18.0, 30.0, -30.0, 45.0, -45.0) for up in ups]
        found = place_label(words, places, ground, [text_box(text) for text in texts])
        texts.extend(found)
        placed.extend(found)
    return placed


def _along(mark: Mark) -> Iterable[Floats]:
    """Points along a mark about 1 mm apart."""
    match mark:
        case Line():
            ends = np.array([mark.start, mark.end])
        case Polyline():
            ends = np.concatenate([mark.points, mark.points[:1]])
        case _:
            return
    way = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(ends, axis=0).T))])
    places = np.linspace(0.0, way[-1], max(2, math.ceil(way[-1])))
    yield np.column_stack([np.interp(places, way, ends[:, k]) for k in (0, 1)])
