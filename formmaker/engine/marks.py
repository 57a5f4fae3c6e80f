"""What becomes of the marks: does the rim pass the ones to keep, does the wall meet a flaw."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from formmaker.geometry.frames import Frame
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.verdict import Finding, Part, Reason, RimLine
from formmaker.units import Units, format_length


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkCheck:
    """What became of one mark; ``spare`` is how far the wish is from failing, mm, negative where it fails."""

    finding: Finding
    spare: float


def check_marks(
    marks: tuple[Mark, ...], rim: RimLine, outline: NDArray[np.float64], blank_from_form: Frame, units: Units
) -> tuple[MarkCheck, ...]:
    """One answer for every keep mark and every flaw; witness marks are only measured from.

    Parameters
    ----------
    marks : tuple of Mark
        Blank frame.
    rim : RimLine
    outline : (n, 2) float
        The whole form in the half plane, with a tenon where there is one, mm.
    blank_from_form : Frame
    units : Units
        For the sentences.

    Returns
    -------
    tuple of MarkCheck
        ``KEEP_MET``/``KEEP_LOST`` with how far the rim passes, lost too where the mark's place was cut away;
        ``FLAW_MET`` with how deep the flaw's ball reaches into the form, ``FLAW_CLEAR`` with the room left.
    """
    form_from_blank = blank_from_form.inverse
    findings = []
    for mark in marks:
        place = form_from_blank.carry(mark.at)
        if mark.kind is MarkKind.KEEP:
            findings.append(_keep(mark, place, rim, units))
        elif mark.kind is MarkKind.FLAW:
            findings.append(_flaw(mark, place, outline, units))
    return tuple(findings)


def rim_distances(rim: RimLine, place: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance (n,), mm, from a place (form frame) to each straight piece of a rim."""
    line = np.column_stack([rim.radius * np.cos(rim.theta), rim.radius * np.sin(rim.theta), rim.height])
    return distances_to_line(line, place)


def distances_to_line(line: NDArray[np.float64], place: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance (n,) from a place to each straight piece of a closed line (n, 3)."""
    steps = np.roll(line, -1, axis=0) - line
    squares = np.maximum(np.einsum("ij,ij->i", steps, steps), 1e-300)
    share = np.clip(np.einsum("ij,ij->i", place - line, steps) / squares, 0.0, 1.0)
    return np.asarray(np.linalg.norm(line + share[:, None] * steps - place, axis=1))


def _keep(mark: Mark, place: NDArray[np.float64], rim: RimLine, units: Units) -> MarkCheck:
    distances = rim_distances(rim, place)
    at = int(distances.argmin())
    distance = float(distances[at])
    passes = distance <= mark.radius and not mark.cut_away
    verb = "passes" if passes else "misses"
    text = (
        f"The rim {verb} mark {mark.name} by {format_length(distance, units)}; "
        f"within {format_length(mark.radius, units)} is wanted."
    )
    if mark.cut_away:
        text = f"Mark {mark.name} was to be kept, but went with cut {mark.cut_away}."
    finding = Finding(
        reason=Reason.KEEP_MET if passes else Reason.KEEP_LOST,
        text=text,
        part=Part.RIM,
        theta=float(rim.theta[at]),
        height=float(rim.height[at]),
        amount=distance,
    )
    return MarkCheck(finding=finding, spare=-np.inf if mark.cut_away else mark.radius - distance)


def _flaw(mark: Mark, place: NDArray[np.float64], outline: NDArray[np.float64], units: Units) -> MarkCheck:
    half = shapely.Polygon(outline)
    # both halves of the section: the axis is no skin, and a flaw beside it is as deep as the wood round it
    body = half.union(shapely.Polygon(outline * [-1.0, 1.0]))
    point = shapely.Point(np.hypot(place[0], place[1]), place[2])
    depth = (
        shapely.distance(body.boundary, point) if shapely.contains(body, point) else -shapely.distance(body, point)
    )
    overlap = float(depth) + mark.radius
    if overlap > 0.0:
        text = f"The form meets flaw {mark.name} by {format_length(overlap, units)}."
    else:
        text = f"The form stays {format_length(-overlap, units)} clear of flaw {mark.name}."
    finding = Finding(
        reason=Reason.FLAW_MET if overlap > 0.0 else Reason.FLAW_CLEAR,
        text=text,
        part=Part.WALL if place[2] >= 0.0 else Part.FOOT,
        theta=float(np.arctan2(place[1], place[0]) % (2.0 * np.pi)),
        height=float(place[2]),
        amount=abs(overlap),
    )
    return MarkCheck(finding=finding, spare=-overlap)
