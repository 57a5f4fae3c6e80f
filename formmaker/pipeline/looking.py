"""What a sitting looks like: half section, end view, the bowl in space, the place under a finger. Form frame, mm.

Pictures come from the light blank, which may leave the true skin by some tenths of a millimetre; answers never do.
"""

from collections.abc import Collection
from contextlib import suppress
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from formmaker.engine.needed import held_outline
from formmaker.engine.section import section_outline
from formmaker.engine.wanting import wanting
from formmaker.errors import FormmakerError
from formmaker.geometry.booleans import difference, intersection
from formmaker.geometry.frames import Frame
from formmaker.geometry.lines import line_crossings
from formmaker.geometry.meshes import Mesh, moved
from formmaker.geometry.plane_loops import Loops, plane_loops
from formmaker.geometry.revolve import revolved
from formmaker.model.blank import FaceKind
from formmaker.pictures.wood import depth_under
from formmaker.pipeline.sitting import Sitting

SEGMENTS = 96
"""Flats in one turn of the bowl on the screen: 8 mm at a radius of 125 mm, shaded round."""

SAPWOOD = 20.0
"""Thickness of sapwood that is shown where the job says none, mm; ours, no source."""

COLOUR_STEP = 6.0
"""Longest step along the outline of the bowl on the screen, mm: its colour is worked out at the points alone."""

CHORD = 0.2
"""How far the outline of the bowl on the screen may leave its curve, mm."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HalfSection:
    """The half plane at one angle: loops of wood, the form's outline, and where wood is wanting in it."""

    wood: Loops
    outline: NDArray[np.float64]
    wanting: Loops


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """A body to look at, form frame, and how deep each of its vertices lies under the bark, mm."""

    mesh: Mesh
    depth: NDArray[np.float64]


Bodies = dict[str, Seen]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Touched:
    """A place on the skin: blank frame (3,), and angle (radians), radius and height in the form frame."""

    at: NDArray[np.float64]
    theta: float
    radius: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sight:
    """A line of sight, form frame: where it is seen from, mm, and the direction; (3,) each."""

    eye: NDArray[np.float64]
    toward: NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """A camera with perspective: where it stands, what it looks at, what is up, and its angle upright, radians."""

    position: NDArray[np.float64]
    focus: NDArray[np.float64]
    up: NDArray[np.float64]
    angle: float


def sight_of(camera: Camera, *, across: float, up: float, aspect: float) -> Sight:
    """Line of sight through a place of a picture: -1 to 1 from left to right and from bottom to top."""
    ahead = camera.focus - camera.position
    ahead = ahead / np.linalg.norm(ahead)
    right = np.cross(ahead, camera.up)
    right = right / np.linalg.norm(right)
    half = np.tan(camera.angle / 2.0)
    toward = ahead + half * (up * np.cross(right, ahead) + across * aspect * right)
    return Sight(eye=camera.position, toward=toward)


def half_section(sitting: Sitting, theta: float) -> HalfSection:
    """Cut wood and form at one angle, radians."""
    prepared = sitting.report.prepared
    wood = plane_loops(sitting.shown, _blank_from_form(sitting, _upright(theta)))
    return HalfSection(wood=wood, outline=prepared.outline, wanting=wanting(prepared.needed.outline, wood))


def end_view(sitting: Sitting, height: float) -> Loops:
    """Loops of wood at one height, x toward angle 0, seen from the rim."""
    level = Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, height]))
    return plane_loops(sitting.shown, _blank_from_form(sitting, level))


def blank_to_see(sitting: Sitting) -> Seen:
    """Show the light blank."""
    mesh = moved(sitting.shown, sitting.report.job.mounting.blank_from_form.inverse)
    return Seen(mesh=mesh, depth=np.zeros(len(mesh.vertices)))


def bowl_to_see(sitting: Sitting) -> Seen:
    """Show the bowl as it would come out, natural edge and all; empty where no wood of it is left."""
    blank = blank_to_see(sitting).mesh
    return _seen(sitting, intersection(blank, _solid(sitting)))


def ghost_to_see(sitting: Sitting) -> Seen:
    """Show the blur out to the farthest wood, as it is seen while the blank spins."""
    spin = sitting.report.verdict.spin
    outline = np.column_stack([spin.ghost, spin.height])
    ends = [[0.0, outline[-1, 1]], [0.0, outline[0, 1]]]
    mesh = revolved(np.vstack([outline[outline[:, 0] > 0.0], ends]), SEGMENTS)
    return Seen(mesh=mesh, depth=np.zeros(len(mesh.vertices)))


def lines_to_see(sitting: Sitting, theta: float, height: float) -> NDArray[np.float64]:
    """Axis, and a pointer from it to the picked angle and height: ends of straight lines, (n, 2, 3), mm."""
    spin = sitting.report.verdict.spin
    low, high = float(spin.height[0]), float(spin.height[-1])
    beyond, reach = 0.15 * (high - low), float(spin.ghost.max())
    tip = [1.12 * reach * np.cos(theta), 1.12 * reach * np.sin(theta), height]
    return np.array([[[0.0, 0.0, low - beyond], [0.0, 0.0, high + beyond]], [[0.0, 0.0, height], tip]])


def flags_to_see(sitting: Sitting) -> NDArray[np.float64]:
    """Marks as short poles out of the wood: ends of straight lines, (n, 2, 3), mm."""
    form_from_blank = sitting.report.job.mounting.blank_from_form.inverse
    middle = sitting.wood.blank.mesh.bounds.mean(axis=0)
    size = 0.1 * sitting.wood.field.diagonal
    poles = []
    for mark in sitting.report.blank.marks:
        out = mark.at - middle
        tip = mark.at + size * out / max(float(np.linalg.norm(out)), 1e-9)
        poles.append(form_from_blank.carry(np.stack([mark.at, tip])))
    return np.array(poles).reshape(-1, 2, 3)


def waste_to_see(sitting: Sitting) -> Seen:
    """Show the wood that is to be removed."""
    blank = blank_to_see(sitting).mesh
    return _seen(sitting, difference(blank, _solid(sitting)))


def bodies_of(sitting: Sitting, names: Collection[str]) -> Bodies:
    """Show some of blank, bowl, ghost and waste; what cannot be cut out of the light blank is left out."""
    makers = {"blank": blank_to_see, "bowl": bowl_to_see, "ghost": ghost_to_see, "waste": waste_to_see}
    shown = {}
    for name in makers.keys() & set(names):
        with suppress(FormmakerError):  # better no picture than a wrong one
            shown[name] = makers[name](sitting)
    return shown


def sapwood_of(sitting: Sitting) -> float:
    """Thickness of the sapwood, mm: the job's own, or what is usual."""
    said = sitting.asked.plan.grain.sapwood
    return SAPWOOD if said is None else said * sitting.wood.blank.scale


def touched(sitting: Sitting, sight: Sight) -> Touched | None:
    """Find the place of the whole skin that a line of sight meets first; None where it meets none."""
    frame = sitting.report.job.mounting.blank_from_form
    origin, direction = frame.carry(sight.eye), frame.turn(sight.toward)
    places = line_crossings(sitting.wood.blank.mesh, origin, direction)
    ahead = places[places > 0.0]
    if not len(ahead):
        return None
    at = origin + float(ahead[0]) * direction / np.linalg.norm(direction)
    x, y, z = frame.inverse.carry(at)
    return Touched(
        at=at, theta=float(np.arctan2(y, x) % (2.0 * np.pi)), radius=float(np.hypot(x, y)), height=float(z)
    )


def skin_at(sitting: Sitting, theta: float, height: float) -> Touched | None:
    """Find the outermost skin at an angle (radians) and height (mm); None where there is no wood."""
    out = np.array([np.cos(theta), np.sin(theta), 0.0])
    far = 2.0 * sitting.wood.field.diagonal
    return touched(sitting, Sight(eye=np.array([0.0, 0.0, height]) + far * out, toward=-out))


def _seen(sitting: Sitting, mesh: Mesh) -> Seen:
    blank = sitting.wood.blank
    natural = blank.mesh.faces[blank.face_kinds == FaceKind.NATURAL]
    if not len(natural) or not len(mesh.vertices):
        return Seen(mesh=mesh, depth=np.full(len(mesh.vertices), np.inf))
    points = sitting.report.job.mounting.blank_from_form.carry(mesh.vertices)
    return Seen(mesh=mesh, depth=depth_under(points, Mesh(vertices=blank.mesh.vertices, faces=natural)))


def _solid(sitting: Sitting) -> Mesh:
    prepared = sitting.report.prepared
    outline = held_outline(section_outline(prepared.section, chord=CHORD), prepared.hold)
    return revolved(_in_short_steps(outline), SEGMENTS)


def _in_short_steps(outline: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points enough along a closed outline for the colour of the wood to be seen between them."""
    ends = np.roll(outline, -1, axis=0)
    counts = np.maximum(1, np.ceil(np.linalg.norm(ends - outline, axis=1) / COLOUR_STEP)).astype(int)
    return np.concatenate(
        [
            np.linspace(start, end, count, endpoint=False)
            for start, end, count in zip(outline, ends, counts, strict=True)
        ]
    )


def _upright(theta: float) -> Frame:
    """The half plane at an angle: its x runs outward, its y up the axis."""
    cos, sin = np.cos(theta), np.sin(theta)
    return Frame(rotation=np.array([[cos, 0.0, sin], [sin, 0.0, -cos], [0.0, 1.0, 0.0]]), origin=np.zeros(3))


def _blank_from_form(sitting: Sitting, form_from_plane: Frame) -> Frame:
    frame = sitting.report.job.mounting.blank_from_form
    return Frame(rotation=frame.rotation @ form_from_plane.rotation, origin=frame.carry(form_from_plane.origin))
