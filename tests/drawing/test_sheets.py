"""Sheets as files: written, read again by another SVG library, and measured."""

import math
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
import svgelements

from formmaker.drawing.hold_sheet import hold_sheet
from formmaker.drawing.marks import Line, Text, text_box
from formmaker.drawing.rim_sheet import rim_sheet
from formmaker.drawing.sheet import whole
from formmaker.drawing.sheets import SHEETS, draw
from formmaker.drawing.subject import PassMark
from formmaker.drawing.svg_writer import svg_bytes
from formmaker.errors import OutputError
from formmaker.model.form import Edge
from formmaker.model.hold import HoldKind
from formmaker.model.verdict import Answer, Extremum, Finding, Reason, Spin, Window
from formmaker.units import Units
from tests.drawing.reading import subject_of

PX_PER_MM = 96 / 25.4
REL = 1e-6  # svgelements counts 3.7795296 px to the mm, 5.4e-7 high (check-values, section 6)
SVG = "{http://www.w3.org/2000/svg}"

SIZES: list[dict[str, Any]] = [
    {"diameter": 80.0, "height": 45.0, "hold": HoldKind.TENON},
    {"diameter": 80.0, "height": 22.0, "hold": HoldKind.RECESS, "edge": Edge.TURNED},
    {"diameter": 150.0, "height": 38.0, "hold": HoldKind.GLUE_BLOCK},
    {"diameter": 280.0, "height": 110.0, "hold": HoldKind.GLUE_BLOCK, "index_count": 48},
    {"diameter": 320.0, "height": 30.0, "hold": HoldKind.RECESS, "edge": Edge.TURNED},
    {"diameter": 500.0, "height": 180.0, "hold": HoldKind.TENON, "index_count": 96},
    {"diameter": 120.0, "height": 160.0, "hold": HoldKind.TENON, "index_count": 192},
]
WINDOW = Window(area=350.0, theta=1.0, height=30.0)
KEEP_LOST = Finding(reason=Reason.KEEP_LOST, text="The rim misses mark A.", amount=25.0)
TITLE = "Hedge-elm burr from the lane above the mill, second half, with all of its bark and every spike kept on"


def parse(path: Path) -> dict[str, Any]:
    """Every element with an id, by its id, in px."""
    svg = svgelements.SVG.parse(str(path), ppi=96)
    return {e.id: e for e in svg.elements() if getattr(e, "id", None)}


def path_of(element: Any) -> svgelements.Path:
    return abs(svgelements.Path(element))


def box_mm(element: Any) -> np.ndarray:
    return np.array(path_of(element).bbox()) / PX_PER_MM


def arc_length(pieces: np.ndarray) -> float:
    """Oracle: Gauss-Legendre over the speed of each cubic, from its control points alone."""
    nodes, weights = np.polynomial.legendre.leggauss(40)
    t = (nodes + 1) / 2
    a, b, c = np.moveaxis(3 * np.diff(pieces, axis=1), 1, 0)[..., None, :]
    t = t[:, None]
    speed = np.hypot(*np.moveaxis((1 - t) ** 2 * a + 2 * t * (1 - t) * b + t**2 * c, -1, 0))
    return float((speed * weights).sum() / 2)


def dense_points(pieces: np.ndarray) -> np.ndarray:
    """Oracle: de Casteljau at a thousand places of each cubic."""
    points, t = pieces[:, None], np.linspace(0, 1, 1001)[None, :, None, None]
    while points.shape[2] > 1:
        points = points[:, :, :-1] * (1 - t) + points[:, :, 1:] * t
    return points.reshape(-1, 2)


@pytest.fixture(scope="module", params=[(size, unit) for size in SIZES for unit in Units], ids=str)
def drawn(
    request: pytest.FixtureRequest, make_case: Callable[..., Any], tmp_path_factory: pytest.TempPathFactory
) -> Any:
    size, units = request.param
    case = make_case(**size, units=units, title=TITLE if units is Units.MM else "Plum")
    folder = tmp_path_factory.mktemp("sheets")
    height = case.job.form.height
    passes = (
        PassMark(name="A", theta=1.0, height=0.8 * height),
        PassMark(name="the big eye", theta=6.2, height=0.7 * height),
    )
    return case, draw(subject_of(case, passes=passes), folder, names=tuple(SHEETS))


def test_every_sheet_is_written_each_one_unit_to_the_millimetre(drawn: Any) -> None:
    _, paths = drawn
    assert tuple(path.name for path in paths) == tuple(f"{name}.svg" for name in SHEETS)
    for path in paths:
        root = ET.parse(path).getroot()
        width, height = root.get("width"), root.get("height")
        assert (width[-2:], height[-2:]) == ("mm", "mm")
        box = [float(word) for word in root.get("viewBox").replace(",", " ").split()]
        assert box == [0.0, 0.0, float(width[:-2]), float(height[:-2])]


def test_both_bars_of_every_sheet_measure_what_they_say(drawn: Any) -> None:
    for path in drawn[1]:
        found = parse(path)
        for name, length in (("bar-100mm", 100.0), ("bar-4in", 101.6)):
            left, top, right, low = box_mm(found[name])
            assert right - left == pytest.approx(length, rel=REL)
            assert low == pytest.approx(top, abs=1e-9)


def test_template_curves_have_the_forms_size_and_length(drawn: Any) -> None:
    case, paths = drawn
    radius, height = case.job.form.handles[-1]
    foot, floor = case.job.form.foot_radius, case.job.form.floor
    outer = parse(paths[0])["outer-curve"]
    left, top, right, low = box_mm(outer)
    assert (right - left, low - top) == pytest.approx((radius - foot, height), rel=REL)
    centre = parse(paths[0])["foot-level"]
    assert right - box_mm(centre)[0] == pytest.approx(radius, rel=REL)  # the foot line starts on the axis
    inner = parse(paths[1])["inner-curve"]
    size = np.ptp(dense_points(case.section.inner.pieces), axis=0)
    np.testing.assert_allclose(np.subtract(box_mm(inner)[2:], box_mm(inner)[:2]), size, atol=2e-4)
    assert size[1] >= height - floor
    for element, curve in ((outer, case.section.outer), (inner, case.section.inner)):
        length = path_of(element).length(error=1e-9) / PX_PER_MM
        assert length == pytest.approx(arc_length(curve.pieces), rel=2e-6)
        kinds = {type(part).__name__ for part in path_of(element)}
        assert kinds == {"Move", "CubicBezier"}


def test_foot_and_rim_of_the_outer_curve_lie_on_their_lines(drawn: Any) -> None:
    found = parse(drawn[1][0])
    _, top, _, low = box_mm(found["outer-curve"])
    assert box_mm(found["rim-level"])[1] == pytest.approx(top, abs=1e-4)
    assert box_mm(found["foot-level"])[1] == pytest.approx(low, abs=1e-4)


def test_every_id_is_given_once(drawn: Any) -> None:
    for path in drawn[1]:
        ids = [e.get("id") for e in ET.parse(path).getroot().iter() if e.get("id")]
        assert len(ids) == len(set(ids))


def helvetica_width(letter: str) -> float:
    for letters, width in (("ijl", 0.222), (" ,.:;/ft", 0.278), ("()r-", 0.333), ("cksvxyz", 0.5), ("mwMW%Ø", 0.889)):
        if letter in letters:
            return width
    return 0.722 if letter.isupper() else 0.556


def text_boxes(path: Path) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Lettering as boxes (left, top, right, low), mm; widths of Helvetica after its metrics, from memory."""
    boxes = []
    for e in ET.parse(path).getroot().iter(f"{SVG}text"):
        size, x, y = float(e.get("font-size")), float(e.get("x")), float(e.get("y"))
        wide = size * sum(helvetica_width(letter) for letter in e.text)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[e.get("text-anchor", "start")]
        box = (left, y - 0.74 * size, left + wide, y + 0.2 * size)
        if e.get("transform"):  # all turned text is upright, reading from the right
            assert e.get("transform").startswith("rotate(-90")
            box = (x - 0.74 * size, y - (box[2] - x), x + 0.2 * size, y - (box[0] - x))
        boxes.append((e.text, box))
    return boxes


def overlapping(boxes: list[tuple[str, tuple[float, float, float, float]]]) -> Iterable[tuple[str, str]]:
    for (one, a), (other, b) in combinations(boxes, 2):
        if a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]:
            yield one, other


def test_no_lettering_covers_another_or_leaves_the_page(drawn: Any) -> None:
    for path in drawn[1]:
        boxes = text_boxes(path)
        assert not list(overlapping(boxes)), path.name
        root = ET.parse(path).getroot()
        width, height = (float(root.get(name)[:-2]) for name in ("width", "height"))
        for text, (left, top, right, low) in boxes:
            assert min(left, top, width - right, height - low) > 10.0, (path.name, text)


def test_no_lettering_covers_a_template_curve(drawn: Any) -> None:
    for path, name in zip(drawn[1], ("outer-curve", "inner-curve"), strict=False):
        curve = path_of(parse(path)[name])
        points = np.array([curve.point(t) for t in np.linspace(0, 1, 400)]) / PX_PER_MM
        for text, (left, top, right, low) in text_boxes(path):
            inside = (points > [left, top]) & (points < [right, low])
            assert not inside.all(axis=1).any(), text


def test_every_sheet_says_whose_it_is_what_it_is_for_and_how_to_check_the_print(drawn: Any) -> None:
    case, paths = drawn
    for path in paths:
        said = " ".join(text for text, _ in text_boxes(path))
        assert case.job.title in said
        assert "Print at 100 %" in said
        assert "measure the bars" in said
        assert "For " in said
        assert f" {case.job.units}" in said
        assert "safe" not in said.lower()


@pytest.mark.parametrize("skin", [0.0, 2.0])
def test_the_rim_line_of_a_half_log_is_the_closed_form(
    make_case: Callable[..., Any], make_half_log_rim: Callable[..., Any], tmp_path: Path, skin: float
) -> None:
    # oracle: z = sqrt(R^2 - r^2 cos^2 t), R 100, r 60: low 80, high 100 (check-values, section 7.2)
    case = make_case(diameter=120.0, height=110.0)
    job = replace(case.job, skin=skin)
    verdict = replace(case.verdict, rim=make_half_log_rim(100.0, 60.0))
    path = draw(subject_of(case, job=job, verdict=verdict), tmp_path)[3]
    found = parse(path)
    corners = np.array([[p.x, p.y] for p in found["rim-line"]]) / PX_PER_MM
    left, foot, right, _ = box_mm(found["foot-level"])
    assert right - left == pytest.approx(math.tau * (60.0 + skin), rel=REL)
    angle = (corners[:, 0] - left) / (60.0 + skin)
    assert angle[-1] == pytest.approx(math.tau, rel=REL)
    closed_form = np.sqrt(100.0**2 - (60.0 * np.cos(angle)) ** 2)
    np.testing.assert_allclose(foot - corners[:, 1], closed_form, atol=3e-4)  # 5.4e-7 of a 500 mm sheet


def test_natural_sawn_and_turned_stretches_differ_in_more_than_colour(make_case: Callable[..., Any]) -> None:
    case = make_case()
    root = ET.fromstring(svg_bytes(whole(rim_sheet(subject_of(case)))))
    looks = {}
    for e in root.iter(f"{SVG}polyline"):
        first = e.get("points").split()[0].split(",")
        looks.setdefault((e.get("stroke-width"), e.get("stroke-dasharray")), []).append(first)
    assert len(looks) == 4  # whole line narrow; natural wide; sawn wide in dashes; turned twice beside the line
    assert {e.get("stroke") for e in root.iter() if e.get("stroke")} <= {"black", "none"}


def test_a_level_rim_is_said_to_be_level_and_has_no_highs(make_case: Callable[..., Any], tmp_path: Path) -> None:
    case = make_case(edge=Edge.TURNED)
    path = draw(subject_of(case), tmp_path)[3]
    said = " ".join(text for text, _ in text_boxes(path))
    assert "level all the way round" in said
    assert "high" not in said
    assert "Lean" not in said


@pytest.mark.parametrize(
    ("lean", "said"),
    [
        (0.04, "It leans to no side."),
        (0.9, "Lean 0.9 mm, too little to tell its side: the skin is only known to within 1.1 mm."),
        (1.2, "Lean 1.2 mm, high side at 90° (index 6): what a tilt would cure."),
    ],
)
def test_a_lean_has_a_side_only_where_it_can_be_told(
    make_case: Callable[..., Any], tmp_path: Path, lean: float, said: str
) -> None:
    case = make_case()
    rim = replace(case.verdict.rim, lean=lean, lean_toward=math.pi / 2)
    verdict = replace(case.verdict, rim=rim, uncertainty=1.1)
    path = draw(subject_of(case, verdict=verdict), tmp_path)[3]
    assert said in " ".join(text for text, _ in text_boxes(path))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, "The form fits this blank on this mounting. Margin"),
        ({"answer": Answer.TIGHT, "margin": 0.5}, "Tight: the margin lies inside the uncertainty. Margin 0.5 mm"),
        (
            {"answer": Answer.TIGHT, "margin": 9.0, "windows": (WINDOW,)},
            "Tight: the wall is open below the rim. Margin",
        ),
        (
            {"answer": Answer.MISSES, "margin": -9.0},
            "The form does not come out as wished: wood is wanting. Short by 9.0 mm",
        ),
        (
            {"answer": Answer.MISSES, "margin": 9.0, "findings": (KEEP_LOST,)},
            "The form does not come out as wished: a mark that was to be kept is lost. Margin 9.0 mm",
        ),
    ],
)
def test_the_section_says_why_a_form_does_not_fit(
    make_case: Callable[..., Any], tmp_path: Path, change: dict[str, Any], said: str
) -> None:
    case = make_case()
    verdict = replace(case.verdict, answer=Answer.FITS, uncertainty=1.1)
    path = draw(subject_of(case, verdict=replace(verdict, **change)), tmp_path)[2]
    assert said in " ".join(text for text, _ in text_boxes(path))


def test_a_recess_through_the_floor_leaves_no_negative_floor(make_case: Callable[..., Any], tmp_path: Path) -> None:
    case = make_case(hold=HoldKind.RECESS)
    job = replace(case.job, hold=replace(case.job.hold, depth=float(case.section.inner.start[1]) + 3.0))
    said = " ".join(text for text, _ in text_boxes(draw(subject_of(case, job=job), tmp_path)[2]))
    assert "the recess breaks through it" in said
    assert "-3.0 mm" not in said


def test_a_ghost_far_outside_does_not_widen_the_sheet_and_its_size_is_lettered(
    make_case: Callable[..., Any], tmp_path: Path
) -> None:
    case = make_case(diameter=200.0)
    spin = Spin(height=case.verdict.spin.height, core=np.full(57, np.nan), ghost=np.full(57, 900.0))
    path = draw(subject_of(case, verdict=replace(case.verdict, spin=spin)), tmp_path)[2]
    assert float(ET.parse(path).getroot().get("width")[:-2]) < 400.0
    said = " ".join(text for text, _ in text_boxes(path))
    assert "The ghost has no line on this sheet: it is up to Ø 1800.0 mm." in said


def test_a_title_with_unlawful_letters_still_gives_a_readable_file(
    make_case: Callable[..., Any], tmp_path: Path
) -> None:
    case = make_case(title="a < b & \x01 \ud800 \U0001f333")
    for path in draw(subject_of(case), tmp_path):
        assert "a < b & \ufffd \ufffd \U0001f333" in [text for text, _ in text_boxes(path)]


def test_the_same_job_gives_the_same_bytes(make_case: Callable[..., Any], tmp_path: Path) -> None:
    case = make_case()
    one, other = (draw(subject_of(case), tmp_path / name) for name in "ab")
    assert [path.read_bytes() for path in one] == [path.read_bytes() for path in other]


def test_a_folder_that_is_a_file_is_refused_with_the_way_out(make_case: Callable[..., Any], tmp_path: Path) -> None:
    case = make_case()
    (tmp_path / "taken").write_text("x")
    with pytest.raises(OutputError, match=r"cannot be written: .*; free the place, or name another folder"):
        draw(subject_of(case), tmp_path / "taken")


def steep_rim(make_half_log_rim: Callable[..., Any], height: float) -> Any:
    """A rim that climbs its whole height within five degrees on either side of a narrow high, and has no wood at all
    from 40 to 69 degrees."""
    degrees = np.arange(360)
    away = np.abs((degrees - 286 + 180) % 360 - 180)
    rise = np.where(away <= 3, 0.98, np.where(away <= 8, 0.98 - 0.18 * (away - 3), 0.08)) * height
    rise[40:70] = 0.0
    high = Extremum(theta=math.radians(286), height=float(rise[286]))
    low = Extremum(theta=math.radians(100), height=float(rise[100]))
    rim = make_half_log_rim(100.0, 60.0)
    return replace(rim, height=rise, lean=5.0, highs=(high,), lows=(low,))


def words_of(drawing: Any) -> str:
    """All that a drawing says, its lettering and what stands beside it."""
    return " ".join([*(text.text for text in rim_texts(drawing)), *drawing.caption.paragraphs])


def rim_texts(sheet: Any) -> list[Text]:
    return [mark for mark in sheet.marks if isinstance(mark, Text)]


@pytest.mark.parametrize("size", [SIZES[0], SIZES[3], SIZES[5], SIZES[6]])
def test_no_lettering_covers_a_steep_rim_line(
    make_case: Callable[..., Any], make_half_log_rim: Callable[..., Any], size: dict[str, Any]
) -> None:
    case = make_case(**size)
    verdict = replace(case.verdict, rim=steep_rim(make_half_log_rim, case.job.form.height))
    sheet = rim_sheet(subject_of(case, verdict=verdict))
    (line,) = [mark for mark in sheet.marks if getattr(mark, "id", "") == "rim-line"]
    way = shapely.LineString(line.points)  # oracle: boxes against the line itself, not against points along it
    for text in rim_texts(sheet):
        box = text_box(text)
        if box.low > line.points[:, 1].min() + 0.5:  # within the strip
            assert not way.intersects(shapely.box(box.left, box.low, box.right, box.high)), text.text


def test_a_stretch_without_wood_is_a_heavy_bar_with_its_words(
    make_case: Callable[..., Any], make_half_log_rim: Callable[..., Any]
) -> None:
    case = make_case()
    rim = steep_rim(make_half_log_rim, case.job.form.height)
    sheet = rim_sheet(subject_of(case, verdict=replace(case.verdict, rim=rim)))
    turn = math.tau * (case.verdict.diameter / 2 + case.job.skin)
    bars = [m for m in sheet.marks if isinstance(m, Line) and m.style.width > 1.0 and m.start[1] == m.end[1]]
    assert [bar.end[0] - bar.start[0] for bar in bars] == [pytest.approx(turn * 30 / 360)]
    (foot,) = [m for m in sheet.marks if isinstance(m, Line) and m.id == "foot-level"]
    assert bars[0].start[1] == foot.start[1]
    said = words_of(sheet)
    assert said.count("no wood") == 2  # at the bar and in the note
    assert "Over 8 % of the turn" in said  # 30 of 360
    assert "what a tilt would cure" not in said
    assert "no wood" not in words_of(rim_sheet(subject_of(case)))


def test_the_strip_names_the_mark_that_zero_was_taken_from(make_case: Callable[..., Any]) -> None:
    case = make_case()
    named = replace(case.job, mounting=replace(case.job.mounting, zero_name="B"))
    for job, said in ((case.job, "to the zero mark,"), (named, "to the mark B,")):
        assert said in words_of(rim_sheet(subject_of(case, job=job)))


def test_the_hold_sheet_tells_of_the_chuck_and_says_nothing_twice(make_case: Callable[..., Any]) -> None:
    case = make_case()
    small = Finding(reason=Reason.HOLD_SIZE, text="The tenon is small.")
    case = replace(case, verdict=replace(case.verdict, hold=replace(case.verdict.hold, findings=(small,))))
    sentences = ("The tenon is small.", "It meets the bottom.", "Four jaws: thread M33x3.5. Estimate, 100 N.")
    notes = hold_sheet(subject_of(case, holding=sentences)).caption.notes
    for sentence in sentences:
        assert sum(note.count(sentence) for note in notes) == 1
