"""The job file, the program's only project file: from TOML to a ``Job``, with every fault reported at once.

It reads no wood and imports no kernel: whatever can be checked without them is checked here. The keys are
described in ``job_template``, which writes such a file.
"""

from dataclasses import replace
from pathlib import Path

from formmaker.files.job_blank import Surroundings, read_blank, read_index_count
from formmaker.files.job_bowl import check_hold_in_form, read_form, read_hold, read_mounting, read_skin
from formmaker.files.job_chuck import read_chuck
from formmaker.files.job_cuts import read_cuts
from formmaker.files.job_dry import read_dry
from formmaker.files.job_faults import FaultList, Table, document_from_text, read_text_of
from formmaker.files.job_keys import choice_reader, read_title
from formmaker.files.job_lathe import read_lathe
from formmaker.files.job_marks import MarkList, read_marks
from formmaker.files.job_wish import read_wish
from formmaker.model.blank import BlankSource
from formmaker.model.job import BlankPlan, Job
from formmaker.units import Units

DEFAULT_INDEX_COUNT = 24  # common practice, no source: the index found on most lathes


def read_job(path: Path) -> Job:
    """Read a job file.

    Parameters
    ----------
    path : Path
        The TOML file; names of files in it start from its folder.

    Returns
    -------
    Job
        In mm and radians, nothing looked at but the file itself, the profile it names and whether the scan or
        the readings are there.

    Raises
    ------
    JobFileError
        With every fault of the file: its dotted key (entries of lists are counted from 1), value and what was
        expected.
    """
    return job_from_text(read_text_of(path), path)


def job_from_text(text: str, path: Path) -> Job:
    """Read the text of a job file that stands, or is to stand, at ``path``; faults as ``read_job`` raises them."""
    document = document_from_text(text, path)
    faults = FaultList(path)
    job = _read_tables(Table(document, "", faults), path, faults)
    if job is None or faults:
        raise faults.error(document)
    return job


def _read_tables(root: Table, path: Path, faults: FaultList) -> Job | None:
    title = root.optional("title", read_title)
    units = root.needed("units", choice_reader(Units), why='("mm" or "in"), for plain numbers')
    index_count = root.optional("index_count", read_index_count)
    # Faulty units must not hide the faults of everything else, so the rest is read as if it were in mm.
    around = Surroundings(job=path, units=units or Units.MM, is_unit_known=units is not None)
    blank = root.table("blank", why="with the wood")
    mounting = root.table("mounting", why="with the axis")
    form = root.table("form", why="with the bowl wished")
    hold = root.table("hold", why="with how the bowl is held")
    allowance = root.table("allowance")
    lathe = read_lathe(root.table("lathe"), index_count, around.units)
    index_count = index_count or lathe.index_count
    cuts = read_cuts(root, around.units)
    dry = read_dry(root.table("dry"), around.units)
    chuck = read_chuck(root.table("chuck"), around.units)
    wishes = root.table("wish")
    root.refuse_rest()
    marks = read_marks(blank, around.units) if blank else MarkList()
    wish = read_wish(wishes, marks, around.units)
    plan = read_blank(blank, marks, around) if blank else None
    axis = read_mounting(mounting, marks, around) if mounting else None
    bowl = read_form(form, around) if form else None
    held = read_hold(hold, around.units) if hold else None
    skin = read_skin(allowance, around.units)
    if hold is not None and held is not None and bowl is not None:
        check_hold_in_form(hold, held, bowl, around.units)
    if faults or plan is None or axis is None or bowl is None or held is None:
        return None
    return Job(
        title=title or path.stem,
        units=around.units,
        plan=replace(plan, index_count=_positions_of(plan, index_count), cuts=cuts, mounting=axis),
        mounting=axis,
        form=bowl,
        hold=held,
        skin=skin,
        index_count=index_count or plan.index_count or DEFAULT_INDEX_COUNT,
        lathe=lathe,
        dry=dry,
        chuck=chuck,
        wish=wish,
    )


def _positions_of(plan: BlankPlan, index_count: int | None) -> int:
    """Index positions that the readings count in: the blank's own, or the job's where it says none."""
    return plan.index_count or (index_count or 0 if plan.source is BlankSource.READINGS else 0)
