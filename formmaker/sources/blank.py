"""From a request for a blank to the wood itself: scan, readings or described shape, closed, scaled, sorted.

The order is fixed: read, repair, scale by known lengths, sort faces, check marks, cut. Each part lives in its own
module.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from formmaker.engine.cuts import cut_blank
from formmaker.errors import BlankError
from formmaker.geometry.lines import line_crossings
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.nearest import build_tree, signed_distance
from formmaker.model.blank import Blank, BlankSource, Repair
from formmaker.model.job import BlankPlan, FaceRule
from formmaker.model.marks import Mark, MarkKind
from formmaker.sources.faces import obey_rules, sort_faces
from formmaker.sources.known_lengths import ScaleFit, fit_scale, say_fit
from formmaker.sources.limits import require_size
from formmaker.sources.readings import read_readings
from formmaker.sources.repair import repair_mesh
from formmaker.sources.shapes import Skin, chord_error, shape_skin
from formmaker.units import Units, format_length

SCAN_UNCERTAINTY = 1.0
"""mm. How far a phone scan's skin is off where it is well lit; common practice, no source."""

SHAPE_UNCERTAINTY = 2.0
"""mm. A described skin stands for real bark by two or three caliper figures; common practice, no source."""

MARK_OFF = 10.0
"""mm. A mark farther from the skin than this gets a remark: it was placed on another scan, or in another unit."""

RAYS = np.array([[0.31, 0.47, 0.83], [-0.77, 0.21, 0.6], [0.13, -0.89, 0.43]])
"""Directions askew to any saw cut and to each other, to count the skin along."""

READINGS_CHORD_ERROR = 0.004
"""mm. Chords of the skin through readings (see ``polar``) leave its curves by this at a radius of 100 mm."""

Progress = Callable[[str], None]


def _silent(_text: str) -> None:
    """Say nothing."""


def read_blank(plan: BlankPlan, progress: Progress = _silent) -> Blank:
    """Make the blank that a job asks for.

    Parameters
    ----------
    plan : BlankPlan
        Source, unit, marks, known lengths, the user's word on faces and uncertainty, the cuts made since.
    progress : callable
        Told in a few words what is being done.

    Returns
    -------
    Blank
        Closed, outward, mm. Uncertainty is the user's figure, or the default of the source; to either are added what
        the known lengths leave over and, on described shapes, the chord error of the mesh.

    Raises
    ------
    BlankError
        If the wood cannot be read, closed or described, or a cut leaves none at the foot; the message names the way
        out.
    JobFileError
        If a table of readings has faulty rows: all of them.

    Examples
    --------
    >>> from formmaker.model.shapes import HalfLog
    >>> blank = read_blank(BlankPlan(source=BlankSource.SHAPE, shape=HalfLog(radius=100.0, length=300.0)))
    >>> blank.uncertainty
    2.004
    """
    if plan.uncertainty is not None and not 0.0 <= plan.uncertainty < np.inf:
        raise BlankError(f"uncertainty {plan.uncertainty} mm; give how far the skin may be off, 0 or more")
    if plan.known_lengths and plan.source is not BlankSource.SCAN:
        raise BlankError(
            f"known_length is for scans; this blank is made from a {plan.source.value}, "
            "whose sizes are known: leave it out"
        )
    makers = {BlankSource.SCAN: _scanned, BlankSource.READINGS: _measured, BlankSource.SHAPE: _described}
    blank = makers[plan.source](plan, progress)
    blank = replace(blank, notes=(*blank.notes, *_mark_notes(blank, plan.units)))
    if not plan.cuts:
        return blank
    progress("cutting")
    return cut_blank(blank, plan.cuts, plan.mounting, units=plan.units)


def _scanned(plan: BlankPlan, progress: Progress) -> Blank:
    if plan.path is None:
        raise BlankError("the blank is a scan but no file is named; give scan")
    from formmaker.sources.scan_files import read_scan_file  # noqa: PLC0415  # late: its library takes long to load

    progress(f"reading {plan.path.name}")
    scan = read_scan_file(plan.path, plan.scan_unit)
    progress(f"repairing {len(scan.mesh.faces)} triangles")
    repaired = repair_mesh(scan.mesh, str(plan.path), units=plan.units)
    require_size(str(plan.path), repaired.mesh.bounds, 1.0)
    fit = fit_scale(plan.known_lengths, plan.marks)
    mesh = _scaled(repaired.mesh, fit.factor)
    progress("sorting sawn and natural faces")
    faces = sort_faces(
        mesh,
        _scaled_rules(plan.faces, fit.factor),
        sawn=repaired.underside,
        edges=repaired.edges,
        units=plan.units,
    )
    scaled = _scale_repair(plan, fit, repaired.mesh)
    fit_notes = (scaled.text,) if scaled else ()
    return Blank(
        mesh=mesh,
        face_kinds=faces.kinds,
        face_patches=faces.patches,
        uncertainty=_uncertainty(plan, SCAN_UNCERTAINTY) + fit.worst,
        source=BlankSource.SCAN,
        marks=tuple(replace(mark, at=mark.at * fit.factor) for mark in plan.marks),
        timber=plan.timber,
        repairs=repaired.repairs + ((scaled,) if scaled else ()),
        notes=scan.notes + fit_notes + faces.notes,
        scale=fit.factor,
    )


def _measured(plan: BlankPlan, progress: Progress) -> Blank:
    if plan.path is None:
        raise BlankError("the blank is a table of readings but no file is named; give readings")
    progress(f"reading {plan.path.name}")
    solid = read_readings(plan.path, plan.units, index_count=plan.index_count)
    require_size(str(plan.path), solid.skin.mesh.bounds, None)
    blank = _from_skin(plan, solid.skin, BlankSource.READINGS, solid.uncertainty, READINGS_CHORD_ERROR)
    return replace(blank, notes=solid.notes + blank.notes)


def _described(plan: BlankPlan, progress: Progress) -> Blank:
    if plan.shape is None:
        raise BlankError("the blank is a described shape but no shape is given; name one with its sizes")
    progress("making the described shape")
    skin = shape_skin(plan.shape)
    require_size("the described shape", skin.mesh.bounds, None)
    return _from_skin(plan, skin, BlankSource.SHAPE, SHAPE_UNCERTAINTY, chord_error(plan.shape))


def _from_skin(plan: BlankPlan, skin: Skin, source: BlankSource, default: float, chord: float) -> Blank:
    """Blank of a skin whose faces are known, unless the user says otherwise; ``chord`` is the mesh's own error."""
    kinds, patches = skin.kinds, skin.patches
    notes: tuple[str, ...] = ()
    if plan.faces:
        faces = obey_rules(skin.mesh, skin.patches, plan.faces, units=plan.units)
        told = (faces.patches >= 0) != (skin.patches >= 0)
        kinds, patches, notes = np.where(told, faces.kinds, kinds), faces.patches, faces.notes
    return Blank(
        mesh=skin.mesh,
        face_kinds=kinds,
        face_patches=patches,
        uncertainty=_uncertainty(plan, default) + chord,
        source=source,
        marks=plan.marks,
        timber=plan.timber,
        notes=notes,
    )


def _uncertainty(plan: BlankPlan, default: float) -> float:
    return default if plan.uncertainty is None else plan.uncertainty


def _scaled(mesh: Mesh, factor: float) -> Mesh:
    if factor == 1.0:
        return mesh
    return Mesh(vertices=mesh.vertices * factor, faces=mesh.faces, colours=mesh.colours)


def _scaled_rules(rules: tuple[FaceRule, ...], factor: float) -> tuple[FaceRule, ...]:
    """The user's word on faces, carried along when known lengths scale the scan."""
    return tuple(replace(rule, at=(rule.at[0] * factor, rule.at[1] * factor, rule.at[2] * factor)) for rule in rules)


def _scale_repair(plan: BlankPlan, fit: ScaleFit, mesh: Mesh) -> Repair | None:
    if not plan.known_lengths:
        return None
    a, b, c = np.moveaxis(mesh.corners - mesh.bounds.mean(axis=0), 1, 0)
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)
    return Repair(
        code="scaled",
        text=say_fit(plan.known_lengths, fit, plan.units),
        count=len(plan.known_lengths),
        volume_change=volume * (fit.factor**3 - 1.0),
    )


def _mark_notes(blank: Blank, units: Units) -> tuple[str, ...]:
    """Remark on marks that are far from the skin."""
    limit = max(MARK_OFF, 3.0 * blank.uncertainty)
    # the tree of a large scan takes a second: it is asked only where a corner close by or a ray does not settle it
    marks = [mark for mark in blank.marks if not _is_surely_right(blank.mesh, mark, limit)]
    if not marks:
        return ()
    inside = signed_distance(build_tree(blank.mesh), np.array([mark.at for mark in marks])).distance
    # A flaw may lie deep in the wood; everything else is written on the skin.
    off = [-depth if mark.kind is MarkKind.FLAW else abs(depth) for mark, depth in zip(marks, inside, strict=True)]
    return tuple(_far_mark(mark, far, units) for mark, far in zip(marks, off, strict=True) if not far <= limit)


def _is_surely_right(mesh: Mesh, mark: Mark, limit: float) -> bool:
    """Whether a corner of the skin is near enough, or, of a flaw, three rays all say that it lies in the wood."""
    away = mesh.vertices - mark.at
    if np.einsum("ij,ij->i", away, away).min() <= limit**2:
        return True
    if mark.kind is not MarkKind.FLAW:
        return False
    return all((line_crossings(mesh, mark.at, toward) > 0.0).sum() % 2 for toward in RAYS)


def _far_mark(mark: Mark, distance: float, units: Units) -> str:
    off = format_length(distance, units)
    return f"Mark {mark.name} ({mark.kind.value}) is {off} off the skin; check its place and unit."
