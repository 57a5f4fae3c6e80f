"""Does this form come out of this blank on this mounting: the verdict.

Puts the answers of the other verbs together; each of them can be read alone.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.engine.holding import breaks_through, check_hold
from formmaker.engine.marks import check_marks
from formmaker.engine.necks import Wall, weak_necks
from formmaker.engine.needed import PARTS
from formmaker.engine.preparation import PreparedForm
from formmaker.engine.remarks import remarks
from formmaker.engine.rim import trace_rim
from formmaker.engine.soundness import Body, turned_body, windows
from formmaker.engine.spin import spin
from formmaker.errors import MountingError
from formmaker.geometry.frames import Frame
from formmaker.geometry.least import LeastDistance, least_distance
from formmaker.geometry.nearest import signed_distance
from formmaker.geometry.rings import ring_depths
from formmaker.model.job import Job
from formmaker.model.verdict import Answer, Part, Place, Spin, Verdict, Volumes, WeakNeck, Window
from formmaker.tolerances import DEFAULT, Tolerances
from formmaker.units import format_length

_AXIS_PLACES = 2001
"""Places asked for wood along the axis: less than a thousandth of the blank's diagonal apart."""

_TURNS = 200
"""Angles at which the body is cut into cells: 3.1 mm apart at a radius of 100 mm, about the size of a cell."""

_UNREMARKABLE = ("welded", "scaled")
"""Repairs that a verdict does not repeat: every STL file is welded, and the scale is among the notes already."""


def check_fit(
    job: Job, prepared: PreparedForm, field: Field, *, seen: Spin | None = None, tolerances: Tolerances = DEFAULT
) -> Verdict:
    """Answer the main question.

    Parameters
    ----------
    job : Job
        Its mounting, allowance, units and index positions are used; its marks are the blank's, already scaled.
    prepared : PreparedForm
        Of the job's form and holding.
    field : Field
        Of the job's blank.
    seen : Spin, optional
        Core and ghost, where they are known already: of the same field on the same mounting.
    tolerances : Tolerances

    Returns
    -------
    Verdict
        FITS when the margin and every mark are met by more than the uncertainty, and nothing is loose, hangs by a
        neck or is open below the rim; MISSES when one of the former fails by more than it; TIGHT between.

    Notes
    -----
    The margin is the least signed distance over the surface of must-be-wood, exact on the mesh at the place named,
    with a proven slack (``geometry.least``); a hollow that lies inside must-be-wood without touching its surface is
    looked for on the cells. Uncertainty adds up, never in squares: the blank's own, the slack, the chord error.
    """
    frame = job.mounting.blank_from_form
    _require_wood(prepared, job, field)
    with ThreadPoolExecutor(
        1
    ) as beside:  # core and ghost share nothing with the rest, and take a quarter of the time
        spinning = beside.submit(lambda: spin(field, frame) if seen is None else seen)
        least = least_distance(field.skin, prepared.needed.segments, frame, slack=tolerances.margin_slack)
        rim = trace_rim(field, prepared.section.outer, frame, tolerances=tolerances)
        depths = ring_depths(field.skin.grid, prepared.cells.centres, frame, _TURNS)
        worst = _worst(prepared, field, frame, depths, least)
        body = turned_body(prepared.cells, depths, tolerances=tolerances)
        gaps, necks = _wall_faults(prepared, field, frame, body, tolerances)
    marks = check_marks(field.blank.marks, rim, prepared.solid, frame, job.units)
    hold = check_hold(prepared, units=job.units)
    margin = worst.depth - job.skin
    uncertainty = field.blank.uncertainty + least.slack + tolerances.chord
    spares = [margin, *(mark.spare for mark in marks), -np.inf if breaks_through(hold) else np.inf]
    verdict = Verdict(
        answer=_answer(spares, uncertainty, doubtful=bool(body.loose or gaps or necks)),
        margin=margin,
        uncertainty=uncertainty,
        worst=worst.place,
        diameter=2.0 * prepared.radius,
        height=prepared.form.height,
        foot=2.0 * prepared.form.foot_radius,
        rim=rim,
        spin=spinning.result(),
        loose_pieces=body.loose,
        weak_necks=necks,
        windows=gaps,
        volumes=Volumes(blank=field.volume, bowl=body.joined_volume, waste=field.volume - body.joined_volume),
        hold=hold,
        findings=(),
    )
    repairs = (f"Repaired: {repair.text}" for repair in field.blank.repairs if repair.code not in _UNREMARKABLE)
    return remarks(verdict, marks, job, (*repairs, *field.blank.notes))


def _require_wood(prepared: PreparedForm, job: Job, field: Field) -> None:
    """Refuse a mounting beside the wood: its axis meets none, or the form lies wholly in air."""
    mounting, frame = job.mounting, job.mounting.blank_from_form
    beside = float(frame.inverse.carry(field.blank.mesh.bounds.mean(axis=0))[2])
    heights = beside + field.diagonal * np.linspace(-0.5, 0.5, _AXIS_PLACES)
    places = np.column_stack([np.zeros(_AXIS_PLACES), heights])
    if not (ring_depths(field.skin.grid, places, frame, 1) > 0.0).any():
        ends = signed_distance(field.skin.tree, np.stack([mounting.foot_centre, mounting.rim_centre])).distance
        foot, rim = (format_length(abs(float(end)), job.units) for end in ends)
        raise MountingError(
            f"the axis of the mounting passes through no wood: foot_centre lies {foot} and rim_centre {rim} from the "
            "nearest skin; both belong where the axis leaves the wood, in the blank's own frame"
        )
    if not (ring_depths(field.skin.grid, prepared.cells.centres, frame, 24) > 0.0).any():
        raise MountingError(
            "the form lies wholly outside the wood on this mounting; set foot_centre where the axis leaves the wood "
            f"under the foot, and foot_height, now {format_length(mounting.foot_height, job.units)}, from there up"
        )


def _answer(spares: list[float], uncertainty: float, *, doubtful: bool) -> Answer:
    spare = float(np.min(spares))  # unlike Python's own, it lets no NaN go unseen, and NaN is never a fit
    if spare <= -uncertainty and spare < 0.0:
        return Answer.MISSES
    return Answer.FITS if spare >= uncertainty and not doubtful else Answer.TIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class _Worst:
    """A place and how deep in the wood it lies, mm."""

    place: Place
    depth: float


def _worst(
    prepared: PreparedForm, field: Field, frame: Frame, depths: NDArray[np.float64], least: LeastDistance
) -> _Worst:
    """The worst place of the surface, or a worse one inside: a hollow that the surface does not meet."""
    part = PARTS[prepared.needed.parts[least.segment]]
    place = Place(theta=least.theta, radius=least.radius, height=least.height, part=part)
    surface = _Worst(place=place, depth=least.value)
    inner = np.where(prepared.needed_cells, depths, np.inf)
    turn, cell = np.unravel_index(int(inner.argmin()), inner.shape)
    if not inner[turn, cell] < least.value - field.skin.grid.error:
        return surface
    theta, (radius, height) = 2.0 * np.pi * turn / _TURNS, prepared.cells.centres[cell]
    point = frame.carry(np.array([[radius * np.cos(theta), radius * np.sin(theta), height]]))
    depth = float(signed_distance(field.skin.tree, point).distance[0])
    if depth >= least.value:
        return surface
    place = Place(theta=float(theta), radius=float(radius), height=float(height), part=Part.WALL)
    return _Worst(place=place, depth=depth)


def _wall_faults(
    prepared: PreparedForm, field: Field, frame: Frame, body: Body, tolerances: Tolerances
) -> tuple[tuple[Window, ...], tuple[WeakNeck, ...]]:
    line = prepared.wall
    places = np.vstack([line.outer, line.middle, line.inner])
    depths = ring_depths(field.skin.grid, places, frame, _TURNS).reshape(_TURNS, 3, -1)
    joined = body.joined[:, line.cell]
    wood = np.asarray((depths > 0.0).all(axis=1) & joined)
    missing = np.asarray((depths < 0.0).any(axis=1) | ~joined)
    radii, heights = line.outer.T
    gaps = windows(missing, radii, heights, line.step, tolerances=tolerances)
    wall = Wall(wood=wood, radii=radii, heights=heights, thickness=line.thickness, step=line.step)
    return gaps, weak_necks(wall, tolerances=tolerances)
