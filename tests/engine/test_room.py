"""Quick looks and exact ones: bounds that hold, volumes against closed forms."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formmaker.engine.field import Field
from formmaker.engine.room import (
    TURNS,
    depth_at_most,
    down_to,
    in_the_way,
    most_across,
    smallest_across,
    step_of,
    wood_inside,
)
from formmaker.geometry.nearest import signed_distance
from formmaker.model.shapes import HalfLog
from formmaker.units import MM_PER_INCH, Units
from tests.engine.jobs import described_field, upright
from tests.skins import placed_points

FRAME = upright(foot_height=5.0).blank_from_form


@cache
def half_log() -> Field:
    return described_field(HalfLog(radius=100.0, length=240.0), cells=64)


@given(radius=st.floats(0.0, 260.0), height=st.floats(-60.0, 200.0))
@settings(max_examples=150, deadline=None)
def test_no_ring_lies_deeper_than_the_quick_look_says_also_beyond_the_grid(radius: float, height: float) -> None:
    theta = 2.0 * np.pi * np.arange(TURNS) / TURNS
    points = placed_points(np.tile([radius, height], (TURNS, 1)), theta, FRAME)
    truth = signed_distance(half_log().skin.tree, points).distance.min()
    at_most = depth_at_most(np.array([[radius, height]]), half_log(), FRAME)[0]
    assert truth <= at_most
    inside = half_log().skin.grid.bounds
    if ((points > inside[0]) & (points < inside[1])).all():
        assert at_most <= truth + 2.0 * half_log().skin.grid.error


def test_wood_inside_a_drum_is_all_of_it_in_solid_wood_and_less_where_it_stands_out() -> None:
    drum = np.array([[50.0, 0.0], [50.0, 60.0]])
    whole = np.pi * 50.0**2 * 60.0
    assert wood_inside(drum, half_log(), FRAME) == pytest.approx(whole, rel=1e-3)
    # 25 from the end face a segment of the circle stands out: r^2 (acos(1/2) - (1/2) sqrt(3/4))
    out = (np.arccos(0.5) - 0.5 * np.sqrt(0.75)) / np.pi
    near_end = upright((95.0, 0.0, 0.0), foot_height=5.0).blank_from_form
    assert wood_inside(drum, half_log(), near_end) == pytest.approx((1.0 - out) * whole, rel=0.03)


def test_a_place_in_the_way_is_short_of_wood_and_none_is_found_where_there_is_enough() -> None:
    rim = np.array([[70.0, 0.0, 70.0, 60.0]])
    # the farthest of the wall lies hypot(70, 65) = 95.5 from the pith: 4.5 deep in wood of radius 100, 0.06 is needed
    assert in_the_way(rim, half_log(), FRAME, skin=4.3) is None
    place = in_the_way(rim, half_log(), FRAME, skin=4.6)
    assert place is not None
    assert place.value < 4.66
    assert place.height == pytest.approx(60.0, abs=4.0)


def test_steps_are_whole_and_lengths_are_taken_down_to_them() -> None:
    assert step_of(Units.INCH) == MM_PER_INCH / 16.0
    assert down_to(141.999, step_of(Units.MM)) == 141.0
    assert down_to(3.0 * 0.1 * 10.0, 1.0) == 3.0  # 3.0000000000000004 and 2.9999999999999996 are 3
    assert smallest_across(1.0) == 50.0
    assert smallest_across(step_of(Units.INCH)) == pytest.approx(2.0 * MM_PER_INCH)
    assert most_across(half_log(), FRAME) == pytest.approx(2.0 * np.hypot(120.0, 100.0), abs=0.1)
