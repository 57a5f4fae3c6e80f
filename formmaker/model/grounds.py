"""Why an answer is not FITS, read from the verdict itself, so that lines and drawings give the same true reason.

It decides nothing; how the answer was come to stands in ``engine.check``.
"""

from enum import StrEnum

from formmaker.model.verdict import Answer, Reason, Verdict


class Ground(StrEnum):
    """What keeps a form from fitting, as a clause that can follow "but" or a colon."""

    MARGIN_MISSED = "wood is wanting"
    RECESS = "the recess breaks through"
    FLAW_MET = "the form meets a flaw"
    KEEP_LOST = "a mark that was to be kept is lost"
    MARGIN_TIGHT = "the margin lies inside the uncertainty"
    LOOSE = "a piece is not joined to the foot"
    NECK = "a part of the rim hangs by a weak neck"
    WINDOW = "the wall is open below the rim"
    FLAW_NEAR = "whether the form stays clear of a flaw is too close to call"
    KEEP_NEAR = "whether the rim passes a mark near enough is too close to call"


def grounds(verdict: Verdict) -> tuple[Ground, ...]:
    """Reasons for the answer of a verdict.

    Parameters
    ----------
    verdict : Verdict
        With its findings.

    Returns
    -------
    tuple of Ground
        In the order of ``Ground``; empty where it fits. For MISSES only what is lost, for TIGHT what is in doubt.
    """
    if verdict.answer is Answer.FITS:
        return ()
    return _lost(verdict) if verdict.answer is Answer.MISSES else _doubtful(verdict)


def say_grounds(reasons: tuple[Ground, ...]) -> str:
    """Join reasons to one clause; without any it points at the findings.

    Examples
    --------
    >>> say_grounds((Ground.LOOSE, Ground.NECK, Ground.WINDOW)).split(", ")[1]
    'a part of the rim hangs by a weak neck and the wall is open below the rim'
    """
    *first, last = [ground.value for ground in reasons] or ["see the findings"]
    return f"{', '.join(first)} and {last}" if first else last


def _lost(verdict: Verdict) -> tuple[Ground, ...]:
    found = {finding.reason for finding in verdict.findings}
    breaks_through = any(
        finding.reason is Reason.HOLD_FLOOR and finding.amount is not None and finding.amount <= 0.0
        for finding in verdict.hold.findings
    )
    is_so = {
        Ground.MARGIN_MISSED: verdict.margin < 0.0 and verdict.margin <= -verdict.uncertainty,
        Ground.RECESS: breaks_through,
        Ground.FLAW_MET: Reason.FLAW_MET in found,
        Ground.KEEP_LOST: Reason.KEEP_LOST in found,
    }
    return tuple(ground for ground, holds in is_so.items() if holds)


def _doubtful(verdict: Verdict) -> tuple[Ground, ...]:
    flaws = [f for f in verdict.findings if f.reason in (Reason.FLAW_MET, Reason.FLAW_CLEAR)]
    is_so = {
        Ground.MARGIN_TIGHT: not verdict.margin >= verdict.uncertainty,
        Ground.LOOSE: bool(verdict.loose_pieces),
        Ground.NECK: bool(verdict.weak_necks),
        Ground.WINDOW: bool(verdict.windows),
        Ground.FLAW_NEAR: any((f.amount or 0.0) < verdict.uncertainty for f in flaws),
        Ground.KEEP_NEAR: any(f.reason is Reason.KEEP_LOST for f in verdict.findings),
    }
    doubts = tuple(ground for ground, holds in is_so.items() if holds)
    # a finding does not say how nearly a keep mark is met: where nothing else is in doubt, that is
    return doubts or (Ground.KEEP_NEAR,)
