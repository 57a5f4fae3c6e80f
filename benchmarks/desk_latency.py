"""From the hand to the answer on screen: the desk in headless Chromium, as a turner would drag and nudge.

Run with ``python benchmarks/desk_latency.py [--million]``; it needs the test extra and a Chromium. Each move of a
handle and each nudge is timed in the page, from the event to the frame that shows the new verdict and rim. With
``--million`` the demo burr is cut up into a million triangles first; the time until the page is usable is told too.
"""

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import trimesh
from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from formmaker.sources.samples import SCAN_NAME, sample_job, write_sample_scan
from tests.desk.conftest import FLAGS, Desk, end_desk, start_desk

MOVES = 60
DRAGGING = 10.0
MILLION = 1_000_000


def main() -> None:
    """Measure, and print a line for each figure."""
    path = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))))
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        _write_burr(Path(folder), is_million="--million" in sys.argv)
        began = time.perf_counter()
        desk = start_desk(Path(folder), "job.toml")
        try:
            page = playwright.chromium.launch(executable_path=path, args=list(FLAGS)).new_page(
                viewport={"width": 1440, "height": 900}
            )
            _measure(page, desk, began)
        finally:
            end_desk(desk)


def _measure(page: Page, desk: Desk, began: float) -> None:
    page.goto(desk.address)
    page.wait_for_selector(".board", timeout=120_000)
    page.wait_for_function("window.desk && desk.idle()", timeout=60_000)
    print("load when it began: {:.1f} {:.1f} {:.1f}".format(*os.getloadavg()))
    print(f"usable after {time.perf_counter() - began:.1f} s")
    page.wait_for_timeout(4000)  # the scene has come, nothing is done
    _drag(page, moves=5, apart=0.6)  # the first time everything is warmed up
    page.evaluate("desk.times.length = 0")
    _drag(page, moves=MOVES, apart=0.6)
    _say("handle moved", page)
    _nudge(page)
    _say("nudge", page)
    _drag_fast(page)


def _say(what: str, page: Page) -> None:
    times = [each["ms"] for each in page.evaluate("desk.times") if each["name"] in ("drag", "nudge")]
    page.evaluate("desk.times.length = 0")
    middle, most = np.percentile(times, [50, 95])
    print(f"{what}: {len(times)} times, median {middle:.0f} ms, 95 % {most:.0f} ms, longest {max(times):.0f} ms")


def _take_hold(page: Page) -> tuple[float, float]:
    box = page.locator('[data-handle="2"]').bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0
    page.mouse.move(x, y)
    page.mouse.down()
    return x, y


def _drag(page: Page, *, moves: int, apart: float) -> None:
    """Move a handle to and fro, each time waiting for the answer and then some."""
    x, y = _take_hold(page)
    for k in range(moves):
        page.mouse.move(x + 12.0 * np.sin(k), y + 5.0 * np.cos(k))
        page.wait_for_function("desk.idle()", polling=20)
        page.wait_for_timeout(1000.0 * apart * (k % 3) / 3.0)  # now and then long enough for the scene to be redrawn
    page.mouse.up()
    page.wait_for_function("desk.idle()")


def _nudge(page: Page) -> None:
    for k in range(MOVES):
        page.locator(".cross button.right, .cross button.left").nth(k % 2).click()
        page.wait_for_function("desk.idle()", polling=20)
        page.wait_for_timeout(200.0 * (k % 3))


def _drag_fast(page: Page) -> None:
    """Drag without a rest, then see how long it takes until nothing is asked or answered any more."""
    x, y = _take_hold(page)
    ends = time.perf_counter() + DRAGGING
    moved = 0
    while time.perf_counter() < ends:
        moved += 1
        page.mouse.move(x + 14.0 * np.sin(0.21 * moved), y + 5.0 * np.cos(0.17 * moved))
        page.wait_for_timeout(8)
    last = time.perf_counter()
    page.wait_for_function("desk.idle()", polling=10)
    settled = time.perf_counter() - last
    answers = page.evaluate("desk.times.length")
    page.wait_for_timeout(2000)
    late = page.evaluate("desk.times.length") - answers
    page.mouse.up()
    page.wait_for_function("desk.idle()")
    print(f"{moved} moves in {DRAGGING:.0f} s: {answers} answers, settled after {settled:.2f} s, {late} came later")


def _write_burr(folder: Path, *, is_million: bool) -> None:
    (folder / "job.toml").write_text(sample_job("hedge-elm burr"))
    write_sample_scan(folder / SCAN_NAME)
    if is_million:
        mesh = trimesh.load_mesh(folder / SCAN_NAME)
        while len(mesh.faces) < 0.9 * MILLION:  # the burr has a quarter of it less three in a hundred
            mesh = mesh.subdivide()
        mesh.export(folder / SCAN_NAME)
        print(f"{len(mesh.faces)} triangles")


if __name__ == "__main__":
    main()
