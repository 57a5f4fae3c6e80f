"""The desk for everyone: axe-core's rules in light and dark, every control by keyboard, every state said in words.

axe-core (Deque, MPL-2.0; rules after WCAG 2.1) comes with its package from the registry; it is the oracle here.
"""

import pytest

from tests.desk.conftest import Hands


def faults_of(at: Hands) -> list[str]:
    """Serious and critical findings of axe-core, a line each with the element."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe-core is not installed").Axe()
    found = axe.run(at.page).response["violations"]
    return [
        f"{each['id']} ({each['impact']}): {node['html'][:120]} {node['any'][:1]}"
        for each in found
        if each["impact"] in ("serious", "critical")
        for node in each["nodes"]
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 412])
def test_axe_finds_nothing_serious_on_the_desk(plum, hands, scheme, width) -> None:
    at = hands(plum, color_scheme=scheme, viewport={"width": width, "height": 900}).ready()
    at.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert faults_of(at) == []


def test_axe_finds_nothing_serious_on_the_choices_of_a_search(plum, hands) -> None:
    at = hands(plum).ready()
    at.press('[data-act="seek"]')
    at.page.wait_for_function("trame.state.get('doing').startsWith('Seeking: best so far')", timeout=60_000)
    at.press('[data-act="stop"]')
    at.page.wait_for_selector(".choices li", timeout=90_000)
    at.page.wait_for_function("!trame.state.get('is_seeking') && !trame.state.get('doing')")
    for scheme, width in (("light", 1440), ("dark", 1440), ("light", 412), ("dark", 412)):
        at.page.emulate_media(color_scheme=scheme)
        at.page.set_viewport_size({"width": width, "height": 900})
        at.page.wait_for_timeout(300)  # the page notices both and asks for its drawings in the new shape
        at.settled()
        assert faults_of(at) == [], (scheme, width)
    at.press('[data-act="put-away"]')


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious_on_the_page_that_begins_a_job(empty, hands, scheme) -> None:
    at = hands(empty, color_scheme=scheme)
    at.page.wait_for_selector(".start")
    assert faults_of(at) == []


def test_a_pressed_button_can_be_read_under_the_mouse_too(plum, hands) -> None:
    at = hands(plum).ready()
    at.page.hover('[aria-pressed="true"] >> nth=0')
    assert [fault for fault in faults_of(at) if "contrast" in fault] == []


def test_the_tab_key_alone_reaches_every_control(plum, hands) -> None:
    at = hands(plum).ready()
    at.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    wanted = at.page.evaluate(
        """() => { let n = 0;
        for (const e of document.querySelectorAll('button, input, select, summary, [tabindex="0"]'))
          if (!e.disabled && e.checkVisibility() && e.type !== 'radio') e.dataset.stop = ++n;
        document.activeElement.blur(); return n; }"""
    )
    reached = set()
    for _ in range(wanted + 20):
        at.page.keyboard.press("Tab")
        reached.add(at.page.evaluate("document.activeElement.dataset.stop || ''"))
    assert reached >= {str(number) for number in range(1, wanted + 1)}


def test_every_control_has_a_name_and_the_verdict_is_a_live_region(plum, hands) -> None:
    at = hands(plum).ready()
    at.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    nameless = at.page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, [tabindex="0"]')]
        .filter(e => !(e.getAttribute('aria-label') || e.innerText || e.labels?.length))
        .map(e => e.outerHTML.slice(0, 100))"""
    )
    assert nameless == []
    verdict = at.page.locator(".verdict")
    assert verdict.get_attribute("aria-live") == "polite"
    assert verdict.get_attribute("role") == "status"
