"""Which wood a form needs: must-be-wood as an outline, and its boundary as labelled segments.

Knows the form and the holding, not the blank.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.engine.section import outline_below, section_outline
from formmaker.errors import FormError
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.section import Section
from formmaker.model.verdict import Part
from formmaker.tolerances import DEFAULT, Tolerances

PARTS = tuple(Part)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NeededWood:
    """Must-be-wood of a form with its holding, in the half plane of radius and height.

    Parameters
    ----------
    outline : (n, 2) float
        Body of the bowl that must be wood, closed polygon, mm: all of it for a turned edge, up to the lowest rim
        still accepted for a natural one. The holding is not part of it.
    segments : (k, 4) float
        Everything on whose surface the wood is asked for, holding included: radius and height of both ends, mm.
    parts : (k,) int
        Index into ``PARTS`` for each segment.
    """

    outline: NDArray[np.float64]
    segments: NDArray[np.float64]
    parts: NDArray[np.int64]

    def __post_init__(self) -> None:
        for name, kind in (("outline", np.float64), ("segments", np.float64), ("parts", np.int64)):
            array = np.array(getattr(self, name), dtype=kind)
            array.flags.writeable = False
            object.__setattr__(self, name, array)


def needed_wood(form: Form, section: Section, hold: Hold, *, tolerances: Tolerances = DEFAULT) -> NeededWood:
    """Must-be-wood of a form and its holding.

    Parameters
    ----------
    form : Form
    section : Section
        The form's own section.
    hold : Hold
        A tenon is cut from the blank and asks for its wood below the foot; a glue block asks for wood under its
        whole face; a recess is cut into wood that the body already asks for.
    tolerances : Tolerances
        ``chord`` bounds how far the polygon may leave the curves.

    Returns
    -------
    NeededWood
    """
    top = form.height if form.edge is Edge.TURNED else form.lowest_rim
    outline = _body_outline(section, top, form.height, tolerances.chord)
    body = np.hstack([outline, np.roll(outline, -1, axis=0)])
    body = body[(body[:, 0] > tolerances.same_point) | (body[:, 2] > tolerances.same_point)]
    body = _parted_at(body, hold.radius)
    labels = np.array([_body_part(segment, form, hold, top) for segment in body])
    extra, extra_labels = hold_segments(form, hold)
    return NeededWood(
        outline=outline,
        segments=np.vstack([body, extra]),
        parts=np.concatenate([labels, extra_labels]),
    )


def held_outline(outline: NDArray[np.float64], hold: Hold) -> NDArray[np.float64]:
    """Outline of a half section with the tenon added or the recess taken off.

    Parameters
    ----------
    outline : (n, 2) float
        Closed polygon (radius, height), mm.
    hold : Hold
        A glue block is other wood and changes nothing.

    Returns
    -------
    (m, 2) float
        The largest part, where a recess as wide as the foot leaves several.

    Raises
    ------
    FormError
        If a recess leaves nothing.
    """
    if hold.kind is HoldKind.GLUE_BLOCK:
        return outline
    body = shapely.Polygon(outline)
    if hold.kind is HoldKind.TENON:
        body = body.union(shapely.box(0.0, -hold.depth, hold.radius, 0.0))
    else:
        body = body.difference(shapely.box(0.0, 0.0, hold.radius, hold.depth))
    if body.is_empty:
        raise FormError(
            f"a recess of diameter {hold.diameter:g} mm and depth {hold.depth:g} mm takes the whole bowl away; "
            "make it smaller"
        )
    largest = max(shapely.get_parts(body), key=shapely.area)
    return np.array(largest.exterior.coords)[:-1]


def _body_outline(section: Section, top: float, height: float, chord: float) -> NDArray[np.float64]:
    if top >= height:
        return section_outline(section, chord=chord)
    return outline_below(section, top, chord=chord)


def _parted_at(segments: NDArray[np.float64], radius: float) -> NDArray[np.float64]:
    """Cut the segments of the foot plane in two where the edge of the holding crosses them."""
    level = (np.abs(segments[:, 1]) < 1e-9) & (np.abs(segments[:, 3]) < 1e-9)
    crossed = level & ((segments[:, 0] - radius) * (segments[:, 2] - radius) < 0.0)
    first, second = segments.copy(), segments[crossed].copy()
    first[crossed, 2] = radius
    second[:, 0] = radius
    return np.vstack([first, second])


def _body_part(segment: NDArray[np.float64], form: Form, hold: Hold, top: float) -> int:
    radius, height = (segment[:2] + segment[2:]) / 2.0
    level = abs(segment[1] - segment[3]) < 1e-9
    if level and abs(height) < 1e-9:
        on_block = hold.kind is HoldKind.GLUE_BLOCK and radius <= hold.radius
        return PARTS.index(Part.GLUE_FACE if on_block else Part.FOOT)
    if level and abs(height - top) < 1e-9:
        return PARTS.index(Part.RIM)
    if radius < form.foot_radius and height < form.floor + radius:
        return PARTS.index(Part.FLOOR)
    return PARTS.index(Part.WALL)


def hold_segments(form: Form, hold: Hold) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Segments (k, 4) on which a holding asks for wood beyond the body, mm, and their parts (k,)."""
    radius, depth = hold.radius, hold.depth
    if hold.kind is HoldKind.TENON:
        rows = [[0.0, -depth, radius, -depth], [radius, -depth, radius, 0.0], [0.0, 0.0, radius, 0.0]]
        label = Part.TENON
    elif hold.kind is HoldKind.GLUE_BLOCK and radius > form.foot_radius:
        rows, label = [[form.foot_radius, 0.0, radius, 0.0]], Part.GLUE_FACE
    else:
        return np.empty((0, 4)), np.empty(0, dtype=np.int64)
    return np.array(rows), np.full(len(rows), PARTS.index(label))
