"""The four full-size sheets of a job, on disk.

What stands on each is decided in the module of its own name; here they are only written.
"""

from pathlib import Path

from formmaker.atomic import write_atomically
from formmaker.drawing.rim_sheet import PassMark, rim_sheet
from formmaker.drawing.section_sheet import section_sheet
from formmaker.drawing.svg_writer import svg_bytes
from formmaker.drawing.templates import inner_template, outer_template
from formmaker.errors import OutputError
from formmaker.model.job import Job
from formmaker.model.section import Section
from formmaker.model.verdict import Verdict


def draw(
    job: Job, section: Section, verdict: Verdict, folder: Path, *, passes: tuple[PassMark, ...] = ()
) -> tuple[Path, ...]:
    """Write the sheets of a job as SVG files.

    Parameters
    ----------
    job : Job
    section : Section
    verdict : Verdict
    folder : Path
        Made if it is missing; files of the same names are replaced, each whole or not at all.
    passes : tuple of (str, float, float)
        Keep marks to be shown on the rim line: name, angle in radians, height above the foot plane in mm.

    Returns
    -------
    tuple of Path
        Template of the outside, template of the inside, section, rim line.

    Raises
    ------
    OutputError
        If a file cannot be written; where a folder stands in the place of one, before any is written.
    """
    sheets = {
        "template-outside.svg": outer_template(job, section),
        "template-inside.svg": inner_template(job, section),
        "section.svg": section_sheet(job, section, verdict),
        "rim-line.svg": rim_sheet(job, verdict, passes=passes),
    }
    documents = {folder / name: svg_bytes(sheet) for name, sheet in sheets.items()}
    blocked = [str(path) for path in documents if path.is_dir()]
    if blocked:
        raise OutputError(f"{', '.join(blocked)} is a folder; move it away, or name another folder with -o")
    for path, document in documents.items():
        write_atomically(path, document)
    return tuple(documents)
