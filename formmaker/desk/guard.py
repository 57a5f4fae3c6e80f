"""Who may speak to the desk: the right key, the right host, the right origin; and which files it may show.

The key stands in the address the desk prints. A page that is opened with it gets it back as a cookie for this port,
so that what the page loads, and its socket, carry it too.
"""

import ipaddress
import secrets
from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from aiohttp import web

LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Letters and digits that cannot be taken for one another when an address is typed from paper."""

POLICY = (
    "default-src 'self'; script-src 'self' 'unsafe-inline' 'unsafe-eval' blob:; style-src 'self' 'unsafe-inline'; "
    "img-src 'self' data: blob:; worker-src 'self' blob:; font-src 'self' data:; connect-src 'self' data: blob:; "
    "frame-ancestors 'none'; base-uri 'self'; form-action 'self'; object-src 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}

Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """The key of one sitting and the hosts it answers to, such as ``127.0.0.1``."""

    key: str
    hosts: frozenset[str]

    def admits(self, host: str, origin: str | None, shown_key: str) -> bool:
        """Whether a request may be answered.

        Parameters
        ----------
        host : str
            Its ``Host`` header: a name or number with a port.
        origin : str or None
            Its ``Origin`` header, where it has one.
        shown_key : str
        """
        return (
            _name_of(f"//{host}") in self.hosts
            and (origin is None or urlsplit(origin).netloc == host)
            and secrets.compare_digest(shown_key.encode(), self.key.encode())
        )


def new_key() -> str:
    """Draw a key of 20 letters: 98 bits, and short enough to type."""
    return "".join(secrets.choice(LETTERS) for _ in range(20))


def own_hosts(lan_address: str | None) -> frozenset[str]:
    """Names by which this machine is spoken to: loopback, and its address on the local network where it is open."""
    return frozenset({"127.0.0.1", "localhost", "::1"} | ({lan_address} if lan_address else set()))


def guarding(guard: Guard) -> Callable[[web.Request, Handler], Awaitable[web.StreamResponse]]:
    """Make the middleware that every request passes, pages and socket alike."""

    @web.middleware
    async def watch(request: web.Request, handler: Handler) -> web.StreamResponse:
        name = f"desk-{request.url.port or 80}"
        asked = request.query.get("key")
        shown = request.cookies.get(name, "") if asked is None else asked
        if not guard.admits(request.headers.get("Host", ""), request.headers.get("Origin"), shown):
            return web.Response(status=403, text="This page needs the address that formmaker printed, key and all.\n")
        if request.path == "/" or (asked is not None and request.path == "/index.html"):
            response: web.StreamResponse = web.HTTPFound("/index.html")
            response.set_cookie(name, guard.key, httponly=True, samesite="Strict", path="/")
            return response
        response = await handler(request)
        if not response.prepared:
            response.headers.update({key: value for key, value in HEADERS.items() if key not in response.headers})
        return response

    return watch


def inside(folder: Path, name: str) -> Path | None:
    """Find a file by its name relative to a folder; None where that leads out of it, through a link too."""
    try:
        path = (folder / name).resolve(strict=True)
    except (OSError, ValueError, RuntimeError):
        return None
    return path if path.is_file() and path.is_relative_to(folder.resolve()) else None


def is_loopback(address: str) -> bool:
    """Whether an address is this machine's own."""
    return ipaddress.ip_address(address).is_loopback


def _name_of(address: str) -> str:
    try:
        return urlsplit(address).hostname or ""
    except ValueError:
        return ""
