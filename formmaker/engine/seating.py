"""Which wood a holding stands in: air, bark and flaws on the surface that is gripped or glued."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.field import Field
from formmaker.engine.preparation import PreparedForm
from formmaker.geometry.frames import Frame
from formmaker.geometry.least import least_distance
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import build_tree, signed_distance
from formmaker.model.blank import FaceKind
from formmaker.model.hold import HoldKind
from formmaker.model.holding import HoldCode, HoldPoint, Seat
from formmaker.model.job import Job
from formmaker.model.marks import MarkKind
from formmaker.tolerances import DEFAULT
from formmaker.units import degrees_round, format_length, nearest_index

Floats = NDArray[np.float64]

BARK_NEAR = 10.0
"""Natural skin nearer than this may be bark, where its thickness is not stated, mm (ours, no source)."""

_TURNS = 72
_STEPS = 64
_EDGE = 1e-6  # mm: a seat that lies on the sawn face itself is not counted as air for rounding


def seat_of(prepared: PreparedForm, field: Field, frame: Frame) -> Seat:
    """Look at the wood that a holding is made in or glued to.

    Parameters
    ----------
    prepared : PreparedForm
    field : Field
    frame : Frame
        ``blank_from_form``.

    Returns
    -------
    Seat
        The least depth is proven over the whole surface; shares are those of 72 angles and 64 places on each part of
        it, weighed by their area.
    """
    segments, blank = seat_segments(prepared), field.blank
    least = least_distance(field.skin, segments, frame, slack=DEFAULT.margin_slack)
    places, weights = _spread(segments, frame)
    depths = signed_distance(field.skin.tree, places).distance
    to_bark = _from_natural(field, places)
    bark = None
    if blank.timber.bark > 0.0:
        bark = float(weights[(depths > 0.0) & (to_bark < blank.timber.bark)].sum())
    return Seat(
        depth=least.value,
        slack=blank.uncertainty + least.slack,
        theta=least.theta,
        radius=least.radius,
        height=least.height,
        in_wood=float(weights[depths >= -_EDGE].sum()),
        bark=bark,
        natural=float(to_bark.min()),
        flaws=tuple(_flaws(field, places)),
    )


def seat_segments(prepared: PreparedForm) -> Floats:
    """Segments (k, 4) of a half section, radius and height of both ends, mm: what is gripped or glued."""
    hold = prepared.hold
    radius, depth, foot = hold.radius, hold.depth, prepared.form.foot_radius
    if hold.kind is HoldKind.GLUE_BLOCK:
        return np.array([[0.0, 0.0, radius, 0.0]])
    if hold.kind is HoldKind.TENON:
        return np.array([[0.0, 0.0, radius, 0.0], [radius, 0.0, radius, -depth], [0.0, -depth, radius, -depth]])
    return np.array(
        [[0.0, depth, radius, depth], [radius, 0.0, radius, depth], [radius, 0.0, max(foot, radius), 0.0]]
    )


def _spread(segments: Floats, frame: Frame) -> tuple[Floats, Floats]:
    """Places over a surface of revolution, blank frame, and the share of its area that each stands for."""
    share = (np.arange(_STEPS) + 0.5) / _STEPS
    ends = segments.reshape(-1, 2, 2)
    across = ends[:, None, 0] + share[None, :, None] * (ends[:, None, 1] - ends[:, None, 0])
    lengths = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    area = (across[..., 0] * lengths[:, None]).ravel()
    across = across.reshape(-1, 2)
    angles = (np.arange(_TURNS) + 0.5) * (2.0 * np.pi / _TURNS)
    x, y = np.outer(np.cos(angles), across[:, 0]), np.outer(np.sin(angles), across[:, 0])
    z = np.broadcast_to(across[:, 1], x.shape)
    places = frame.carry(np.stack([x, y, z], axis=-1).reshape(-1, 3))
    return places, np.tile(area / area.sum() / _TURNS, _TURNS)


def _from_natural(field: Field, places: Floats) -> Floats:
    """Distance of each place to the nearest natural skin; inf where there is none."""
    blank = field.blank
    natural = blank.mesh.faces[blank.face_kinds == FaceKind.NATURAL]
    if not len(natural):
        return np.full(len(places), np.inf)
    tree = build_tree(Mesh(vertices=blank.mesh.vertices, faces=natural))
    return np.abs(signed_distance(tree, places).distance)


def _flaws(field: Field, places: Floats) -> Iterator[str]:
    for mark in field.blank.marks:
        if mark.kind is MarkKind.FLAW and float(np.linalg.norm(places - mark.at, axis=1).min()) < mark.radius:
            yield mark.name


def seat_points(seat: Seat, job: Job) -> Iterator[HoldPoint]:
    """Say what speaks against the wood that a holding stands in."""
    kind, units = job.hold.kind, job.units
    surface = {HoldKind.GLUE_BLOCK: "glue face", HoldKind.TENON: "tenon", HoldKind.RECESS: "recess"}[kind]
    if not seat.is_in_wood:
        yield HoldPoint(code=HoldCode.AIR, text=_not_in_wood(seat, surface, job), hinders=True)
    if seat.bark:
        text = f"{100.0 * seat.bark:.0f} % of the {surface} lies in bark: bark holds neither glue nor jaws."
        yield HoldPoint(code=HoldCode.BARK, text=text, hinders=True)
    elif seat.bark is None and seat.natural < BARK_NEAR:
        text = (
            f"Natural skin comes within {format_length(seat.natural, units)} of the {surface}, and how thick the "
            "bark is is not said: look for bark in it."
        )
        yield HoldPoint(code=HoldCode.BARK, text=text)
    for name in seat.flaws:
        text = f"Flaw {name} reaches into the {surface}: it is not sound wood all round."
        yield HoldPoint(code=HoldCode.FLAW, text=text, hinders=True)


def _not_in_wood(seat: Seat, surface: str, job: Job) -> str:
    degrees = degrees_round(seat.theta)
    where = f"{round(degrees) % 360} deg (index {nearest_index(degrees, job.index_count)} of {job.index_count})"
    known = f"known to within {format_length(seat.slack, job.units)}"
    if seat.depth >= 0.0:
        deep = format_length(seat.depth, job.units)
        return (
            f"The {surface} cannot be said to lie in wood all round: at {where} it is {deep} deep, {known}. True it "
            "until it is."
        )
    out = format_length(-seat.depth, job.units)
    air = f", {100.0 * (1.0 - seat.in_wood):.0f} % of it" if seat.in_wood < 0.995 else ""
    return f"The {surface} stands out of the wood by {out} at {where}{air}; {known}."
