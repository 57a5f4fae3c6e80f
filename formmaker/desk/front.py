"""The first thing a browser gets: a page of our own round the scripts that trame ships.

trame's own first page fetches a picture of waiting and puts it in when it comes, over the desk if the desk was there
first; and it asks a launcher for the socket's address, which there is none of. Neither is asked for here.
"""

from collections.abc import Awaitable, Callable
from html import escape
from html.parser import HTMLParser
from pathlib import Path

from aiohttp import web

FILES = "desk-files"
"""Where the page finds what is served from ``served``."""

SOCKET = "socket"
"""Where the page asks for the address of its socket."""

_PAGE = """<!doctype html>
<html lang="en" data-app-name="formmaker" data-session-manager-url="./{socket}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>formmaker desk</title>
<link rel="icon" type="image/svg+xml" href="{files}/icon.svg">
<link rel="stylesheet" href="{files}/style.css">
<script src="{files}/desk.js" defer></script>
{scripts}
</head>
<body>
<noscript><p class="waiting">The desk needs JavaScript; allow it for this page.</p></noscript>
<div id="app"><div class="waiting"><h1>formmaker</h1><p class="doing">Opening the desk.</p></div></div>
</body>
</html>
"""


class _Scripts(HTMLParser):
    """Collects the script files that a page names, in their order."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep a script with a source."""
        words = dict(attrs)
        source = words.get("src")
        if tag == "script" and source:
            kind = f' type="{escape(str(words["type"]))}"' if words.get("type") else " defer"
            self.tags.append(f'<script src="{escape(source)}"{kind}></script>')


def front_page(shipped: Path) -> str:
    """Make the first page round the scripts that a page of trame's names.

    Parameters
    ----------
    shipped : Path
        trame's first page.
    """
    scripts = _Scripts()
    scripts.feed(shipped.read_text(encoding="utf-8"))
    return _PAGE.format(socket=SOCKET, files=FILES, scripts="\n".join(scripts.tags))


def greeting(shipped: Path) -> Callable[[web.Request], Awaitable[web.StreamResponse]]:
    """Make the handler that gives the first page, round the scripts that a page of trame's names."""
    page = front_page(shipped)

    async def greet(_request: web.Request) -> web.StreamResponse:
        return web.Response(text=page, content_type="text/html")

    return greet


async def tell_socket(_request: web.Request) -> web.StreamResponse:
    """Say where the socket is: at the host and port that the page came from."""
    return web.json_response({"sessionURL": "ws://USE_HOST/ws"})
