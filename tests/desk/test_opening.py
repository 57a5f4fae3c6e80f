"""A page that is opened comes up, in whatever order its files come and whatever became of the pages before it."""

from tests.desk.conftest import Hands, until


def test_the_page_comes_up_whichever_of_its_files_comes_last(plum, hands) -> None:
    """On a busy machine any file may be late; none may put itself over the desk."""
    at = hands(plum).ready()
    fetched = {address.partition("?")[0] for address in at.asked if address.startswith("http")}
    files = sorted(address for address in fetched if address.rpartition("/")[2] not in {"", "index.html"})
    assert len(files) >= 5
    for file in files:
        assert _comes_up_without(file, at), f"{file} came late"


def _comes_up_without(file: str, at: Hands) -> bool:
    """Whether a page comes up that gets one of its files last."""
    held = []

    def hold(route) -> None:
        held.append(route)

    page = at.page.context.new_page()
    page.route(file + "*", hold)
    page.goto(at.desk.base + "/index.html", wait_until="commit")
    page.wait_for_timeout(1200)
    for route in held:
        route.continue_()
    page.wait_for_selector(".board", timeout=30_000)
    page.wait_for_timeout(300)
    is_up = page.is_visible(".board")
    page.close()
    return is_up


def test_a_page_whose_socket_breaks_comes_back_by_itself_with_what_was_done(plum, hands) -> None:
    at = hands(plum).ready()
    at.press(".cross button.up >> nth=0")
    moved = at.state("move_words")
    assert not at.state("is_saved")
    at.page.evaluate("document.querySelector('.board').dataset.old = 1")
    at.page.evaluate("trame.client.getConnection().getSession().close()")
    at.page.wait_for_selector(".lost")
    assert "does not answer" in at.page.inner_text('[role="alert"]')
    at.page.wait_for_selector(".board:not([data-old])", timeout=30_000)
    at.ready()
    assert at.state("move_words") == moved
    at.press('[data-act="undo"]')


def test_pages_killed_while_they_load_leave_the_desk_whole(plum, hands) -> None:
    for wait in (0, 150, 400, 800):
        page = hands(plum).page.context.new_page()
        page.goto(plum.base + "/index.html", wait_until="commit")
        page.wait_for_timeout(wait)
        page.close(run_before_unload=False)
    at = hands(plum).ready()
    at.press(".cross button.up >> nth=0")
    at.press('[data-act="undo"]')
    until(lambda: "stand where they stood" in at.page.inner_text(".bench"))


def test_the_browser_has_nothing_to_complain_of(plum, hands) -> None:
    """No request refused, no file missing, no script at fault."""
    at = hands(plum).ready()
    at.page.wait_for_timeout(500)
    said = []
    at.page.on("console", lambda line: said.append(line.text) if line.type in {"error", "warning"} else None)
    at.page.on("response", lambda reply: said.append(f"{reply.status} {reply.url}") if reply.status >= 400 else None)
    at.page.reload()
    at.ready()
    at.page.wait_for_timeout(500)
    assert [line for line in said if "GL Driver" not in line] == []  # the software renderer's own
    assert at.faults == []
