"""Moves of the centres against closed forms, and divider settings against crossings that trimesh finds."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st

from formmaker.engine.check import check_fit
from formmaker.engine.field import build_field
from formmaker.engine.moves import plan_move
from formmaker.engine.preparation import prepare_form
from formmaker.engine.remounting import on_skin, remounted
from formmaker.errors import MountingError
from formmaker.files.job_file import read_job
from formmaker.model.blank import BlankSource
from formmaker.model.job import BlankPlan
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.model.move import WhichCrossing
from formmaker.model.shapes import HalfLog, Round
from formmaker.pipeline.checking import placed
from formmaker.sources.blank import read_blank
from formmaker.sources.samples import SCAN_NAME, sample_job, write_sample_scan
from tests.engine.jobs import BLOCK, described_field, straight_form, upright
from tests.scans import scan_path

SLAB = Round(diameter=300.0, thickness=80.0)
FORM = straight_form(100.0, 60.0)

places = st.tuples(*[st.floats(-12.0, 12.0)] * 2)


def axis(foot, rim, **others):
    return Mounting(foot_centre=np.array(foot), rim_centre=np.array(rim), zero=(1.0, 0.3, 0.0), **others)


def moved(old, new, field=None):
    return plan_move(field or described_field(SLAB), prepare_form(FORM, BLOCK), old, new)


@given(places, places, places, places, st.floats(-5.0, 20.0))
def test_a_move_there_and_back_is_the_same_mounting(foot, rim, new_foot, new_rim, height):
    marks = (Mark(name="A", kind=MarkKind.WITNESS, at=(90.0, 20.0, 30.0)),)
    old = replace(
        axis((*foot, 0.3), (*rim, 120.0), foot_height=height, zero_name="A"), zero=marks[0].at - [*foot, 0.3]
    )
    there = remounted(old, marks, foot_centre=np.array([*new_foot, -1.1]), rim_centre=np.array([*new_rim, 131.0]))
    back = remounted(there, marks, foot_centre=old.foot_centre, rim_centre=old.rim_centre)
    assert back.foot_height == pytest.approx(old.foot_height, abs=1e-9)
    for name in ("rotation", "origin"):
        np.testing.assert_allclose(
            getattr(back.blank_from_form, name), getattr(old.blank_from_form, name), rtol=0.0, atol=1e-9
        )


def test_the_form_keeps_its_place_along_the_axis_whatever_the_skin_does():
    old = axis((0.0, 0.0, 0.0), (0.0, 0.0, 80.0), foot_height=6.0)
    new = remounted(old, (), foot_centre=np.array([5.0, 0.0, 2.5]), rim_centre=np.array([5.0, 0.0, 71.0]))
    np.testing.assert_allclose(new.blank_from_form.origin, [5.0, 0.0, 6.0], atol=1e-12)
    assert new.foot_height == pytest.approx(3.5)


@pytest.mark.parametrize(
    ("foot", "rim", "words"),
    [((1.0, 0.0, 0.0), (1.0, 0.0, 0.0), "one point"), ((0.0, 0.0, 80.0), (0.0, 0.0, 0.0), "change them over")],
)
def test_centres_that_make_no_axis_are_refused(foot, rim, words):
    with pytest.raises(MountingError, match=words):
        remounted(axis((0, 0, 0), (0, 0, 80)), (), foot_centre=np.array(foot), rim_centre=np.array(rim))


def test_new_centres_are_where_the_axis_leaves_the_skin():
    blank = read_blank(BlankPlan(source=BlankSource.SHAPE, shape=SLAB, uncertainty=0.5))
    given_far = axis((0.0, 0.0, -40.0), (0.0, 30.0, 200.0), foot_height=46.0)  # imagined end planes
    new = on_skin(given_far, blank)
    # the line passes z = 0 at y = 5: a sixth of the way from -40 to 200
    np.testing.assert_allclose(new.foot_centre, [0.0, 5.0, 0.0], atol=1e-9)
    np.testing.assert_array_equal(new.rim_centre, given_far.rim_centre)
    # and z = 80 at y = 15
    np.testing.assert_allclose(moved(upright(), new).ends[1].after, [0.0, 15.0, 80.0], atol=1e-9)
    np.testing.assert_allclose(new.blank_from_form.origin, given_far.blank_from_form.origin, atol=1e-9)
    near = axis((0.0, 0.0, 0.4), (0.0, 0.0, 79.6), foot_height=5.0)
    np.testing.assert_array_equal(on_skin(near, blank).foot_centre, near.foot_centre)  # within what is known
    with pytest.raises(MountingError, match="beside the wood"):
        on_skin(axis((400.0, 0.0, 0.0), (400.0, 0.0, 80.0)), blank)


def test_a_shift_side_by_side_runs_out_by_twice_itself_and_shows_in_the_gaps():
    old, new = upright(), upright((4.0, 0.0, 0.0))
    move = moved(old, new)
    assert move.tilt == 0.0
    for end in move.ends:
        assert end.shift == pytest.approx(4.0)
        assert end.toward == pytest.approx(0.0)
    for run_out in move.run_out:
        assert run_out.total == pytest.approx(8.0)
    # a round of 150 seen from 4 mm off its middle: 146, sqrt(150^2 - 4^2) twice, 154; the pointer touches at 180
    seen = [154.0 - 146.0, 154.0 - math.sqrt(150.0**2 - 16.0), 0.0, 154.0 - math.sqrt(150.0**2 - 16.0)]
    np.testing.assert_allclose([gap.gap for gap in move.ring.gaps], seen, atol=0.02)  # chords of the mesh
    assert move.ring.touching == pytest.approx(math.pi)
    assert move.ring.height == move.ring.from_foot == pytest.approx(30.0)


def test_a_tilt_about_the_foot_runs_out_by_the_height():
    tilt = math.radians(2.0)
    new = axis((0.0, 0.0, 0.0), (0.0, 80.0 * math.tan(tilt), 80.0))
    move = moved(axis((0.0, 0.0, 0.0), (0.0, 0.0, 80.0)), new)
    assert move.tilt == pytest.approx(tilt, abs=1e-12)
    foot, rim = move.ends
    assert math.isnan(foot.toward)
    assert rim.across == pytest.approx(80.0 * math.tan(tilt))
    # zero lies toward (1, 0.3): 90 degrees of the blank are 90 less atan 0.3 of the mounting
    assert rim.toward == pytest.approx(math.pi / 2 - math.atan(0.3))
    # in the plane square to the new axis, 60 mm up it, the old one passes 60 tan(2 deg) away
    assert [run.total for run in move.run_out] == pytest.approx([0.0, 2.0 * 60.0 * math.tan(tilt)])


def test_a_sloping_skin_is_followed():
    # half log of radius 100 along x: on top the skin falls by 100 - sqrt(100^2 - y^2)
    field = described_field(HalfLog(radius=100.0, length=300.0))
    move = moved(upright(), upright((0.0, 30.0, 0.0)), field)
    rim = move.ends[1]
    fall = 100.0 - math.sqrt(100.0**2 - 30.0**2)
    assert rim.across == pytest.approx(30.0)
    assert rim.rise == pytest.approx(-fall, abs=0.02)
    assert rim.shift == pytest.approx(math.hypot(30.0, fall), abs=0.02)


def test_marks_tell_the_way():
    marks = tuple(
        Mark(name=name, kind=MarkKind.WITNESS, at=at)
        for name, at in (("east", (100.0, 0.0, 0.0)), ("north", (0.0, 100.0, 0.0)))
    )
    field = described_field(SLAB)
    field = replace(field, blank=replace(field.blank, marks=marks))
    for step, name, turn in (
        ((5.0, 0.4), "east", math.atan2(0.4, 5.0)),
        ((-5.0, 0.0), "east", math.pi),
        ((-0.3, -5.0), "north", math.pi - math.atan2(0.3, 5.0)),
    ):
        bearing = moved(upright(), upright((*step, 0.0)), field).ends[0].bearing
        assert bearing.name == name
        assert abs(bearing.turn) == pytest.approx(turn)


def crossings(mesh, first, second):
    """Where two balls (centre, radius) meet on a skin, (k, 3), by trimesh.

    The skin is cut by the plane of equal powers; along each segment of the cut one ball is a quadratic equation.
    """
    (a, ra), (b, rb) = first, second
    normal = b - a
    share = 0.5 + (ra**2 - rb**2) / (2.0 * float(normal @ normal))
    segments = trimesh.intersections.mesh_plane(mesh, normal / np.linalg.norm(normal), a + share * normal)
    found = []
    for start, stop in segments:
        step, off = stop - start, start - a
        square, half, rest = float(step @ step), float(step @ off), float(off @ off) - ra**2
        root = half * half - square * rest
        if square > 0.0 and root >= 0.0:
            shares = [(-half + sign * math.sqrt(root)) / square for sign in (1.0, -1.0)]
            found += [start + t * step for t in shares if -1e-9 <= t <= 1.0 + 1e-9]
    return np.array(found)


def require_crossing(field, end, marks):
    """The settings cross at the new centre, and the words tell that crossing from all others."""
    skin = trimesh.Trimesh(field.blank.mesh.vertices, field.blank.mesh.faces, process=False)
    places = {mark.name: mark.at for mark in marks}
    pair = end.dividers
    found = crossings(skin, *((places[setting.mark], setting.radius) for setting in pair.settings))
    away = np.linalg.norm(found - end.after, axis=1)
    assert away.min() < 0.1  # mm, as asked
    others = np.linalg.norm(found[away > 0.2] - end.before, axis=1)
    mine = np.linalg.norm(end.after - end.before)
    if pair.crossing is WhichCrossing.NEARER:
        assert mine < others.min()
    elif pair.crossing is WhichCrossing.FARTHER:
        assert mine > others.max()
    elif pair.crossing is WhichCrossing.ONLY:
        assert not len(others)
    return away.min()


def sample(tmp_path, name, marks=()):
    """Field, prepared form and job of a sample, its marks and more: in the blank's own millimetres."""
    write_sample_scan(tmp_path / SCAN_NAME)
    path = tmp_path / "job.toml"
    path.write_text(sample_job(name))
    job = read_job(path)
    blank = read_blank(job.plan)
    blank = replace(blank, marks=(*blank.marks, *marks))
    return build_field(blank, cells=64), prepare_form(job.form, job.hold), placed(job, blank)


def skin_marks(field, mounting, end, random, count=3):
    """Marks pricked at random round one end, 30 to 110 mm from its centre."""
    mesh = trimesh.Trimesh(field.blank.mesh.vertices, field.blank.mesh.faces, process=False)
    centre = mounting.foot_centre if end == "foot" else mounting.rim_centre
    spots = mesh.triangles_center[random.permutation(len(mesh.faces))]
    near = spots[(np.linalg.norm(spots - centre, axis=1) > 30.0) & (np.linalg.norm(spots - centre, axis=1) < 110.0)]
    return tuple(Mark(name=f"{end}{k}", kind=MarkKind.WITNESS, at=near[k]) for k in range(count))


@pytest.mark.parametrize("name", ["hedge-elm burr", "plum half log", "sycamore plank round"])
def test_divider_settings_cross_at_the_new_centres_of_the_samples(tmp_path, name):
    field, prepared, job = sample(tmp_path, name)
    random = np.random.default_rng(5)
    tried = 0
    for _ in range(4):
        marks = tuple(m for end in ("foot", "rim") for m in skin_marks(field, job.mounting, end, random))
        marked = replace(field, blank=replace(field.blank, marks=(*field.blank.marks, *marks)))
        old = job.mounting
        ends = [np.add(centre, [*random.uniform(-9, 9, 2), 0]) for centre in (old.foot_centre, old.rim_centre)]
        new = on_skin(remounted(old, marked.blank.marks, foot_centre=ends[0], rim_centre=ends[1]), field.blank)
        for end in plan_move(marked, prepared, old, new).ends:
            if end.dividers is not None:
                require_crossing(marked, end, marked.blank.marks)
                tried += 1
    assert tried >= 6


def test_divider_settings_cross_at_the_new_centres_of_the_stump():
    plan = BlankPlan(source=BlankSource.SCAN, path=scan_path("stump_blank.stl"), scan_unit="mm")
    blank = read_blank(plan)
    field = build_field(blank, cells=64)
    middle = blank.mesh.bounds.mean(axis=0)
    low, high = blank.mesh.bounds[:, 2]
    old = on_skin(
        Mounting(foot_centre=[*middle[:2], low], rim_centre=[*middle[:2], high], zero=(1.0, 0.0, 0.0)), blank
    )
    random, tried = np.random.default_rng(2), 0
    for _ in range(3):
        marks = tuple(m for end in ("foot", "rim") for m in skin_marks(field, old, end, random))
        marked = replace(field, blank=replace(blank, marks=marks))
        foot, rim = (np.add(centre, [*random.uniform(-9, 9, 2), 0]) for centre in (old.foot_centre, old.rim_centre))
        new = on_skin(remounted(old, marks, foot_centre=foot, rim_centre=rim), blank)
        for end in plan_move(marked, prepare_form(FORM, BLOCK), old, new).ends:
            if end.dividers is not None:
                require_crossing(marked, end, marks)
                tried += 1
    assert tried >= 3


def test_marks_that_serve_badly_are_not_used():
    def ends_with(*at):
        marks = tuple(Mark(name=str(k), kind=MarkKind.WITNESS, at=place) for k, place in enumerate(at))
        field = described_field(SLAB)
        return moved(
            upright(), upright((5.0, 0.0, 0.0)), replace(field, blank=replace(field.blank, marks=marks))
        ).ends

    foot, rim = ends_with((80.0, 0.0, 0.0), (0.0, 80.0, 0.0))
    assert foot.usable == ("0", "1")
    assert rim.usable == ()  # both lie at the other end
    assert rim.dividers is None
    # arcs of marks in line with the new centre touch and do not cross
    assert ends_with((80.0, 0.0, 0.0), (-80.0, 0.0, 0.0))[0].dividers is None
    # three marks: the two at a right angle are taken
    best = ends_with((80.0, 5.0, 0.0), (-80.0, 0.0, 0.0), (5.0, 80.0, 0.0))[0].dividers
    assert "2" in {setting.mark for setting in best.settings}
    # a mark under the point of the tool
    assert ends_with((6.0, 0.0, 0.0), (0.0, 80.0, 0.0))[0].usable == ("1",)


@pytest.mark.parametrize(
    ("first", "second", "crossing"),
    [
        ((30.0, 80.0, 0.0), (110.0, 10.0, 0.0), WhichCrossing.NEARER),
        # the new centre (30, 0) and its mirror in a line through the old one (0, 0) lie as far from it
        ((10.0, 40.0, 0.0), (-10.0, -40.0, 0.0), WhichCrossing.SIDE),
        # its mirror in the line x = 20 is (10, 0)
        ((20.0, 40.0, 0.0), (20.0, -40.0, 0.0), WhichCrossing.FARTHER),
    ],
)
def test_the_crossing_is_told_by_words_that_tell_it(first, second, crossing):
    marks = tuple(Mark(name=n, kind=MarkKind.WITNESS, at=at) for n, at in (("A", first), ("B", second)))
    field = described_field(SLAB)
    field = replace(field, blank=replace(field.blank, marks=marks))
    end = moved(upright(), upright((30.0, 0.0, 0.0)), field).ends[0]
    require_crossing(field, end, marks)
    assert end.dividers.crossing is crossing
    # the mirror image of the new centre in the line of the marks, on a flat end
    a, b = np.array(first), np.array(second)
    along = (b - a) / np.linalg.norm(b - a)
    foot = a + along * ((end.after - a) @ along)
    side = end.after - foot
    assert end.dividers.side == pytest.approx(math.atan2(side[1], side[0]) % (2 * math.pi), abs=1e-6)


def test_clearance_at_keep_marks_is_what_the_check_finds_on_either_mounting(tmp_path):
    field, prepared, job = sample(tmp_path, "hedge-elm burr")
    new = on_skin(
        remounted(
            job.mounting,
            field.blank.marks,
            foot_centre=np.add(job.mounting.foot_centre, [6, 2, 0]),
            rim_centre=np.add(job.mounting.rim_centre, [1, -4, 0]),
        ),
        field.blank,
    )
    (keep,) = plan_move(field, prepared, job.mounting, new).keep
    for mounting, clearance in ((job.mounting, keep.before), (new, keep.after)):
        verdict = check_fit(replace(job, mounting=mounting), prepared, field)
        (amount,) = (finding.amount for finding in verdict.findings if "mark wing" in finding.text)
        assert clearance == pytest.approx(25.0 - amount, abs=1e-9)
