"""What one cut came to, in a few lines, with the cautions that go with it."""

from formmaker.engine.cuts import say_cut, say_gone
from formmaker.files.spoken import wrapped
from formmaker.files.spoken_blank import spoken_blank
from formmaker.model.blank import Blank
from formmaker.model.cut import SawCut
from formmaker.model.job import Job

SAW_CAUTION = (
    "Before sawing: an uneven piece rolls, and a blade may grab it. Bed it so that it cannot turn or tip, keep hands "
    "and body out of the line of blade and piece, and go by the saw maker's manual, the rules of your place and "
    "trained people."
)
TURN_CAUTION = (
    "Before the lathe runs: what was cut has moved the balance. Turn the piece by hand a full turn past the rest, "
    "stand out of its line, begin slowly, stop when it shakes; pieces fly and dust harms. The lathe maker's manual, "
    "the rules of your place and trained people go before anything said here."
)


def spoken_cut(blank: Blank, job: Job) -> tuple[str, ...]:
    """Say what the last cut of a blank came to.

    Parameters
    ----------
    blank : Blank
        As it stands after it; with one cut or more.
    job : Job

    Returns
    -------
    tuple of str
        Lines.
    """
    report = blank.cuts[-1]
    gone = (say_gone(mark) for mark in blank.marks if mark.cut_away == report.number)
    size, weight = spoken_blank(blank, job.units)[:2]
    caution = SAW_CAUTION if isinstance(report.cut, SawCut) else TURN_CAUTION
    back = "`formmaker cut JOB undo` takes this cut out of the job again."
    return tuple(wrapped((say_cut(report, job.units), *gone, size, weight, caution, back)))
