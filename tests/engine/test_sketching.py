import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from formmaker.engine.section import outer_curve
from formmaker.engine.sketching import (
    add_handle,
    change_floor,
    change_wall,
    form_from_profile,
    hold_foot,
    move_handle,
    remove_handle,
    scale_to,
    set_corner,
)
from formmaker.errors import FormError
from formmaker.geometry.curves import points_on, polyline
from formmaker.model.form import Edge
from formmaker.model.profile import Profile
from tests.strategies import PROFILES, profiles

CLOSED_IN = next(profile for profile in PROFILES if profile.name == "closed-in-bowl")
OPEN = next(profile for profile in PROFILES if profile.name == "open-bowl")


def made(profile=OPEN, *, diameter=280.0, height=110.0, wall=8.0, floor=10.0, **more):
    return form_from_profile(profile, diameter=diameter, height=height, wall=wall, floor=floor, **more)


def dense_radius(form):
    return points_on(outer_curve(form), np.linspace(0.0, len(form.handles) - 1.0, 100001))[:, 0].max()


@given(profile=profiles(), diameter=st.floats(50.0, 600.0), ratio=st.floats(0.25, 0.9))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_curve_itself_gets_the_diameter_and_the_rim_the_height(profile, diameter, ratio):
    form = made(profile, diameter=diameter, height=ratio * diameter, floor=1.0)
    # 100 000 places, each within 6e-3 mm of the next: the top of a fair curve is missed by under 1e-6
    assert dense_radius(form) == pytest.approx(diameter / 2.0, abs=1e-6)
    assert form.height == ratio * diameter
    assert form.foot_radius / form.handles[:, 0].max() == pytest.approx(
        profile.handles[0, 0] / profile.handles[:, 0].max()
    )


def test_the_widest_place_of_a_closed_in_bowl_lies_between_its_handles():
    form = made(CLOSED_IN)
    assert form.handles[:, 0].max() < 139.95
    assert dense_radius(form) == pytest.approx(140.0, abs=1e-6)


def test_a_turned_edge_asks_for_the_whole_height_and_a_natural_one_for_what_is_said():
    assert made().lowest_rim == 110.0
    natural = made(edge=Edge.NATURAL, lowest_rim=70.0)
    assert (natural.edge, natural.lowest_rim) == (Edge.NATURAL, 70.0)


def test_a_wall_is_one_thickness_or_rows():
    assert made(wall=8.0).wall.tolist() == [[0.0, 8.0]]
    assert made(wall=[[0.0, 12], [1.0, 6]]).wall.tolist() == [[0.0, 12.0], [1.0, 6.0]]
    assert change_wall(made(), [[0.0, 9], [1.0, 5]]).wall.tolist() == [[0.0, 9.0], [1.0, 5.0]]
    assert change_floor(made(), 14.0).floor == 14.0


@pytest.mark.parametrize(
    ("sizes", "text"),
    [
        ({"diameter": 0.0}, "form diameter 0.0 mm; give a length above 0"),
        ({"height": float("nan")}, "form height nan mm; give a length above 0"),
        ({"floor": 110.0}, "floor 110.0 mm; it must lie between 0 and the height 110.0 mm"),
        ({"wall": -1.0}, "wall -1.0 mm; give a thickness above 0"),
    ],
)
def test_sizes_that_are_none_are_refused(sizes, text):
    with pytest.raises(FormError, match=text):
        made(**sizes)


def test_a_profile_that_does_not_rise_is_refused():
    flat = Profile(name="flat", description="", handles=[[10, 0], [20, 0]], corners=[True, True])
    with pytest.raises(FormError, match=r"profile 'flat' ends at height 0\.0; its rim must stand above its foot"):
        made(flat)


@given(profile=st.sampled_from(PROFILES), share=st.floats(0.2, 0.8), piece=st.integers(0, 2))
@settings(max_examples=40, deadline=None)
def test_a_handle_added_on_the_curve_barely_changes_it_and_taken_out_again_not_at_all(profile, share, piece):
    form = made(profile)
    place = points_on(outer_curve(form), piece + share)
    more = add_handle(form, near=place)
    assert len(more.handles) == len(form.handles) + 1
    assert_allclose(more.handles[piece + 1], place, atol=0.3)
    before = points_on(outer_curve(form), np.linspace(0.0, len(form.handles) - 1.0, 3000))
    after = polyline(outer_curve(more))
    far = np.hypot(*np.moveaxis(after[:, None] - before, -1, 0)).min(axis=1)
    # what an eye would see at 280 mm: a spline over other chords moves by some tenths
    assert far.max() < 0.5
    assert_allclose(remove_handle(more, piece + 1).handles, form.handles)


def test_a_handle_on_a_handle_is_refused():
    form = made()
    with pytest.raises(FormError, match=r"there is a handle at .* already; point between two"):
        add_handle(form, near=form.handles[1])


def test_handles_move_and_the_rim_sets_the_height():
    form = made()
    assert move_handle(form, 1, to=[95.0, 20.0]).handles[1].tolist() == [95.0, 20.0]
    assert move_handle(form, 0, to=[60.0, 5.0]).handles[0].tolist() == [60.0, 0.0]
    taller = move_handle(form, 3, to=[135.0, 120.0])
    assert (taller.height, taller.lowest_rim) == (120.0, 120.0)
    natural = move_handle(made(edge=Edge.NATURAL, lowest_rim=70.0), 3, to=[135.0, 120.0])
    assert natural.lowest_rim == 70.0


def test_what_is_drawn_from_is_left_as_it_was():
    form = made()
    handles = form.handles.copy()
    for changed in (
        move_handle(form, 1, to=[95.0, 20.0]),
        set_corner(form, 1, corner=True),
        scale_to(form, diameter=100.0, height=50.0),
    ):
        assert changed is not form
    assert_allclose(form.handles, handles, atol=0)


def test_a_corner_is_set_and_taken_back():
    form = set_corner(made(), 2, corner=True)
    assert form.corners.tolist() == [True, False, True, True]
    assert set_corner(form, 2, corner=False).corners.tolist() == [True, False, False, True]


@pytest.mark.parametrize(("index", "whose"), [(0, "foot"), (3, "rim")])
def test_foot_and_rim_keep_their_handles_and_corners(index, whose):
    for change in (lambda form: remove_handle(form, index), lambda form: set_corner(form, index, corner=False)):
        with pytest.raises(FormError, match=f"handle {index} is the {whose}'s; it stays, and stays a corner"):
            change(made())


def test_a_handle_that_is_not_there_is_refused():
    with pytest.raises(FormError, match="handle 4; this form has handles 0 to 3"):
        move_handle(made(), 4, to=[1.0, 1.0])


@given(diameter=st.floats(150.0, 400.0), height=st.floats(60.0, 200.0))
@settings(max_examples=30, deadline=None)
def test_scaling_gives_the_size_and_holding_the_foot_keeps_its_diameter(diameter, height):
    form = made(CLOSED_IN, edge=Edge.NATURAL, lowest_rim=55.0)
    scaled = scale_to(form, diameter=diameter, height=height)
    held = hold_foot(form, diameter=diameter, height=height)
    for changed in (scaled, held):
        assert dense_radius(changed) == pytest.approx(diameter / 2.0, abs=1e-6)
        assert changed.height == height
        assert changed.lowest_rim == pytest.approx(height / 2.0)
    assert held.foot_radius == form.foot_radius


def test_scaling_there_and_back_is_the_same_form():
    form = made(CLOSED_IN)
    back = scale_to(scale_to(form, diameter=150.0, height=120.0), diameter=280.0, height=110.0)
    assert_allclose(back.handles, form.handles, atol=1e-8)


def test_a_foot_as_wide_as_the_bowl_cannot_be_held():
    form = made()
    with pytest.raises(FormError, match=r"diameter 60\.0 mm is not greater than the foot's"):
        hold_foot(form, diameter=60.0, height=50.0)
