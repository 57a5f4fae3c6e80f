"""What is said at more than one place of the page: the answer in a few words."""

from formmaker.files.spoken import say_answer
from formmaker.model.verdict import Answer
from formmaker.pipeline.sitting import Sitting

Told = dict[str, object]
"""What the page is told, by the names that its template has for it."""

TOO_CLOSE = "Too close to call"
HEADLINES = {
    Answer.FITS: "It comes out",
    Answer.TIGHT: TOO_CLOSE,
    Answer.MISSES: "It does not come out",
}


def headline_of(sitting: Sitting) -> str:
    """Say the answer in a few words; in doubt where it is not the figures that are too close."""
    verdict = sitting.report.verdict
    answer, sentence = verdict.answer, say_answer(verdict, sitting.report.job)
    if answer is Answer.TIGHT and not sentence.startswith(TOO_CLOSE.lower()):
        return "In doubt"
    return HEADLINES[answer]
