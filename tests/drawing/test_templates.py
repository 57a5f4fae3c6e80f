"""The cards that are cut out: where they lie, and that they keep clear of the wood and of the holding."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from formmaker.drawing.marks import CubicPath, Fill, Line, Polyline, Text
from formmaker.drawing.sheet import Drawing
from formmaker.drawing.templates import inner_template, outer_template
from formmaker.geometry.curves import Curve, polyline
from formmaker.model.hold import HoldKind
from formmaker.model.verdict import Answer
from tests.drawing.reading import bezier_points, subject_of

SIZES = [
    {"diameter": 80.0, "height": 45.0, "hold": HoldKind.TENON},
    {"diameter": 280.0, "height": 110.0, "hold": HoldKind.GLUE_BLOCK},
    {"diameter": 500.0, "height": 60.0, "hold": HoldKind.RECESS},
]


def card_of(sheet: Drawing, curve: Curve) -> tuple[np.ndarray, shapely.Polygon]:
    """Where the axis meets the foot plane on the sheet, and the card: the curve closed by the cut round it."""
    (path,) = [mark for mark in sheet.marks if isinstance(mark, CubicPath)]
    (cut,) = [m for m in sheet.marks if isinstance(m, Polyline) and not m.closed]
    along = polyline(Curve(pieces=path.pieces))
    np.testing.assert_allclose(cut.points[[0, -1]], along[[-1, 0]], atol=1e-9)  # the cut goes round without a gap
    origin = path.pieces[0, 0] - curve.start
    return origin, shapely.Polygon(np.concatenate([along, cut.points[1:-1]]) - origin)


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_outer_card_touches_the_bowl_along_the_curve_and_meets_neither_wood_nor_holding(
    size: dict[str, Any], make_case: Callable[..., Any]
) -> None:
    case = make_case(**size)
    _, card = card_of(outer_template(subject_of(case)), case.section.outer)
    outer = polyline(case.section.outer)
    bowl = shapely.Polygon([(0.0, 0.0), *outer, (0.0, outer[-1, 1])])
    holding = shapely.box(0.0, -case.job.hold.depth, case.job.hold.radius, 0.0)
    assert card.is_valid
    assert card.intersection(bowl).area < 1e-6
    assert card.intersection(holding).area == 0.0
    assert bowl.boundary.intersection(card.boundary.buffer(1e-6)).length > 0.99 * shapely.LineString(outer).length
    # the rim's end of the curve is held from above: a tip of card there would bend
    assert card.bounds[3] - outer[-1, 1] >= 10.0


@pytest.mark.parametrize("size", SIZES, ids=str)
def test_the_inner_card_fills_the_half_hollow_and_has_a_grip_above_it(
    size: dict[str, Any], make_case: Callable[..., Any]
) -> None:
    case = make_case(**size)
    _, card = card_of(inner_template(subject_of(case)), case.section.inner)
    inner = polyline(case.section.inner)
    hollow = shapely.Polygon([*inner, (0.0, inner[-1, 1])])
    below = card.intersection(shapely.box(-1.0, -1.0, 1e3, inner[-1, 1]))
    assert card.is_valid
    assert below.symmetric_difference(hollow).area < 1e-6
    assert card.bounds[0] == pytest.approx(0.0, abs=1e-9)
    assert card.bounds[3] - inner[-1, 1] >= 20.0


@pytest.mark.parametrize("template", [outer_template, inner_template])
def test_arrows_lie_in_the_wood_and_not_on_the_card(
    template: Callable[..., Drawing], make_case: Callable[..., Any]
) -> None:
    case = make_case()
    sheet = template(subject_of(case))
    curve = case.section.outer if template is outer_template else case.section.inner
    origin, card = card_of(sheet, curve)
    heads = [mark.points[0] - origin for mark in sheet.marks if isinstance(mark, Fill)]
    shafts = [mark for mark in sheet.marks if isinstance(mark, Line) and mark.end[0] != mark.start[0]]
    assert len(heads) >= 2
    assert shafts
    for tip in heads:
        assert card.distance(shapely.Point(tip)) > 5.0


def test_a_hollow_wider_than_its_mouth_is_pointed_out(make_case: Callable[..., Any]) -> None:
    case = make_case()
    pieces = np.array(case.section.inner.pieces)
    pieces[-1, 2:, 0] *= 0.7
    section = type(case.section)(outer=case.section.outer, inner=Curve(pieces=pieces))
    notes = inner_template(subject_of(case, section=section)).caption.notes
    assert "bring the card in aslant" in " ".join(notes)


def test_a_card_set_in_for_a_pencil_keeps_its_distance_all_along_and_the_curve_stays(
    make_case: Callable[..., Any],
) -> None:
    case = make_case()
    drawing = inner_template(subject_of(case, pencil=2.0))
    named = {mark.id: mark for mark in drawing.marks if getattr(mark, "id", "")}
    np.testing.assert_array_equal(named["inner-curve"].pieces, case.section.inner.pieces)
    curve = shapely.LineString(bezier_points(case.section.inner.pieces, 2000))
    cut = named["inner-cut"].points
    assert cut[0, 0] == pytest.approx(0.0, abs=1e-9)
    assert cut[-1, 1] == pytest.approx(case.job.form.height, abs=1e-6)
    inside = shapely.Polygon([*curve.coords, (0.0, case.job.form.height)])
    reach = [curve.distance(shapely.Point(p)) for p in cut if p[1] < case.job.form.height - 4.0]
    np.testing.assert_allclose(reach, 2.0, atol=0.02)
    assert inside.buffer(1e-6).contains(shapely.LineString(cut))
    assert "set in by 2.0 mm" in drawing.caption.notes[1]


@pytest.mark.parametrize("answer", Answer)
@pytest.mark.parametrize("template", [outer_template, inner_template])
def test_a_card_that_was_cut_out_still_says_that_the_bowl_may_not_come_out(
    template: Callable[..., Drawing], answer: Answer, make_case: Callable[..., Any]
) -> None:
    case = make_case(**SIZES[1])
    case = replace(case, verdict=replace(case.verdict, answer=answer))
    texts = [mark.text for mark in template(subject_of(case)).marks if isinstance(mark, Text)]
    assert any("not come out" in text for text in texts) == (answer is not Answer.FITS)
    assert any(text.startswith("card, ") for text in texts) == (answer is Answer.FITS)
