"""The desk as a turner uses it, in a real browser: by mouse, by touch, by keyboard."""

import re
import tomllib
from collections.abc import Iterator
from urllib.parse import urlsplit

import numpy as np
import pytest

from formmaker.files.job_file import read_job
from formmaker.sources.samples import sample_job
from tests.desk.conftest import Desk, end_desk, start_desk, until


def test_a_scan_that_is_none_is_refused_in_words_and_leaves_nothing(empty, hands) -> None:
    page = hands(empty).page
    page.set_input_files(
        'form[data-form="scan"] [type=file]',
        {"name": "no.stl", "mimeType": "model/stl", "buffer": b"nothing of the sort"},
    )
    page.select_option('[name="scan_unit"]', "mm")
    page.click('form[data-form="scan"] [type=submit]')
    page.wait_for_selector('[role="alert"]', timeout=60_000)
    assert "no.stl" in page.inner_text('[role="alert"]')
    assert list(empty.folder.iterdir()) == []


def test_what_the_first_page_refuses_it_calls_by_its_own_labels(empty, hands) -> None:
    page = hands(empty).page
    page.wait_for_selector(".start")
    page.select_option("#start-units", "in")
    page.select_option('[name="shape"]', "crotch")
    labels = page.inner_text('form[data-form="shape"]')
    assert "Stem radius, inches" in labels
    assert "Angle, degrees" in labels
    page.select_option('[name="shape"]', "round")
    page.fill('[name="size.diameter"]', "wide")
    page.fill('[name="size.thickness"]', "-2")
    page.click('form[data-form="shape"] [type=submit]')
    page.wait_for_selector('[role="alert"]', timeout=60_000)
    said = page.inner_text('[role="alert"]').splitlines()
    assert said[0].startswith('Diameter "wide" cannot be used; give a length')
    assert said[1].startswith("Thickness -2.0 cannot be used; give a length above 0")
    assert list(empty.folder.iterdir()) == []


def test_a_session_from_sample_to_saved_file(empty, hands) -> None:
    """Open a sample, drag, tilt, level, mark, undo, redo, save, sheets: what the file says is what was done."""
    at = hands(empty)
    page = at.page
    page.click('button[value="plum half log"]')
    at.ready()
    assert at.state("answer") == "fits"
    assert page.inner_text(".verdict strong") == "It comes out."
    begun = at.state("fields")["form_diameter"]

    # a handle by mouse: while it is held nothing is in the job, when let go it is
    x, y = at.middle('[data-handle="3"]')
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(1, 11):
        page.mouse.move(x + 3 * step, y)
    at.settled()
    assert at.state("is_saved")
    page.mouse.up()
    at.settled()
    assert not at.state("is_saved")

    # nudge and level
    at.press(".cross button.right >> nth=1")
    assert re.search(r"rim centre has moved 1/16 in toward 0 deg", page.inner_text(".bench"))
    at.press('[data-act="undo"]')
    assert "stand where they stood" in page.inner_text(".bench")
    at.press('[data-act="redo"]')

    # a mark on the skin, by a click on the piece, then by keyboard's way
    at.opened("Marks")
    page.click('[data-marking="witness"]')
    page.wait_for_timeout(1500)
    marks = len(at.state("marks"))
    page.mouse.click(*at.middle("#scene-stage"))
    until(lambda: len(at.state("marks")) == marks + 1)
    at.press('[data-act="mark-here"]')
    until(lambda: len(at.state("marks")) == marks + 2)

    at.press('[data-act="save"]')
    assert at.state("is_saved")
    path = empty.folder / "plum-half-log" / "job.toml"
    job = read_job(path)
    assert len(job.plan.marks) == marks + 2
    words = tomllib.loads(path.read_text())
    assert "outer" in words["form"]
    assert "profile" not in words["form"]

    page.click('[data-act="sheets"]')
    page.wait_for_selector(".made a", timeout=60_000)
    reply = page.request.get(at.desk.base + page.get_attribute(".made a", "href"))
    assert reply.status == 200
    assert reply.body().lstrip().startswith(b"%PDF")
    assert begun.endswith(" in")
    assert at.faults == []
    assert {urlsplit(address).hostname for address in at.asked if not address.startswith(("data:", "blob:"))} == {
        "127.0.0.1"
    }


def test_keys_alone_move_a_handle_and_pick_an_angle(plum, hands) -> None:
    at = hands(plum).ready()
    before = at.state("handles")[1]["x"]
    at.page.focus('[data-handle="1"]')
    at.page.keyboard.press("ArrowRight")
    at.settled()
    assert at.state("handles")[1]["x"] == pytest.approx(before + 25.4 / 16.0, abs=0.01)  # one step, 1/16 in
    assert at.page.evaluate("document.activeElement.dataset.handle") == "1"  # the focus stays on what was moved
    at.page.keyboard.press("Control+z")
    at.settled()
    assert at.state("handles")[1]["x"] == pytest.approx(before, abs=0.01)
    at.page.focus("#ring")
    theta = at.state("picked_deg")
    at.page.keyboard.press("ArrowRight")
    at.settled()
    assert at.state("picked_deg") == pytest.approx((theta + 15.0) % 360.0, abs=0.2)  # one of 24 positions


def test_a_finger_drags_a_handle_and_turns_the_ring(plum, hands) -> None:
    at = hands(plum, viewport={"width": 1024, "height": 768}, has_touch=True).ready()
    before = at.state("handles")[2]["x"]
    x, y = at.middle('[data-handle="2"]')
    touch = at.page.context.new_cdp_session(at.page)

    def send(kind: str, *places: tuple[float, float]) -> None:
        points = [{"x": px, "y": py} for px, py in places]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    send("touchStart", (x, y))
    for step in range(1, 6):
        send("touchMove", (x + 4 * step, y))
    send("touchEnd")
    at.settled()
    assert at.state("handles")[2]["x"] > before + 2.0
    at.press('[data-act="undo"]')
    ring = at.page.locator("#ring").bounding_box()
    send("touchStart", (ring["x"] + ring["width"] / 2.0, ring["y"] + 10.0))
    send("touchEnd")
    at.settled()
    assert at.state("picked_deg") == pytest.approx(90.0, abs=3.0)


def test_a_finding_leads_to_its_place_in_all_views(plum, hands) -> None:
    at = hands(plum).ready()
    finding = next(found for found in at.state("findings") if found["theta"] is not None)
    at.press(".findings button >> nth=0")
    assert at.state("picked_theta") == pytest.approx(finding["theta"])
    assert at.state("picked_height") == pytest.approx(finding["height"])
    said = at.state("picked_words")
    assert said in at.page.inner_text(".picked-now")
    assert at.page.get_attribute("#rim", "aria-valuetext") == said
    assert at.page.get_attribute("#ring", "aria-valuetext") == said


def test_what_cannot_be_is_refused_in_words_and_nothing_changes(plum, hands) -> None:
    at = hands(plum).ready()
    at.opened("Form")
    before = at.state("fields")
    at.page.fill('[data-key="form.wall"]', "9 in")
    at.page.press('[data-key="form.wall"]', "Tab")
    at.settled()
    assert "wall" in at.page.inner_text(".notice.refusal")
    assert at.state("fields") == before


def test_units_are_switched_and_the_file_keeps_its_own(plum, hands) -> None:
    at = hands(plum).ready()
    at.press('[data-act="units"][data-value="mm"]')
    assert " mm" in at.page.inner_text(".verdict")
    assert at.state("is_saved")
    at.press('[data-act="units"][data-value="in"]')
    assert " in" in at.page.inner_text(".verdict")


@pytest.fixture
def hard(tmp_path) -> Iterator[Desk]:
    """A desk on the plum with wishes that no search is done with in a minute."""
    wishes = '\n[wish]\nlargest = "volume"\nrim_side = "any"\n'
    (tmp_path / "job.toml").write_text(sample_job("plum half log") + wishes)
    desk = start_desk(tmp_path, "job.toml")
    yield desk
    end_desk(desk)


def test_seeking_shows_how_far_it_is_is_stopped_and_its_choice_taken(hard, hands) -> None:
    """What is taken has to stand in the text of the job, and undo has to bring back every figure there was."""
    at = hands(hard).ready()
    page = at.page
    before = at.state("fields"), at.state("move_words")
    at.press('[data-act="seek"]')
    page.wait_for_function("trame.state.get('doing').startsWith('Seeking: best so far')", timeout=60_000)
    assert re.search(r"none above [0-9/ ]+ in \([0-9]+ % more\)", at.state("doing"))
    at.press(".cross button.up >> nth=0")  # the desk can be used meanwhile
    at.press('[data-act="undo"]')
    at.press('[data-act="stop"]')
    page.wait_for_selector(".choices li", timeout=60_000)
    assert page.locator(".choices li").count() >= 2
    assert page.locator(".choices li svg").count() == 2 * page.locator(".choices li").count()
    assert "As it is now" in page.inner_text(".choices li >> nth=0")
    assert "The largest found is" in page.inner_text(".choices")
    assert "stopped early" in page.inner_text(".choices")
    promised = page.inner_text(".choices li:nth-child(2)")
    assert "It comes out" in promised
    at.press('[data-act="take"] >> nth=0')
    assert at.state("answer") == "fits"
    assert at.state("fields")["form_diameter"] != before[0]["form_diameter"]
    assert f"{at.state('fields')['form_diameter']} across" in promised
    assert f"{at.state('fields')['form_diameter']} across" in page.inner_text(".choices li >> nth=0")
    at.press('[data-act="units"][data-value="mm"]')
    assert " mm across" in page.inner_text(".choices li:nth-child(2)")
    at.press('[data-act="units"][data-value="in"]')
    at.press('[data-act="undo"]')
    at.press('[data-act="put-away"]')
    assert (at.state("fields"), at.state("move_words")) == before
    assert page.query_selector(".choices") is None


def test_two_tabs_see_the_same_and_one_may_die(plum, hands) -> None:
    one, other = hands(plum).ready(), hands(plum).ready()
    one.press(".cross button.up >> nth=0")
    until(lambda: other.state("move_words") == one.state("move_words"))
    one.page.close(run_before_unload=False)
    other.press('[data-act="undo"]')
    assert "stand where they stood" in other.page.inner_text(".bench")


def test_the_three_answers_differ_in_word_weight_and_shape(plum, hands) -> None:
    at = hands(plum).ready()
    looks = {}
    look = "s => { const c = getComputedStyle(s); return [s.innerText, c.fontWeight, c.fontStyle].join() }"
    for answer in ("fits", "misses"):
        if answer == "misses":
            at.opened("Form")
            at.page.fill('[data-key="form.diameter"]', "9 1/2 in")
            at.page.press('[data-key="form.diameter"]', "Tab")
            at.settled()
        assert at.state("answer") == answer
        looks[answer] = (
            at.page.eval_on_selector(".verdict strong", look),
            at.page.eval_on_selector(".sign g", "g => g.firstElementChild.tagName"),
        )
    at.press('[data-act="undo"]')
    assert looks["fits"][0] != looks["misses"][0]
    assert looks["fits"][1] != looks["misses"][1]


def test_a_mouse_over_the_rim_marks_its_angle_in_all_views_until_it_leaves(plum, hands) -> None:
    at = hands(plum).ready()
    before = at.state("picked_deg"), at.state("picked_words")
    box = at.page.locator("#rim").bounding_box()
    at.page.mouse.move(box["x"] + 0.75 * box["width"], box["y"] + 0.5 * box["height"])
    at.settled()
    said = at.state("picked_words")
    assert at.state("picked_deg") == pytest.approx(270.0, abs=1.0)
    assert said in at.page.inner_text(".picked-now")
    assert said.split(",")[0] in at.page.inner_text(".section h2")
    x1, y1, x2, y2 = at.page.eval_on_selector(
        "#ring line.picked", "e => ['x1', 'y1', 'x2', 'y2'].map(n => Number(e.getAttribute(n)))"
    )
    assert (x1, y1) == (0.0, 0.0)
    assert abs(x2) < 0.02 * y2  # straight down in the end view: SVG counts downward
    at.page.mouse.move(*at.middle(".head h1"))
    at.settled()
    assert (at.state("picked_deg"), at.state("picked_words")) == before


def test_the_name_of_a_mark_in_the_end_view_stands_clear_of_the_picked_line(plum, hands) -> None:
    at = hands(plum).ready()
    at.page.evaluate("desk.ask('mark-here', {mark: 'witness'})")
    at.settled()
    for degrees in range(0, 360, 15):
        at.page.evaluate(f"desk.ask('look', {{theta: {degrees} * Math.PI / 180, height: 30}})")
        at.settled()
        crossed = at.page.evaluate(
            """() => { const line = document.querySelector('#ring line.picked'), m = line.getScreenCTM();
            const at = (x, y) => new DOMPoint(line[x].baseVal.value, line[y].baseVal.value).matrixTransform(m);
            const end = n => at(`x${n}`, `y${n}`);
            const [a, b] = [end(1), end(2)], names = [...document.querySelectorAll('#ring .mark-name')];
            return names.filter(name => { const r = name.getBoundingClientRect();
              for (let k = 0; k <= 400; k++) { const x = a.x + (b.x - a.x) * k / 400, y = a.y + (b.y - a.y) * k / 400;
                if (x > r.left + 2 && x < r.right - 2 && y > r.top + 4 && y < r.bottom - 4) return true; }
              return false; }).map(name => name.textContent); }"""
        )
        assert crossed == [], degrees
    at.press('[data-act="undo"]')


def test_leaving_the_page_asks_first_where_something_is_not_saved(tmp_path, hands) -> None:
    (tmp_path / "job.toml").write_text(sample_job("plum half log"))
    desk = start_desk(tmp_path, "job.toml")
    try:
        at = hands(desk).ready()
        asked = []

        def stay(dialog) -> None:
            asked.append(dialog.type)
            dialog.dismiss()

        at.page.on("dialog", stay)
        at.press(".cross button.up >> nth=0")
        moved = at.state("move_words")
        at.page.close(run_before_unload=True)
        until(lambda: at.page.wait_for_timeout(50) or asked)
        assert asked == ["beforeunload"]
        at.ready()  # who stays has the desk back
        assert at.state("move_words") == moved
        at.press('[data-act="save"]')
        with at.page.expect_event("close", timeout=20_000):
            at.page.close(run_before_unload=True)
        assert asked == ["beforeunload"]
    finally:
        end_desk(desk)


def test_a_job_changed_on_disk_is_noticed_and_either_side_can_be_kept(tmp_path, hands) -> None:
    path = tmp_path / "job.toml"
    path.write_text(sample_job("plum half log"))
    desk = start_desk(tmp_path, "job.toml")
    try:
        at = hands(desk).ready()
        at.press(".cross button.up >> nth=0")
        path.write_text(path.read_text().replace("Plum half log", "Somebody else"))
        at.page.wait_for_selector('[data-act="reload"]', timeout=30_000)
        at.page.keyboard.press("Control+s")  # does not run over the other's work
        at.settled()
        assert "changed on disk" in at.page.inner_text(".notice.refusal")
        assert "Somebody else" in path.read_text()
        at.press('[data-act="reload"]')
        assert at.state("title") == "Somebody else"
        assert at.state("is_saved")
        at.press('[data-act="undo"]')  # what was on the desk is not lost either
        assert at.state("title") == "Plum half log"
        at.press('[data-act="save"]')
        assert "Plum half log" in path.read_text()
    finally:
        end_desk(desk)


def test_what_was_not_saved_outlives_the_desk(tmp_path, hands) -> None:
    (tmp_path / "job.toml").write_text(sample_job("plum half log"))
    desk = start_desk(tmp_path, "job.toml")
    at = hands(desk).ready()
    at.press(".cross button.up >> nth=0")
    moved = at.state("move_words")
    end_desk(desk)  # as a closed window does
    assert (tmp_path / "job.toml").read_text() == sample_job("plum half log")
    kept = read_job(tmp_path / "job.unsaved.toml")
    assert not np.allclose(kept.mounting.foot_centre, read_job(tmp_path / "job.toml").mounting.foot_centre)
    assert moved != ["The centres stand where they stood when this was opened."]


def test_cuts_are_recorded_and_taken_back(plum, hands) -> None:
    at = hands(plum).ready()
    at.opened("Cuts")
    at.page.fill("#flat", "2 1/2 in")
    at.press('[data-act="saw"][data-side="flat"]')
    assert len(at.state("cuts")) == 1
    assert "taken off" in at.state("cuts")[0]
    at.press('[data-act="uncut"]')
    assert at.state("cuts") == []
    at.page.fill("#flat", "30 in")
    at.press('[data-act="saw"][data-side="flat"]')
    assert "takes no wood off" in at.page.inner_text(".notice.refusal")
    at.press('[data-act="undo"]')
    at.press('[data-act="undo"]')


def test_a_described_shape_begins_a_job(tmp_path, hands) -> None:
    desk = start_desk(tmp_path)
    try:
        at = hands(desk)
        page = at.page
        page.wait_for_selector(".start")
        page.select_option('[name="shape"]', "round")
        page.fill('[name="size.diameter"]', "300")
        page.fill('[name="size.thickness"]', "90")
        page.fill("#start-name", "plank")
        page.click('form[data-form="shape"] [type=submit]')
        at.ready()
        job = read_job(tmp_path / "plank" / "job.toml")
        assert (job.plan.shape.diameter, job.plan.shape.thickness) == (300.0, 90.0)
    finally:
        end_desk(desk)
