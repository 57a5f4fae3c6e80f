"""Sheets on paper: papers, writers against each other, pages put together again."""

import json
import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import ezdxf.recover
import numpy as np
import pdfplumber
import pikepdf
import pytest
import shapely
from reportlab.lib import pagesizes

from formmaker.drawing.linestyles import CENTRE, OUTLINE
from formmaker.drawing.marks import Arc, Clipped, CubicPath, Line, Text, bounds, text_box
from formmaker.drawing.pages import pages
from formmaker.drawing.papers import PAPERS, paper_named
from formmaker.drawing.sheet import Caption, Drawing
from formmaker.drawing.sheets import SHEETS, Format, draw, left_over, sheet_files
from formmaker.errors import MeasureError
from formmaker.geometry.curves import polyline
from formmaker.model.verdict import Answer
from formmaker.units import Units
from tests.drawing.reading import (
    MM_PER_POINT,
    bezier_points,
    crosses,
    dxf_curve,
    pdf_curves,
    pdf_lines,
    subject_of,
    svg_curve,
    svg_shapes,
)

SAME = 0.01  # mm; what the three formats may differ by
TOGETHER = 0.05  # mm; what pages put together may be off


@pytest.mark.parametrize("name", ["A0", "A1", "A2", "A3", "A4", "letter", "legal", "tabloid"])
def test_papers_have_the_sizes_of_their_standards(name: str) -> None:
    # oracle: reportlab's own table; ISO 216 by its rule as well
    paper = PAPERS[name.lower()]
    size = [side * MM_PER_POINT for side in getattr(pagesizes, name.upper())]
    assert (paper.width, paper.height) == pytest.approx(size, abs=0.5)
    if name.startswith("A"):
        n = int(name[1])
        exact = [1000 * 2 ** (-(1 + 2 * n) / 4), 1000 * 2 ** ((1 - 2 * n) / 4)]
        assert (paper.width, paper.height) == pytest.approx(exact, abs=1.0)
    else:
        assert (paper.width, paper.height) == pytest.approx(size)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("A9", "'A9' is not known; it is one of A4, A3"),
        ("roll:", "roll|is no length"),
        ("roll:wide", "is no length"),
        ("roll:5", "a roll 5.0 mm wide; give a width from 200.0 mm to 2000.0 mm"),
        ("roll:nan", "finite|wide"),
        ("roll:-300", "a roll -300.0 mm wide"),
    ],
)
def test_a_paper_that_is_none_is_refused_with_what_there_is(text: str, said: str) -> None:
    with pytest.raises(MeasureError, match=said):
        paper_named(text, Units.MM)


def test_a_roll_may_say_its_own_unit() -> None:
    assert paper_named("ROLL: 24 in", Units.MM).width == pytest.approx(609.6)
    assert paper_named("roll:24", Units.INCH).width == pytest.approx(609.6)


@pytest.fixture(scope="module", params=["A4", "letter", "A3", "tabloid", "roll:610"])
def printed(
    request: pytest.FixtureRequest, make_case: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory
) -> Any:
    case = make_case(diameter=320.0, height=210.0, units=Units.INCH if "t" in request.param else Units.MM)
    folder = tmp_path_factory.mktemp("printed")
    paper = paper_named(request.param, Units.MM)
    paths = draw(subject_of(case), folder, names=tuple(SHEETS), paper=paper, formats=tuple(Format))
    return case, paper, paths


def of_kind(paths: Any, ending: str, name: str = "") -> list[Path]:
    return [path for path in paths if path.suffix == ending and path.stem.startswith(name)]


def test_every_page_is_the_papers_and_carries_true_bars_both_ways(printed: Any) -> None:
    _, paper, paths = printed
    for path in of_kind(paths, ".pdf"):
        with pikepdf.open(path) as pdf:
            assert pdf.check_pdf_syntax() == []
            assert pdf.Root.ViewerPreferences.PrintScaling == "/None"
        with pdfplumber.open(path) as pdf:
            for page in pdf.pages:
                sides = sorted([float(page.width) * MM_PER_POINT, float(page.height) * MM_PER_POINT])
                if np.isfinite(paper.height):
                    assert sides == pytest.approx(sorted([paper.width, paper.height]), abs=1e-4)
                else:
                    assert min(abs(side - paper.width) for side in sides) < 1e-4
                lines = pdf_lines(page)
                for bar in ((100.0, 0.0), (101.6, 0.0), (0.0, 100.0), (0.0, 101.6)):
                    assert np.abs(lines - bar).max(axis=1).min() < 1e-4, (path.name, bar)
                words = page.extract_text()
                assert "Print at 100 %" in words
    for path in of_kind(paths, ".svg"):
        found = svg_shapes(path)
        for name, length in (("bar-100mm", 100.0), ("bar-4in", 101.6)):
            for suffix in ("", "-up"):
                assert found[name + suffix].length() * 25.4 / 96 == pytest.approx(length, rel=1e-6)


def test_the_three_formats_carry_the_same_curves(printed: Any) -> None:
    case, _, paths = printed
    for sheet, name, curve in (
        ("template-outside", "outer-curve", case.section.outer),
        ("template-inside", "inner-curve", case.section.inner),
    ):
        model = bezier_points(curve.pieces)
        way = shapely.LineString(model - model[0])
        read = [svg_curve(path, name) * [1, -1] for path in of_kind(paths, ".svg", sheet) if name in svg_shapes(path)]
        read += pdf_curves(of_kind(paths, ".pdf", sheet)[0])
        read += [dxf_curve(of_kind(paths, ".dxf", sheet)[0], name)]
        assert len(read) >= 3
        for points in read:
            assert way.hausdorff_distance(shapely.LineString(points - points[0])) < SAME


def test_a_dxf_is_clean_in_millimetres_and_as_long_as_the_model(printed: Any) -> None:
    case, _, paths = printed
    for path in of_kind(paths, ".dxf"):
        document, auditor = ezdxf.recover.readfile(path)
        assert (auditor.errors, auditor.fixes) == ([], [])
        again = document.audit()
        assert (again.errors, again.fixes) == ([], [])
        assert document.header["$INSUNITS"] == 4
        bars = {line.dxf.layer: (line.dxf.end - line.dxf.start).magnitude for line in document.query("LINE")}
        assert (bars["bar-100mm"], bars["bar-4in"]) == pytest.approx((100.0, 101.6), abs=1e-9)
    strip = ezdxf.readfile(of_kind(paths, ".dxf", "rim-strip")[0])
    (foot,) = strip.query('LINE[layer=="foot-level"]')
    (rim,) = strip.query('LWPOLYLINE[layer=="rim-line"]')
    points = np.array(rim.get_points("xy"))
    assert np.ptp(points[:, 0]) == pytest.approx((foot.dxf.end - foot.dxf.start).magnitude, abs=1e-9)
    heights = np.append(case.verdict.rim.height, case.verdict.rim.height[0])
    np.testing.assert_allclose(points[:, 1] - foot.dxf.start.y, heights, atol=1e-9)


def test_an_arc_is_the_same_in_all_formats(tmp_path: Path) -> None:
    marks = (Arc(centre=(50.0, 50.0), radius=40.0, start=0.5, end=5.5, style=OUTLINE, id="bow"),)
    drawing = Drawing(marks=marks, caption=Caption(title="Arc", name="Arc", purpose="For the test."))
    for name, document in sheet_files("arc", drawing, PAPERS["a4"], tuple(Format)):
        (tmp_path / name).write_bytes(document)
    length = 40.0 * 5.0
    assert svg_shapes(tmp_path / "arc.svg")["bow"].length(error=1e-9) * 25.4 / 96 == pytest.approx(length, abs=SAME)
    (curve,) = pdf_curves(tmp_path / "arc.pdf")
    assert shapely.LineString(curve).length == pytest.approx(length, abs=SAME)
    (arc,) = ezdxf.readfile(tmp_path / "arc.dxf").query("ARC")
    assert arc.dxf.radius * np.radians(arc.dxf.end_angle - arc.dxf.start_angle) == pytest.approx(length, abs=SAME)


@pytest.mark.parametrize(("paper", "least"), [("A4", 4), ("letter", 4)])
def test_pages_laid_cross_on_cross_are_the_drawing_again(
    make_case: Callable[..., Any], tmp_path: Path, paper: str, least: int
) -> None:
    case = make_case(diameter=420.0, height=260.0)
    names = ("template-outside", "rim-strip")
    paths = draw(subject_of(case), tmp_path, names=names, paper=PAPERS[paper.lower()])
    for sheet, name in (("template-outside", "outer-curve"), ("rim-strip", "rim-line")):
        tiles = [(path, crosses(path)) for path in paths if path.stem.startswith(sheet)][1:]
        assert len(tiles) >= least
        together = put_together(tiles)
        seen, wholes = [], []
        for path, shift in together.items():
            if name not in svg_shapes(path):
                continue
            curve = svg_curve(path, name)
            wholes.append(curve + shift)
            seen.append(shapely.LineString(curve).intersection(window_of(path)))
            seen[-1] = shapely.affinity.translate(seen[-1], *shift)
        for other in wholes[1:]:
            np.testing.assert_allclose(other, wholes[0], atol=TOGETHER)
        whole = shapely.LineString(wholes[0])
        glued = shapely.union_all([piece.buffer(TOGETHER) for piece in seen])
        assert whole.difference(glued).length < TOGETHER  # nothing of the curve is on no page
        if name == "outer-curve":
            model = polyline(case.section.outer)
            size = np.ptp(model, axis=0)
            np.testing.assert_allclose(np.ptp(wholes[0], axis=0), size, atol=TOGETHER)


def put_together(tiles: list[tuple[Path, dict[int, np.ndarray]]]) -> dict[Path, np.ndarray]:
    """How far each page is moved so that crosses of one number lie on each other; every shared cross has to agree."""
    (first, known), *rest = tiles
    shifts, board = {first: np.zeros(2)}, dict(known)
    while rest:
        path, own = next((p, c) for p, c in rest if c.keys() & board.keys())
        moves = [board[number] - own[number] for number in own.keys() & board.keys()]
        np.testing.assert_allclose(moves, [moves[0]] * len(moves), atol=TOGETHER)
        shifts[path] = moves[0]
        board |= {number: place + moves[0] for number, place in own.items()}
        rest = [(p, c) for p, c in rest if p != path]
    return shifts


def window_of(path: Path) -> shapely.Polygon:
    match = re.search(r"<clipPath.*?<rect (.*?)/>", path.read_text(), re.DOTALL)
    assert match is not None
    x, y, width, height = (
        float(re.search(rf'\b{name}="([\d.]+)"', match[1])[1])  # type: ignore[index]
        for name in ("x", "y", "width", "height")
    )
    return shapely.box(x, y, x + width, y + height)


def test_an_edge_of_a_page_goes_beside_a_curve_where_there_is_room() -> None:
    curve = np.array([[[0.0, 0], [10, 40], [20, 80], [30, 120]]])
    marks = (
        CubicPath(pieces=curve + np.array([150.0, 0.0]), id="outer-curve"),
        Line(start=(0.0, 0.0), end=(280.0, 0.0)),
    )
    drawing = Drawing(marks=marks, caption=Caption(title="Cut", name="Cut", purpose="For the test. " * 60))
    laid = pages(drawing, PAPERS["a4"])
    assert len(laid) == 3
    for sheet in laid[1:]:
        (clipped,) = [mark for mark in sheet.marks if hasattr(mark, "window")]
        held = [bounds([m]) for m in clipped.marks if isinstance(m, CubicPath)]
        assert all(clipped.window.left <= box.left and box.right <= clipped.window.right for box in held)


@pytest.mark.parametrize("paper", ["a4", "letter", "a3"])
def test_lettering_is_whole_on_a_page_and_not_torn_on_another(make_case: Callable[..., Any], paper: str) -> None:
    torn = []
    for name, sheet in SHEETS.items():
        drawing = sheet(subject_of(make_case(diameter=320.0, height=210.0)))
        laid = pages(drawing, PAPERS[paper])
        windows = [mark for page in laid for mark in page.marks if isinstance(mark, Clipped)]
        whole: set[str] = set()
        cut: set[str] = set()
        for window in windows:
            for mark in window.marks:
                if isinstance(mark, Text):
                    box, frame = bounds([mark]), window.window
                    inside = frame.left <= box.left and box.right <= frame.right
                    inside = inside and frame.low <= box.low and box.high <= frame.high
                    (whole if inside else cut).add(f"{name}: {mark.text}")
        if windows:
            lettered = {f"{name}: {mark.text}" for mark in drawing.marks if isinstance(mark, Text)}
            assert lettered == whole | cut
        torn.extend(cut)
    assert torn == []


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_lettering_across_a_join_covers_the_chain_line(make_case: Callable[..., Any], paper: str) -> None:
    met = 0
    for sheet in SHEETS.values():
        for page in pages(sheet(subject_of(make_case(diameter=320.0, height=210.0))), PAPERS[paper])[1:]:
            joins = [mark for mark in page.marks if isinstance(mark, Line) and mark.style is CENTRE]
            (place,) = [i for i, mark in enumerate(page.marks) if isinstance(mark, Clipped)]
            assert all(page.marks.index(join) < place for join in joins)  # else the line would cover the lettering
            texts = [mark for mark in page.marks[place].marks if isinstance(mark, Text)]
            across = [text for text in texts if any(text_box(text).meets(bounds([join])) for join in joins)]
            met += len(across)
            assert all(text.backed for text in across)
    assert met > 0


@pytest.mark.parametrize("answer", Answer)
def test_every_page_warns_of_a_bowl_that_may_not_come_out(
    make_case: Callable[..., Any], tmp_path: Path, answer: Answer
) -> None:
    case = make_case(diameter=320.0, height=210.0)
    subject = subject_of(case, verdict=replace(case.verdict, answer=answer, margin=-3.0))
    # all sheets once; what answers to what is shown by one of a page, one of several and the one of pictures
    names = tuple(SHEETS) if answer is Answer.TIGHT else ("template-outside", "rim-strip", "set-up")
    paths = draw(subject, tmp_path, names=names, paper=PAPERS["a4"], formats=tuple(Format))
    warning = {Answer.FITS: "come out", Answer.TIGHT: "it may not come out", Answer.MISSES: "Does not come out"}[
        answer
    ]
    for path in of_kind(paths, ".pdf"):
        with pdfplumber.open(path) as pdf:
            texts = [page.extract_text() for page in pdf.pages]
        assert [warning in text for text in texts] == [answer is not Answer.FITS] * len(texts), path.name
        assert answer is Answer.FITS or "Short by 3.0 mm, uncertain by" in texts[0].replace("\n", " ")
    for path in of_kind(paths, ".svg"):
        assert (warning in path.read_text()) == (answer is not Answer.FITS)
    for path in of_kind(paths, ".dxf"):
        texts = [entity.dxf.text for entity in ezdxf.readfile(path).query("TEXT")]
        assert any(warning in text for text in texts) == (answer is not Answer.FITS)


def test_letters_that_the_font_lacks_are_shown_as_boxes_and_the_rest_can_be_read(
    make_case: Callable[..., Any], tmp_path: Path
) -> None:
    # the title is invented: three Chinese characters, a peach, a lone surrogate
    case = make_case(title="\u6885\u306e\u6728 \U0001f351 \ud83c plum")
    paths = draw(subject_of(case), tmp_path, names=("hold",), paper=PAPERS["a3"], formats=tuple(Format))
    with pikepdf.open(paths[1]) as pdf:
        assert pdf.check_pdf_syntax() == []
    with pdfplumber.open(paths[1]) as pdf:
        assert "plum" in pdf.pages[0].extract_text()
    document, auditor = ezdxf.recover.readfile(paths[2])
    assert auditor.errors == []
    assert any("\u6885\u306e\u6728" in entity.dxf.text for entity in document.query("TEXT"))


def test_pages_of_an_earlier_run_are_told_of_and_stay(make_case: Callable[..., Any], tmp_path: Path) -> None:
    subject = subject_of(make_case(diameter=320.0, height=210.0))
    names = ("template-outside", "quarter-0")
    many = draw(subject, tmp_path, names=names, paper=PAPERS["a4"])
    for other in ("template-outside.txt", "template-outside-x.svg", "quarter-0.pdf", "quarter-01.svg", "mine.svg"):
        (tmp_path / other).write_text("the user's own")
    few = draw(subject, tmp_path, names=names, paper=PAPERS["a0"])
    assert left_over(few, names) == tuple(sorted(set(many) - set(few)))
    assert len(set(many) - set(few)) > 4
    assert all(path.exists() for path in many)


def test_the_same_sheets_give_the_same_pdf(make_case: Callable[..., Any]) -> None:
    drawing = SHEETS["section"](subject_of(make_case()))
    one, other = (dict(sheet_files("section", drawing, PAPERS["a4"], (Format.PDF,))) for _ in range(2))
    assert one == other


@pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed here")
def test_chromium_shows_the_bars_at_their_length(make_case: Callable[..., Any], tmp_path: Path) -> None:
    paths = draw(subject_of(make_case()), tmp_path, paper=PAPERS["a4"])
    page = "".join(f"<div>{re.sub(r'<[?].*?[?]>', '', path.read_text())}</div>" for path in paths)
    script = """<script>
    const names = ['bar-100mm', 'bar-4in', 'bar-100mm-up', 'bar-4in-up'];
    const long = box => Math.max(box.width, box.height) * 25.4 / 96;
    const sizes = [...document.querySelectorAll('div')].map(
      div => names.map(id => long(div.querySelector('#' + id).getBoundingClientRect())));
    document.body.innerHTML = '<pre>' + JSON.stringify(sizes) + '</pre>';
    </script>"""
    (tmp_path / "page.html").write_text(f"<!doctype html><meta charset=utf-8><body>{page}{script}</body>")
    command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--dump-dom", str(tmp_path / "page.html")]
    shown = subprocess.run(command, capture_output=True, text=True, timeout=90, check=True).stdout
    match = re.search(r"<pre>(.*?)</pre>", shown)
    assert match is not None
    sizes = json.loads(match[1])
    assert len(sizes) == len(paths)
    np.testing.assert_allclose(sizes, [[100.0, 101.6, 100.0, 101.6]] * len(paths), atol=0.02)
