"""Marks as geometry, before any file is written."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from formmaker.drawing.dimensions import dimension_parts
from formmaker.drawing.hatching import hatch_lines
from formmaker.drawing.lettering import text_width, wrap_text
from formmaker.drawing.linestyles import CENTRE, GHOST, HIDDEN, NARROW, OUTLINE, SAWN, THIN, WIDE
from formmaker.drawing.marks import Anchor, Arc, CubicPath, Dimension, Fill, Hatch, Line, Text, bounds, move, text_box
from formmaker.drawing.stations import Row, apart, even_heights, radius_across, spread
from formmaker.units import Units


def test_line_widths_stand_two_to_one_and_elements_are_the_standards_multiples_of_the_width() -> None:
    # ISO 128-2, from memory: series ... 0.18 0.25 0.35 ..., root two apart; 24 d, 18 d, 12 d, 3 d, dot 0.5 d at most
    assert abs(WIDE - 2.0 * NARROW) <= 0.011
    assert (OUTLINE.elements, THIN.elements) == ((), ())
    np.testing.assert_allclose(np.array(CENTRE.elements) / NARROW, [24, 3, 0.5, 3])
    np.testing.assert_allclose(np.array(HIDDEN.elements) / NARROW, [12, 3])
    np.testing.assert_allclose(np.array(SAWN.elements) / WIDE, [12, 18])
    np.testing.assert_allclose(np.array(GHOST.elements) / WIDE, [0.5, 3])


def test_a_moved_mark_keeps_its_size_and_an_arc_keeps_its_angles() -> None:
    square = np.array([[0.0, 0], [2, 0], [2, 1], [0, 1]])
    marks = [
        Line(start=(0, 0), end=(3, 4)),
        Fill(points=square),
        CubicPath(pieces=square[None]),
        Arc(centre=(1, 1), radius=5.0, start=0.25, end=0.75),
        Text(at=(1, 2), text="abc"),
        Hatch(rings=(square,)),
    ]
    for mark in marks:
        old, new = bounds([mark]), bounds([move(mark, 10.0, -4.0)])
        assert (new.left, new.low) == pytest.approx((old.left + 10.0, old.low - 4.0))
        assert (new.width, new.height) == pytest.approx((old.width, old.height))
    turned = move(marks[3], 10.0, -4.0)
    assert (turned.start, turned.end) == (0.25, 0.75)


def test_a_text_turned_upright_takes_the_same_room_the_other_way() -> None:
    level = text_box(Text(at=(0, 0), text="centre line", anchor=Anchor.MIDDLE))
    upright = text_box(Text(at=(0, 0), text="centre line", anchor=Anchor.MIDDLE, angle=math.pi / 2))
    assert (upright.width, upright.height) == pytest.approx((level.height, level.width))
    assert upright.low == pytest.approx(level.left)


def test_hatch_lines_times_their_spacing_make_the_area_less_its_hole() -> None:
    # oracle: closed form, pi (R^2 - r^2); a scan at this spacing is off by less than 0.1 %
    turn = np.linspace(0, math.tau, 2000, endpoint=False)
    circle = np.column_stack([np.cos(turn), np.sin(turn)])
    lines = hatch_lines(Hatch(rings=(50 * circle, 20 * circle), spacing=0.25))
    length = sum(math.dist(line.start, line.end) for line in lines)
    assert length * 0.25 == pytest.approx(math.pi * (50**2 - 20**2), rel=1e-3)
    slopes = [math.atan2(line.end[1] - line.start[1], line.end[0] - line.start[0]) for line in lines]
    np.testing.assert_allclose(slopes, math.pi / 4, atol=1e-6)


@pytest.mark.parametrize("size", [4.0, 60.0])
@pytest.mark.parametrize("upright", [False, True])
def test_a_dimension_points_its_arrows_at_the_two_ends_of_what_it_measures(size: float, upright: bool) -> None:
    end = (0.0, size) if upright else (size, 0.0)
    parts = dimension_parts(Dimension(start=(0.0, 0.0), end=end, offset=10.0, text="60.0 mm"))
    tips = [part.points[0] for part in parts if isinstance(part, Fill)]
    shift = np.array([-10.0, 0.0] if upright else [0.0, 10.0])
    np.testing.assert_allclose(tips, [shift, np.array(end) + shift], atol=1e-12)
    (text,) = (part for part in parts if isinstance(part, Text))
    lines = [bounds([part]) for part in parts if isinstance(part, Line)]
    # lettering stands beside the lines, never across one (extension lines end before it)
    assert not any(text_box(text).meets(box) for box in lines if min(box.width, box.height) > 0)


@given(st.lists(st.floats(-200, 200), min_size=1, max_size=12))
def test_spread_rows_keep_their_order_and_their_distance_and_move_none_that_had_room(wishes: list[float]) -> None:
    wished = sorted(wishes, reverse=True)
    placed = np.array(spread(wished, step=6.0))
    assert (-np.diff(placed) >= 6.0 - 1e-9).all()
    if (-np.diff(wished) >= 6.0).all():
        np.testing.assert_allclose(placed, wished, atol=1e-9)
    # least squares of equal weights keeps the mean
    assert placed.mean() == pytest.approx(np.mean(wished), abs=1e-9)


def test_rows_that_stand_too_near_a_more_important_one_are_left_out() -> None:
    rows = [Row(height=h, radius=1.0, name=n) for h, n in ((50.0, "rim"), (0.0, "foot"), (47.0, ""), (20.0, ""))]
    assert [row.height for row in apart(rows, step=6.0)] == [0.0, 20.0, 50.0]


def test_even_heights_step_in_whole_parts_of_the_unit() -> None:
    assert even_heights(0.0, 100.0, Units.INCH) == pytest.approx([25.4 * i / 2 for i in range(8)])
    assert even_heights(-15.0, 250.0, Units.MM) == pytest.approx([50.0 * i for i in range(6)])


def test_radius_across_is_the_largest_at_an_undercut_and_unknown_off_the_curve() -> None:
    points = np.array([[30.0, 0], [80, 50], [40, 100], [60, 60]])
    assert radius_across(points, 80.0) == pytest.approx(56.0)
    assert radius_across(np.array([[10.0, 5], [40, 5], [40, 9]]), 5.0) == pytest.approx(40.0)
    assert math.isnan(radius_across(points, 101.0))


@given(st.text(max_size=80), st.floats(20, 200))
def test_wrapped_text_loses_no_letter_and_fits_its_room(text: str, width: float) -> None:
    lines = wrap_text(text, height=3.5, width=width)
    assert "".join(lines).replace(" ", "") == "".join(text.split())
    assert all(text_width(line, 3.5) <= width for line in lines)
