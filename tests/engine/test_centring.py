"""Shifts and tilts from readings, against circles and planes that are known, published sets and common practice."""

import math

import numpy as np
import pytest

from formmaker.engine.centring import Held, centre
from formmaker.engine.levelling import level
from formmaker.errors import BlankError
from formmaker.model.ends import End
from formmaker.model.recentring import Reading, ReadingKind
from formmaker.units import Units
from tests.geometry.test_off_centre import circle

GAP, RADIUS = ReadingKind.GAP, ReadingKind.RADIUS
MM = Units.MM


def readings(sizes, **others):
    """Evenly spread readings."""
    step = 2.0 * math.pi / len(sizes)
    return [Reading(angle=k * step, size=float(size), **others) for k, size in enumerate(sizes)]


def vector(shift):
    return shift.distance * np.array([math.cos(shift.toward), math.sin(shift.toward)])


def turns(count):
    return 2.0 * math.pi * np.arange(count) / count


def test_three_quarters_of_a_gap_on_one_side_ask_for_three_eighths_toward_the_other():
    # common practice, no source: half the gap, toward the side without one
    found = centre(readings([0.75 * 25.4, 0.0]), GAP, Held(), Units.INCH)
    assert [shift.end for shift in found.shifts] == [End.FOOT, End.RIM]
    for shift in found.shifts:
        assert shift.distance == pytest.approx(0.375 * 25.4)
        assert math.degrees(shift.toward) == pytest.approx(180.0)
    assert found.tilt == 0.0
    assert found.residual < 1e-9
    assert "along the line from 0 to 180 deg only" in found.warnings[0]


def test_the_shift_is_half_the_total_reading_of_the_indicator():
    # rim-and-face alignment: 0.005 in of total reading is an offset of 0.0025 in (shared/check-values.md 2.6)
    found = centre(readings([100.0, 100.0 - 0.0635, 100.0 - 0.127, 100.0 - 0.0635]), RADIUS, Held(), MM)
    assert found.shifts[0].distance == pytest.approx(0.0635, abs=1e-6)


def test_what_breaks_top_plus_bottom_is_left_plus_right_stays_over():
    # validity check of rim readings (check-values.md 2.6): 10 + 4 against 8 + 2 is 4, a quarter of it at each reading
    found = centre(readings([10.0, 8.0, 4.0, 2.0]), GAP, Held(), MM)
    assert found.residual == pytest.approx(1.0)
    np.testing.assert_allclose(vector(found.shifts[0]), [-3.0, -3.0])


@pytest.mark.parametrize("count", [*range(4, 25, 2), 3, 5, 9])
def test_an_eccentric_tilted_axis_is_found_exactly(count):
    # circles whose middles lie on a straight line that runs from `foot` to `rim`, 240 mm apart
    foot, rim = np.array([7.0, -3.0]), np.array([-2.0, 9.0])
    rows = []
    for station in (30.0, 200.0):
        middle = foot + (rim - foot) * station / 240.0
        sizes = circle(turns(count), np.hypot(*middle), 80.0 + station / 10.0, math.atan2(middle[1], middle[0]))
        rows += readings(sizes, station=station)
    found = centre(rows, RADIUS, Held(length=240.0), MM)
    np.testing.assert_allclose(vector(found.shifts[0]), foot, atol=1e-9)
    np.testing.assert_allclose(vector(found.shifts[1]), rim, atol=1e-9)
    assert found.tilt == pytest.approx(math.atan(15.0 / 240.0))
    assert found.residual < 1e-9
    assert bool(found.warnings) == (count in {3, 5})


@pytest.mark.parametrize("count", [4, 6, 10])
def test_gaps_need_no_place_of_the_rest_where_readings_are_opposite(count):
    found = centre(readings(150.0 - circle(turns(count))), GAP, Held(), MM)
    np.testing.assert_allclose(vector(found.shifts[1]), [15.32088886, 12.85575219], atol=1e-8)


def test_three_gaps_are_biased_by_what_the_warning_says_and_the_place_of_the_rest_takes_it_off():
    gaps = 150.0 - circle(turns(3))
    blind = centre(readings(gaps), GAP, Held(), MM)
    # check-values.md 2.4: 19.516 toward 37.424 deg, which is 1.01 mm from the truth
    assert blind.shifts[0].distance == pytest.approx(19.516, abs=1e-3)
    assert any(
        "100.0 mm radius it is off by 0.95 mm" in text for text in blind.warnings
    )  # e^2 / 4 R of what it found
    told = centre(readings(gaps, at_radius=150.0), GAP, Held(), MM)
    assert told.shifts[0].distance == pytest.approx(20.0, abs=1e-9)
    assert any("off by 1.01 mm, which is taken off" in text for text in told.warnings)
    assert any("take an oval for a shift, 100 % of it" in text for text in told.warnings)


def test_noise_is_carried_and_leaves_no_bias():
    random, off = np.random.default_rng(3), []
    for _ in range(1500):
        rows = []
        for station, middle in ((30.0, 5.0), (210.0, 9.0)):
            rows += readings(
                circle(turns(12), middle, 90.0, 0.5) + 4 * np.cos(2 * turns(12)) + random.normal(0, 0.5, 12),
                station=station,
            )
        found = centre(rows, RADIUS, Held(length=240.0), MM)
        off.append([*vector(found.shifts[0]), *vector(found.shifts[1]), found.known_to])
    across = np.array([math.cos(0.5), math.sin(0.5)])
    truth = np.concatenate([across * (5.0 - 4.0 * 30 / 180), across * (9.0 + 4.0 * 30 / 180)])
    mean, spread = np.mean(off, axis=0), np.std(off, axis=0)
    np.testing.assert_allclose(mean[:4], truth, atol=4.0 * 0.25 / math.sqrt(1500))
    # what is said to be known to is two of the standard deviations that the answers really have
    assert mean[4] == pytest.approx(2.0 * spread[:4].mean(), rel=0.1)


def test_one_end_held_takes_the_whole_move_to_the_other():
    rows = readings([12.0, 8.0, 4.0, 8.0], station=150.0)
    found = centre(rows, GAP, Held(length=200.0, end=End.FOOT), MM)
    (shift,) = found.shifts
    assert (shift.end, shift.distance) == (End.RIM, pytest.approx(4.0 * 200.0 / 150.0))  # similar triangles
    assert found.tilt == pytest.approx(math.atan(4.0 / 150.0))


@pytest.mark.parametrize(
    ("rows", "held", "words"),
    [
        (readings([1.0]), Held(), "1 reading; take at least two"),
        ([Reading(angle=a, size=1.0) for a in (0.0, 0.3, 2.9)], Held(), "lie on one side, none over 194 degrees"),
        (
            readings([1.0, 2.0], station=5.0) + readings([1.0, 2.0]),
            Held(length=9.0),
            "some readings say their station",
        ),
        (readings([1.0, 2.0], station=5.0) + readings([1.0, 2.0], station=9.0), Held(), "give --length"),
        (readings([1.0, 2.0], station=5.0), Held(end=End.RIM), "one end held needs the distance"),
        (readings([1.0, 2.0]), Held(length=9.0, end=End.RIM), "say their station"),
        (readings([1.0, 2.0], station=500.0), Held(length=90.0, end=End.FOOT), "500.0 mm is not between the centres"),
        (readings([1.0, 2.0], station=90.0), Held(length=90.0, end=End.RIM), "at the very centre that is held"),
        (
            readings([1.0, 2.0], station=5.0) + readings([1.0, 2.0, 3.0, 2.0], station=9.0),
            Held(length=9.0),
            "same index positions at every station",
        ),
        (
            [*readings([1.0]), Reading(angle=3.14159265, size=2.0, at_radius=9.0)],
            Held(),
            "how far from the axis the rest",
        ),
        (
            [Reading(angle=a, size=s, at_radius=901.0) for a, s in ((0.0, 900.0), (0.1, 1.0), (math.pi, 899.0))],
            Held(),
            "no circle round the axis; look for a slip",
        ),
    ],
)
def test_readings_that_cannot_tell_are_refused(rows, held, words):
    with pytest.raises(BlankError, match=words):
        centre(rows, GAP, held, MM)


def test_what_is_hard_to_tell_is_said():
    # the rim at 200 from stations at 50 and 60: hypot(150, 140) / 10
    near = readings([10.0, 8.0, 4.0, 6.0], station=50.0) + readings([10.0, 8.0, 4.0, 6.0], station=60.0)
    assert any("counts 20.5 times" in text for text in centre(near, GAP, Held(length=200.0), MM).warnings)
    narrow = [Reading(angle=math.radians(a), size=s) for a, s in ((0, 1.0), (180, 2.0), (8, 1.0), (188, 2.5))]
    assert any("close to one line" in text for text in centre(narrow, GAP, Held(), MM).warnings)
    rough = readings([10.0, 2.0, 9.0, 1.0, 10.0, 2.0, 1.0, 9.0])
    assert any("do not tell whether to move at all" in text for text in centre(rough, GAP, Held(), MM).warnings)


def test_the_published_face_readings_give_their_tilt():
    # check-values.md 2.5: radius 100 mm, 1 degree toward 70 degrees, total reading 3.491013 mm
    heights = [0.597, 1.582, 1.6402, 0.7377, -0.597, -1.582, -1.6402, -0.7377]
    for held, toward in ((End.RIM, 70.0), (End.FOOT, 250.0)):
        found = level(readings(heights, at_radius=100.0), length=150.0, held=held, units=MM)
        (shift,) = found.shifts
        assert shift.end is held.other
        assert math.degrees(found.tilt) == pytest.approx(1.0, abs=1e-4)
        assert math.degrees(shift.toward) == pytest.approx(toward, abs=1e-2)
        assert shift.distance == pytest.approx(150.0 * 3.491013 / 200.0, abs=1e-4)


def test_two_unequal_high_points_are_levelled_by_tilting_one_end():
    # common practice, no source; the new axis is looked at: on it both points are equally high
    points = np.array([[100.0, 0.0, 62.0], [-100.0, 0.0, 50.0]])
    rows = readings(points[:, 2], at_radius=100.0)
    for held in End:
        (shift,) = level(rows, length=150.0, held=held, units=MM).shifts
        ends = {End.FOOT: np.array([0.0, 0.0, 0.0]), End.RIM: np.array([0.0, 0.0, 150.0])}
        ends[shift.end] = ends[shift.end] + [*vector(shift), 0.0]
        heights = (points - ends[End.FOOT]) @ (ends[End.RIM] - ends[End.FOOT])
        assert heights[0] == pytest.approx(heights[1])


def test_a_plane_is_levelled_exactly_at_any_tilt_and_from_any_radii():
    random = np.random.default_rng(8)
    angles, radii = np.sort(random.uniform(0, 2 * math.pi, 9)), random.uniform(60.0, 130.0, 9)
    rows = [
        Reading(angle=a, size=40.0 + r * (0.3 * math.cos(a) - 0.5 * math.sin(a)), at_radius=r)
        for a, r in zip(angles, radii, strict=True)
    ]
    found = level(rows, length=200.0, held=End.FOOT, units=MM)
    np.testing.assert_allclose(vector(found.shifts[0]), [-60.0, 100.0], atol=1e-9)
    assert found.residual < 1e-9


def test_three_heights_take_the_sway_of_a_natural_edge_for_a_lean():
    sway = 6.0 * np.cos(2.0 * turns(3))
    found = level(readings(sway, at_radius=100.0), length=150.0, held=End.RIM, units=MM)
    assert math.degrees(found.tilt) == pytest.approx(math.degrees(math.atan(0.06)))
    assert any("a sway of the rim" in text and "100 %" in text for text in found.warnings)
    four = level(readings(6.0 * np.cos(2.0 * turns(4)), at_radius=100.0), length=150.0, held=End.RIM, units=MM)
    assert four.tilt == pytest.approx(0.0)
    assert four.residual == pytest.approx(6.0)
    assert four.warnings == ()
    assert math.isnan(four.shifts[0].toward)


def test_heights_without_a_radius_are_refused():
    with pytest.raises(BlankError, match="at_radius"):
        level(readings([1.0, 2.0]), length=9.0, held=End.RIM, units=MM)


def test_a_tilted_round_costs_no_more_than_the_square_of_its_tilt():
    # A true cylinder on an axis tilted by 2 degrees, cut square to the old axis; |q|^2 - (q.n)^2 = R^2 solved here
    tilt, off, radius = math.radians(2.0), 15.0, 90.0
    n, rows = np.array([math.sin(tilt), 0.0, math.cos(tilt)]), []
    for station in (20.0, 180.0):
        middle = np.array([0.0, off, 0.0]) + n / n[2] * station
        for angle in turns(8):
            u, m = np.array([math.cos(angle), math.sin(angle), 0.0]), np.array([0.0, 0.0, station]) - middle
            a, b = u @ u - (u @ n) ** 2, u @ m - (u @ n) * (m @ n)
            c = m @ m - (m @ n) ** 2 - radius**2
            rows.append(Reading(angle=angle, size=(-b + math.sqrt(b * b - a * c)) / a, station=station))
    found = centre(rows, RADIUS, Held(length=200.0), MM)
    size = np.hypot(off, 200.0 * math.tan(tilt))
    assert np.hypot(*(vector(found.shifts[0]) - [0.0, off])) < math.tan(tilt) ** 2 * size
    assert np.hypot(*(vector(found.shifts[1]) - [200.0 * math.tan(tilt), off])) < math.tan(tilt) ** 2 * size
