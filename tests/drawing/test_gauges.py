"""Wall gauge, quarter sheets and hold sheet: their figures against the curves themselves."""

from collections import defaultdict
from collections.abc import Callable
from itertools import combinations
from typing import Any

import numpy as np
import pytest
import shapely

from formmaker.drawing.hold_sheet import hold_sheet
from formmaker.drawing.linestyles import HIDDEN
from formmaker.drawing.marks import Arc, Fill, Hatch, Line, Polyline, Text, text_box
from formmaker.drawing.pages import pages
from formmaker.drawing.papers import PAPERS
from formmaker.drawing.quarter_sheets import quarter_sheet
from formmaker.drawing.wall_gauge import wall_gauge
from formmaker.model.hold import HoldKind
from formmaker.units import Units
from tests.drawing.reading import bezier_points, subject_of

LETTERED = 0.051  # mm; half of what a figure is rounded to


def rows_of(drawing: Any) -> dict[float, list[str]]:
    """Texts of a drawing by their level, from left to right."""
    rows = defaultdict(list)
    for text in sorted((mark for mark in drawing.marks if isinstance(mark, Text)), key=lambda text: text.at[0]):
        if not text.angle:
            rows[round(text.at[1] + text.height / 2, 6)].append(text.text)
    return rows


def crossing(points: np.ndarray, height: float) -> float:
    """Oracle: where a level line meets a curve, farthest out."""
    level = shapely.LineString([(0, height), (1e4, height)])
    return shapely.LineString(points).intersection(level).bounds[2]


@pytest.mark.parametrize("size", [{"diameter": 280.0, "height": 110.0}, {"diameter": 90.0, "height": 120.0}])
def test_the_gauge_gives_the_curves_at_even_depths_and_the_shortest_way_through(
    make_case: Callable[..., Any], size: dict[str, float]
) -> None:
    case = make_case(**size)
    outer, inner = (bezier_points(curve.pieces, 2000) for curve in (case.section.outer, case.section.inner))
    height = case.job.form.height
    rows = [row for level, row in rows_of(wall_gauge(subject_of(case))).items() if len(row) == 4 and level > 0.0]
    rows = [list(map(float, row)) for row in rows if row[0][0].isdigit()]
    assert len(rows) >= 6
    for depth, inside, outside, wall in rows:
        assert depth % 10.0 == 0.0
        level = height - depth
        assert inside == pytest.approx(2 * crossing(inner, level), abs=LETTERED)
        assert outside == pytest.approx(2 * crossing(outer, level), abs=LETTERED)
        through = shapely.LineString(inner).distance(shapely.Point(crossing(outer, level), level))
        assert wall == pytest.approx(through, abs=LETTERED)


def test_even_diameters_are_met_at_the_depth_beside_them(make_case: Callable[..., Any]) -> None:
    case = make_case()
    outer, inner = (bezier_points(curve.pieces, 2000) for curve in (case.section.outer, case.section.inner))
    rows = rows_of(wall_gauge(subject_of(case)))
    levels = sorted((level for level in rows if level < 0.0), reverse=True)
    assert len(levels) == 4
    for points, over, under in ((inner, *levels[:2]), (outer, *levels[2:])):
        assert rows[over][0].endswith("Ø mm")
        for wide, deep in zip(rows[over][1:], rows[under][1:], strict=True):
            assert float(wide) % 5.0 == 0.0
            assert 2 * crossing(points, case.job.form.height - float(deep)) == pytest.approx(float(wide), abs=0.5)


@pytest.mark.parametrize(
    ("hold", "left"),
    [(HoldKind.TENON, "then 4.8 mm of tenon"), (HoldKind.GLUE_BLOCK, "of glue block"), (HoldKind.RECESS, "over the")],
)
def test_the_gauge_says_how_deep_to_drill_and_what_is_left_under_it(
    make_case: Callable[..., Any], hold: HoldKind, left: str
) -> None:
    case = make_case(hold=hold)
    (note,) = wall_gauge(subject_of(case)).caption.notes
    # floor 4 + 110/20 = 9.5, top 110; the axis leaves the wood at 121
    assert "100.5 mm below the plane of the rim, 111.5 mm from where the axis leaves the wood" in note
    assert left in note


def test_a_recess_deeper_than_the_floor_is_said_to_break_through(make_case: Callable[..., Any]) -> None:
    case = make_case(hold=HoldKind.RECESS, diameter=900.0, height=60.0)
    assert "breaks through" in wall_gauge(subject_of(case)).caption.notes[0]


@pytest.mark.parametrize("quarter", range(4))
def test_a_quarter_shows_the_wood_at_its_angle_and_how_much_of_it_is_to_cut(
    make_case: Callable[..., Any], quarter: int
) -> None:
    case = make_case()
    subject = subject_of(case)
    drawing = quarter_sheet(subject, quarter)
    area = subject.quarters[quarter].area
    assert f"{90 * quarter}° (index {6 * quarter} of 24)" in drawing.caption.name
    (skin,) = [mark for mark in drawing.marks if isinstance(mark, Polyline) and mark.id == "wood-outline"]
    assert shapely.LineString(skin.points).difference(area.boundary.buffer(1e-6)).is_empty
    outer = bezier_points(case.section.outer.pieces, 2000)
    rows = [row for row in rows_of(drawing).values() if len(row) == 3 and row[0][0].isdigit()]
    assert len(rows) >= 6
    for height, radius, cut in (map(float, row) for row in rows):
        reach = area.intersection(shapely.LineString([(0, height), (1e4, height)])).bounds[2]
        assert radius == pytest.approx(reach, abs=LETTERED)
        assert cut == pytest.approx(reach - crossing(outer, height), abs=2 * LETTERED)


@pytest.mark.parametrize("hold", HoldKind)
def test_the_hold_sheet_has_both_circles_at_full_size(make_case: Callable[..., Any], hold: HoldKind) -> None:
    case = make_case(hold=hold)
    drawing = hold_sheet(subject_of(case))
    circles = {mark.id: mark for mark in drawing.marks if isinstance(mark, Arc)}
    assert circles["hold-circle"].radius == case.job.hold.diameter / 2
    assert circles["foot-circle"].radius == case.job.form.foot_radius
    assert circles["hold-circle"].centre == circles["foot-circle"].centre
    assert "maker's manual" in drawing.caption.notes[-1]


@pytest.mark.parametrize("hold", HoldKind)
def test_the_gauge_draws_what_it_says_at_full_size(make_case: Callable[..., Any], hold: HoldKind) -> None:
    # floor 4 + 110/20 = 9.5 under a rim at 110; the holding 0.3 times 280 across and 2 + 280/100 deep
    case = make_case(hold=hold)
    drawing = wall_gauge(subject_of(case))
    assert "to drill 100.5 mm" in [mark.text for mark in drawing.marks if isinstance(mark, Text)]
    lines = [mark for mark in drawing.marks if isinstance(mark, Line)]
    (drill,) = [line for line in lines if line.start[0] == line.end[0] == 0.0 and line.end[1] == pytest.approx(110.0)]
    assert drill.start == pytest.approx((0.0, 9.5))
    (held,) = [mark for mark in drawing.marks if isinstance(mark, Polyline) and mark.style == HIDDEN]
    down = 4.8 if hold is HoldKind.RECESS else -4.8
    np.testing.assert_allclose(held.points, [[42.0, 0.0], [42.0, down], [0.0, down]], atol=1e-9)


def test_every_station_of_the_gauge_is_a_line_that_ends_at_the_wall(make_case: Callable[..., Any]) -> None:
    case = make_case(diameter=500.0)  # room for the figures of the inside in the hollow
    outer, inner = (bezier_points(curve.pieces, 2000) for curve in (case.section.outer, case.section.inner))
    lines = [mark for mark in wall_gauge(subject_of(case)).marks if isinstance(mark, Line)]
    level = [line for line in lines if line.start[1] == line.end[1] > 10.0]
    within = [line for line in level if abs(crossing(inner, line.end[1]) - line.end[0]) < LETTERED]
    without = [line for line in level if abs(crossing(outer, line.start[1]) - line.start[0]) < LETTERED]
    assert len(within) == len(without) >= 6
    assert len(level) == len(within) + len(without)


@pytest.mark.parametrize("quarter", range(4))
def test_a_quarter_hatches_the_wood_of_the_wall_and_dots_the_rim(make_case: Callable[..., Any], quarter: int) -> None:
    case = make_case()
    subject = subject_of(case)
    drawing = quarter_sheet(subject, quarter)
    outer, inner = (bezier_points(curve.pieces, 500) for curve in (case.section.outer, case.section.inner))
    wall = shapely.Polygon(np.concatenate([outer, inner[::-1], [[0.0, 0.0]]])).buffer(0)
    (hatch,) = [mark for mark in drawing.marks if isinstance(mark, Hatch)]
    drawn = shapely.Polygon(hatch.rings[0])
    for ring in hatch.rings[1:]:
        drawn = drawn.symmetric_difference(shapely.Polygon(ring))
    wood = wall.intersection(subject.quarters[quarter].area)
    assert drawn.symmetric_difference(wood).area < 0.005 * wood.area  # chords of the curves, and crumbs
    (dot,) = [mark for mark in drawing.marks if isinstance(mark, Fill)]
    rim = case.verdict.rim
    at = rim.radius[90 * quarter], rim.height[90 * quarter]
    np.testing.assert_allclose(dot.points.mean(axis=0), at, atol=1e-9)
    words = ("ends in the natural edge", "reaches the top", "ends in the natural edge", "ends in the natural edge")
    assert words[quarter] in drawing.caption.notes[0]


def test_a_quarter_shows_a_recess_in_the_wood_and_a_tenon_under_it(make_case: Callable[..., Any]) -> None:
    for hold, side in ((HoldKind.TENON, -1.0), (HoldKind.RECESS, 1.0)):
        case = make_case(hold=hold)
        drawing = quarter_sheet(subject_of(case), 0)
        (held,) = [mark for mark in drawing.marks if isinstance(mark, Polyline) and mark.style == HIDDEN]
        assert held.points[1] == pytest.approx((case.job.hold.diameter / 2, side * case.job.hold.depth))


@pytest.mark.parametrize("units", Units)
@pytest.mark.parametrize("hold", HoldKind)
@pytest.mark.parametrize("diameter", [60.0, 120.0, 280.0, 400.0])
def test_no_lettering_lies_on_the_section_or_on_other_lettering(
    make_case: Callable[..., Any], diameter: float, hold: HoldKind, units: Units
) -> None:
    subject = subject_of(make_case(diameter=diameter, height=0.55 * diameter, hold=hold, units=units))
    for drawing in (hold_sheet(subject), wall_gauge(subject)):
        texts = {mark: text_box(mark) for mark in drawing.marks if isinstance(mark, Text)}
        boxes = {
            # figures stand on their line and do not hang below it
            mark: shapely.box(box.left, mark.at[1] if mark.text[0].isdigit() else box.low, box.right, box.high)
            for mark, box in texts.items()
        }
        clashes = [(a.text, b.text) for a, b in combinations(texts, 2) if texts[a].meets(texts[b])]
        assert clashes == []
        wood = [shapely.Polygon(ring) for mark in drawing.marks if isinstance(mark, Hatch) for ring in mark.rings]
        held = [
            shapely.LineString(mark.points)
            for mark in drawing.marks
            if isinstance(mark, Polyline) and mark.style is HIDDEN
        ]
        assert [mark.text for mark, box in boxes.items() if any(part.intersects(box) for part in wood + held)] == []


def test_a_foot_of_110_mm_and_its_circles_find_room_on_one_page_of_a4(make_case: Callable[..., Any]) -> None:
    laid = pages(hold_sheet(subject_of(make_case(diameter=305.0, hold=HoldKind.RECESS))), PAPERS["a4"])
    assert len(laid) <= 2  # the text may need a page of its own
