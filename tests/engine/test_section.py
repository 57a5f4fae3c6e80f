from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from formmaker.engine.section import (
    build_section,
    largest_radius,
    outline_below,
    section_outline,
    section_volume,
)
from formmaker.engine.sketching import form_from_profile
from formmaker.errors import FormError
from formmaker.geometry.curves import points_on, polyline, slopes_on
from formmaker.model.form import Form
from tests.strategies import PROFILES, forms, unchecked_forms

TABLE_BOWL = Path(__file__).resolve().parents[3] / "shared" / "data" / "table_bowl_profile.csv"


def form_of(handles, *, wall=8.0, floor=10.0, corners=None):
    count = len(handles)
    joints = np.ones(count, bool) if corners is None else np.array(corners, bool)
    rows = [[0.0, wall]] if np.ndim(wall) == 0 else wall
    return Form(handles=handles, corners=joints, wall=rows, floor=floor, lowest_rim=handles[-1][1])


STRAIGHT = form_of([[60.0, 0.0], [60.0, 80.0]])
CONE = form_of([[40.0, 0.0], [90.0, 70.0]])


def filleted_cylinder_volume(radius, height, wall, floor, fillet):
    """Cylinder less its hollow, plus the fillet: by Pappus on the square of the fillet less its quarter disc."""
    inner = radius - wall
    shell = np.pi * radius**2 * height - np.pi * inner**2 * (height - floor)
    square, quarter = fillet**2, np.pi * fillet**2 / 4
    centre = inner - fillet
    # moments of square and quarter disc about the axis: the disc's middle lies 4 r / 3 pi from its corner
    moment = square * (centre + fillet / 2) - quarter * (centre + 4 * fillet / (3 * np.pi))
    return shell + 2 * np.pi * moment


def test_volume_of_a_straight_upright_bowl():
    # the fillet is an eighth of 120 mm; its arc is true to 4e-7
    wanted = filleted_cylinder_volume(60.0, 80.0, 8.0, 10.0, 15.0)
    assert section_volume(build_section(STRAIGHT)) == pytest.approx(wanted, rel=1e-7)


def test_the_inside_of_a_cone_is_the_cone_moved_in_by_the_wall():
    inner = polyline(build_section(CONE).inner)
    lean = np.hypot(50.0, 70.0)
    wall = (inner @ [-70.0, 50.0] + 70.0 * 40.0) / lean
    # straight above the fillet: there all at 8 mm; in the fillet and on the floor thicker
    assert wall.min() == pytest.approx(8.0, abs=1e-9)
    assert_allclose(wall[inner[:, 1] > 40.0], 8.0, atol=1e-9)


def test_the_rim_is_flat_at_the_height_whether_the_wall_is_cut_or_prolonged():
    flaring = build_section(CONE)
    closing = build_section(form_of([[70.0, 0.0], [50.0, 80.0]]))
    for section, height in ((flaring, 70.0), (closing, 80.0)):
        assert section.inner.end[1] == pytest.approx(height, abs=1e-9)
    # width of the flat rim: wall over the cosine of the lean, by hand
    assert flaring.outer.end[0] - flaring.inner.end[0] == pytest.approx(8.0 * np.hypot(50, 70) / 70, abs=1e-9)
    assert closing.outer.end[0] - closing.inner.end[0] == pytest.approx(8.0 * np.hypot(20, 80) / 80, abs=1e-9)


def test_the_outline_is_one_polygon_counter_clockwise_from_the_foot_centre():
    outline = section_outline(build_section(CONE))
    polygon = shapely.Polygon(outline)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert_allclose(outline[:2], [[0.0, 0.0], [40.0, 0.0]])
    assert_allclose(outline[-1], [0.0, 10.0], atol=1e-9)


@given(form=forms())
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_every_form_has_an_open_hollow_and_no_wall_thinner_than_asked(form):
    section = build_section(form)
    outline = section_outline(section)
    polygon = shapely.Polygon(outline)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    assert (outline[:, 0] >= 0.0).all()
    assert section.inner.end[0] > 0.0
    assert_allclose(section.inner.start, [0.0, form.floor], atol=1e-12)
    assert section.inner.end[1] == pytest.approx(form.height, abs=1e-9)
    assert (polyline(section.inner)[:, 1] >= form.floor - 1e-9).all()
    # from 200 places of the inside to the nearest of a dense outer polyline, against what is asked there, by shapely
    inside = shapely.points(points_on(section.inner, np.linspace(0.0, len(section.inner.pieces), 200)))
    outer = shapely.LineString(polyline(section.outer, chord=1e-4))
    asked = np.interp(shapely.line_locate_point(outer, inside) / outer.length, form.wall[:, 0], form.wall[:, 1])
    assert (shapely.distance(inside, outer) >= asked - 0.011).all()


@given(form=forms())
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
def test_the_exact_volume_is_that_of_the_dense_polygon_by_pappus(form):
    section = build_section(form)
    polygon = shapely.Polygon(section_outline(section, chord=1e-4))
    # chords of 1e-4 mm on both curves, some 300 mm long, at radii under 160 mm: at most 60 mm3
    wanted = 2.0 * np.pi * polygon.centroid.x * polygon.area
    assert section_volume(section) == pytest.approx(wanted, abs=60.0)


@given(form=unchecked_forms())
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_form_is_built_or_refused_with_a_place(form):
    try:
        section = build_section(form)
    except FormError as error:
        section, place = None, (error.radius, error.height)
    assert section is not None or None not in place


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: profile.name)
@given(
    ratio=st.floats(0.25, 0.8), diameter=st.floats(150.0, 300.0), wall=st.floats(4.0, 8.0), extra=st.floats(0.0, 8.0)
)
@settings(max_examples=8, deadline=None)
def test_every_profile_can_be_turned_at_ordinary_proportions(profile, ratio, diameter, wall, extra):
    form = form_from_profile(profile, diameter=diameter, height=ratio * diameter, wall=wall, floor=wall + extra)
    assert largest_radius(build_section(form)) == pytest.approx(diameter / 2.0, abs=1e-9)


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: profile.name)
@pytest.mark.parametrize("size", [(150.0, 6.0), (220.0, 8.0), (300.0, 10.0)])
def test_every_profile_can_be_turned_at_its_own_proportions(profile, size):
    diameter, wall = size
    height = diameter * profile.handles[-1, 1] / (2.0 * profile.handles[:, 0].max())
    build_section(form_from_profile(profile, diameter=diameter, height=height, wall=wall, floor=wall))


@pytest.mark.parametrize("profile", PROFILES, ids=lambda profile: profile.name)
def test_no_profile_wiggles(profile):
    form = form_from_profile(
        profile,
        diameter=240.0,
        height=120.0 * profile.handles[-1, 1] / profile.handles[:, 0].max(),
        wall=8.0,
        floor=10.0,
    )
    outer = build_section(form).outer
    slopes = slopes_on(outer, np.linspace(0.0, len(outer.pieces) - 1e-9, 400))
    turning = np.diff(np.unwrap(np.arctan2(slopes[:, 1], slopes[:, 0])))
    bends = np.sign(turning[np.abs(turning) > 2e-4])
    # a bowl bends one way; flared, ogee and footed forms change once, an upright side may flatten past straight once
    assert (np.diff(bends) != 0).sum() <= 2


def test_the_part_below_a_height_stands_on_the_foot_and_stops_there():
    section = build_section(CONE)
    below = outline_below(section, 40.0)
    assert_allclose(below[0], [0.0, 0.0], atol=1e-12)
    assert below[:, 1].max() == pytest.approx(40.0)
    polygon = shapely.Polygon(below)
    assert polygon.exterior.is_ccw
    whole = shapely.Polygon(section_outline(section))
    assert polygon.area == pytest.approx(whole.intersection(shapely.box(0, 0, 200, 40)).area, rel=1e-9)
    assert_allclose(outline_below(section, 500.0).shape, section_outline(section).shape)


def test_nothing_lies_below_the_foot():
    with pytest.raises(FormError, match=r"height 0\.0 mm is not above the foot"):
        outline_below(build_section(CONE), 0.0)


# places by hand: ends of offsets, crossings of straight lines, handles
REFUSED = [
    (form_of([[50.0, 0.0], [2.0, 40.0], [2.0, 50.0], [60.0, 90.0]]), "thicker than the radius", 33.854),
    (form_of([[40.0, 0.0], [60.0, 40.0]], wall=70.0), "does not come down to the floor", None),
    (
        form_of([[40.0, 0.0], [40.0, 60.0]], wall=41.0),
        "at radius -1.0 mm, height 10.0 mm, across the axis",
        10.0,
    ),
    (
        form_of([[40.0, 0.0], [90.0, -0.5], [95.0, 60.0]], corners=[1, 1, 1]),
        "dips to -0.5 mm, below the foot plane, at radius 90.0 mm",
        -0.5,
    ),
    (form_of([[40.0, 0.0], [0.0, 30.0], [95.0, 60.0]]), "comes to the axis", 30.0),
    (form_of([[40.0, 0.0], [80.0, 65.0], [90.0, 60.0]]), "rises to 65 mm, above its own rim", 65.0),
    (
        form_of([[40.0, 0.0], [90.0, 50.0], [90.0, 20.0], [50.0, 50.0], [50.0, 60.0]]),
        "outer curve crosses itself",
        32.857,
    ),
    (form_of([[70.0, 0.0], [70.0, 60.0], [30.0, 60.2]]), "arrives at the rim almost level", 52.2),
]


@pytest.mark.parametrize(("form", "text", "height"), REFUSED, ids=[text for _, text, _ in REFUSED])
def test_what_is_no_bowl_is_refused_with_its_place(form, text, height):
    with pytest.raises(FormError, match=text) as caught:
        build_section(form)
    assert caught.value.radius is not None
    if height is not None:
        assert caught.value.height == pytest.approx(height, abs=0.01)


@pytest.mark.skipif(not TABLE_BOWL.exists(), reason="the measured table bowl is not beside the project")
def test_a_measured_table_bowl_comes_out_near_its_own_section():
    measured = np.genfromtxt(TABLE_BOWL, delimiter=",", names=True)
    ring = np.column_stack([measured["r_mm"], measured["z_mm"]])
    lift = ring[:, 1].min()
    rim = int(ring[:, 1].argmax())
    foot = int(ring[: rim + 1, 1].argmin())
    outside, inside = ring[foot : rim - 1] - [0.0, lift], ring[rim + 1 :] - [0.0, lift]
    # its own wall, by shapely, at ten places up the outside
    places = np.linspace(0.0, 1.0, 10)
    line = shapely.LineString(outside)
    walls = [line.interpolate(share, normalized=True).distance(shapely.LineString(inside)) for share in places]
    picked = np.round(np.linspace(0, len(outside) - 1, 12)).astype(int)
    handles = outside[picked]
    handles[0, 1] = 0.0
    form = form_of(
        handles.tolist(),
        wall=np.column_stack([places, walls]),
        floor=float(inside[-1, 1]),
        corners=[1, *[0] * 10, 1],
    )
    section = build_section(form)
    # the real bowl has a hollow under its foot that our plain foot has not: compare outside the foot only
    # and below the lip, where the wall rounds off into the rim
    beside = shapely.box(50.0, -1.0, 100.0, form.height - 5.0)
    ours = shapely.Polygon(section_outline(section)).intersection(beside).area
    theirs = shapely.Polygon(ring - [0.0, lift]).intersection(beside).area
    # 3 %: the mean of 24 slices scatters by 0.7 mm in height there
    assert ours == pytest.approx(theirs, rel=0.03)


def test_a_prolonged_inside_keeps_the_wall_where_the_law_tapers():
    # floor thinner than the wall, wall growing upward: prolonged along the outer curve's direction, not its own
    section = build_section(form_of([[42.0, 0.0], [94.0, 23.0]], wall=[[0.0, 14.9], [0.5, 19.8]], floor=8.8))
    inside = shapely.LineString(polyline(section.inner, chord=1e-4))
    assert inside.distance(shapely.Point(42.0, 0.0)) >= 14.9 * np.cos(np.arctan(4.9 / 28.4)) - 1e-6


def test_a_floor_that_would_thin_the_wall_at_the_foot_is_refused():
    # 25 mm from axis to foot edge: no inside that comes down to a floor of 2.4 on the axis can stay 28.2 mm away
    with pytest.raises(
        FormError, match=r"wall 25\.\d\d mm at height 0\.0 mm is thinner than the 28\.20 mm asked"
    ) as caught:
        build_section(form_of([[25.0, 0.0], [61.0, 66.0]], wall=28.2, floor=2.4))
    assert caught.value.radius == pytest.approx(25.0)


def test_a_facet_at_the_rim_is_swallowed_by_the_wall_below_it():
    # 1 mm upright at the top of a 45 degree side: the inside is the side's own, 11 mm away, all the way up
    section = build_section(form_of([[40.0, 0.0], [110.0, 70.0], [110.0, 71.0]], wall=11.0, floor=12.0))
    inner = polyline(section.inner)
    upper = inner[inner[:, 1] > 40.0]
    assert_allclose((upper @ [-1.0, 1.0] + 40.0) / np.sqrt(2.0), 11.0, atol=1e-9)


def test_a_floor_that_a_straight_kinked_wall_meets_at_a_kink_still_gets_its_fillet():
    # found by drawing at random: the ball's centre jumps where the law's knee puts a corner into the inside
    form = form_of([[77.77, 0.0], [84.22, 80.075]], wall=[[0.0, 12.92], [0.5, 19.276]], floor=21.43)
    assert shapely.Polygon(section_outline(build_section(form))).is_valid
