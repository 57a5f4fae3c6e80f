"""Pages that have ceased to hear: what is said to them is kept up to a limit, then their socket is cut.

All pages are told one after another. A tablet that fell asleep takes nothing and does not say goodbye: without this
the desk would wait for it, and every other page with it. When it wakes it finds itself cut off and opens anew.
"""

import asyncio
from collections.abc import Awaitable, Callable

from aiohttp import web

MOST_UNHEARD = 32_000_000
"""Bytes kept for a page that does not take them: a page's whole opening is some 3 MB, a minute of dragging 30 MB."""

LOOK = 0.5
"""Seconds between looks at what was not heard."""

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


class Sockets:
    """The sockets of all pages that are open."""

    def __init__(self, *, most: int = MOST_UNHEARD) -> None:
        self._most = most
        self._open: set[asyncio.Transport] = set()

    def keeping(self) -> Callable[[web.Request, Handler], Awaitable[web.StreamResponse]]:
        """Make the middleware that knows a socket while it is open."""

        @web.middleware
        async def keep(request: web.Request, handler: Handler) -> web.StreamResponse:
            line = request.transport
            if line is None or request.headers.get("Upgrade", "").lower() != "websocket":
                return await handler(request)
            line.set_write_buffer_limits(high=4 * self._most)  # never reached: it is cut before
            self._open.add(line)
            try:
                return await handler(request)
            finally:
                self._open.discard(line)

        return keep

    async def watch(self) -> None:
        """Cut off who does not hear any more, for ever."""
        while True:
            await asyncio.sleep(LOOK)
            self.cut()

    def cut(self) -> None:
        """Cut off who has not heard too much, or was told to go and did not hear that either."""
        for line in tuple(self._open):
            unheard = line.get_write_buffer_size()
            if unheard > self._most or (line.is_closing() and unheard):
                line.abort()
