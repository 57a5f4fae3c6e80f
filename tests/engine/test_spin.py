"""Seen while it spins: rings, core, ghost and the whole turn, against closed forms and slices by trimesh."""

import math

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st

from formmaker.engine.cuts import cut_blank
from formmaker.engine.preparation import prepare_form
from formmaker.engine.spin import ring_at, spin, spin_map
from formmaker.geometry.meshes import Mesh
from formmaker.model.blank import BlankSource
from formmaker.model.cut import TurnCut
from formmaker.model.job import BlankPlan
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import Board, HalfLog, Log
from formmaker.model.spin import Ring
from formmaker.sources.blank import read_blank
from tests.engine.jobs import BLOCK, described_field, straight_form, upright
from tests.scans import scan_path

HALF = HalfLog(radius=100.0, length=300.0)
FIELD = described_field(HALF)
UPRIGHT = upright().blank_from_form


def skin(shape: object) -> Mesh:
    return read_blank(BlankPlan(source=BlankSource.SHAPE, shape=shape)).mesh  # type: ignore[arg-type]


def ends(ring: Ring) -> list[tuple[float, float, bool]]:
    return [(math.degrees(arc.start), math.degrees(arc.end), arc.is_wood) for arc in ring.arcs]


# ---- one ring --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("radius", "height"), [(80.0, 70.0), (95.0, 50.0), (120.0, 30.0), (140.0, 99.0)])
def test_arcs_of_an_upright_ring_in_a_half_log_are_those_of_the_closed_form(radius: float, height: float) -> None:
    # check-values 7.2: the log's skin stands at z = sqrt(R^2 - r^2 sin^2 t) above a ring, t from its length
    edge = math.degrees(math.asin(math.sqrt(100.0**2 - height**2) / radius))
    ring = ring_at(FIELD.blank.mesh, UPRIGHT, radius, height)
    wanted = [
        (edge, 180.0 - edge, False),
        (180.0 - edge, 180.0 + edge, True),
        (180.0 + edge, 360.0 - edge, False),
        (360.0 - edge, 360.0 + edge, True),
    ]
    # a chord of the log's skin is 0.004 mm off, and is met at a slant
    slant = math.degrees(0.004 / (radius * math.cos(math.radians(edge)) * math.sin(math.radians(edge))))
    for found, exact in zip(ends(ring), wanted, strict=True):
        assert found[:2] == pytest.approx(exact[:2], abs=2.0 * slant * 100.0 / math.sqrt(100.0**2 - height**2))
        assert found[2] is exact[2]
    assert ring.share_of_air == pytest.approx(1.0 - edge / 90.0, abs=1e-3)


def test_a_cylinder_off_its_axis_is_left_where_two_circles_cross() -> None:
    # a circle of radius r about the axis, one of R whose middle lies e away: cos t = (r^2 + e^2 - R^2) / 2 r e
    off = Mounting(foot_centre=(0, 0, 30), rim_centre=(300, 0, 30), zero=(0, 0, -1))  # type: ignore[arg-type]
    ring = ring_at(skin(Log(radius=100.0, length=300.0)), off.blank_from_form, 110.0, 150.0)
    edge = math.degrees(math.acos((110.0**2 + 30.0**2 - 100.0**2) / (2.0 * 110.0 * 30.0)))
    assert ends(ring) == [
        (pytest.approx(edge, abs=0.01), pytest.approx(360.0 - edge, abs=0.01), False),
        (pytest.approx(360.0 - edge, abs=0.01), pytest.approx(360.0 + edge, abs=0.01), True),
    ]
    assert math.degrees(ring.first_contact or 0.0) == pytest.approx(360.0 - edge, abs=0.01)
    assert math.degrees(ring.last_contact or 0.0) == pytest.approx(edge, abs=0.01)


@pytest.mark.parametrize(
    ("radius", "height", "is_wood"),
    [(60.0, 50.0, True), (200.0, 10.0, False), (50.0, 150.0, False), (50.0, -1.0, False)],
)
def test_a_ring_all_wood_or_all_air_has_one_arc_and_no_contact(radius: float, height: float, is_wood: bool) -> None:
    ring = ring_at(FIELD.blank.mesh, UPRIGHT, radius, height)
    assert ends(ring) == [(0.0, 360.0, is_wood)]
    assert (ring.share_of_air, ring.first_contact, ring.last_contact) == (float(not is_wood), None, None)


@settings(max_examples=60, deadline=None)
@given(turn=st.floats(0.0, 360.0), radius=st.floats(20.0, 190.0), height=st.floats(1.0, 99.0))
def test_arcs_make_up_the_turn_take_turns_and_go_round_with_the_zero(
    turn: float, radius: float, height: float
) -> None:
    ring = ring_at(FIELD.blank.mesh, UPRIGHT, radius, height)
    assert sum(arc.end - arc.start for arc in ring.arcs) == pytest.approx(2.0 * math.pi)
    kinds = [arc.is_wood for arc in ring.arcs]
    assert len(kinds) == 1 or all(kind is not kinds[number - 1] for number, kind in enumerate(kinds))
    way = math.radians(turn)
    turned = Mounting(
        foot_centre=np.zeros(3), rim_centre=100.0 * np.eye(3)[2], zero=np.array([np.cos(way), np.sin(way), 0.0])
    )
    other = ring_at(FIELD.blank.mesh, turned.blank_from_form, radius, height)
    assert other.share_of_air == pytest.approx(ring.share_of_air, abs=1e-6)


@pytest.mark.parametrize("name", ["butt_log.stl", "stump_blank.stl"])
def test_rings_in_a_scan_are_those_of_a_slice_by_trimesh(name: str) -> None:
    solid = trimesh.load(scan_path(name))
    solid.merge_vertices()
    mesh = Mesh(vertices=solid.vertices, faces=solid.faces)
    middle, size = solid.bounds.mean(axis=0), float(np.ptp(solid.bounds, axis=0).min())
    tilted = Mounting(foot_centre=middle, rim_centre=middle + np.array([10.0, -20.0, 100.0]), zero=np.eye(3)[0])
    frame = tilted.blank_from_form
    for radius, height in ((0.3 * size, 0.05 * size), (0.42 * size, -0.2 * size), (0.5 * size, 0.2 * size)):
        origin = frame.carry(np.array([0.0, 0.0, height]))
        section = solid.section(plane_origin=origin, plane_normal=frame.rotation[:, 2])
        slice2, _ = section.to_2D(
            to_2D=np.vstack([np.hstack([frame.rotation.T, -frame.rotation.T @ origin[:, None]]), [0, 0, 0, 1]])
        )
        wood = shapely.union_all([shapely.Polygon(p.exterior, p.interiors) for p in slice2.polygons_full])
        theta = np.linspace(0.0, 2.0 * np.pi, 7201)
        circle = shapely.LineString(radius * np.column_stack([np.cos(theta), np.sin(theta)]))
        share = 1.0 - circle.intersection(wood).length / circle.length
        assert ring_at(mesh, frame, radius, height).share_of_air == pytest.approx(share, abs=1e-4)


def test_a_groove_turned_about_the_axis_is_air_all_round() -> None:
    groove = TurnCut(foot_centre=np.zeros(3), rim_centre=np.eye(3)[2], profile=np.array([[20.0, 50.0], [30.0, 50.0]]))
    mesh = cut_blank(FIELD.blank, (groove,)).mesh
    assert ends(ring_at(mesh, UPRIGHT, 60.0, 25.0)) == [(0.0, 360.0, False)]
    assert ends(ring_at(mesh, UPRIGHT, 49.0, 25.0)) == [(0.0, 360.0, True)]


# ---- core, ghost and the whole turn ----------------------------------------------------------------------------


def test_core_and_ghost_of_a_half_log_are_those_of_the_circle_and_the_corner() -> None:
    seen = spin(FIELD, UPRIGHT)
    inner = seen.height[1:-1]
    half = np.sqrt(100.0**2 - inner**2)
    assert seen.core[1:-1] == pytest.approx(half, abs=0.02)
    assert seen.ghost[1:-1] == pytest.approx(np.hypot(150.0, half), abs=0.02)


def test_the_core_about_an_axis_off_the_pith_is_smaller_by_as_much_and_0_in_air() -> None:
    field = described_field(Log(radius=100.0, length=300.0), cells=32)
    for off, core in ((30.0, 70.0), (110.0, 0.0)):
        frame = Mounting(foot_centre=(0, 0, off), rim_centre=(300, 0, off), zero=(0, 0, 1)).blank_from_form  # type: ignore[arg-type]
        assert spin(field, frame).core == pytest.approx(np.full(31, core), abs=0.005)


def test_depths_over_the_whole_turn_are_those_of_the_closed_form() -> None:
    outer = prepare_form(straight_form(80.0, 120.0, lowest_rim=50.0), BLOCK).section.outer
    seen = spin_map(FIELD, outer, UPRIGHT)
    theta, height = seen.theta[None], seen.height[:, None]
    side = np.sqrt(np.maximum(100.0**2 - height**2, 0.0))
    way_out = np.minimum(
        side / np.maximum(np.abs(np.sin(theta)), 1e-12), 150.0 / np.maximum(np.abs(np.cos(theta)), 1e-12)
    )
    way_out[seen.height > 100.0] = 0.0  # above the log there is nothing down to the axis
    level = np.abs(seen.height - 100.0) > 1.0  # where the skin runs level a chord is far off to the side
    # a chord of 0.004 mm, met at a slant in height and in angle
    slant = 0.004 * 100.0 / np.maximum(side, 1.0) / np.maximum(np.abs(np.sin(theta)), 0.01)
    off = np.abs(seen.depth - (way_out - seen.outside[:, None]))
    assert (off <= 0.005 + slant)[level].all()


def test_half_of_the_turn_is_air_from_where_half_of_the_ways_out_of_a_board_end() -> None:
    board = described_field(Board(length=300.0, width=200.0, thickness=60.0), cells=32)
    outer = prepare_form(straight_form(80.0, 50.0), BLOCK).section.outer
    seen = spin_map(board, outer, UPRIGHT)
    theta = 2.0 * np.pi * (np.arange(7200) + 0.5) / 7200
    way_out = np.minimum(150.0 / np.abs(np.cos(theta)), 100.0 / np.abs(np.sin(theta)))
    assert seen.half_air == pytest.approx(np.full(31, np.median(way_out)), abs=0.3)  # half a degree between rays
    wanted = np.array([(way_out <= radius).mean() for radius in seen.air.radius])
    assert np.abs(seen.air.share - wanted).max() < 0.008
