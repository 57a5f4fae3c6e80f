"""The desk as a local server: loopback, a free port, a key; pages and socket by trame, guarded.

It opens the page at once and reads the job behind it.
"""

import asyncio
import logging
import os
import signal
import socket
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from trame.app import get_server

from formmaker.desk.front import SOCKET, greeting, tell_socket
from formmaker.desk.guard import Guard, guarding, new_key, own_hosts
from formmaker.desk.making import showing
from formmaker.desk.session import Session
from formmaker.desk.sockets import Sockets
from formmaker.desk.starting import Begun, receiving
from formmaker.errors import FormmakerError, OutputError

LOOPBACK = "127.0.0.1"
ENDINGS = ("SIGTERM", "SIGHUP", "SIGBREAK")
QUIET = ("aiohttp", "wslink", "trame")


@dataclass(frozen=True, slots=True, kw_only=True)
class Address:
    """Where the desk is to be found: for this machine, and for a tablet where that was asked for."""

    here: str
    lan: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Where that was put which was not saved when the desk ended."""

    path: Path


News = Address | Kept


def serve(
    job: Path | None, folder: Path, *, port: int, lan: bool, announce: Callable[[News], None], browse: bool
) -> None:
    """Serve the desk until it is interrupted.

    Parameters
    ----------
    job : Path or None
        The job to open; None for the page that begins one.
    folder : Path
        Where jobs are begun.
    port : int
        0 for a free one.
    lan : bool
        Whether the local network may ask too, key in hand.
    announce : callable
        Told the address once the desk answers, and at the end what was not saved.
    browse : bool
        Whether the system's browser is opened on it.

    Raises
    ------
    OutputError
        If the port cannot be had.
    """
    for name in QUIET:
        logging.getLogger(name).setLevel(logging.CRITICAL)
    host, lan_address = ("0.0.0.0", _lan_address()) if lan else (LOOPBACK, None)  # asked for, with a key
    _require_free(host, port)
    for name in ENDINGS:
        if hasattr(signal, name):  # a closed window ends the desk as Ctrl C does: nothing is lost
            signal.signal(getattr(signal, name), signal.default_int_handler)
    asyncio.run(_serve(job, folder, host=host, port=port, lan_address=lan_address, announce=announce, browse=browse))


async def _serve(
    job: Path | None,
    folder: Path,
    *,
    host: str,
    port: int,
    lan_address: str | None,
    announce: Callable[[News], None],
    browse: bool,
) -> None:
    os.environ["TRAME_ARGS"] = "--server"  # this process has arguments of its own, which trame would read
    server = get_server("formmaker-desk", client_type="vue3")
    guard = Guard(key=new_key(), hosts=own_hosts(lan_address))
    session = Session(server)
    sockets = Sockets()

    async def opened(begun: Begun) -> None:
        await session.begin(begun, folder)

    def bind(web_server: Any) -> None:
        web_server.app.middlewares.extend((guarding(guard), sockets.keeping()))
        shipped = Path(web_server.config["static"]["/"]) / "index.html"
        web_server.app.router.add_get("/index.html", greeting(shipped))
        web_server.app.router.add_post(f"/{SOCKET}", tell_socket)
        web_server.app.router.add_get("/made/{name:.+}", showing(session))
        web_server.app.router.add_post("/begin", receiving(folder, opened))

    server.controller.on_server_bind.add(bind)

    def ready(**_state: Any) -> None:
        here = f"http://{LOOPBACK}:{server.port}/?key={guard.key}"
        there = f"http://{lan_address}:{server.port}/?key={guard.key}" if lan_address else ""
        announce(Address(here=here, lan=there))
        if browse:
            webbrowser.open(here)

    server.controller.on_server_ready.add(ready)
    serving = server.start(
        port=port,
        host=host,
        open_browser=False,
        show_connection_info=False,
        disable_logging=True,
        timeout=0,
        follow_symlinks=False,
        exec_mode="coroutine",
    )
    try:
        await asyncio.gather(serving, session.run(), sockets.watch(), _begin(session, job, folder))
    finally:
        kept = session.keep_unsaved()
        if kept is not None:
            announce(Kept(path=kept))


async def _begin(session: Session, job: Path | None, folder: Path) -> None:
    if job is None:
        session.offer(folder)
        return
    try:
        await session.open(job)
    except FormmakerError as error:
        session.offer(folder, refusal=str(error))


def _lan_address() -> str:
    """The address under which other machines of the local network find this one."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(
                ("192.0.2.1", 9)
            )  # a documentation address (RFC 5737): nothing is sent, a route is looked up
        except OSError as error:
            raise OutputError("this machine is on no network; leave --lan out") from error
        return str(probe.getsockname()[0])


def _require_free(host: str, port: int) -> None:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError as error:
            raise OutputError(
                f"port {port} cannot be had ({error.strerror}); leave --port out for a free one"
            ) from error
