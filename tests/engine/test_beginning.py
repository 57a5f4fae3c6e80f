"""First proposals for blanks whose middle, faces and thickness are known."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import trimesh
from manifold3d import Manifold
from numpy.testing import assert_allclose

from formmaker.engine.beginning import Proposal, propose
from formmaker.engine.field import Field, build_field
from formmaker.engine.first_axis import first_mounting
from formmaker.engine.preparation import prepare_form
from formmaker.engine.sketching import form_from_profile
from formmaker.errors import MountingError
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.geometry.meshes import Mesh
from formmaker.model.blank import BlankSource
from formmaker.model.form import Edge
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.job import BlankPlan
from formmaker.model.shapes import Board, HalfLog
from formmaker.model.verdict import Answer
from formmaker.sources.blank import read_blank
from formmaker.units import MM_PER_INCH, Units
from tests.engine.jobs import described_field, plain_blank, verdict_on
from tests.scans import scan_path

NAMES = ("open-bowl", "low-broad-bowl", "shallow-platter", "natural-edge-cup")
PROFILES = [read_profile(find_profile(name, Path())) for name in NAMES]
PLAN = BlankPlan(source=BlankSource.SHAPE)


def solid_field(body: Manifold) -> Field:
    mesh = body.to_mesh64()
    return build_field(plain_blank(Mesh(vertices=mesh.vert_properties[:, :3], faces=mesh.tri_verts)), cells=48)


def proposal(field: Field, units: Units = Units.MM) -> Proposal:
    return propose(PLAN, PROFILES, field, title="first", units=units)


@pytest.fixture(scope="module")
def half_log() -> Field:
    return described_field(HalfLog(radius=100.0, length=260.0), uncertainty=0.4, cells=64)


@pytest.fixture(scope="module")
def board() -> Field:
    return described_field(Board(length=240.0, width=200.0, thickness=70.0), cells=64)


def test_a_half_log_stands_on_its_split_face_under_its_middle(half_log: Field) -> None:
    mounting = first_mounting(half_log)
    assert_allclose(mounting.foot_centre, [0.0, 0.0, 0.0], atol=0.01)
    assert_allclose(mounting.rim_centre, [0.0, 0.0, 100.0], atol=0.02)
    assert abs(mounting.zero[0]) == pytest.approx(1.0)  # along the log
    # what the skin may be off (0.4, and 0.004 of flats on round bark), and the allowance for truing twice
    assert mounting.foot_height == pytest.approx(0.404 + 3.0, abs=1e-3)


def test_a_board_is_turned_square_to_its_broad_face(board: Field) -> None:
    mounting = first_mounting(board)
    assert_allclose(np.abs(mounting.axis), [0.0, 0.0, 70.0], atol=0.01)
    assert_allclose(mounting.foot_centre[:2], 0.0, atol=1e-6)


def ellipsoid(sizes: tuple[float, float, float], turn: np.ndarray | None = None) -> Field:
    ball = trimesh.creation.icosphere(subdivisions=4)
    vertices = ball.vertices * sizes
    if turn is not None:
        vertices = vertices @ turn.T
    return build_field(plain_blank(Mesh(vertices=vertices, faces=ball.faces)), cells=48)


@pytest.mark.parametrize("flip", [1.0, -1.0])
def test_wood_without_a_sawn_face_is_turned_along_its_shortest_way_upward(flip: float) -> None:
    mounting = first_mounting(ellipsoid((90.0, 70.0, 50.0), np.diag([flip, 1.0, flip])))
    assert_allclose(mounting.foot_centre, [0.0, 0.0, -50.0], atol=0.3)
    assert_allclose(mounting.rim_centre, [0.0, 0.0, 50.0], atol=0.3)
    assert_allclose(np.abs(mounting.zero), [1.0, 0.0, 0.0], atol=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_an_axis_of_no_sense_of_its_own_rises_along_its_largest_coordinate(seed: int) -> None:
    turn = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))  # a turn, no mirror
    axis = first_mounting(ellipsoid((90.0, 70.0, 50.0), turn)).axis
    assert axis[int(np.abs(axis).argmax())] > 0.0
    assert abs(axis @ turn[:, 2]) == pytest.approx(np.linalg.norm(axis), rel=1e-3)


def is_whole(length: float, step: float) -> bool:
    return abs(length / step - round(length / step)) < 1e-6


@pytest.mark.parametrize(("units", "step"), [(Units.MM, 1.0), (Units.INCH, MM_PER_INCH / 16.0)])
def test_a_proposal_fits_and_is_in_whole_steps_of_its_units(half_log: Field, units: Units, step: float) -> None:
    found = proposal(half_log, units)
    job = found.job
    assert found.verdict.answer is Answer.FITS
    assert found.verdict.margin >= found.verdict.uncertainty
    assert (job.units, job.title, job.form.edge) == (units, "first", Edge.NATURAL)
    sizes = [found.diameter, job.form.height, job.form.floor, job.form.lowest_rim, job.hold.diameter, job.hold.depth]
    assert all(is_whole(size, step) for size in [*sizes, job.form.wall[0, 1], job.skin, job.mounting.foot_height])
    assert found.diameter == pytest.approx(found.verdict.diameter, abs=1e-6)
    # no bowl of 200 fits into a half log of radius 100, and three quarters of that is what a turner would hope for
    assert 0.75 * 200.0 < found.diameter < 200.0


def test_millimetres_and_inches_propose_nearly_the_same_bowl(half_log: Field, board: Field) -> None:
    for field in (half_log, board):
        metric, imperial = (proposal(field, units) for units in Units)
        assert metric.job.form.name == imperial.job.form.name
        # four sixteenths of an inch: the foot may have to rise by one of them, and a leaning wall gives way by more
        assert metric.diameter == pytest.approx(imperial.diameter, abs=4 * MM_PER_INCH / 16.0)
        assert metric.job.form.height == pytest.approx(imperial.job.form.height, abs=2 * MM_PER_INCH / 16.0)


def test_a_bigger_half_log_gives_the_bowl_that_it_holds() -> None:
    radius = 120.0
    found = proposal(described_field(HalfLog(radius=radius, length=320.0), cells=96))
    assert found.verdict.answer is Answer.FITS
    # a 175 x 114 mm bowl of 295 cm3, found by hand on the same axis, fits too: a third more wood, or 200 mm across
    assert found.diameter >= 200.0 or found.verdict.volumes.bowl >= 1.3 * 295e3
    # closed form: the farthest of what must be wood from the log's own axis, which lies in the split face, at right
    # angles to the turning axis; the answer's margin is the rest of the radius or the foot's height above the face
    needed = prepare_form(found.job.form, found.job.hold).needed.outline
    foot = found.job.mounting.foot_height
    depth = min(radius - np.hypot(needed[:, 0], needed[:, 1] + foot).max(), foot, 160.0 - needed[:, 0].max())
    assert found.verdict.margin == pytest.approx(depth - found.job.skin, abs=0.1)
    assert depth - found.job.skin >= found.verdict.uncertainty - 0.1


def test_a_stone_gives_at_least_the_bowl_that_a_plain_search_finds() -> None:
    # the plain search: 100 wide, one profile, foot and height by hand in a few steps, each put to the full check
    plan = BlankPlan(source=BlankSource.SCAN, path=scan_path("stone.stl"), scan_unit="mm")
    field = build_field(read_blank(plan), cells=64)
    mounting = first_mounting(field)
    fitting = []
    for foot, height in ((6.0, 50.0), (10.0, 40.0), (14.0, 40.0), (18.0, 35.0)):
        low = 0.65 * height
        form = form_from_profile(
            PROFILES[0], diameter=100.0, height=height, wall=5.0, floor=7.0, edge=Edge.NATURAL, lowest_rim=low
        )
        hold = Hold(kind=HoldKind.GLUE_BLOCK, diameter=36.0, depth=25.0)
        verdict = verdict_on(field, prepare_form(form, hold), replace(mounting, foot_height=foot), skin=2.0)
        fitting += [verdict.volumes.bowl] if verdict.answer is Answer.FITS else []
    assert fitting
    found = proposal(field)
    assert found.verdict.answer is Answer.FITS
    assert found.diameter >= 100.0
    assert found.verdict.volumes.bowl >= max(fitting)


def test_a_board_gets_a_turned_edge_that_leaves_wood_for_truing_on_both_sides(board: Field) -> None:
    found = proposal(board)
    assert found.job.form.edge is Edge.TURNED
    assert found.verdict.answer is Answer.FITS
    assert found.job.form.height <= 70.0 - 2.0 * 3.0
    assert found.verdict.margin >= found.verdict.uncertainty
    # 200 wide less the skin for truing on both sides: nothing else is in the way of a board's bowl
    widest = 200.0 - 2.0 * found.job.skin
    assert 0.97 * widest <= found.diameter <= widest


def test_a_ball_gets_a_bowl_that_fits() -> None:
    found = proposal(ellipsoid((80.0, 80.0, 80.0)))
    assert found.verdict.answer is Answer.FITS
    assert found.job.form.edge is Edge.NATURAL
    # closed form: what must be wood lies within a ball smaller by the skin (flats of the mesh: 0.1 mm), and nearly
    # touches it: a whole ball has one best place for a form, and the height of its foot is tried in coarse steps
    needed = prepare_form(found.job.form, found.job.hold).needed.outline
    far = np.hypot(needed[:, 0], needed[:, 1] + found.job.mounting.foot_height - 80.0).max()
    assert 80.0 - found.job.skin - 3.0 <= far <= 80.0 - found.job.skin


def test_where_none_fits_the_last_tried_comes_with_its_honest_answer() -> None:
    # the smallest bowl that is tried is 50 wide, and square to its shortest side this stick is 45
    fin = Manifold.cube([150.0, 45.0, 40.0], True)
    found = proposal(solid_field(fin))
    assert found.verdict.answer is not Answer.FITS


def test_a_hollow_whose_middle_is_air_is_left_to_the_user() -> None:
    tube = Manifold.cylinder(80.0, 60.0, 60.0, 64, True) - Manifold.cylinder(90.0, 45.0, 45.0, 64, True)
    with pytest.raises(MountingError, match=r"centre of mass lies outside the wood.*foot_centre and rim_centre"):
        first_mounting(solid_field(tube))


def test_wood_too_thin_for_a_foot_is_refused_with_its_thickness() -> None:
    sheet = described_field(Board(length=200.0, width=150.0, thickness=5.0), uncertainty=1.0, cells=64)
    with pytest.raises(MountingError, match="the wood is 5 mm thick on an axis through its centre of mass"):
        proposal(sheet)


def test_wood_too_small_for_any_bowl_of_the_profile_is_refused() -> None:
    crumb = described_field(Board(length=30.0, width=20.0, thickness=15.0), cells=24)
    with pytest.raises(MountingError, match=r"no bowl of profile open-bowl or low-broad-bowl or .* can be drawn"):
        proposal(crumb)


def test_the_whole_proposal_moves_with_its_blank(half_log: Field) -> None:
    mesh = half_log.blank.mesh
    shift = np.array([1e4, -2e4, 3e3])
    far = build_field(replace(half_log.blank, mesh=Mesh(vertices=mesh.vertices + shift, faces=mesh.faces)), cells=64)
    here, there = first_mounting(half_log), first_mounting(far)
    assert_allclose(there.foot_centre - shift, here.foot_centre, atol=1e-5)
