"""A caller without a browser: speaks the desk's socket itself, and can stop hearing as a sleeping tablet does."""

import asyncio
import itertools
import socket
from typing import Any, Self

import aiohttp
import msgpack
from wslink.chunking import UnChunker, generate_chunks

from tests.desk.conftest import Desk


def _small_socket(info: Any) -> socket.socket:
    """A socket for which the system keeps little of what was not heard yet."""
    line = socket.socket(info[0], info[1], info[2])
    line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 8192)
    return line


class Caller:
    """A page's end of the socket and no more: asks, and hears as long as it likes."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._numbers = itertools.count()
        self._chunks = UnChunker()
        self._chunks.set_max_message_size(1 << 30)

    async def __aenter__(self) -> Self:
        self._session = aiohttp.ClientSession(connector=aiohttp.TCPConnector(socket_factory=_small_socket))
        self._socket = await self._session.ws_connect(
            f"http://127.0.0.1:{self._desk.port}/ws",
            headers={"Cookie": f"desk-{self._desk.port}={self._desk.key}"},
            max_msg_size=0,
        )
        await self.send("wslink.hello", {"secret": "wslink-secret"}, kind="system")
        await self.hear("system")
        return self

    async def __aexit__(self, *_error: object) -> None:
        self._socket._response.close()  # at once: who does not hear does not say goodbye either
        await self._session.close()

    async def send(self, method: str, *args: object, kind: str = "rpc") -> None:
        """Ask, and do not wait for what is said."""
        words = {"wslink": "1.0", "id": f"{kind}:{next(self._numbers)}", "method": method, "args": list(args)}
        for chunk in generate_chunks(msgpack.packb(words), 4_000_000):
            await self._socket.send_bytes(chunk)

    async def hear(self, kind: str) -> Any:
        """Hear until something of a kind is said: an answer (``rpc``), or what every page is told (``publish``)."""
        while True:
            said = await self._socket.receive()
            assert said.type is aiohttp.WSMsgType.BINARY, said
            whole = self._chunks.process_chunk(said.data)
            if whole is not None and whole["id"].startswith(kind):
                return whole["result"]

    async def state(self, *, seconds: float) -> dict[str, Any]:
        """All that the page is told when it opens."""
        await self.send("trame.state.get")
        return (await asyncio.wait_for(self.hear("rpc"), seconds))["state"]
