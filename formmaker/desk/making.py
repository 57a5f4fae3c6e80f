"""Sheets and pictures made from the desk into ``exports`` beside the job, and shown to the page from there alone."""

from collections.abc import Awaitable, Callable
from pathlib import Path
from threading import Event
from typing import Protocol
from urllib.parse import quote

from aiohttp import web

from formmaker.desk.board import Board
from formmaker.desk.guard import inside
from formmaker.drawing.papers import paper_named
from formmaker.drawing.sheets import Format
from formmaker.pipeline.printing import sheets_report
from formmaker.pipeline.showing import picture_report
from formmaker.pipeline.sitting import Sitting, settled
from formmaker.units import Units

EXPORTS = "exports"
SHOWN_KINDS = {".svg": "image/svg+xml", ".png": "image/png", ".pdf": "application/pdf", ".dxf": "image/vnd.dxf"}

Say = Callable[[str], None]


class HasBoard(Protocol):
    """Whatever knows the board."""

    @property
    def board(self) -> Board | None:
        """The board, once there is a job."""


def make_sheets(sitting: Sitting, say: Say, _stop: Event) -> tuple[Path, ...]:
    """Draw the full-size sheets on the usual paper of the unit, as PDF for the printer."""
    paper = paper_named("A4" if sitting.units is Units.MM else "letter", sitting.units)
    return sheets_report(settled(sitting).report, _folder(sitting), say, paper=paper, formats=(Format.PDF,))


def make_picture(sitting: Sitting, say: Say, _stop: Event) -> tuple[Path, ...]:
    """Picture the bowl in its wood, and alone."""
    target, alone = _folder(sitting) / "picture.png", _folder(sitting) / "bowl.png"
    picture_report(settled(sitting).report, target, say, alone=alone)
    return target, alone


def words_for(path: Path) -> str:
    """Name a file that was made."""
    return path.stem.replace("-", " ")


def address_of(path: Path, folder: Path) -> str:
    """Where the page finds a file that was made; the time of writing makes a browser look again."""
    name = path.resolve().relative_to((folder / EXPORTS).resolve()).as_posix()
    return f"/made/{quote(name)}?{path.stat().st_mtime_ns}"


def showing(session: HasBoard) -> Callable[[web.Request], Awaitable[web.StreamResponse]]:
    """Make the handler that shows files of ``exports``, and nothing else."""

    async def show(request: web.Request) -> web.StreamResponse:
        board = session.board
        path = inside(board.folder / EXPORTS, request.match_info["name"]) if board else None
        if path is None or path.suffix not in SHOWN_KINDS:
            return web.Response(status=404, text="There is no such sheet or picture.\n")
        headers = {"Content-Type": SHOWN_KINDS[path.suffix]}
        if path.suffix == ".svg":  # a drawing opened by itself runs nothing and loads nothing
            headers["Content-Security-Policy"] = "sandbox; style-src 'unsafe-inline'"
        return web.FileResponse(path, headers=headers)

    return show


def _folder(sitting: Sitting) -> Path:
    return sitting.path.parent / EXPORTS / sitting.path.stem
