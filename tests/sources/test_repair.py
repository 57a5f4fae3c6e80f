"""Repairs against solids whose volume and area are known, and refusals with their words."""

import math

import manifold3d
import numpy as np
import pytest
import trimesh

from formmaker.errors import BlankError
from formmaker.geometry.frames import frame_from_axis
from formmaker.geometry.meshes import Mesh, mass_properties, moved
from formmaker.sources.repair import Repaired, is_oriented_manifold, repair_mesh
from formmaker.sources.topology import edge_table
from formmaker.units import Units

VOLUME, TRIANGLE = 1e6, 100.0**2 / 128.0


def cube(centre=(0.0, 0.0, 0.0), side=100.0, rounds=3) -> trimesh.Trimesh:
    """Cube of 12 * 4^rounds triangles; at side 100 and three rounds each is 78.1 mm2, 0.13 % of the skin."""
    box = trimesh.creation.box((side, side, side))
    for _ in range(rounds):
        box = box.subdivide()
    return box.apply_translation(centre)


def as_mesh(body: trimesh.Trimesh) -> Mesh:
    return Mesh(vertices=body.vertices, faces=body.faces.astype(np.int32))


def changed(body: trimesh.Trimesh, faces: np.ndarray) -> Mesh:
    return Mesh(vertices=body.vertices, faces=faces.astype(np.int32))


def joined(*bodies: trimesh.Trimesh) -> Mesh:
    return as_mesh(trimesh.util.concatenate(list(bodies)))


def codes(repaired: Repaired) -> list[str]:
    return [repair.code for repair in repaired.repairs]


def require_cube(repaired: Repaired, volume: float = VOLUME) -> None:
    """Closed, outward, by an independent library, and of the right volume."""
    body = trimesh.Trimesh(repaired.mesh.vertices, repaired.mesh.faces, process=False)
    assert body.is_volume
    assert body.body_count == 1
    assert mass_properties(repaired.mesh).volume == pytest.approx(volume, rel=1e-12)


def test_a_sound_mesh_is_left_alone():
    mesh = as_mesh(cube())
    repaired = repair_mesh(mesh, "cube.stl")
    assert repaired.repairs == ()
    np.testing.assert_array_equal(repaired.mesh.faces, mesh.faces)
    np.testing.assert_array_equal(repaired.mesh.vertices, mesh.vertices)


def test_repaired_once_is_repaired_for_good():
    body = cube()
    first = repair_mesh(changed(body, np.concatenate([body.faces[1:, ::-1], body.faces[7:9]])), "cube.stl")
    assert codes(first) == ["doubled dropped", "hole filled", "turned outward"]
    assert repair_mesh(first.mesh, "cube.stl").repairs == ()


def test_loose_triangles_are_welded():
    body = cube()
    loose = Mesh(vertices=body.triangles.reshape(-1, 3), faces=np.arange(3 * len(body.faces)).reshape(-1, 3))
    repaired = repair_mesh(loose, "cube.stl")
    assert codes(repaired) == ["welded"]
    # Euler: a closed body of m triangles has 2 + m / 2 points.
    assert repaired.repairs[0].count == 3 * len(body.faces) - (2 + len(body.faces) // 2)
    require_cube(repaired)


def test_one_missing_triangle_is_filled_with_its_own_area():
    repaired = repair_mesh(changed(cube(), cube().faces[1:]), "cube.stl")
    assert codes(repaired) == ["hole filled"]
    assert repaired.repairs[0].area == pytest.approx(TRIANGLE)
    require_cube(repaired)


def test_a_hole_round_a_corner_of_six_triangles_is_filled_flat():
    body = cube()
    inner = np.flatnonzero((np.abs(body.vertices[:, :2]).max(axis=1) < 30) & (body.vertices[:, 2] == 50.0))
    ring = (body.faces == inner[0]).any(axis=1)
    repaired = repair_mesh(changed(body, body.faces[~ring]), "cube.stl")
    assert codes(repaired) == ["hole filled"]
    assert repaired.repairs[0].area == pytest.approx(ring.sum() * TRIANGLE)
    require_cube(repaired)


def test_a_ragged_hole_that_has_no_flat_view_is_filled_from_its_middle():
    body = cube(rounds=4)
    corner = np.abs(body.vertices - 50.0).max(axis=1) < 1e-6
    ring = corner[body.faces].any(axis=1)
    repaired = repair_mesh(changed(body, body.faces[~ring]), "cube.stl")
    assert codes(repaired) == ["hole filled"]
    # Whatever way the patch folds, it stays within the cube of 6.25 mm at the corner, and cuts some of it off.
    assert 0.0 < VOLUME - mass_properties(repaired.mesh).volume < 6.25**3


def test_an_open_underside_is_closed_by_its_plane():
    body = cube()
    below = body.triangles_center[:, 2] < -49.9
    repaired = repair_mesh(changed(body, body.faces[~below]), "cube.stl")
    assert codes(repaired) == ["underside closed"]
    assert repaired.repairs[0].area == pytest.approx(1e4)
    assert "leaves that plane by up to 0.0 mm" in repaired.repairs[0].text
    closed = repaired.mesh.corners[repaired.underside]
    np.testing.assert_allclose(closed[..., 2], -50.0)
    require_cube(repaired)


def test_an_inside_out_solid_is_turned_and_gains_twice_its_volume():
    repaired = repair_mesh(changed(cube(), cube().faces[:, ::-1]), "cube.stl")
    assert codes(repaired) == ["turned outward"]
    assert repaired.repairs[0].volume_change == pytest.approx(2.0 * VOLUME)
    require_cube(repaired)


def test_triangles_wound_against_their_neighbours_are_turned():
    body = cube()
    faces = body.faces.copy()
    faces[[3, 77, 300]] = faces[[3, 77, 300], ::-1]
    repaired = repair_mesh(changed(body, faces), "cube.stl")
    assert [(r.code, r.count) for r in repaired.repairs] == [("rewound", 3)]
    assert repaired.repairs[0].area == pytest.approx(3 * TRIANGLE)
    require_cube(repaired)


def test_doubled_and_flat_triangles_are_dropped():
    body = cube()
    extra = np.concatenate([body.faces, body.faces[:4], body.faces[4:6, ::-1], [[7, 7, 9], [8, 8, 8]]])
    repaired = repair_mesh(changed(body, extra), "cube.stl")
    assert [(r.code, r.count) for r in repaired.repairs] == [("flat dropped", 2), ("doubled dropped", 6)]
    require_cube(repaired)


def test_a_speck_is_removed_with_its_volume():
    repaired = repair_mesh(joined(cube(), cube((80.0, 0, 0), side=2.0, rounds=0)), "cube.stl")
    assert [(r.code, r.count) for r in repaired.repairs] == [("speck removed", 1)]
    assert repaired.repairs[0].volume_change == pytest.approx(-8.0)
    assert repaired.repairs[0].area == pytest.approx(24.0)
    require_cube(repaired)


def test_a_fin_on_an_edge_is_cut_out_and_the_skin_closed_again():
    body = cube()
    edge = body.faces[10, :2]
    fin = Mesh(
        vertices=np.vstack([body.vertices, [0.0, 0.0, 200.0]]),
        faces=np.vstack([body.faces, [edge[0], edge[1], len(body.vertices)]]).astype(np.int32),
    )
    # The fin is as large as a tenth of a face: too large to be called noise in a small cube.
    with pytest.raises(BlankError, match=r"three or more faces meet at an edge in 3 triangles"):
        repair_mesh(fin, "cube.stl")
    near = Mesh(vertices=np.vstack([body.vertices, body.vertices[edge].mean(axis=0) * 1.1]), faces=fin.faces)
    repaired = repair_mesh(near, "cube.stl")
    assert codes(repaired) == ["crowded cut", "hole filled"]
    require_cube(repaired)


def test_colours_follow_their_points():
    body = cube()
    colours = np.random.default_rng(5).integers(0, 255, (len(body.vertices), 3), dtype=np.uint8)
    loose = Mesh(
        vertices=body.triangles.reshape(-1, 3),
        faces=np.arange(3 * len(body.faces)).reshape(-1, 3),
        colours=colours[body.faces.ravel()],
    )
    mesh = repair_mesh(loose, "cube.stl").mesh
    known = {tuple(np.round(p, 6)): tuple(c) for p, c in zip(body.vertices, colours, strict=True)}
    assert all(known[tuple(np.round(p, 6))] == tuple(c) for p, c in zip(mesh.vertices, mesh.colours, strict=True))


def test_moving_a_broken_scan_changes_neither_repairs_nor_volume():
    body = cube()
    broken = changed(body, np.concatenate([body.faces[1:40, ::-1], body.faces[40:]]))
    frame = frame_from_axis(np.array([70.0, -20.0, 5.0]), np.array([1.0, 2.0, 3.0]), np.array([1.0, 0.0, 0.0]))
    here, there = repair_mesh(broken, "a"), repair_mesh(moved(broken, frame), "a")
    assert codes(here) == codes(there)
    assert [r.area for r in here.repairs] == pytest.approx([r.area for r in there.repairs])
    require_cube(there)


def pinched() -> Mesh:
    """Two cubes that share one corner point."""
    two = joined(cube(rounds=0), cube((100.0, 100.0, 100.0), rounds=0))
    return as_mesh(trimesh.Trimesh(two.vertices, two.faces, process=True))


@pytest.mark.parametrize(
    ("mesh", "is_solid"),
    [
        (as_mesh(cube()), True),
        (joined(cube(), cube((300.0, 0.0, 0.0))), True),
        (changed(cube(), cube().faces[1:]), False),
        (changed(cube(), np.concatenate([cube().faces[:1, ::-1], cube().faces[1:]])), False),
        (changed(cube(), np.concatenate([cube().faces, cube().faces[:1]])), False),
        (pinched(), False),
    ],
)
def test_our_own_edges_and_the_boolean_kernel_agree_on_what_is_a_solid(mesh: Mesh, is_solid: bool):
    """The kernel parts a pinched point itself; ours asks for it to be parted before."""
    kernel = manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=np.array(mesh.vertices), tri_verts=np.array(mesh.faces, dtype=np.uint64))
    )
    assert is_oriented_manifold(mesh, edge_table(mesh.faces, len(mesh.vertices))) is is_solid
    if is_solid or len(mesh.vertices) != len(pinched().vertices):
        assert (kernel.status() == manifold3d.Error.NoError) is is_solid


def moebius() -> Mesh:
    turn = np.linspace(0.0, 2.0 * math.pi, 40, endpoint=False)
    rows = []
    for side in (-20.0, 20.0):
        wide = 100.0 + side * np.cos(turn / 2)
        rows.append(np.column_stack([wide * np.cos(turn), wide * np.sin(turn), side * np.sin(turn / 2)]))
    a = np.arange(40)
    b, c, d = (a + 1) % 40, (a + 1) % 40 + 40, a + 40
    # After one turn the two sides have changed places.
    b[-1], c[-1] = 40, 0
    faces = np.concatenate([np.column_stack([a, b, c]), np.column_stack([a, c, d])])
    return Mesh(vertices=np.concatenate(rows), faces=faces.astype(np.int32))


def wavy_underside() -> Mesh:
    body = cube()
    points = body.vertices.copy()
    low = points[:, 2] == -50.0
    points[low, 2] += 12.0 * np.sin(points[low, 0] / 16.0)
    return Mesh(vertices=points, faces=body.faces[body.triangles_center[:, 2] > -49.9].astype(np.int32))


def without_sides(*axes: int) -> Mesh:
    body = cube()
    open_sides = (body.triangles_center[:, axes] > 49.9).any(axis=1)
    return changed(body, body.faces[~open_sides])


def pillow() -> Mesh:
    body = cube()
    return Mesh(vertices=body.vertices * [1, 1, 1e-5], faces=body.faces.astype(np.int32))


REFUSED = {
    "one triangle": (changed(cube(), cube().faces[:1]), ("1 usable triangle", "at least 4")),
    "two bodies": (
        joined(cube(), cube((300, 0, 0), side=80.0)),
        ("2 separate bodies", "1000.0 cm3", "512.0 cm3", "keep"),
    ),
    "touching at a corner": (joined(cube(), cube((100, 100, 100))), ("2 separate bodies",)),
    "one-sided": (moebius(), ("one-sided",)),
    "wavy underside": (wavy_underside(), ("leaves its best plane by", "allowed are 4", "trim")),
    "open in two places": (without_sides(0, 2), ("opening", "leaves its best plane", "scan all sides")),
    "a lone wall": (changed(cube(), cube().faces[cube().triangles_center[:, 2] > 49.9]), ("cube.stl", "no wood")),
    "a sheet": (pillow(), ("cube.stl", "no wood")),
}


@pytest.mark.parametrize("case", REFUSED)
def test_what_cannot_be_repaired_honestly_is_refused_with_the_way_out(case):
    mesh, words = REFUSED[case]
    with pytest.raises(BlankError) as error:
        repair_mesh(mesh, "cube.stl")
    text = str(error.value)
    assert "\n" not in text
    assert text.startswith("cube.stl")
    for word in words:
        assert word in text


def test_what_was_done_is_said_in_the_units_of_the_job():
    body = cube()
    below = body.triangles_center[:, 2] < -49.9
    repaired = repair_mesh(changed(body, body.faces[~below]), "cube.stl", units=Units.INCH)
    # the square of 100 mm is 141.42 mm or 5.568 in across its corners, its area 15.50003 sq in
    assert repaired.repairs[0].text == (
        "open underside 5 9/16 in wide closed by a plane, 16 sq in added; its border leaves that plane by up to 0 in"
    )
