"""Loose pieces, windows and weak necks in bodies whose faults can be worked out on paper."""

from pathlib import Path

import numpy as np
import pytest
from manifold3d import Manifold

from formmaker.engine.field import Field, build_field
from formmaker.engine.necks import Wall, weak_necks
from formmaker.engine.sketching import form_from_profile
from formmaker.engine.soundness import windows
from formmaker.files.profile_file import find_profile, read_profile
from formmaker.geometry.meshes import Mesh
from formmaker.model.form import Edge
from formmaker.model.mounting import Mounting
from formmaker.model.verdict import Answer, Reason, Verdict
from tests.engine.jobs import checked, plain_blank, straight_form, upright
from tests.scans import closed_scan

RADIUS, WALL, HEIGHT = 80.0, 8.0, 80.0
TUBE = np.pi * (RADIUS**2 - (RADIUS - WALL) ** 2)  # mm2, level section of the wall


def slotted(*slots: Manifold) -> Field:
    """A block of 200 x 200 x 100 with slots cut out of it."""
    body = Manifold.cube([200.0, 200.0, 100.0]).translate([-100.0, -100.0, 0.0])
    for slot in slots:
        body = body - slot
    mesh = body.to_mesh64()
    return build_field(plain_blank(Mesh(vertices=mesh.vert_properties[:, :3], faces=mesh.tri_verts)))


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Manifold:
    return Manifold.cube(list(np.subtract(high, low))).translate(list(low))


def verdict_of(field: Field) -> Verdict:
    """Upright bowl of radius 80, its foot 10 above the block's underside."""
    return checked(field, straight_form(RADIUS, HEIGHT, wall=WALL, lowest_rim=30.0), upright(foot_height=10.0))


def test_a_sound_block_has_no_loose_pieces_windows_or_necks() -> None:
    verdict = verdict_of(slotted())
    assert (verdict.loose_pieces, verdict.weak_necks, verdict.windows) == ((), (), ())
    assert verdict.answer is Answer.FITS


def test_a_ring_held_only_by_wood_that_is_hollowed_away_is_loose() -> None:
    # a slot from all sides at 60 to 64 above the foot leaves a column of radius 30, inside the hollow
    ring = Manifold.cylinder(4.0, 300.0, 300.0) - Manifold.cylinder(4.0, 30.0, 30.0, 64)
    verdict = verdict_of(slotted(ring.translate([0.0, 0.0, 70.0])))
    assert len(verdict.loose_pieces) == 1
    piece = verdict.loose_pieces[0]
    assert piece.volume == pytest.approx(TUBE * 16.0, rel=0.05)
    assert piece.height == pytest.approx(72.0, abs=1.0)
    assert verdict.answer is not Answer.FITS
    assert verdict.findings[0].reason is Reason.LOOSE_PIECE
    assert verdict.volumes.bowl == pytest.approx(verdict_of(slotted()).volumes.bowl - TUBE * 20.0, rel=0.01)
    assert verdict.windows == ()  # the gap is open all round: it is where the rim runs
    assert verdict.rim.height == pytest.approx(np.full(360, 60.0), abs=0.02)


def test_a_slot_with_wood_above_it_is_a_window_of_its_own_area() -> None:
    # from x = 20 outward the slot cuts angles up to acos(20 / 80) to either side of 0
    verdict = verdict_of(slotted(box((20.0, -150.0, 70.0), (150.0, 150.0, 74.0))))
    assert len(verdict.windows) == 1
    arc = 2.0 * np.arccos(20.0 / RADIUS) * RADIUS
    assert verdict.windows[0].area == pytest.approx(arc * 4.0, rel=0.6)  # two millimetres of sampling on four of slot
    assert verdict.windows[0].height == pytest.approx(62.0, abs=1.0)
    assert np.cos(verdict.windows[0].theta) == pytest.approx(1.0, abs=0.01)
    assert verdict.loose_pieces == ()


def test_a_wide_window_has_its_area() -> None:
    verdict = verdict_of(slotted(box((20.0, -150.0, 50.0), (150.0, 150.0, 80.0))))
    arc = 2.0 * np.arccos(20.0 / RADIUS) * RADIUS
    assert verdict.windows[0].area == pytest.approx(arc * 30.0, rel=0.08)


def test_a_ring_that_hangs_by_a_bridge_hangs_by_the_bridges_section() -> None:
    # the slot leaves a bridge 20 wide at 180 degrees: its section is 20 x 8, the ring above is 16 high
    sides = box((-60.0, -150.0, 70.0), (150.0, 150.0, 74.0)), box((-150.0, 10.0, 70.0), (0.0, 150.0, 74.0))
    other = box((-150.0, -150.0, 70.0), (0.0, -10.0, 74.0))
    verdict = verdict_of(slotted(*sides, other))
    assert verdict.loose_pieces == ()
    assert len(verdict.weak_necks) == 1
    neck = verdict.weak_necks[0]
    bridge = 2.0 * np.arcsin(10.0 / RADIUS) * RADIUS * WALL
    assert neck.area == pytest.approx(bridge, rel=0.15)  # a degree of turn is 1.4 mm of 20
    assert neck.volume == pytest.approx(TUBE * 16.0, rel=0.1)
    assert np.degrees(neck.theta) == pytest.approx(180.0, abs=2.0)
    assert neck.height == pytest.approx(62.0, abs=4.0)
    assert verdict.answer is not Answer.FITS


def test_a_shallow_bowl_in_the_stump_leaves_a_spur_of_rim_that_hangs() -> None:
    field = build_field(plain_blank(closed_scan("stump_blank.stl")))
    platter = read_profile(find_profile("shallow-platter", Path()))
    form = form_from_profile(
        platter,
        diameter=240.0,
        height=90.0,
        wall=np.array([[0.0, 7.0]]),
        floor=9.0,
        edge=Edge.NATURAL,
        lowest_rim=20.0,
    )
    pose = Mounting(foot_centre=(-20, 0, 30), rim_centre=(-20, 0, 150), zero=(1, 0, 0), foot_height=8)
    verdict = checked(field, form, pose)
    assert verdict.weak_necks
    assert verdict.windows
    assert verdict.margin > 5.0
    assert verdict.answer is Answer.TIGHT


# ---- the wall unrolled, by hand ------------------------------------------------------------------------------------


def wall_of(wood: np.ndarray) -> Wall:
    """A wall of one millimetre cells, 2 mm thick."""
    count = wood.shape[1]
    radius = len(wood) / (2.0 * np.pi)
    heights = np.arange(count, dtype=float)
    return Wall(wood=wood, radii=np.full(count, radius), heights=heights, thickness=np.full(count, 2.0), step=1.0)


def test_a_mushroom_hangs_by_its_stalk_and_a_tapering_peak_does_not() -> None:
    wood = np.zeros((240, 90), dtype=bool)
    wood[:, :30] = True
    wood[100:110, 30:50] = True  # a stalk 10 wide
    wood[80:130, 50:80] = True  # a cap 50 wide and 30 high
    for row in range(30, 80):
        wood[10 + (row - 30) // 2 : 60 - (row - 30) // 2, row] = True  # a peak 50 wide at its root
    necks = weak_necks(wall_of(wood))
    assert len(necks) == 1
    assert necks[0].area == pytest.approx(10 * 2.0)
    assert necks[0].volume >= 50 * 30 * 2.0
    assert np.degrees(necks[0].theta) == pytest.approx(105 / 240 * 360, abs=2.0)


def test_a_part_under_a_cubic_centimetre_is_a_splinter_and_no_neck() -> None:
    # a stalk 4 wide under a cap of 20 by 20 cells of 2 mm3: 0.8 cm3 and a little stalk; 30 by 20 makes 1.2
    small, large = (np.zeros((240, 90), dtype=bool) for _ in range(2))
    for wood, width in ((small, 20), (large, 30)):
        wood[:, :30] = True
        wood[100:104, 30:35] = True
        wood[90 : 90 + width, 35:55] = True
    assert weak_necks(wall_of(small)) == ()
    assert len(weak_necks(wall_of(large))) == 1


def test_a_mushroom_over_the_seam_is_found_as_well() -> None:
    wood = np.zeros((240, 90), dtype=bool)
    wood[:, :30] = True
    wood[100:110, 30:50] = True
    wood[80:130, 50:80] = True
    here, there = weak_necks(wall_of(wood)), weak_necks(wall_of(np.roll(wood, -104, axis=0)))
    assert len(there) == 1
    assert there[0].area == pytest.approx(here[0].area)
    assert there[0].volume == pytest.approx(here[0].volume)


def test_a_gap_open_to_the_rim_is_no_window() -> None:
    missing = np.zeros((90, 40), dtype=bool)
    missing[10:20, 20:] = True
    missing[50:60, 10:20] = True
    found = windows(missing, np.full(40, 45.0), np.arange(40.0), 1.0)
    assert len(found) == 1
    assert found[0].area == pytest.approx(10 * 10 * 45.0 * 2.0 * np.pi / 90)
    assert found[0].height == pytest.approx(14.5)
