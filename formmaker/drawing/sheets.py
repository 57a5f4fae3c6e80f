"""The sheets of a job by name, and their files: drawn once as marks, written in every format asked for.

What stands on each is decided in the module of its own name.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from functools import partial
from pathlib import Path

from formmaker.atomic import write_atomically
from formmaker.drawing.answers import warned
from formmaker.drawing.dxf_writer import dxf_bytes
from formmaker.drawing.end_sheets import end_sheet
from formmaker.drawing.hold_sheet import hold_sheet
from formmaker.drawing.pages import pages
from formmaker.drawing.papers import Paper
from formmaker.drawing.pdf_writer import pdf_bytes
from formmaker.drawing.quarter_sheets import quarter_sheet
from formmaker.drawing.rim_sheet import rim_sheet
from formmaker.drawing.section_sheet import section_sheet
from formmaker.drawing.setup_sheet import setup_sheet
from formmaker.drawing.sheet import Drawing, Sheet, whole
from formmaker.drawing.subject import Subject
from formmaker.drawing.svg_writer import svg_bytes
from formmaker.drawing.templates import inner_template, outer_template
from formmaker.drawing.wall_gauge import wall_gauge
from formmaker.errors import OutputError
from formmaker.model.ends import End

SETUP = "set-up"

SHEETS: dict[str, Callable[[Subject], Drawing]] = {
    "template-outside": outer_template,
    "template-inside": inner_template,
    "section": section_sheet,
    "rim-strip": rim_sheet,
    "wall-gauge": wall_gauge,
    "hold": hold_sheet,
    SETUP: setup_sheet,
    **{f"end-{end.value}": partial(end_sheet, end=end) for end in End},
    **{f"quarter-{90 * turn}": partial(quarter_sheet, quarter=turn) for turn in range(4)},
}

PLAIN = ("template-outside", "template-inside", "section", "rim-strip")
"""The sheets that ``draw`` writes, each whole."""


class Format(StrEnum):
    """What a sheet can be written as."""

    SVG = "svg"
    PDF = "pdf"
    DXF = "dxf"


def draw(
    subject: Subject,
    folder: Path,
    *,
    names: Sequence[str] = PLAIN,
    paper: Paper | None = None,
    formats: Sequence[Format] = (Format.SVG,),
) -> tuple[Path, ...]:
    """Write sheets of a job.

    Parameters
    ----------
    subject : Subject
    folder : Path
        Made if it is missing; files of the same names are replaced, each whole or not at all.
    names : sequence of str
        Of ``SHEETS``.
    paper : Paper, optional
        Without one, every sheet is as large as its drawing asks for.
    formats : sequence of Format
        A PDF holds all pages of a sheet; an SVG holds one page, and its name counts them where there are several; a
        DXF holds the whole drawing on no paper.

    Returns
    -------
    tuple of Path

    Raises
    ------
    OutputError
        If a file cannot be written; where a folder stands in the place of one, before any is written.
    """
    documents: dict[Path, bytes] = {}
    for name in names:
        drawing = warned(SHEETS[name](subject), subject.job, subject.verdict)
        for file_name, document in sheet_files(name, drawing, paper, formats):
            documents[folder / file_name] = document
    blocked = [str(path) for path in documents if path.is_dir()]
    if blocked:
        raise OutputError(f"{', '.join(blocked)} is a folder; move it away, or name another folder with -o")
    for path, document in documents.items():
        write_atomically(path, document)
    return tuple(documents)


def sheet_files(
    name: str, drawing: Drawing, paper: Paper | None, formats: Sequence[Format]
) -> Iterable[tuple[str, bytes]]:
    """Files of one sheet, by name; laid out once, then written in each format."""
    laid = (whole(drawing),) if paper is None else pages(drawing, paper)
    for chosen in formats:
        match chosen:
            case Format.SVG:
                yield from _svg_files(name, laid)
            case Format.PDF:
                yield f"{name}.pdf", pdf_bytes(laid)
            case Format.DXF:
                yield f"{name}.dxf", dxf_bytes(whole(drawing))


def left_over(written: Sequence[Path], names: Sequence[str]) -> tuple[Path, ...]:
    """Files of an earlier run that lie beside those just written: pages of the same sheets that there are no more of.

    They are told of, not taken away: whose they are cannot be known.

    Parameters
    ----------
    written : sequence of Path
        At least one.
    names : sequence of str
        Of the sheets they show.

    Returns
    -------
    tuple of Path
        In order; of the formats that were written alone.
    """
    endings = "|".join(sorted({path.suffix[1:] for path in written}))
    page = re.compile(rf"({'|'.join(map(re.escape, names))})(-[0-9]+)?\.({endings})")
    found = {path for path in written[0].parent.glob("*") if page.fullmatch(path.name) and path.is_file()}
    return tuple(sorted(found - set(written)))


def _svg_files(name: str, laid: Sequence[Sheet]) -> Iterable[tuple[str, bytes]]:
    for number, sheet in enumerate(laid, start=1):
        yield f"{name}.svg" if len(laid) == 1 else f"{name}-{number}.svg", svg_bytes(sheet)
