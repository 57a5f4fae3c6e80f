"""The verdict: never "fits" where wood is missing, margins that another library confirms, laws that must hold."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from numpy.testing import assert_allclose

from formmaker.engine.field import Field, build_field
from formmaker.engine.needed import needed_wood
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.errors import FormError, MountingError
from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.least import least_distance
from formmaker.geometry.meshes import Mesh, moved
from formmaker.model.form import Edge, Form
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import Board, HalfLog, Round
from formmaker.model.verdict import Answer, Part, Reason
from tests.engine.jobs import (
    BLOCK,
    checked,
    described_field,
    lump,
    missing_wood,
    plain_blank,
    straight_form,
    upright,
    verdict_on,
)
from tests.oracles import box_mesh, joined
from tests.scans import closed_scan

OPEN_FORM = Form(
    handles=np.array([[30.0, 0.0], [60.0, 25.0], [75.0, 60.0]]),
    corners=np.array([True, False, True]),
    wall=np.array([[0.0, 7.0]]),
    floor=9.0,
    edge=Edge.TURNED,
    lowest_rim=60.0,
)


# ---- margins that can be told on paper -----------------------------------------------------------------------------


@pytest.mark.parametrize(("foot", "margin", "part"), [(4.0, 4.0, Part.GLUE_FACE), (30.0, 10.0, Part.RIM)])
def test_margin_of_an_upright_form_in_a_board_is_the_nearest_face(foot: float, margin: float, part: Part) -> None:
    field = described_field(Board(length=200.0, width=180.0, thickness=90.0))
    verdict = checked(field, straight_form(60.0, 50.0), upright(foot_height=foot))
    assert verdict.margin == pytest.approx(margin, abs=1e-9)
    assert verdict.worst.part is part
    assert verdict.answer is Answer.FITS
    # what the skin may be off, what the search left open, what a chord leaves of a curve: added up
    assert verdict.uncertainty == pytest.approx(field.blank.uncertainty + 0.05 + 0.01, abs=1e-12)


def test_margin_of_a_form_that_stands_out_is_how_far_it_stands_out() -> None:
    field = described_field(Board(length=200.0, width=110.0, thickness=90.0))
    verdict = checked(field, straight_form(60.0, 50.0), upright(foot_height=20.0))
    assert verdict.margin == pytest.approx(-5.0, abs=0.3)  # a miss is searched to a twentieth of itself
    assert verdict.answer is Answer.MISSES
    assert min(abs(np.degrees(verdict.worst.theta) - side) for side in (90.0, 270.0)) < 3.0
    assert verdict.findings[0].reason is Reason.WOOD_MISSING


@pytest.mark.parametrize(
    ("uncertainty", "answer"), [(3.0, Answer.FITS), (4.2, Answer.TIGHT), (0.0, Answer.FITS), (10.0, Answer.TIGHT)]
)
def test_inside_the_uncertainty_the_answer_is_tight(uncertainty: float, answer: Answer) -> None:
    field = described_field(Board(length=200.0, width=200.0, thickness=90.0), uncertainty=uncertainty)
    assert checked(field, straight_form(60.0, 50.0), upright(foot_height=4.0)).answer is answer


def test_exactly_touching_is_neither_a_fit_nor_a_miss() -> None:
    field = described_field(Board(length=200.0, width=200.0, thickness=90.0))
    verdict = checked(field, straight_form(60.0, 50.0), upright(foot_height=4.0), skin=4.0)
    assert verdict.margin == pytest.approx(0.0, abs=1e-9)
    assert verdict.answer is Answer.TIGHT


def test_core_and_ghost_of_a_round_held_off_its_middle() -> None:
    # a disc of radius R turned about a point e from its middle: solid to R - e, blurred to R + e
    field = described_field(Round(diameter=200.0, thickness=60.0))
    spin = checked(field, straight_form(40.0, 40.0), upright((7.0, 0.0, 0.0), foot_height=5.0)).spin
    assert_allclose(spin.height[[0, -1]], [-5.0, 55.0], atol=1e-9)
    assert_allclose(spin.core[1:-1], 93.0, atol=0.05)  # picked on the grid, three degrees apart
    assert_allclose(spin.ghost, 107.0, atol=0.02)


def test_wood_of_a_sound_bowl_is_the_volume_of_its_form() -> None:
    # tube and floor: pi (R^2 - (R - w)^2) H + pi (R - w)^2 f, the fillet between them on top
    field = described_field(Board(length=200.0, width=200.0, thickness=90.0))
    form = straight_form(60.0, 50.0)
    verdict = checked(field, form, upright(foot_height=10.0))
    solid = np.pi * (60.0**2 - 52.0**2) * 50.0 + np.pi * 52.0**2 * 10.0
    fillet = (1.0 - np.pi / 4.0) * 15.0**2 * 2.0 * np.pi * 52.0
    assert solid < verdict.volumes.bowl < solid + fillet
    assert verdict.volumes.blank == pytest.approx(200.0 * 200.0 * 90.0, rel=1e-9)
    assert verdict.volumes.waste == pytest.approx(verdict.volumes.blank - verdict.volumes.bowl)


# ---- margins against another library -------------------------------------------------------------------------------

POSES = {
    "stump_blank.stl": Mounting(foot_centre=(-20, 0, 30), rim_centre=(-15, 5, 150), zero=(1, 0, 0), foot_height=12),
    "butt_half_log.stl": Mounting(foot_centre=(4, 0, 200), rim_centre=(100, 0, 205), zero=(0, 0, 1), foot_height=6),
    "stone.stl": Mounting(foot_centre=(0, 0, -70), rim_centre=(5, 0, 70), zero=(1, 0, 0), foot_height=25),
}


@pytest.mark.parametrize("name", POSES)
def test_margin_is_the_distance_another_library_finds_and_nowhere_less(name: str) -> None:
    mesh = closed_scan(name)
    verdict = checked(build_field(plain_blank(mesh)), OPEN_FORM, POSES[name])
    frame = POSES[name].blank_from_form
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    worst = turned(np.array([[verdict.worst.radius, verdict.worst.height]]), np.array([verdict.worst.theta]), frame)
    found = trimesh.proximity.closest_point(other, worst)[1][0]
    assert abs(verdict.margin) == pytest.approx(float(found), abs=0.05)
    segments = needed_wood(OPEN_FORM, prepare_form(OPEN_FORM, BLOCK).section, BLOCK).segments
    random = np.random.default_rng(7)
    picked = segments[random.integers(len(segments), size=400)]
    share = random.random((400, 1))
    points = turned(picked[:, :2] * share + picked[:, 2:] * (1 - share), random.random(400) * 2 * np.pi, frame)
    depths = trimesh.proximity.signed_distance(other, points)
    slack = verdict.uncertainty - 0.01
    assert depths.min() >= verdict.margin - slack - 1e-6


def turned(places: np.ndarray, theta: np.ndarray, frame: Frame) -> np.ndarray:
    radius, height = places.T
    return frame.carry(np.column_stack([radius * np.cos(theta), radius * np.sin(theta), height]))


# ---- never "fits" where wood is missing ----------------------------------------------------------------------------


def random_wish(random: np.random.Generator) -> PreparedForm:
    """A form with a holding, drawn again until the form does not refuse itself."""
    while True:
        radius, height = random.uniform(45, 95), random.uniform(35, 80)
        natural = random.random() < 0.5
        form = Form(
            handles=np.array([[0.4 * radius, 0.0], [0.8 * radius, 0.35 * height], [radius, height]]),
            corners=np.array([True, False, True]),
            wall=np.array([[0.0, 8.0], [1.0, 5.0]]),
            floor=9.0,
            edge=Edge.NATURAL if natural else Edge.TURNED,
            lowest_rim=0.6 * height if natural else height,
        )
        kind = list(HoldKind)[random.integers(3)]
        width = 2.0 * form.foot_radius * random.uniform(0.7, 1.0)
        try:
            return prepare_form(form, Hold(kind=kind, diameter=width, depth=random.uniform(3.0, 6.0)))
        except FormError:
            continue


def random_pose(random: np.random.Generator, height: float) -> Mounting:
    axis = random.normal(size=3) * [0.15, 0.15, 0.05] + [0, 0, 1]
    middle = random.uniform(-15, 15, size=3)
    foot = middle - axis / np.linalg.norm(axis) * height * random.uniform(0.4, 0.7)
    return Mounting(foot_centre=foot, rim_centre=foot + 100.0 * axis, zero=(1, 0, 0))


def moved_to_the_edge(field: Field, wish: PreparedForm, pose: Mounting, random: np.random.Generator) -> Mounting:
    """The same axis, slid square to itself until the margin is within half a millimetre of nothing, if it can be."""
    side = np.cross(pose.axis, random.normal(size=3))
    side /= np.linalg.norm(side)
    target = random.normal(scale=0.2)

    def slid(by: float) -> Mounting:
        return replace(pose, foot_centre=pose.foot_centre + by * side, rim_centre=pose.rim_centre + by * side)

    def margin(by: float) -> float:
        return least_distance(field.skin, wish.needed.segments, slid(by).blank_from_form, slack=0.05).value

    low, high = 0.0, 120.0
    if margin(low) < target:
        return pose
    for _ in range(9):
        middle = (low + high) / 2.0
        low, high = (middle, high) if margin(middle) > target else (low, middle)
    return slid(low)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_fits_is_never_said_while_the_mesh_boolean_misses_wood(seed: int) -> None:
    # 20 blanks by 25 mountings and forms, every other one slid until it just fits or just misses
    random = np.random.default_rng(seed)
    mesh = lump(random)
    field = build_field(plain_blank(mesh), cells=48)
    said = []
    for number in range(25):
        wish = random_wish(random)
        pose = random_pose(random, wish.form.height)
        if number % 2:
            pose = moved_to_the_edge(field, wish, pose, random)
        verdict = verdict_on(field, wish, pose)
        said.append(verdict.answer)
        if verdict.answer is Answer.FITS:
            assert missing_wood(mesh, wish, pose) <= 1e-6
        if verdict.margin < -0.2:
            assert verdict.answer is not Answer.FITS
            assert missing_wood(mesh, wish, pose) > 0.0
    assert Answer.MISSES in said
    assert len(set(said)) > 1


# ---- marks, holding, laws ------------------------------------------------------------------------------------------


def marked(field: Field, *marks: Mark) -> Field:
    return replace(field, blank=replace(field.blank, marks=marks))


def test_a_keep_mark_is_met_or_lost_by_how_far_the_rim_passes() -> None:
    # rim of an upright form of radius 60 in a half log of radius 100: (60, 0, 100) and (0, 60, 80) lie on it
    field = described_field(HalfLog(radius=100.0, length=300.0))
    form, pose = straight_form(60.0, 100.0, lowest_rim=60.0), upright(foot_height=4.0)
    near = Mark(name="A", kind=MarkKind.KEEP, at=np.array([0.0, 63.0, 84.0]), radius=6.0)
    verdict = checked(marked(field, near), form, pose)
    met = [finding for finding in verdict.findings if finding.reason is Reason.KEEP_MET]
    assert met[0].amount == pytest.approx(5.0, abs=0.05)
    assert verdict.answer is Answer.FITS
    lost = checked(marked(field, replace(near, radius=4.0)), form, pose)
    assert lost.findings[0].reason is Reason.KEEP_LOST
    assert lost.answer is Answer.MISSES


def test_a_flaw_is_met_by_how_deep_it_reaches_into_the_form() -> None:
    field = described_field(Board(length=200.0, width=200.0, thickness=90.0))
    form, pose = straight_form(60.0, 50.0), upright(foot_height=10.0)
    beside = Mark(name="crack", kind=MarkKind.FLAW, at=np.array([0.0, -66.0, 40.0]), radius=4.0)
    clear = checked(marked(field, beside), form, pose)
    assert clear.answer is Answer.FITS
    assert clear.findings[0].amount == pytest.approx(2.0, abs=0.02)
    met = checked(marked(field, replace(beside, radius=9.0)), form, pose)
    assert met.answer is Answer.MISSES
    assert met.findings[0].reason is Reason.FLAW_MET
    assert met.findings[0].amount == pytest.approx(3.0, abs=0.02)
    assert np.degrees(met.findings[0].theta) == pytest.approx(270.0)


def test_a_recess_through_the_floor_is_a_miss_even_where_all_is_wood() -> None:
    field = described_field(Board(length=200.0, width=200.0, thickness=90.0))
    through = Hold(kind=HoldKind.RECESS, diameter=50.0, depth=11.0)
    verdict = checked(field, straight_form(60.0, 50.0), upright(foot_height=10.0), hold=through)
    assert verdict.margin > 5.0
    assert verdict.answer is Answer.MISSES


def test_a_recess_out_of_the_side_is_a_miss_even_where_all_is_wood() -> None:
    field = described_field(Board(length=200.0, width=200.0, thickness=90.0))
    as_wide = Hold(kind=HoldKind.RECESS, diameter=120.0, depth=4.0)
    verdict = checked(field, straight_form(60.0, 50.0), upright(foot_height=10.0), hold=as_wide)
    assert verdict.margin > 5.0
    assert verdict.answer is Answer.MISSES


@pytest.mark.parametrize("kind", [HoldKind.GLUE_BLOCK, HoldKind.TENON])
def test_a_holding_wider_than_the_bowl_still_asks_for_its_wood(kind: HoldKind) -> None:
    # 160 across in a board of 150: 5 mm are wanting at its sides, where the bowl of 120 stands 15 clear
    field = described_field(Board(length=200.0, width=150.0, thickness=90.0))
    wide = Hold(kind=kind, diameter=160.0, depth=5.0)
    verdict = checked(field, straight_form(60.0, 50.0), upright(foot_height=20.0), hold=wide)
    assert verdict.margin == pytest.approx(-5.0, abs=0.1)
    assert verdict.worst.part is (Part.TENON if kind is HoldKind.TENON else Part.GLUE_FACE)


@pytest.mark.parametrize("lowest_rim", [0.4, 3.0])
def test_a_rim_accepted_almost_down_to_the_foot_leaves_a_disc_that_must_be_wood(lowest_rim: float) -> None:
    field = described_field(Board(length=200.0, width=200.0, thickness=40.0))
    verdict = checked(field, straight_form(60.0, 50.0, lowest_rim=lowest_rim), upright(foot_height=5.0))
    assert verdict.margin == pytest.approx(5.0, abs=1e-9)
    assert_allclose(verdict.rim.height, 35.0, atol=0.01)


def test_a_hollow_shut_up_inside_must_be_wood_is_found() -> None:
    mesh = joined(box_mesh([-100.0, -100, 0], [100.0, 100, 90]), inside_out(box_mesh([50.0, -3, 26], [58.0, 3, 34])))
    verdict = checked(build_field(plain_blank(mesh)), straight_form(60.0, 50.0, wall=14.0), upright(foot_height=10.0))
    assert verdict.margin < 0.0
    assert verdict.answer is not Answer.FITS
    assert (verdict.worst.part, verdict.worst.radius) == (Part.WALL, pytest.approx(54.0, abs=5.0))
    assert 16.0 < verdict.worst.height < 24.0


def inside_out(mesh: Mesh) -> Mesh:
    return Mesh(vertices=mesh.vertices, faces=mesh.faces[:, ::-1])


def test_no_number_is_a_fit() -> None:
    field = described_field(Board(length=200.0, width=200.0, thickness=90.0), cells=24)
    nowhere = Mark(name="?", kind=MarkKind.KEEP, at=np.full(3, np.nan), radius=5.0)
    form, pose = straight_form(60.0, 50.0), upright(foot_height=10.0)
    assert checked(marked(field, nowhere), form, pose).answer is not Answer.FITS
    assert checked(field, form, pose, skin=np.nan).answer is not Answer.FITS


# ---- axes that stand oddly -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("foot", "rim", "foot_height"),
    [
        ((0, 0, 90), (0, 0, 0), 4.0),
        ((0, 0, 90), (0, 0, -1e5), 4.0),
        ((0, 0, 90), (0, 0, 89.999), 4.0),
        ((0, 0, -2000), (0, 0, -1000), 2004.0),
        ((0, 0, 500), (0, 0, 90), 414.0),
    ],
)
def test_an_axis_upside_down_or_given_by_centres_far_or_near_finds_its_wood(
    foot: tuple, rim: tuple, foot_height: float
) -> None:
    field = described_field(Board(length=200.0, width=180.0, thickness=90.0))
    pose = Mounting(foot_centre=foot, rim_centre=rim, zero=(1.0, 0.0, 0.0), foot_height=foot_height)
    assert checked(field, straight_form(60.0, 50.0), pose).margin == pytest.approx(4.0, abs=1e-6)


def test_an_axis_along_x_counts_its_angles_from_zero_the_right_handed_way() -> None:
    # seen from the rim end (from +x) looking at the foot, with y as zero, counter-clockwise leads to z
    field = described_field(Board(length=120.0, width=180.0, thickness=70.0))
    pose = Mounting(foot_centre=(-60, 0, 30), rim_centre=(60, 0, 30), zero=(0, 1, 0), foot_height=10.0)
    verdict = checked(field, straight_form(60.0, 50.0, lowest_rim=20.0), pose)
    # z = 30 + 60 sin(theta) leaves the board, 0 to 70 high, near 90 and 270 degrees: at 270 it misses most
    assert verdict.answer is Answer.MISSES
    assert np.degrees(verdict.worst.theta) == pytest.approx(270.0, abs=3.0)
    assert verdict.margin == pytest.approx(-30.0, abs=0.5)
    assert verdict.rim.height[90] == 0.0 == verdict.rim.height[270]
    assert verdict.rim.height[0] == 50.0 == verdict.rim.height[180]


def test_a_mounting_beside_the_wood_is_refused() -> None:
    field = described_field(Board(length=200.0, width=180.0, thickness=90.0), cells=24)
    with pytest.raises(MountingError, match=r"passes through no wood: foot_centre lies 100\.0 mm and rim_centre"):
        checked(field, OPEN_FORM, upright((200.0, 0.0, 0.0)))
    with pytest.raises(MountingError, match=r"wholly outside the wood .* foot_height, now 95\.0 mm"):
        checked(field, OPEN_FORM, upright(foot_height=95.0))


def test_moving_blank_and_mounting_together_changes_nothing() -> None:
    mesh = lump(np.random.default_rng(3))
    pose = Mounting(foot_centre=(5, -3, -35), rim_centre=(0, 4, 70), zero=(1, 0.5, 0))
    frame = frame_from_axis(np.array([300.0, -200.0, 90.0]), np.array([0.3, -0.7, 0.5]), np.array([1.0, 0.2, 0.1]))
    placed = Mounting(
        foot_centre=frame.carry(pose.foot_centre),
        rim_centre=frame.carry(pose.rim_centre),
        zero=frame.turn(pose.zero),
    )
    one = checked(build_field(plain_blank(mesh), cells=64), OPEN_FORM, pose)
    other = checked(build_field(plain_blank(moved(mesh, frame)), cells=64), OPEN_FORM, placed)
    assert one.margin == pytest.approx(other.margin, abs=0.05)
    assert_allclose(one.rim.height, other.rim.height, atol=0.02)
    assert one.volumes.bowl == pytest.approx(other.volumes.bowl, rel=2e-3)


def test_a_mirrored_case_has_the_mirrored_rim() -> None:
    mesh = lump(np.random.default_rng(5))
    pose = Mounting(foot_centre=(5, -3, -35), rim_centre=(0, 4, 70), zero=(1, 0, 0))
    flip = np.array([1.0, -1.0, 1.0])
    mirror = Mesh(vertices=mesh.vertices * flip, faces=mesh.faces[:, ::-1])
    turned_pose = replace(pose, foot_centre=pose.foot_centre * flip, rim_centre=pose.rim_centre * flip)
    one = checked(build_field(plain_blank(mesh), cells=64), OPEN_FORM, pose)
    other = checked(build_field(plain_blank(mirror), cells=64), OPEN_FORM, turned_pose)
    assert_allclose(other.rim.height, np.roll(one.rim.height[::-1], 1), atol=0.02)
    assert other.margin == pytest.approx(one.margin, abs=0.05)


def test_more_wood_or_a_smaller_allowance_never_fits_worse() -> None:
    mesh = lump(np.random.default_rng(8))
    bigger = Mesh(vertices=mesh.vertices * 1.05, faces=mesh.faces)  # a body star-shaped about the origin: it contains
    pose = Mounting(foot_centre=(0, 0, -30), rim_centre=(0, 0, 70), zero=(1, 0, 0))
    small, large = (build_field(plain_blank(body), cells=64) for body in (mesh, bigger))
    margins = [checked(field, OPEN_FORM, pose, skin=skin).margin for field in (small, large) for skin in (3.0, 1.0)]
    assert margins[0] < margins[1] <= margins[3]
    assert margins[0] <= margins[2] < margins[3]
