"""Scan files of six kinds are read alike; what is no scan is refused in one clear line."""

import math
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from formmaker.errors import BlankError
from formmaker.geometry.meshes import mass_properties
from formmaker.model.blank import BlankSource
from formmaker.model.job import BlankPlan
from formmaker.sources.blank import read_blank
from formmaker.sources.scan_files import read_scan_file

# Sides in mm; a wedge-like place far from the middle, so that a turned axis or a lost offset shows.
SIDES, CORNER = (120.0, 80.0, 50.0), (7.0, -30.0, 200.0)


def brick(unit: float = 1.0) -> trimesh.Trimesh:
    """The test body in a unit of so many mm."""
    body = trimesh.creation.box(SIDES).apply_translation(np.array(SIDES) / 2 + CORNER)
    return body.apply_scale(1.0 / unit)


@pytest.mark.parametrize(
    ("name", "kind", "scan_unit", "unit"),
    [
        ("a.stl", "stl", "mm", 1.0),
        ("b.STL", "stl_ascii", "in", 25.4),
        ("c.obj", "obj", "cm", 10.0),
        ("d.ply", "ply", "m", 1000.0),
        ("e.off", "off", "mm", 1.0),
        ("f.glb", "glb", "", 1000.0),
        ("g.3mf", "3mf", "", 1.0),
    ],
)
def test_every_kind_of_file_gives_the_same_blank(tmp_path, name, kind, scan_unit, unit):
    path = tmp_path / name
    data = brick(unit).export(file_type=kind)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    mesh = read_scan_file(path, scan_unit).mesh
    # STL and GLB hold single precision: 250 mm to 2e-5 mm.
    np.testing.assert_allclose(mesh.bounds, [CORNER, np.add(CORNER, SIDES)], atol=1e-4)
    assert mass_properties(mesh).volume == pytest.approx(math.prod(SIDES), rel=1e-6)


@pytest.mark.parametrize(
    ("unit", "mm"),
    # 3MF core specification 1.3, section 3.4, attribute unit of model (from memory).
    [
        ("micron", 0.001),
        ("millimeter", 1.0),
        ("centimeter", 10.0),
        ("inch", 25.4),
        ("foot", 304.8),
        ("meter", 1000.0),
    ],
)
def test_the_unit_that_a_3mf_states_is_obeyed(tmp_path, unit, mm):
    plain, stated = tmp_path / "plain.3mf", tmp_path / "stated.3mf"
    plain.write_bytes(brick(mm).export(file_type="3mf"))
    with zipfile.ZipFile(plain) as source, zipfile.ZipFile(stated, "w") as target:
        for name in source.namelist():
            target.writestr(name, source.read(name).replace(b'unit="millimeter"', f'unit="{unit}"'.encode()))
    mesh = read_scan_file(stated, "").mesh
    np.testing.assert_allclose(mesh.bounds[1] - mesh.bounds[0], SIDES, rtol=1e-4)


def test_the_users_unit_wins_over_the_files_and_is_said(tmp_path):
    path = tmp_path / "scan.glb"
    path.write_bytes(brick().export(file_type="glb"))
    scan = read_scan_file(path, "mm")
    np.testing.assert_allclose(scan.mesh.bounds[1] - scan.mesh.bounds[0], SIDES, atol=1e-4)
    assert "says its unit is meters, the job says mm" in scan.notes[0]


@pytest.mark.parametrize("kind", ["ply", "obj", "glb"])
def test_colours_of_a_scan_are_kept_at_their_points(tmp_path, kind):
    body = brick(1000.0)
    colours = np.random.default_rng(2).integers(0, 255, (len(body.vertices), 4), dtype=np.uint8)
    colours[:, 3] = 255
    body.visual.vertex_colors = colours
    path = tmp_path / f"scan.{kind}"
    data = body.export(file_type=kind)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    blank = read_blank(BlankPlan(source=BlankSource.SCAN, path=path, scan_unit="m"))
    known = {tuple(np.round(p * 1000.0, 2)): c[:3] for p, c in zip(body.vertices, colours, strict=True)}
    for point, colour in zip(blank.mesh.vertices, blank.mesh.colours, strict=True):
        np.testing.assert_allclose(colour, known[tuple(np.round(point, 2))], atol=1)


@pytest.mark.parametrize("mirror", [1.0, -1.0])
def test_a_placed_part_still_looks_outward_even_when_it_is_mirrored(tmp_path, mirror):
    scene = trimesh.Scene()
    scene.add_geometry(brick(1000.0), transform=np.diag([mirror, 2.0, 1.0, 1.0]))
    path = tmp_path / "scan.glb"
    path.write_bytes(scene.export(file_type="glb"))
    volume = mass_properties(read_scan_file(path, "").mesh).volume
    assert volume == pytest.approx(2.0 * math.prod(SIDES), rel=1e-5)


def test_parts_of_a_scene_are_placed_before_they_are_joined(tmp_path):
    scene = trimesh.Scene()
    turn = trimesh.transformations.rotation_matrix(math.pi / 2, [1, 0, 0])
    turn[:3, 3] = [0.1, 0.2, 0.3]
    scene.add_geometry(brick(1000.0), transform=turn)
    path = tmp_path / "scan.glb"
    path.write_bytes(scene.export(file_type="glb"))
    corners = np.array([CORNER, np.add(CORNER, SIDES)])
    moved = corners[:, [0, 2, 1]] * [1, -1, 1] + [100, 200, 300]
    np.testing.assert_allclose(
        read_scan_file(path, "").mesh.bounds, [moved.min(axis=0), moved.max(axis=0)], atol=1e-3
    )


ASCII_NAN = """solid x
facet normal 0 0 0
outer loop
vertex 0 0 0
vertex 100 0 nan
vertex 100 100 0
endloop
endfacet
endsolid x
"""

# Case: file name, what is in it (None: not made), unit, words of the one line.
HOSTILE = {
    "missing": ("gone.stl", None, "mm", ("no such file",)),
    "empty": ("empty.stl", b"", "mm", ("0 bytes", "export")),
    "text renamed": (
        "text.stl",
        b"Dear diary, today I sawed a burr.\n" * 40,
        "mm",
        ("no triangles", "export it again"),
    ),
    "text renamed ply": ("text.ply", b"Dear diary", "mm", ("cannot be read as PLY",)),
    "text renamed glb": ("text.glb", b"Dear diary", "", ("cannot be read as GLB",)),
    "text renamed 3mf": ("text.3mf", b"Dear diary", "", ("cannot be read as 3MF",)),
    "text renamed off": ("text.off", b"Dear diary", "mm", ("cannot be read as OFF",)),
    "text renamed obj": ("text.obj", b"Dear diary", "mm", ("no triangles",)),
    "cut short": ("short.stl", brick().export(file_type="stl")[:300], "mm", ("short.stl", "export it again")),
    "points only": ("dots.obj", b"v 0 0 0\nv 100 0 0\nv 0 100 0\n", "mm", ("no triangles",)),
    "not finite": ("nan.stl", ASCII_NAN.encode(), "mm", ("not finite", "export it again")),
    "no unit": ("brick.stl", brick().export(file_type="stl"), "", ("no unit", "scan_unit: mm, cm, m or in")),
    "unknown unit": ("brick.stl", brick().export(file_type="stl"), "furlong", ("'furlong'", "mm, cm, m or in")),
    "too small": (
        "brick.stl",
        brick(1000.0).export(file_type="stl"),
        "mm",
        ("0.12 mm", "20 to 3000 mm", "scan_unit m "),
    ),
    "too large": ("brick.stl", brick(1e-7).export(file_type="stl"), "mm", ("1.2e+09 mm", "no known unit")),
    "another kind": ("scan.step", b"ISO-10303-21;", "mm", (".stl, .obj, .ply, .off, .glb, .3mf",)),
    "itself": ("job.toml", b'title = "me"', "mm", (".stl, .obj",)),
    "one triangle": ("one.obj", b"v 0 0 0\nv 100 0 0\nv 0 100 0\nf 1 2 3\n", "mm", ("1 usable triangle",)),
    "bad point": ("bad.off", b"OFF\n3 1 0\n0 0 0\n100 0 0\n0 100 0\n3 0 1 9\n", "mm", ("bad.off", "export it again")),
}


@pytest.mark.parametrize("case", HOSTILE)
def test_hostile_files_get_one_clear_line(tmp_path, case):
    name, content, unit, words = HOSTILE[case]
    path = tmp_path / name
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BlankError) as error:
        read_blank(BlankPlan(source=BlankSource.SCAN, path=path, scan_unit=unit))
    text = str(error.value)
    assert "\n" not in text
    assert str(path) in text
    for word in words:
        assert word in text


def test_a_folder_is_no_scan(tmp_path):
    with pytest.raises(BlankError, match="is a folder; name the file in it"):
        read_scan_file(tmp_path, "mm")


def test_a_blank_far_from_the_origin_is_refused(tmp_path):
    path = tmp_path / "far.off"
    path.write_text(brick().apply_translation((2e5, 0, 0)).export(file_type="off"))
    with pytest.raises(BlankError, match=r"lies 200127 mm from the origin, allowed are 100000 mm; move it"):
        read_scan_file(path, "mm")


def test_points_of_no_triangle_do_not_count(tmp_path):
    path = tmp_path / "stray.obj"
    path.write_text(
        "v 9999 9999 9999\n"
        + "".join(f"v {p[0]} {p[1]} {p[2]}\n" for p in brick().vertices)
        + "".join(f"f {f[0] + 2} {f[1] + 2} {f[2] + 2}\n" for f in brick().faces)
    )
    np.testing.assert_allclose(read_scan_file(Path(path), "mm").mesh.bounds, [CORNER, np.add(CORNER, SIDES)])
