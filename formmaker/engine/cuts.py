"""The blank as it stands: cut by saw and tool, one after another, each with what it took off.

Cuts are made on the skin of triangles; exact solids are cut in ``solids.cuts``.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from formmaker.errors import BlankError
from formmaker.geometry.booleans import Cut, difference_cut
from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.meshes import Mesh, face_normals, mass_properties, moved
from formmaker.geometry.nearest import build_tree, closest_on, signed_distance
from formmaker.geometry.pieces import largest_piece, piece_at
from formmaker.geometry.revolve import Facets, revolved
from formmaker.model.blank import Blank, FaceKind, Timber
from formmaker.model.cut import BlankCut, CutReport, SawCut, TurnCut
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.model.timber import density, find_species
from formmaker.tolerances import DEFAULT, Tolerances
from formmaker.units import Units, format_length, format_volume, format_weight

_LEAST_FLATS = 48
_LONGEST_FLAT = 20.0
"""Flats of a turned face are no longer than this along the axis, mm: slimmer ones make a search tree slow."""

_FLAT = 1e-9
"""A face of a tool whose normal leans from the axis by less than the root of twice this is flat."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Tool:
    """The body that a cut takes away: closed, blank frame; its flat faces numbered from 0, -1 elsewhere."""

    mesh: Mesh
    patches: NDArray[np.int32]
    kind: FaceKind
    chord: float


def cut_blank(
    blank: Blank,
    cuts: Sequence[BlankCut],
    mounting: Mounting | None = None,
    *,
    units: Units = Units.MM,
    tolerances: Tolerances = DEFAULT,
) -> Blank:
    """Take cuts off a blank, in their order.

    Parameters
    ----------
    blank : Blank
    cuts : sequence of SawCut or TurnCut
        Places in the figures of the job's file, before ``blank.scale``; profiles are true lengths.
    mounting : Mounting, optional
        The job's own, before ``blank.scale``: where the wood falls to pieces, the one at its foot stays. Without
        it, or where its foot was not in wood before, the largest does.
    units : Units
        For the sentences.
    tolerances : Tolerances
        ``chord`` is how far the flats of a turned face may lie inside their round.

    Returns
    -------
    Blank
        The faces that saw and tool made are sawn and turned, flat ones with a patch each; a mark whose place on the
        skin went says by which cut; ``cuts`` and ``notes`` tell what each took off. The uncertainty stays that of the
        skin, and takes the chords of a turned face on top: those lie inside the true round, never outside.

    Raises
    ------
    BlankError
        If a cut leaves no wood, or none at the foot.
    """
    foot = _foot_probe(mounting, blank.scale, tolerances)
    for cut in cuts:
        number = len(blank.cuts) + 1
        blank = _cut_once(blank, number, _scaled(cut, blank.scale), foot, (units, tolerances))
    chord = max((report.chord for report in blank.cuts), default=0.0)
    if cuts and blank.timber.weight is not None:
        left = format_weight(blank.timber.weight, units)
        note = f"The weight given is taken for that of the piece before its cuts; by volume, {left} of it are left."
        blank = replace(blank, notes=(*blank.notes, note))
    return replace(blank, uncertainty=blank.uncertainty + chord)


def _foot_probe(mounting: Mounting | None, scale: float, tolerances: Tolerances) -> NDArray[np.float64] | None:
    """A place on the axis just above the plane the foot stands on, blank frame."""
    if mounting is None:
        return None
    unit = mounting.axis / np.linalg.norm(mounting.axis)
    return np.asarray(mounting.foot_centre * scale + (mounting.foot_height + tolerances.above_foot) * unit)


def _scaled(cut: BlankCut, scale: float) -> BlankCut:
    if isinstance(cut, SawCut):
        return replace(cut, point=cut.point * scale)
    return replace(cut, foot_centre=cut.foot_centre * scale, rim_centre=cut.rim_centre * scale)


def _cut_once(
    blank: Blank,
    number: int,
    cut: BlankCut,
    foot: NDArray[np.float64] | None,
    saying: tuple[Units, Tolerances],
) -> Blank:
    units, tolerances = saying
    tool = _saw(cut, blank.mesh) if isinstance(cut, SawCut) else _turning(cut, blank.mesh, tolerances)
    before = mass_properties(blank.mesh).volume
    rest = difference_cut(blank.mesh, tool.mesh)
    if len(rest.mesh.faces) == 0:
        raise BlankError(f"{_name(number, cut)} leaves no wood at all; {_way_out(cut)}")
    after = mass_properties(rest.mesh).volume
    kept = _kept(blank, rest, foot, _name(number, cut), units)
    left = mass_properties(kept.mesh).volume
    gone = {mark.name: replace(mark, cut_away=number) for mark in _gone(blank, kept.mesh, tolerances)}
    report = CutReport(
        number=number,
        cut=cut,
        removed=before - left,
        loose=after - left,
        left=left,
        weight=_weight(blank, (before - left) / before, before),
        marks=tuple(gone),
        chord=tool.chord,
    )
    return replace(
        _with_faces(blank, kept, tool),
        marks=tuple(gone.get(mark.name, mark) for mark in blank.marks),
        timber=_lighter(blank.timber, left / before),
        cuts=(*blank.cuts, report),
        notes=(*blank.notes, say_cut(report, units, tolerances=tolerances), *_notes_of(gone.values())),
    )


def _name(number: int, cut: BlankCut) -> str:
    return f"cut {number} ({'saw' if isinstance(cut, SawCut) else 'turn'})"


def _way_out(cut: BlankCut) -> str:
    if isinstance(cut, SawCut):
        return "its normal points away from what stays: turn it round, or move its point"
    return "its profile says what stays: give larger radii, heights from foot_centre, or another axis"


# ---- what a cut takes away -------------------------------------------------------------------------------------


def _saw(cut: SawCut, mesh: Mesh) -> _Tool:
    middle = mesh.bounds.mean(axis=0)
    reach = float(np.linalg.norm(np.ptp(mesh.bounds, axis=0)) + np.linalg.norm(middle - cut.point))
    beside = middle - ((middle - cut.point) @ cut.normal) * cut.normal
    square = np.array([[0.0, 0.0], [2.0 * reach, 0.0], [2.0 * reach, 2.0 * reach], [0.0, 2.0 * reach]])
    body = moved(revolved(square, 4), frame_from_axis(beside, cut.normal, across(cut.normal)))
    return _Tool(mesh=body, patches=np.zeros(len(body.faces), dtype=np.int32), kind=FaceKind.SAWN, chord=0.0)


def _turning(cut: TurnCut, mesh: Mesh, tolerances: Tolerances) -> _Tool:
    frame = turn_frame(cut)
    seen = frame.inverse.carry(mesh.vertices)
    reach = float(np.hypot(seen[:, 0], seen[:, 1]).max())
    flats = _flats(min(reach, float(cut.profile[:, 1].max())), tolerances.chord)
    outline = turned_off(_short_rows(cut.profile), reach)
    ring = revolved(outline, flats, facets=Facets.INSIDE, tolerances=tolerances)
    chord = min(reach, float(cut.profile[:, 1].max())) * (1.0 - math.cos(math.pi / flats))
    return _Tool(mesh=moved(ring, frame), patches=_level_patches(ring), kind=FaceKind.TURNED, chord=chord)


def turn_frame(cut: TurnCut) -> Frame:
    """The frame of a turned cut, ``blank_from_cut``: from its foot centre, z along its axis."""
    axis = cut.rim_centre - cut.foot_centre
    return frame_from_axis(cut.foot_centre, axis, across(axis))


def across(axis: NDArray[np.float64]) -> NDArray[np.float64]:
    """Some direction across an axis, (3,)."""
    return np.asarray(np.eye(3)[int(np.abs(axis).argmin())])


def turned_off(profile: NDArray[np.float64], reach: float) -> NDArray[np.float64]:
    """Outline (n, 2) of radius and height of all that is turned off wood that reaches so far from the axis."""
    beyond = 2.0 * max(reach, float(profile[:, 1].max())) + 1.0
    outer = [[beyond, profile[-1, 0]], [beyond, profile[0, 0]]]
    return np.concatenate([profile[:, ::-1], outer])


def _flats(radius: float, chord: float) -> int:
    """Flats of one turn whose middles lie inside their round by no more than a chord error."""
    if radius <= chord:
        return _LEAST_FLATS
    return max(_LEAST_FLATS, math.ceil(math.pi / math.acos(1.0 - chord / radius)))


def _short_rows(profile: NDArray[np.float64]) -> NDArray[np.float64]:
    """The same profile with rows between those far apart."""
    rows = [profile[:1]]
    for low, high in pairwise(profile):
        count = max(1, math.ceil((high[0] - low[0]) / _LONGEST_FLAT))
        rows.append(low + np.linspace(0.0, 1.0, count + 1)[1:, None] * (high - low))
    return np.concatenate(rows)


def _level_patches(ring: Mesh) -> NDArray[np.int32]:
    """Number the shoulders and facings of a turned body by their heights; -1 for its round faces."""
    level = np.abs(face_normals(ring)[:, 2]) > 1.0 - _FLAT
    patches = np.full(len(ring.faces), -1, dtype=np.int32)
    heights = np.round(ring.vertices[ring.faces[level, 0], 2], 6)
    # looking up and looking down at one height are two faces
    keys = np.column_stack([heights, np.sign(face_normals(ring)[level, 2])])
    patches[level] = np.unique(keys, axis=0, return_inverse=True)[1].ravel()
    return patches


# ---- what stays ------------------------------------------------------------------------------------------------


def _kept(blank: Blank, rest: Cut, foot: NDArray[np.float64] | None, name: str, units: Units) -> Cut:
    """The piece that stays: the one at the foot, where the foot was in wood before."""
    if foot is None or not signed_distance(build_tree(blank.mesh), foot[None]).distance[0] > 0.0:
        return largest_piece(rest)
    kept = piece_at(rest, foot)
    if kept is None:
        place = ", ".join(format_length(float(value), units) for value in foot)
        raise BlankError(
            f"{name} frees the foot: no wood is left on the axis at x, y, z = {place}, where the foot of the "
            "mounting stands; cut less, or first move foot_centre or foot_height to where the foot is to stand"
        )
    return kept


def _with_faces(blank: Blank, kept: Cut, tool: _Tool) -> Blank:
    first = kept.from_first
    kinds = np.full(len(first), tool.kind, dtype=np.uint8)
    patches = np.empty(len(first), dtype=np.int32)
    kinds[first] = blank.face_kinds[kept.faces[first]]
    patches[first] = blank.face_patches[kept.faces[first]]
    made = tool.patches[kept.faces[~first]]
    patches[~first] = np.where(made >= 0, made + int(blank.face_patches.max(initial=-1)) + 1, -1)
    present = patches >= 0
    patches[present] = np.unique(patches[present], return_inverse=True)[1]
    return replace(blank, mesh=kept.mesh, face_kinds=kinds, face_patches=patches)


def _gone(blank: Blank, rest: Mesh, tolerances: Tolerances) -> tuple[Mark, ...]:
    """Marks whose place on the skin is no longer there; of a flaw, which may lie deep, the middle counts."""
    marks = tuple(mark for mark in blank.marks if not mark.cut_away)
    if not marks:
        return ()
    places = np.array([mark.at for mark in marks])
    before, after = build_tree(blank.mesh), build_tree(rest)
    was = signed_distance(before, places)
    on_skin = _nearest_on(blank.mesh, was.face, places)
    off = np.abs(signed_distance(after, on_skin).distance)
    now = signed_distance(after, places).distance
    flaws = np.array([mark.kind is MarkKind.FLAW for mark in marks])
    went = np.where(flaws, (now < 0.0) & (now < was.distance - tolerances.skin_step), off > tolerances.skin_step)
    return tuple(mark for mark, is_gone in zip(marks, went, strict=True) if is_gone)


def _nearest_on(mesh: Mesh, faces: NDArray[np.int32], places: NDArray[np.float64]) -> NDArray[np.float64]:
    """Nearest place to each of some places (n, 3) on a triangle each (n,)."""
    found = np.empty_like(places)
    for row, (face, place) in enumerate(zip(faces, places, strict=True)):
        corners = mesh.vertices[mesh.faces[face]].reshape(1, 9)
        found[row] = place - np.array(closest_on(corners, 0, *place)[2:])
    return found


# ---- what is said ----------------------------------------------------------------------------------------------


def _weight(blank: Blank, share: float, volume: float) -> float | None:
    """Weight of a share of a blank of some volume, by the scales where it was weighed, else by the timber."""
    if blank.timber.weight is not None:
        return share * blank.timber.weight
    species = find_species(blank.timber.name)
    return None if species is None else share * density(species, blank.timber.moisture) * volume


def _lighter(timber: Timber, share: float) -> Timber:
    """Timber of which a share is left: a weight was taken before the cuts that a job lists."""
    return timber if timber.weight is None else replace(timber, weight=share * timber.weight)


def _notes_of(marks: Iterable[Mark]) -> tuple[str, ...]:
    """What is said of marks that went; a check says it of those that were to be kept."""
    return tuple(say_gone(mark) for mark in marks if mark.kind is not MarkKind.KEEP)


def say_cut(report: CutReport, units: Units, *, tolerances: Tolerances = DEFAULT) -> str:
    """Say what one cut came to."""
    name = f"Cut {report.number}, {'sawn' if isinstance(report.cut, SawCut) else 'turned'}"
    if report.removed <= tolerances.min_loose_volume:
        return f"{name}: it takes no wood off."
    weight = ""
    if report.weight is not None:
        weight = f", about {format_weight(report.weight, units)}"
    loose = ""
    if report.loose > tolerances.min_loose_volume:
        loose = (
            f" Of that {format_volume(report.loose, units)} came away from the wood at the foot and is taken as "
            "gone: on a lathe such a piece flies."
        )
    taken, left = format_volume(report.removed, units), format_volume(report.left, units)
    return f"{name}: {taken} taken off{weight}; {left} left.{loose}"


def say_gone(mark: Mark) -> str:
    """Say that a mark's place on the skin was cut away."""
    if mark.kind is MarkKind.FLAW:
        return f"The middle of flaw {mark.name} went with cut {mark.cut_away}; its ball is kept clear of as before."
    return f"Mark {mark.name} ({mark.kind.value}) went with cut {mark.cut_away}."
