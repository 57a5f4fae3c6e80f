"""What each form would give: closed forms, wood that the mesh boolean confirms, no size that does not come out."""

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold

from formmaker.engine.beginning import propose
from formmaker.engine.field import Field, build_field
from formmaker.engine.looks import look_fully, setting_of
from formmaker.engine.patterns import is_same_shape, own_profile, pattern_of, proportion_of
from formmaker.engine.preparation import prepare_form
from formmaker.engine.room import STRETCH
from formmaker.engine.suit import suiting_of
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.geometry.meshes import Mesh
from formmaker.model.blank import BlankSource
from formmaker.model.form import Edge
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan, Job
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.profile import Profile
from formmaker.model.shapes import Board, HalfLog
from formmaker.model.suit import NearMiss, Offer, Suiting
from formmaker.model.verdict import Answer, Reason
from formmaker.sources.blank import read_blank
from formmaker.units import MM_PER_INCH, Units
from tests.engine.jobs import described_field, job_of, lump, missing_wood, plain_blank, straight_form, upright
from tests.scans import scan_path

FOOT = 6.0  # mm of foot height in all of these
NEED = 0.06  # mm of depth that a fit asks for where blank and skin ask for none: chord 0.01, slack 0.05
FLATS = 0.005  # mm that round bark of flats may lack of its radius: 0.004 as described, with rounding
SMALL = Hold(kind=HoldKind.GLUE_BLOCK, diameter=20.0, depth=20.0)


def profile(name: str) -> Profile:
    return read_profile(find_profile(name, Path()))


def own_suit(job: Job, field: Field) -> Suiting:
    return suiting_of(own_profile(job.form), job, field, is_own=True)


def size_of(found: Offer | NearMiss) -> tuple[float, float]:
    assert isinstance(found, Offer)
    assert found.verdict.answer is Answer.FITS
    return round(found.verdict.diameter, 6), round(found.form.height, 6)


@cache
def half_log(radius: float = 100.0) -> Field:
    return described_field(HalfLog(radius=radius, length=400.0), cells=64)


def fits_half_log(diameter: float, height: float, *, off: float = 0.0, radius: float = 100.0) -> bool:
    """Closed form: an upright form of radius r and height h about an axis square to the split face through the pith
    comes out of a half log of radius R where r^2 + (h + foot height)^2 <= R^2, all but the need; ``off`` moves it.
    """
    return bool(np.hypot(diameter / 2.0, height + FOOT) <= radius - FLATS / 2.0 - NEED + off)


# ---- closed forms ----


@pytest.mark.parametrize("proportion", [0.35, 0.55, 0.83])
def test_the_widest_upright_form_in_a_half_log_is_the_closed_form_s(proportion: float) -> None:
    form = straight_form(60.0, 120.0 * proportion)
    found = own_suit(job_of(form, upright(foot_height=FOOT), hold=SMALL), half_log()).widest
    heights = {d: np.floor(proportion * d + 1e-9) for d in range(50, 200)}
    sure, possible = (
        max(d for d, h in heights.items() if fits_half_log(d, h, off=off)) for off in (-0.02, FLATS + 0.02)
    )
    assert sure <= size_of(found)[0] <= possible
    assert size_of(found)[1] == heights[round(size_of(found)[0])]


def test_the_fullest_upright_form_in_a_half_log_is_the_best_of_all_whole_sizes() -> None:
    form = straight_form(60.0, 40.0)  # as drawn too flat: the best proportion is another
    found = own_suit(job_of(form, upright(foot_height=FOOT), hold=SMALL), half_log()).fullest
    diameter, height = size_of(found)
    sizes = [(d, h) for d in range(50, 200) for h in range(10, 100) if 1 / STRETCH <= (h / d) / (40 / 120) <= STRETCH]
    best = max(d * d * h for d, h in sizes if fits_half_log(d, h))
    assert diameter * diameter * height >= 0.995 * best
    assert isinstance(found, Offer)
    assert found.whole == pytest.approx(np.pi / 4.0 * diameter * diameter * height, rel=0.01)
    # no step wider or higher comes out
    assert not fits_half_log(diameter + 1.0, height, off=-0.02)
    assert not fits_half_log(diameter, height + 1.0, off=-0.02)


def ball_field(radius: float) -> Field:
    ball = trimesh.creation.icosphere(subdivisions=5)
    return build_field(plain_blank(Mesh(vertices=ball.vertices * radius, faces=ball.faces)), cells=64)


def test_the_fullest_cylinder_in_a_ball_is_as_high_as_twice_the_radius_over_root_three() -> None:
    # the classical problem: h = 2 R / sqrt 3, r = R sqrt(2/3), V = 4 pi R^3 / (3 sqrt 3); the foot stands where it
    # belongs for that, so that a higher form is narrower at the rim and a lower one no wider at the foot
    radius = 80.0
    level = -radius / np.sqrt(3.0)
    mounting = upright((0.0, 0.0, -radius), foot_height=radius + level)
    found = own_suit(job_of(straight_form(60.0, 70.0), mounting, hold=SMALL), ball_field(radius)).fullest
    diameter, height = size_of(found)
    volume = 4.0 * np.pi * radius**3 / (3.0 * np.sqrt(3.0))
    assert np.pi / 4.0 * diameter**2 * height <= volume
    # a whole mm of diameter is 1.5 %, one of height 1.1 %
    assert np.pi / 4.0 * diameter**2 * height >= 0.98 * volume
    assert height == pytest.approx(2.0 * radius / np.sqrt(3.0), abs=1.5)


def test_in_a_board_the_height_is_what_the_thickness_leaves() -> None:
    field = described_field(Board(length=240.0, width=200.0, thickness=60.0), cells=64)
    found = own_suit(job_of(straight_form(60.0, 48.0), upright(foot_height=5.0), hold=SMALL), field)
    # 60 - 5 leaves a rim of 54 in whole mm; 0.4 of 137 is below 55 and of 138 is not; half of 200 is the radius
    assert size_of(found.widest) == (137.0, 54.0)
    assert size_of(found.fullest) == (199.0, 54.0)


def test_sizes_are_whole_sixteenths_where_the_turner_works_in_inches() -> None:
    job = job_of(straight_form(60.0, 48.0), upright(foot_height=FOOT), hold=SMALL, units=Units.INCH)
    found = own_suit(job, half_log())
    step = MM_PER_INCH / 16.0
    for offer in (found.widest, found.fullest):
        for size in size_of(offer):
            assert size / step == pytest.approx(round(size / step), abs=1e-4)


# ---- sizes come out or not in no order ----


def block_with_hole(half: float) -> Field:
    """A block with a hollow ball of radius 10 in it, 60 from the axis and 50 above the foot."""
    hole = Manifold.sphere(10.0, 64).translate([60.0, 0.0, 50.0 + FOOT])
    block = Manifold.cube([2.0 * half, 2.0 * half, 90.0], True).translate([0.0, 0.0, 45.0]) - hole
    mesh = block.to_mesh64()
    return build_field(plain_blank(Mesh(vertices=mesh.vert_properties[:, :3], faces=mesh.tri_verts)), cells=96)


def test_a_hole_that_a_larger_bowl_holds_in_its_hollow_does_not_stop_the_search_below_it() -> None:
    # upright walls of 8: from radius 50 to 78 the hole is in the wall, beyond it in the hollow; the block allows 94
    job = job_of(straight_form(60.0, 84.0), upright(foot_height=FOOT), hold=SMALL)
    form = straight_form(60.0, 45.0)
    wide = own_suit(replace(job, form=form), block_with_hole(95.0)).widest
    assert size_of(wide)[0] == 189.0
    # a block that allows 70 sends it back to where the whole bowl stands clear of the hole: 60 - 10 less the need
    job = replace(job, form=straight_form(60.0, 84.0))
    narrow = own_suit(job, block_with_hole(71.0)).widest
    assert size_of(narrow)[0] == 99.0


def test_a_proportion_far_from_the_form_s_own_is_found_where_it_holds_more() -> None:
    # in its own proportion the rim comes up under the hole: hypot(60 - 51, 50 - 45) is more than 10, hypot(60 - 51.5,
    # 50 - 46) is less. Below the hole the whole block of 142 is free, which is more wood: the inside of the rim may
    # come up to where hypot(62.5 - 60, 50 - 40) is more than 10 and hypot(62.5 - 60, 50 - 41) is less
    job = job_of(straight_form(60.0, 54.0), upright(foot_height=FOOT), hold=SMALL)
    found = own_suit(job, block_with_hole(71.0))
    assert size_of(found.widest) == (102.0, 45.0)
    assert size_of(found.fullest) == (141.0, 40.0)


def test_a_mark_to_keep_holds_the_size_to_where_the_rim_passes_it() -> None:
    # at angle 0, along the log, an upright wall of radius r ends at [r, 0, R]: 5 within 50 is 55 at most
    mark = Mark(name="wing", kind=MarkKind.KEEP, at=np.array([50.0, 0.0, 100.0]), radius=5.0)
    job = job_of(straight_form(50.0, 95.0, lowest_rim=45.0), upright(foot_height=FOOT), hold=SMALL)
    free = size_of(own_suit(job, half_log()).widest)[0]
    marked = replace(half_log(), blank=replace(half_log().blank, marks=(mark,)))
    kept = size_of(own_suit(job, marked).widest)[0]
    assert free > 120.0
    assert kept == 109.0


def test_a_flaw_sends_the_size_back_to_where_the_whole_wall_stands_clear_of_it() -> None:
    flaw = Mark(name="crack", kind=MarkKind.FLAW, at=np.array([60.0, 0.0, 50.0 + FOOT]), radius=8.0)
    job = job_of(straight_form(60.0, 54.0), upright(foot_height=FOOT), hold=SMALL)
    marked = replace(half_log(), blank=replace(half_log().blank, marks=(flaw,)))
    diameter, _ = size_of(own_suit(job, marked).widest)
    free, _ = size_of(own_suit(job, half_log()).widest)
    assert 120.0 < free < 152.0  # wider than the flaw, not so wide that its hollow would hold it
    clear = [
        d for d in range(50, 120) if np.hypot(60.0 - d / 2.0, max(0.0, 50.0 - np.floor(0.45 * d + 1e-9))) > 8.0 + NEED
    ]
    assert diameter == max(clear)


def test_a_form_too_flat_for_the_mark_in_its_own_proportion_is_found_in_a_steeper_one() -> None:
    # the rim reaches the mark, 94 above the foot, only where the form is as high, and with a radius of 55 at most
    mark = Mark(name="wing", kind=MarkKind.KEEP, at=np.array([50.0, 0.0, 100.0]), radius=5.0)
    marked = replace(half_log(), blank=replace(half_log().blank, marks=(mark,)))
    form = straight_form(50.0, 65.0, lowest_rim=30.0)
    found = own_suit(job_of(form, upright(foot_height=FOOT), hold=SMALL), marked)
    assert isinstance(found.widest, NearMiss)
    assert found.widest.verdict is not None
    assert Reason.KEEP_LOST in {finding.reason for finding in found.widest.verdict.findings}
    diameter, height = size_of(found.fullest)
    assert diameter == 109.0
    assert height >= 89.0  # the rim within 5 of the mark, or above it: the bark ends the wall at 94


def test_what_has_no_size_says_what_came_nearest_and_why() -> None:
    job = job_of(straight_form(60.0, 48.0), upright(foot_height=0.0), hold=SMALL)  # the foot lies on the skin itself
    found = own_suit(job, half_log())
    for miss in (found.widest, found.fullest):
        assert isinstance(miss, NearMiss)
        assert miss.verdict is not None
        assert miss.verdict.answer is not Answer.FITS
        assert miss.verdict.findings[0].reason in (Reason.WOOD_MISSING, Reason.WOOD_THIN)
        assert miss.all_ruled_out


def test_walls_too_thick_for_every_size_are_told_as_such() -> None:
    job = job_of(replace(straight_form(60.0, 48.0), floor=47.0), upright(foot_height=40.0), hold=SMALL)
    found = own_suit(job, half_log()).widest
    assert isinstance(found, NearMiss)
    assert "floor 47.0 mm" in found.problem
    assert not found.all_ruled_out  # a form that cannot be drawn says nothing of the sizes below


# ---- what is kept ----


def test_walls_floor_and_edge_stay_and_the_lowest_rim_keeps_its_share() -> None:
    job = job_of(straight_form(60.0, 60.0, wall=7.0, lowest_rim=30.0), upright(foot_height=FOOT), hold=SMALL)
    found = suiting_of(profile("open-bowl"), job, half_log()).widest
    assert isinstance(found, Offer)
    assert found.form.wall.tolist() == [[0.0, 7.0]]
    assert (found.form.floor, found.form.edge) == (10.0, Edge.NATURAL)
    assert found.form.lowest_rim == np.floor(0.5 * found.form.height)
    assert found.verdict.rim.height.min() >= found.form.lowest_rim
    assert found.hold == SMALL


@pytest.mark.parametrize("name", ["open-bowl", "round-bottomed-bowl"])
def test_a_holding_is_narrowed_where_the_foot_leaves_too_little_wood_round_it(name: str) -> None:
    hold = Hold(kind=HoldKind.RECESS, diameter=104.0, depth=4.0)  # 8 of wood round it, in a foot of 120
    job = job_of(straight_form(60.0, 48.0), upright(foot_height=FOOT), hold=hold)
    found = suiting_of(profile(name), job, half_log()).widest
    assert isinstance(found, Offer)
    assert found.hold.depth == 4.0
    ring = min(8.0, found.form.foot_radius / 3.0)
    assert ring <= found.form.foot_radius - found.hold.radius < ring + 0.5


def test_a_profile_in_another_size_is_the_same_shape_and_another_profile_is_not() -> None:
    bowl = profile("open-bowl")
    assert is_same_shape(bowl, replace(bowl, handles=bowl.handles * 1.7))
    assert not is_same_shape(bowl, replace(bowl, handles=bowl.handles * [1.0, 1.1]))
    assert not is_same_shape(bowl, profile("flared-bowl"))


def test_what_a_bowl_holds_is_its_hollow_below_the_lowest_place_of_the_rim() -> None:
    # upright walls of radius r - 8 on a floor of 10, less the fillet between them: turned about the axis, a corner of
    # radius a keeps (1 - pi/4) a^2 of a square of a^2, all of it within a of the wall
    job = job_of(straight_form(60.0, 60.0, lowest_rim=30.0), upright(foot_height=FOOT), hold=SMALL)
    found = own_suit(job, half_log()).widest
    assert isinstance(found, Offer)
    inner, fillet = found.verdict.diameter / 2.0 - 8.0, found.verdict.diameter / 8.0
    whole = np.pi * inner**2 * (found.verdict.rim.height.min() - 10.0)
    left = (1.0 - np.pi / 4.0) * fillet**2 * 2.0 * np.pi * np.array([inner - fillet, inner])
    assert whole - left[1] <= found.holds <= whole - left[0]


# ---- what is listed comes out ----


def listed(job: Job, field: Field, names: list[str]) -> list[tuple[Profile, Offer]]:
    suitings = [(profile(name), suiting_of(profile(name), job, field)) for name in names]
    found = [(shape, at) for shape, suiting in suitings for at in (suiting.widest, suiting.fullest)]
    return [(shape, offer) for shape, offer in found if isinstance(offer, Offer)]


def must_be_wood_is_there(job: Job, field: Field, offers: list[tuple[Profile, Offer]]) -> None:
    for _, offer in offers:
        assert offer.verdict.answer is Answer.FITS
        assert missing_wood(field.blank.mesh, prepare_form(offer.form, offer.hold), job.mounting) == 0.0


def a_step_wider_does_not_come_out(job: Job, field: Field, offers: list[tuple[Profile, Offer]]) -> None:
    setting = setting_of(job, field)
    for shape, offer in offers:
        diameter = offer.verdict.diameter + setting.step
        in_proportion = abs(offer.form.height / offer.verdict.diameter - proportion_of(shape)) < 0.5 / diameter
        if not in_proportion or diameter > setting.most:
            continue
        pattern = pattern_of(shape, proportion_of(shape), job, step=setting.step)
        assert not isinstance(look_fully(setting, pattern, diameter), Offer)


STONE = ["open-bowl", "closed-in-bowl", "shallow-platter"]


def test_out_of_a_stone_nothing_is_listed_that_the_mesh_boolean_finds_wood_missing_from() -> None:
    plan = BlankPlan(source=BlankSource.SCAN, path=scan_path("stone.stl"), scan_unit="mm")
    field = build_field(read_blank(plan), cells=64)
    proposed = propose(plan, [profile("open-bowl")], field, title="stone", units=Units.MM).job
    offers = listed(proposed, field, STONE)
    assert len(offers) >= 4
    must_be_wood_is_there(proposed, field, offers)
    a_step_wider_does_not_come_out(proposed, field, offers)


@pytest.mark.parametrize("kind", list(HoldKind))
@pytest.mark.parametrize("seed", range(2))
def test_out_of_random_lumps_nothing_is_listed_that_the_mesh_boolean_finds_wood_missing_from(
    seed: int, kind: HoldKind
) -> None:
    field = build_field(plain_blank(lump(np.random.default_rng(seed)), uncertainty=0.2), cells=48)
    hold = Hold(kind=kind, diameter=40.0, depth=5.0)
    low = straight_form(60.0, 60.0, wall=6.0, lowest_rim=40.0)
    job = job_of(low, upright((3.0, -2.0, -40.0), foot_height=4.0), hold=hold, skin=1.0)
    offers = listed(job, field, ["low-broad-bowl", "natural-edge-cup"])
    assert offers
    must_be_wood_is_there(job, field, offers)
    a_step_wider_does_not_come_out(job, field, offers)


# ---- laws ----


@pytest.mark.parametrize("name", ["open-bowl", "upright-bowl"])
@pytest.mark.parametrize("edge", [30.0, None])
def test_a_blank_that_contains_the_old_one_never_suits_worse(name: str, edge: float | None) -> None:
    job = job_of(straight_form(60.0, 60.0, lowest_rim=edge), upright(foot_height=FOOT), hold=SMALL)
    sizes = [suiting_of(profile(name), job, half_log(radius)) for radius in (88.0, 88.7, 90.0)]
    widest = [size_of(found.widest)[0] for found in sizes]
    assert widest == sorted(widest)
    whole = [found.fullest.whole for found in sizes if isinstance(found.fullest, Offer)]
    # rungs are 6 % apart and the best is grown from one of them, so another rung may win by a little
    assert all(later >= 0.99 * earlier for earlier, later in pairwise(whole))
    assert len(whole) == 3


def moved_field(field: Field, shift: np.ndarray) -> Field:
    mesh = field.blank.mesh
    return build_field(replace(field.blank, mesh=Mesh(vertices=mesh.vertices + shift, faces=mesh.faces)), cells=64)


def test_moving_blank_and_axis_together_changes_no_size() -> None:
    shift = np.array([310.0, -120.0, 45.0])
    job = job_of(straight_form(60.0, 60.0, lowest_rim=30.0), upright(foot_height=FOOT), hold=SMALL)
    away = replace(job, mounting=upright(tuple(shift), foot_height=FOOT))
    here = suiting_of(profile("open-bowl"), job, half_log())
    there = suiting_of(profile("open-bowl"), away, moved_field(half_log(), shift))
    assert size_of(here.widest) == size_of(there.widest)
    assert size_of(here.fullest) == pytest.approx(size_of(there.fullest), abs=2.0)


def test_a_smaller_allowance_never_suits_worse() -> None:
    job = job_of(straight_form(60.0, 60.0, lowest_rim=30.0), upright(foot_height=FOOT), hold=SMALL)
    sizes = [own_suit(replace(job, skin=skin), half_log()).widest for skin in (3.0, 1.5, 0.0)]
    found = [size_of(size)[0] for size in sizes]
    assert found == sorted(found)
