"""What a sheet says of the check: its answer in words, and a warning on every page of a bowl that may not come out.

The check is made elsewhere; nothing here judges.
"""

from dataclasses import replace

from formmaker.drawing.sheet import Drawing
from formmaker.model.grounds import grounds, say_grounds
from formmaker.model.job import Job
from formmaker.model.verdict import Answer, Verdict
from formmaker.units import format_length

_ANSWERS = {
    Answer.FITS: "The form fits this blank on this mounting",
    Answer.TIGHT: "Tight",
    Answer.MISSES: "The form does not come out as wished",
}
_ON_CARDS = {
    Answer.FITS: "",
    Answer.TIGHT: "may not come out",
    Answer.MISSES: "does not come out",
}
_WARNINGS = {
    Answer.FITS: "",
    Answer.TIGHT: "Tight: it may not come out as wished.",
    Answer.MISSES: "Does not come out: do not cut to it.",
}


def say_answer(job: Job, verdict: Verdict) -> str:
    """The answer, why, and the margin with its doubt, in one sentence or two."""
    doubt = format_length(verdict.uncertainty, job.units)
    reasons = grounds(verdict)
    why = f": {say_grounds(reasons)}" if reasons else ""
    said = f"{_ANSWERS[verdict.answer]}{why}. {say_margin(job, verdict)}, uncertain by {doubt}."
    if job.skin > 0.0:
        said += f" {format_length(job.skin, job.units)} of wood for truing is already taken off."
    return said


def say_margin(job: Job, verdict: Verdict) -> str:
    """The margin, or by how much wood is short: no length on a sheet is below nothing."""
    short = verdict.margin < 0.0
    return f"{'Short by' if short else 'Margin'} {format_length(abs(verdict.margin), job.units)}"


def card_name(verdict: Verdict, name: str) -> str:
    """What is lettered on a card that is cut out, where no title block stays with it: its name, or the warning."""
    return _ON_CARDS[verdict.answer] or name


def warned(drawing: Drawing, job: Job, verdict: Verdict) -> Drawing:
    """The drawing of a bowl that fits as it is; any other with the warning on each page, and first in its text why.

    Nobody shall cut to one page of a pile without seeing that the bowl does not come out.
    """
    warning, answer = _WARNINGS[verdict.answer], say_answer(job, verdict)
    if not warning:
        return drawing
    caption = drawing.caption
    notes = (note for note in caption.notes if note != answer)
    caption = replace(caption, warning=warning, purpose=f"{answer} {caption.purpose}", notes=tuple(notes))
    return replace(drawing, caption=caption)
