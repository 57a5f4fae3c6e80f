"""A desk running apart, and a browser to look at it; both skipped with the reason where they cannot be had."""

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from formmaker.sources.samples import sample_job

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--enable-unsafe-swiftshader", "--disable-quic"),
    *("--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """A running desk: its address with the key, its process, and the folder it works in."""

    address: str
    process: "subprocess.Popen[str]"
    folder: Path

    @property
    def base(self) -> str:
        parts = urlsplit(self.address)
        return f"{parts.scheme}://{parts.netloc}"

    @property
    def port(self) -> int:
        return urlsplit(self.address).port or 0

    @property
    def key(self) -> str:
        return self.address.partition("key=")[2]


def surroundings() -> dict[str, str]:
    """What a desk started from a test finds around it."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}


def start_desk(folder: Path, *words: str) -> Desk:
    """Start a desk in a folder and wait for the line with its address."""
    command = [sys.executable, "-m", "formmaker", "desk", "--no-browser", *words]
    process = subprocess.Popen(
        command, cwd=folder, env=surroundings(), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/\?key=\w+\n", line), line
    return Desk(address=line.strip(), process=process, folder=folder)


def end_desk(desk: Desk) -> None:
    desk.process.terminate()
    desk.process.wait(20)
    assert desk.process.stdout is not None
    desk.process.stdout.close()


@pytest.fixture(scope="session")
def plum(tmp_path_factory) -> Iterator[Desk]:
    """A desk on the plum half log, for the tests that only ask."""
    folder = tmp_path_factory.mktemp("plum")
    (folder / "job.toml").write_text(sample_job("plum half log"))
    desk = start_desk(folder, "job.toml")
    yield desk
    end_desk(desk)


@pytest.fixture(scope="module")
def empty(tmp_path_factory) -> Iterator[Desk]:
    """A desk without a job, in a folder of its own."""
    desk = start_desk(tmp_path_factory.mktemp("empty"))
    yield desk
    end_desk(desk)


@pytest.fixture(scope="module")
def chromium():
    """A headless Chromium, the system's own; ended with the module, since playwright's loop runs until then."""
    playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if path is None:
        pytest.skip("there is no Chromium on this machine")
    with playwright.sync_playwright() as running:
        try:
            browser = running.chromium.launch(executable_path=path, args=list(FLAGS))
        except playwright.Error as error:
            pytest.skip(f"Chromium does not start here: {error.message.splitlines()[0]}")
        yield browser
        browser.close()


class Hands:
    """A page on a desk, and the ways to use it; keeps every address the page asked for."""

    def __init__(self, context, desk: Desk) -> None:
        self.desk = desk
        self.asked: list[str] = []
        self.faults: list[str] = []
        self.page = context.new_page()
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.on("websocket", lambda socket: self.asked.append(socket.url))
        self.page.on("pageerror", lambda error: self.faults.append(str(error)))
        self.page.goto(desk.address)

    def ready(self) -> "Hands":
        self.page.wait_for_selector(".board", timeout=60_000)
        self.page.wait_for_function("window.desk && desk.idle()")
        return self

    def settled(self) -> None:
        self.page.wait_for_function("desk.idle()", timeout=20_000)

    def press(self, selector: str) -> None:
        self.page.click(selector)
        self.settled()

    def opened(self, chapter: str) -> None:
        """Open a chapter of the bench, if it is closed."""
        self.page.locator("details", has=self.page.locator("summary", has_text=chapter)).evaluate(
            "d => d.open = true"
        )

    def state(self, name: str):
        return self.page.evaluate(f"trame.state.get({name!r})")

    def middle(self, selector: str) -> tuple[float, float]:
        box = self.page.locator(selector).first.bounding_box()
        return box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0


@pytest.fixture
def hands(chromium):
    """A maker of pages, closed at the end."""
    contexts = []

    def make(desk: Desk, **kind) -> Hands:
        contexts.append(chromium.new_context(**({"viewport": {"width": 1440, "height": 900}} | kind)))
        return Hands(contexts[-1], desk)

    yield make
    for context in contexts:
        context.close()


def until(question, *, seconds: float = 20.0):
    """Ask until the answer is true; the answer."""
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if answer := question():
            return answer
        time.sleep(0.1)
    raise AssertionError(f"not within {seconds} s")
