"""What a verdict comes to in sentences: the findings, worst first."""

from dataclasses import replace

import numpy as np

from formmaker.engine.marks import MarkCheck
from formmaker.model.form import Edge
from formmaker.model.job import Job
from formmaker.model.verdict import Finding, Part, Reason, RimKind, Verdict
from formmaker.units import Units, format_area, format_length, format_volume

_ORDER = tuple(Reason)
_ROUNDING = 1e-9  # mm: a rim that ends at the height wanted is not below it


def remarks(verdict: Verdict, marks: tuple[MarkCheck, ...], job: Job, notes: tuple[str, ...]) -> Verdict:
    """Give a verdict its findings.

    Parameters
    ----------
    verdict : Verdict
        Complete but for them.
    marks : tuple of MarkCheck
    job : Job
        For units, allowance and the edge asked for.
    notes : tuple of str
        What is to be known about the blank.

    Returns
    -------
    Verdict
        Findings in the order of ``Reason``: missing wood first, notes last.
    """
    findings = (
        *_margin(verdict, job),
        *_loose(verdict, job.units),
        *_rim(verdict, job),
        *(mark.finding for mark in marks),
        *verdict.hold.findings,
        *(Finding(reason=Reason.BLANK_NOTE, text=note) for note in notes),
    )
    return replace(verdict, findings=tuple(sorted(findings, key=lambda finding: _ORDER.index(finding.reason))))


def _margin(verdict: Verdict, job: Job) -> tuple[Finding, ...]:
    if verdict.margin >= verdict.uncertainty:
        return ()
    worst = verdict.worst
    part, skin = worst.part.value, format_length(job.skin, job.units)
    bare = verdict.margin + job.skin
    if verdict.margin >= 0.0:
        reason = Reason.WOOD_THIN
        text = (
            f"Only {format_length(verdict.margin, job.units)} of wood to spare at the {part}, less than the "
            f"{format_length(verdict.uncertainty, job.units)} to which that is known."
        )
    elif bare >= 0.0:
        reason = Reason.WOOD_MISSING
        short = format_length(-verdict.margin, job.units)
        text = f"The {part} itself is in wood, but {short} of the {skin} wanted for truing is not there."
    else:
        reason = Reason.WOOD_MISSING
        too = f", and the {skin} wanted for truing as well" if job.skin > 0.0 else ""
        text = f"{format_length(-bare, job.units)} of wood is missing at the {part}{too}."
    size = abs(verdict.margin)
    return (Finding(reason=reason, text=text, part=worst.part, theta=worst.theta, height=worst.height, amount=size),)


def _loose(verdict: Verdict, units: Units) -> tuple[Finding, ...]:
    pieces = [
        Finding(
            reason=Reason.LOOSE_PIECE,
            text=f"A piece of {format_volume(piece.volume, units)} is not joined to the foot: it would fly off.",
            part=Part.RIM,
            theta=piece.theta,
            height=piece.height,
        )
        for piece in verdict.loose_pieces
    ]
    necks = [
        Finding(
            reason=Reason.WEAK_NECK,
            text=(
                f"{format_volume(neck.volume, units)} of the rim hang by a neck of {format_area(neck.area, units)}: "
                "it may break off."
            ),
            part=Part.RIM,
            theta=neck.theta,
            height=neck.height,
        )
        for neck in verdict.weak_necks
    ]
    gaps = [
        Finding(
            reason=Reason.WINDOW,
            text=f"The wall is open over {format_area(gap.area, units)} below the rim.",
            part=Part.WALL,
            theta=gap.theta,
            height=gap.height,
        )
        for gap in verdict.windows
    ]
    return (*pieces, *necks, *gaps)


def _rim(verdict: Verdict, job: Job) -> tuple[Finding, ...]:
    rim, found = verdict.rim, []
    lowest = int(np.argmin(rim.height))
    wanted = job.form.height if job.form.edge is Edge.TURNED else job.form.lowest_rim
    if rim.height[lowest] < wanted - _ROUNDING:
        text = (
            f"The rim drops to {format_length(float(rim.height[lowest]), job.units)}, below the "
            f"{format_length(wanted, job.units)} wanted."
        )
        found.append(_at_rim(verdict, Reason.RIM_LOW, text, lowest, wanted - float(rim.height[lowest])))
    sawn = np.array([kind is RimKind.SAWN for kind in rim.kinds])
    if sawn.any():
        middle = int(np.flatnonzero(sawn)[int(sawn.sum()) // 2])
        share = 100.0 * float(sawn.mean())
        text = f"Over {share:.0f} % of the turn the rim runs out through a sawn face, not the bark side."
        found.append(_at_rim(verdict, Reason.SAWN_RIM, text, middle, None))
    return tuple(found)


def _at_rim(verdict: Verdict, reason: Reason, text: str, index: int, amount: float | None) -> Finding:
    rim = verdict.rim
    return Finding(
        reason=reason,
        text=text,
        part=Part.RIM,
        theta=float(rim.theta[index]),
        height=float(rim.height[index]),
        amount=amount,
    )
