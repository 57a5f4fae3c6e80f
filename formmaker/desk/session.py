"""One sitting at the desk: wishes of the page in, answers out, the scene redrawn when the hands are still."""

import asyncio
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

from trame_server.core import Server

from formmaker.atomic import write_atomically
from formmaker.desk import actions
from formmaker.desk.board import Board, digest
from formmaker.desk.making import make_picture, make_sheets
from formmaker.desk.page import INCH_STEPS, MM_STEPS, lay_out
from formmaker.desk.saying import Told
from formmaker.desk.scene import RING_STEP, Scene
from formmaker.desk.section_view import Window, window_of
from formmaker.desk.starting import Begun, begin, refusal_of, shape_choices
from formmaker.desk.told import SAID_AT_REST, told
from formmaker.desk.weighing import Found, seek_for
from formmaker.desk.work import Wish, Workbench
from formmaker.errors import FormmakerError
from formmaker.pipeline import looking
from formmaker.pipeline.looking import Bodies, bodies_of, sapwood_of
from formmaker.pipeline.sitting import Sitting, open_sitting, settled
from formmaker.sources.samples import SAMPLES
from formmaker.units import Units, format_length

T = TypeVar("T")

Outcome = Found | tuple[Path, ...]
LONG_WORKS: dict[str, Callable[[Sitting, Callable[[str], None], threading.Event], Outcome]] = {
    "sheets": make_sheets,
    "picture": make_picture,
    "seek": seek_for,
}
"""Wishes that take seconds: they are worked at beside the desk."""

STILL = 0.4
"""Seconds without a wish after which the scene is redrawn."""

WATCH = 1.5
"""Seconds between looks at the job file on disk."""

LONG_STILL = 0.7
"""Seconds more after which that is said which takes long: how it balances, how the centres are moved."""

FLAT = {"axis", "marks"}
"""What is shown in the scene as lines."""

PAPER = {False: (244, 238, 225), True: (27, 24, 21)}


class Session:
    """The desk of one job, for as many tabs as look at it."""

    def __init__(self, server: Server) -> None:
        self._loop = asyncio.get_running_loop()
        self._state = server.state
        self._threads = ThreadPoolExecutor(1)
        self._scene = Scene()
        self._view = lay_out(server, self._scene)
        self._board: Board | None = None
        self._window: Window | None = None
        self._drawn: tuple[Sitting, frozenset[str]] | None = None
        self._pointed: object = None
        self._is_still = asyncio.Event()
        self._stop = threading.Event()
        self._long: asyncio.Future[None] | None = None
        self._bench = Workbench(self._fulfil, self._rest)
        server.trigger("ask")(self._ask)

    @property
    def board(self) -> Board | None:
        """What lies on the desk; None before there is a job."""
        return self._board

    def keep_unsaved(self) -> Path | None:
        """Put what was not saved beside the job file when the desk ends; where it is, or None if all was saved."""
        board = self._board
        if board is None or board.is_saved:
            return None
        path = board.sitting.path.with_suffix(".unsaved.toml")
        write_atomically(path, board.history.text.encode())
        return path

    async def run(self) -> None:
        """Work until the desk is closed."""
        await asyncio.gather(self._bench.run(pause=STILL), self._draw(), self._watch())

    def offer(self, folder: Path, *, refusal: str = "") -> None:
        """Show the page that begins a job in a folder."""
        self._tell(
            {
                "stage": "start",
                "folder_name": folder.resolve().name,
                "shapes": shape_choices(),
                "samples": list(SAMPLES),
                "refusal": refusal,
            }
        )

    async def begin(self, begun: Begun, folder: Path) -> None:
        """Write the job that the page asked for, and open it; another one that lay on the desk is kept."""
        self.keep_unsaved()
        self._tell({"stage": "loading", "title": "A new job", "progress": "", "progress_done": [], "refusal": ""})
        try:
            await self.open(await self._aside(lambda: begin(begun, folder, self._say)))
        except FormmakerError as error:
            self.offer(folder, refusal=refusal_of(error, folder))

    async def open(self, path: Path) -> None:
        """Read a job and put it on the desk.

        Raises
        ------
        FormmakerError
            As its parts ask for it.
        """
        self._tell({"stage": "loading", "title": path.name, "progress": "", "progress_done": [], "refusal": ""})
        sitting = await self._aside(lambda: open_sitting(path, self._say))
        self._board = Board(sitting)
        self._drawn = None
        await self._answer(())
        self._tell({"stage": "desk", "cameras": {}})
        self._bench.ask(Wish(name="look", data={}))

    def _ask(self, name: str, data: dict[str, object], number: str) -> None:
        self._bench.ask(Wish(name=str(name), data=data, waiting=(str(number),)))

    async def _fulfil(self, wish: Wish) -> None:
        board = self._board
        if board is None:
            return
        if wish.name == "stop":
            self._stop.set()
        elif wish.name in LONG_WORKS:
            self._begin_long(wish.name, board)
        else:
            await self._aside(lambda: actions.fulfil(board, wish.name, wish.data, self._say_doing))
        await self._answer(wish.waiting)
        self._point_again(board)

    @property
    def _is_busy(self) -> bool:
        """Whether something of seconds is being worked at beside the desk."""
        return self._long is not None and not self._long.done()

    def _begin_long(self, name: str, board: Board) -> None:
        """Begin work of seconds beside the desk; one piece at a time, on the job as it stands now."""
        if self._is_busy:
            board.refusal = "something is being made already; wait until it is done"
            return
        sitting, self._stop = board.sitting, threading.Event()
        work = self._loop.run_in_executor(None, LONG_WORKS[name], sitting, self._say_doing, self._stop)
        self._tell({"is_seeking": name == "seek"})
        self._long = asyncio.ensure_future(self._end_long(work, board))

    async def _end_long(self, work: "asyncio.Future[Outcome]", board: Board) -> None:
        try:
            outcome = await work
        except FormmakerError as error:
            board.refusal = str(error)
        else:
            if isinstance(outcome, Found):
                board.found = outcome
            else:
                board.made = outcome
        self._tell({"is_seeking": False, "doing": ""})
        await self._answer(())

    async def _answer(self, waiting: tuple[str, ...]) -> None:
        board = self._board
        if board is None:
            return
        if board.dragged is None or self._window is None:
            self._window = window_of(board.sitting)
        window = self._window
        said = await self._aside(lambda: told(board, window))
        inches = board.sitting.units is Units.INCH
        steps = list(INCH_STEPS if inches else MM_STEPS)
        self._tell(
            {
                **said,
                "steps": steps if board.step in steps else [*steps, board.step],
                "sapwood_words": format_length(sapwood_of(board.sitting), board.sitting.units),
                "ring_words_step": format_length(RING_STEP, board.sitting.units),
                "answered": list(waiting),
                **({} if self._is_busy else {"doing": ""}),
            }
        )

    async def _rest(self) -> None:
        self._is_still.set()

    async def _draw(self) -> None:
        """Redraw the scene and say what takes longer whenever the hands are still; a wish does not wait for it."""
        while True:
            await self._is_still.wait()
            self._is_still.clear()
            if self._board is not None and self._drawn != (self._board.sitting, frozenset(self._board.shown)):
                await self._redraw(self._board)

    async def _redraw(self, board: Board) -> None:
        """Work out what the hands had no time for, piece by piece; left as soon as they move again."""
        before = board.sitting
        if board.dragged:  # a hand that holds a handle rests only in passing
            await asyncio.sleep(STILL)
            if board.sitting is not before:
                return
        sitting = before if board.dragged else await asyncio.to_thread(settled, before)
        if board.sitting is not before:
            return
        if sitting is not before:
            board.sitting = sitting
            await self._answer(())
        shown = frozenset(board.shown)
        bodies = await asyncio.to_thread(lambda: bodies_of(sitting, shown))
        if board.sitting is not sitting:
            return
        board.shown -= shown - FLAT - bodies.keys()  # what could not be cut is not shown as it was before
        self._drawn = (sitting, frozenset(board.shown))
        self._show(board, bodies)
        await asyncio.sleep(LONG_STILL)
        for say in SAID_AT_REST:
            if board.sitting is not sitting or board.dragged:
                return
            self._tell(await asyncio.to_thread(say, sitting, board.begun))

    def _show(self, board: Board, bodies: Bodies) -> None:
        for name, seen in bodies.items():
            self._scene.show(name, seen, sapwood=sapwood_of(board.sitting) if name in ("bowl", "waste") else None)
        self._scene.lines("marks", looking.flags_to_see(board.sitting))
        self._point(board)
        self._tell({"cameras": self._scene.cameras()})

    def _point_again(self, board: Board) -> None:
        """Point to the place in the scene too, where that or what is shown has changed."""
        pointed = (board.picked, frozenset(board.shown), board.is_dark)
        if pointed != self._pointed:
            self._pointed = pointed
            self._point(board)

    def _point(self, board: Board) -> None:
        """Bring to the scene what costs little: the pointer, what is shown of it, its ground."""
        self._scene.lines("axis", looking.lines_to_see(board.sitting, board.picked.theta, board.picked.height))
        self._scene.choose(board.shown)
        self._scene.paper(PAPER[board.is_dark])
        self._view.update()

    async def _watch(self) -> None:
        """Notice that somebody else has changed the job file."""
        while True:
            await asyncio.sleep(WATCH)
            board = self._board
            if board is None:
                continue
            changed = await asyncio.to_thread(digest, board.sitting.path) not in (board.on_disk, "")
            if changed != board.disk_changed:
                board.disk_changed = changed
                self._tell({"disk_changed": changed})

    async def _aside(self, work: Callable[[], T]) -> T:
        """Do work beside the page, one piece at a time."""
        return await asyncio.get_running_loop().run_in_executor(self._threads, work)

    def _tell(self, said: Told) -> None:
        self._state.update(said)
        self._state.flush()

    def _say(self, line: str) -> None:
        """From any thread: the line that says what is being done, and those that said it before."""
        self._loop.call_soon_threadsafe(self._progress, line)

    def _progress(self, line: str) -> None:
        done = [*self._state["progress_done"], self._state["progress"]] if self._state["progress"] else []
        self._tell({"progress": line, "progress_done": done})

    def _say_doing(self, line: str) -> None:
        self._loop.call_soon_threadsafe(lambda: self._tell({"doing": line}))
