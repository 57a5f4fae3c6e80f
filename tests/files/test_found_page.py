import re
from html.parser import HTMLParser

import numpy as np
import pytest

from formmaker.files.found_page import _STYLE, Found, found_page
from formmaker.model.verdict import RimKind
from formmaker.units import Units

KINDS = (*[RimKind.NATURAL] * 180, *[RimKind.SAWN] * 60, *[RimKind.NATURAL] * 120)


def _found(**changes: object) -> Found:
    theta = np.radians(np.arange(360.0))
    given = {
        "title": "Burr <A> & co",
        "answer": "fits",
        "sentences": ("The bowl comes out.", "The rim passes the wing."),
        "figures": (("Diameter", "250.0 mm"),),
        "picture": "a burr.png",
        "alone": "alone.png",
        "drawings": (("Rim line", "sheets/rim line.svg"),),
        "job": "burr.toml",
        "rim_theta": theta,
        "rim_height": 80.0 + 20.0 * np.cos(theta),
        "rim_kinds": KINDS,
    }
    return Found(**(given | changes))  # type: ignore[arg-type]


class _Reader(HTMLParser):
    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in {"meta", "img"}:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data

    def of(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def test_the_page_is_well_formed_and_asks_nothing_of_the_network() -> None:
    page = found_page((_found(), _found(title="Plum")))
    reader = _Reader(page)
    assert reader.open == []
    assert not reader.of("script")
    assert not reader.of("link")
    assert "://" not in page
    assert "url(" not in page
    assert "@import" not in page
    targets = [a["href"] for a in reader.of("a")] + [img["src"] for img in reader.of("img")]
    assert "a%20burr.png" in targets
    assert "sheets/rim%20line.svg" in targets
    assert not [target for target in targets if target is None or target.startswith("/")]


def test_words_of_a_job_cannot_become_markup() -> None:
    reader = _Reader(found_page((_found(title="<script>x</script>", sentences=("<b>bold</b>",)),)))
    assert not reader.of("script")
    assert not reader.of("b")
    assert "<script>x</script>" in reader.words


def test_a_page_reader_finds_headings_in_order_and_words_for_every_picture() -> None:
    reader = _Reader(found_page((_found(),)))
    levels = [int(name[1]) for name, _ in reader.tags if re.fullmatch("h[1-6]", name)]
    assert levels[0] == 1
    assert max(np.diff(levels)) <= 1
    assert all("alt" in img for img in reader.of("img"))
    assert all(drawing["aria-label"] for drawing in reader.of("svg"))
    assert reader.of("html")[0]["lang"] == "en"
    for word in ("out of balance", "manual", "local rules", "dust", "break off"):
        assert word in reader.words


def test_the_rim_is_drawn_to_scale_and_each_kind_in_its_own_line() -> None:
    lines = _Reader(found_page((_found(),))).of("polyline")
    assert [line.get("stroke-dasharray") for line in lines] == [None, "7 5", None]
    points = np.array(
        [[float(part) for part in pair.split(",")] for line in lines for pair in str(line["points"]).split()]
    )
    # the highest rim, 100 mm at angle 0, stands 90 units over the foot at 97; everything else in proportion
    expected = 97.0 - 90.0 * (80.0 + 20.0 * np.cos(np.radians(points[:, 0]))) / 100.0
    np.testing.assert_allclose(points[:, 1], expected, atol=0.011)
    assert points[0, 0] == 0.0
    assert points[-1, 0] == 360.0


def test_the_rim_is_said_in_the_units_of_the_job() -> None:
    words = _Reader(found_page((_found(units=Units.INCH, rim_height=np.full(360, 50.8)),))).words
    assert "2 in to 2 in" in words


def test_a_rim_of_unlike_lengths_is_refused() -> None:
    with pytest.raises(ValueError, match="360 angles of rim; give a height and a kind for each"):
        _found(rim_kinds=KINDS[:-1])


def _luminance(colour: str) -> float:
    parts = np.array([int(colour[place : place + 2], 16) for place in (1, 3, 5)]) / 255.0
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_words_stand_out_from_the_paper_by_day_and_by_night() -> None:
    # WCAG 2.2, success criterion 1.4.3: contrast of at least 4.5 to 1
    found = re.findall(r":root \{(.*?)\}", _STYLE, flags=re.DOTALL)
    assert len(found) == 2
    for block in found:
        colour = dict(re.findall(r"--(\w+): (#\w{6})", block))
        for ink in ("ink", "faint", "accent"):
            for paper in ("paper", "sheet"):
                bright, dark = sorted((_luminance(colour[ink]), _luminance(colour[paper])), reverse=True)
                assert (bright + 0.05) / (dark + 0.05) >= 4.5
