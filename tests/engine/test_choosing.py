"""Choices and wishes: each comes out, none is better than another in everything, and what is wished is had."""

import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh

from formmaker.engine.choosing import choices_of
from formmaker.engine.clashing import clash_of
from formmaker.engine.field import Field, build_field
from formmaker.engine.fullest import seek_fullest
from formmaker.engine.ground import Ground, ground_of
from formmaker.engine.preparation import prepare_form
from formmaker.engine.rim_wishes import level_of
from formmaker.engine.seeking import Sought, seek
from formmaker.engine.sketching import form_from_profile
from formmaker.files.profile_file import profiles_folder, read_profile
from formmaker.geometry.meshes import Mesh, mass_properties
from formmaker.geometry.nearest import signed_distance
from formmaker.model.form import Edge
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import Job
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import Board, HalfLog
from formmaker.model.verdict import Answer, RimKind
from formmaker.model.wish import HeldEnd, Largest, Wish
from tests.engine.jobs import described_field, job_of, lump, missing_wood, plain_blank, straight_form, upright
from tests.scans import closed_scan

GAP = 0.1
LOG = HalfLog(radius=100.0, length=300.0)


@pytest.fixture(scope="module")
def log() -> Field:
    return described_field(LOG, uncertainty=0.2)


@pytest.fixture(scope="module")
def lumpy() -> Field:
    return build_field(plain_blank(lump(np.random.default_rng(5)), uncertainty=0.2), cells=96)


def natural_job(mounting: Mounting | None = None) -> Job:
    return job_of(straight_form(50.0, 60.0, wall=6.0, lowest_rim=30.0), mounting or upright(foot=(0.0, 0.0, 4.0)))


def found_with(field: Field, wish: Wish, *, job: Job | None = None, gap: float = GAP) -> tuple[Ground, Sought]:
    ground = ground_of(job or natural_job(), wish, field)
    boxes = []

    def watch(progress: object) -> bool:
        boxes.append(progress)
        return len(boxes) > 25

    return ground, seek(ground, gap=gap, rng=np.random.default_rng(3), watch=watch)


def test_every_choice_comes_out_and_none_is_better_in_everything(lumpy: Field) -> None:
    ground, sought = found_with(lumpy, Wish(tilt_limit=math.radians(30.0)))
    choices = choices_of(ground, sought, np.random.default_rng(1))
    assert 2 <= len(choices) <= 6
    assert choices[0].why == "largest"
    for claim, figures in (
        ("least move", [choice.move for choice in choices]),
        ("runs quietest", [choice.unbalance or 0.0 for choice in choices]),
    ):
        claimed = [figure for choice, figure in zip(choices, figures, strict=True) if claim in choice.why]
        assert all(figure <= min(figures) + 0.5 for figure in claimed)
    for choice in choices:
        assert choice.verdict.answer is Answer.FITS
        assert missing_wood(lumpy.blank.mesh, prepare_form(choice.form, choice.hold), choice.mounting) == 0.0
    # the merits of the table itself, larger is better
    merits = [(c.verdict.diameter, -level_of(c.verdict.rim.height), -(c.unbalance or 0.0), -c.move) for c in choices]
    for one in merits:
        assert not any(all(a > b + 1.0 for a, b in zip(other, one, strict=True)) for other in merits)


def test_the_present_mounting_is_told_as_the_largest_where_it_is(log: Field) -> None:
    # any place along the middle of a half log holds the same upright form
    job = natural_job(upright(foot=(30.0, 0.0, 4.0)))
    ground, sought = found_with(log, Wish(tilt_limit=math.radians(5.0)), job=job)
    assert sought.best is not None
    settled = replace(ground.job, form=sought.best.bowl.form, mounting=sought.best.mounting)
    ground, sought = found_with(log, Wish(tilt_limit=math.radians(5.0)), job=settled)
    choices = choices_of(ground, sought, np.random.default_rng(1))
    assert choices[0].why.startswith("largest")
    assert choices[0].bound == sought.bound


def test_a_level_rim_is_had_at_some_cost(lumpy: Field) -> None:
    _, free = found_with(lumpy, Wish(tilt_limit=math.radians(25.0)))
    _, level = found_with(lumpy, Wish(tilt_limit=math.radians(25.0), level=3.0))
    assert free.best is not None
    assert level.best is not None
    height = np.sort([high.height for high in level.best.verdict.rim.highs])[::-1]
    lows = np.sort([low.height for low in level.best.verdict.rim.lows])
    assert len(height) < 2 or height[0] - height[1] <= 3.0
    assert len(lows) < 2 or lows[1] - lows[0] <= 3.0
    assert level.best.diameter >= 0.8 * free.best.diameter
    assert level.bound >= level.best.diameter


def test_no_piece_of_the_rim_ends_at_a_sawn_face(log: Field) -> None:
    # near the end of the log the rim runs out through the sawn end
    job = natural_job(upright(foot=(100.0, 0.0, 4.0)))
    wish = Wish(tilt_limit=math.radians(15.0), no_sawn_rim=True)
    _, sought = found_with(log, wish, job=job)
    assert sought.best is not None
    assert RimKind.SAWN not in sought.best.verdict.rim.kinds


def test_a_held_centre_stays_and_limits_are_kept(log: Field) -> None:
    job = natural_job(upright(foot=(20.0, 5.0, 0.0), foot_height=5.0))
    wish = Wish(tilt_limit=math.radians(12.0), hold_end=HeldEnd.TAILSTOCK)  # the rim faces the headstock
    _, sought = found_with(log, wish, job=job)
    assert sought.best is not None
    mounting = sought.best.mounting
    assert np.allclose(mounting.foot_centre, job.mounting.foot_centre, atol=1e-6)
    axis = mounting.axis / np.linalg.norm(mounting.axis)
    assert math.acos(min(axis[2], 1.0)) <= math.radians(12.0) + 1e-9


def test_a_centre_moves_no_farther_than_the_limit(log: Field) -> None:
    job = natural_job(upright(foot=(40.0, 20.0, 0.0), foot_height=5.0))
    _, sought = found_with(log, Wish(tilt_limit=math.radians(20.0), shift_limit=6.0), job=job)
    assert sought.best is not None
    mounting = sought.best.mounting
    axis = mounting.axis / np.linalg.norm(mounting.axis)
    for centre in (job.mounting.foot_centre, job.mounting.rim_centre):
        assert np.linalg.norm(np.cross(centre - mounting.foot_centre, axis)) <= 6.0 + 1e-6


def test_a_flaw_is_stayed_clear_of_and_a_mark_kept(log: Field) -> None:
    flaw = Mark(name="crack", kind=MarkKind.FLAW, at=np.array([0.0, 0.0, 30.0]), radius=10.0)
    keep = Mark(name="wing", kind=MarkKind.KEEP, at=np.array([70.0, 60.0, 80.0]), radius=12.0)
    marked = replace(log, blank=replace(log.blank, marks=(flaw, keep)))
    job = natural_job(upright(foot=(70.0, 0.0, 4.0)))
    _, sought = found_with(marked, Wish(tilt_limit=math.radians(15.0)), job=job)
    assert sought.best is not None
    assert sought.best.verdict.answer is Answer.FITS  # the check knows both marks


def test_after_any_setting_error_the_bowl_still_comes_out(lumpy: Field) -> None:
    error = 1.5
    _, sought = found_with(lumpy, Wish(tilt_limit=math.radians(20.0), setting_error=error))
    best, rng = sought.best, np.random.default_rng(9)
    assert best is not None
    needed = prepare_form(best.bowl.form, best.bowl.hold).needed
    segments = needed.segments
    ends = np.vstack([segments[:, :2], segments[:, 2:], 0.5 * (segments[:, :2] + segments[:, 2:])])
    theta = 2.0 * np.pi * np.arange(48) / 48
    body = np.concatenate(
        [np.column_stack([ends[:, 0] * np.cos(t), ends[:, 0] * np.sin(t), ends[:, 1]]) for t in theta]
    )
    worst = np.inf
    for _ in range(1000):
        steps = rng.normal(size=(2, 3))
        steps *= error * rng.uniform(0.5, 1.0, (2, 1)) ** (1.0 / 3.0) / np.linalg.norm(steps, axis=1, keepdims=True)
        moved = replace(
            best.mounting,
            foot_centre=best.mounting.foot_centre + steps[0],
            rim_centre=best.mounting.rim_centre + steps[1],
        )
        places = moved.blank_from_form.carry(body[rng.integers(0, len(body), 300)])
        worst = min(worst, float(signed_distance(lumpy.skin.tree, places).distance.min()))
    assert worst >= lumpy.blank.uncertainty


@pytest.mark.slow
def test_the_fullest_cylinder_in_a_cone_is_a_third_of_it_high() -> None:
    cone = trimesh.creation.cone(radius=150.0, height=180.0, sections=128)
    field = build_field(plain_blank(Mesh(vertices=cone.vertices, faces=cone.faces)), cells=96)
    form = straight_form(60.0, 60.0, wall=6.0)  # as drawn half as high as wide; the fullest is 0.3
    job = job_of(form, upright())
    count = []

    def watch(progress: object) -> bool:
        count.append(progress)
        return len(count) > 150

    wish = Wish(tilt_limit=math.radians(5.0), largest=Largest.VOLUME)
    fullest = seek_fullest(job, wish, field, gap=0.1, rng=np.random.default_rng(1), watch=watch)
    best = fullest.sought.best
    assert best is not None
    # r = 2 R / 3 and h = H / 3 give pi (2 R / 3)^2 H / 3, 4 / 9 of the cone
    largest = math.pi * 100.0**2 * 60.0
    holds = math.pi * (best.diameter / 2.0) ** 2 * best.bowl.form.height
    assert holds <= largest * 1.001
    assert holds * (1.0 + fullest.sought.gap) ** 3 >= largest * 0.999
    assert holds >= 0.8 * largest


def test_wishes_that_contradict_each_other_are_named() -> None:
    field = described_field(Board(length=300.0, width=200.0, thickness=60.0))
    job = job_of(straight_form(50.0, 40.0, wall=6.0), upright(foot=(0.0, 0.0, 5.0)))
    wish = Wish(least_diameter=120.0, most_diameter=180.0, tilt_limit=math.radians(10.0), level=5.0)
    # 120 mm across is 48 mm high: it goes in flat; but not beside a centre held 20 mm from the edge
    held = replace(job, mounting=upright(foot=(0.0, 80.0, 0.0)))
    wish = replace(wish, shift_limit=5.0)
    clash = clash_of(held, wish, field, rng=np.random.default_rng(1))
    assert clash.reliefs[0].wish == "shift_limit"
    assert set(clash.wishes) <= {"least_diameter", "shift_limit"}


def test_angles_are_still_counted_from_the_mark_they_were_counted_from(log: Field) -> None:
    mark = Mark(name="A", kind=MarkKind.WITNESS, at=np.array([60.0, 75.0, 60.0]))
    marked = replace(log, blank=replace(log.blank, marks=(mark,)))
    old = upright(foot=(20.0, 0.0, 4.0))
    job = natural_job(replace(old, zero=mark.at - old.foot_centre, zero_name="A"))
    _, sought = found_with(marked, Wish(tilt_limit=math.radians(15.0)), job=job)
    assert sought.best is not None
    mounting = sought.best.mounting
    assert mounting.zero_name == "A"
    x, y, _ = mounting.blank_from_form.inverse.carry(mark.at)
    assert x > 0.0
    assert abs(math.atan2(y, x)) < 1e-9


def test_a_setting_error_in_flat_wood_costs_size_not_the_answer() -> None:
    # centres near each other: an error of 1.5 mm at each turns the axis by two degrees, some 5 mm at the rim
    mesh = closed_scan("stump_blank.stl")
    low, high = np.array(mesh.bounds)
    field = build_field(plain_blank(mesh, uncertainty=1.0))
    centre, height = mass_properties(mesh).centre, 0.7 * float(high[2] - low[2])
    form = form_from_profile(
        read_profile(profiles_folder() / "open-bowl.toml"),
        diameter=0.66 * float((high - low)[:2].min()),
        height=height,
        wall=np.array([[0.0, 8.0]]),
        floor=10.0,
        edge=Edge.NATURAL,
        lowest_rim=0.5 * height,
    )
    hold = Hold(kind=HoldKind.GLUE_BLOCK, diameter=2.0 * form.foot_radius, depth=25.0)
    mounting = upright(foot=(centre[0], centre[1], low[2]), foot_height=12.0)
    job = job_of(form, mounting, hold=hold, skin=2.0)
    sizes = []
    for error in (0.0, 1.5):
        _, sought = found_with(field, Wish(tilt_limit=math.radians(20.0), setting_error=error), job=job)
        assert sought.best is not None
        sizes.append(sought.best.diameter)
    assert 0.8 * sizes[0] < sizes[1] < sizes[0]
