"""What a sitting says beside its verdict: how the blank turns on its axis, how its centres are to be moved."""

from formmaker.engine.mounted import balance_on
from formmaker.engine.moves import plan_move
from formmaker.engine.remounting import on_skin
from formmaker.files.spoken_balance import say_balance
from formmaker.files.spoken_move import say_move
from formmaker.files.spoken_steps import Tongue
from formmaker.model.mounting import Mounting
from formmaker.pipeline.sitting import Sitting


def balance_words(sitting: Sitting) -> tuple[str, ...]:
    """Say how the blank turns on its axis, in paragraphs; the rows of a table begin with blanks.

    Raises
    ------
    MountingError
        If the axis passes beside the wood.
    """
    report = sitting.report
    balance = balance_on(report.blank, report.job.mounting, report.job.lathe)
    return say_balance(balance, report.job, report.blank)


def move_words(sitting: Sitting, begun: Mounting) -> tuple[str, ...]:
    """Say how to get from an earlier mounting to the present one, in paragraphs; nothing where both centres stay.

    Raises
    ------
    MountingError
        If one of the axes passes beside the wood.
    """
    report = sitting.report
    job, blank = report.job, report.blank
    planned = plan_move(report.field, report.prepared, on_skin(begun, blank), on_skin(job.mounting, blank))
    tongue = Tongue(units=job.units, index_count=job.index_count)
    return say_move(planned, job, blank, report.verdict, tongue)
