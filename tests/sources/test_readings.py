"""Tables of radii against closed forms, and against a mesh of the same piece made by others."""

import csv
import math

import numpy as np
import pytest
import trimesh

from formmaker.errors import BlankError, FormmakerError, JobFileError
from formmaker.geometry.meshes import face_normals, mass_properties
from formmaker.geometry.nearest import build_tree, signed_distance
from formmaker.model.blank import FaceKind
from formmaker.sources.polar import PolarSolid
from formmaker.sources.readings import read_readings
from formmaker.units import Units
from tests.scans import scan_path

RADIUS, OFF, HEIGHT = 100.0, 12.0, 200.0


def eccentric(angle):
    """Radius of a circle of 100 mm whose middle stands 12 mm off the axis toward 30 degrees; law of cosines."""
    away = np.asarray(angle) - math.pi / 6
    return OFF * np.cos(away) + np.sqrt(RADIUS**2 - (OFF * np.sin(away)) ** 2)


def table(tmp_path, rows, head="index_deg,station,radius"):
    path = tmp_path / "burr.csv"
    path.write_text("\n".join([head, *rows]) + "\n")
    return path


def circle_rows(count=24, stations=(0.0, 100.0, 200.0), skip=()):
    degrees = [360.0 * k / count for k in range(count)]
    return [f"{d},{s},{eccentric(math.radians(d)):.6f}" for s in stations for d in degrees if (s, d) not in skip]


def require_closed(solid: PolarSolid) -> None:
    assert trimesh.Trimesh(solid.skin.mesh.vertices, solid.skin.mesh.faces, process=False).is_volume


def test_an_eccentric_cylinder_comes_back_with_its_volume_and_centre(tmp_path):
    solid = read_readings(table(tmp_path, circle_rows()))
    require_closed(solid)
    mass = mass_properties(solid.skin.mesh)
    # Chords of 1 degree cost (pi/180)^2 * 2/3 = 5e-5 of the area (from the segment's area), the spline far less.
    assert mass.volume == pytest.approx(math.pi * RADIUS**2 * HEIGHT, rel=1e-4)
    centre = [OFF * math.cos(math.pi / 6), OFF * math.sin(math.pi / 6), HEIGHT / 2]
    np.testing.assert_allclose(mass.centre, centre, atol=0.01)
    # 24 positions foretell such a circle to a few hundredths: no noise, so the floor of the uncertainty stands.
    assert solid.uncertainty == 0.5


def test_the_solid_passes_through_every_reading(tmp_path):
    rng = np.random.default_rng(4)
    rows, points = [], []
    for station in (10.0, 35.0, 90.0):
        for degrees in np.sort(rng.choice(360, size=9, replace=False)) + 0.37:
            radius = rng.uniform(80, 110)
            rows.append(f"{degrees},{station},{radius}")
            turn = math.radians(degrees)
            points.append([radius * math.cos(turn), radius * math.sin(turn), station - 10.0])
    solid = read_readings(table(tmp_path, rows))
    require_closed(solid)
    distances = signed_distance(build_tree(solid.skin.mesh), np.array(points)).distance
    np.testing.assert_allclose(distances, 0.0, atol=1e-9)


def test_index_positions_and_inches_say_the_same_as_degrees_and_millimetres(tmp_path):
    degrees = mass_properties(read_readings(table(tmp_path, circle_rows())).skin.mesh)
    rows = [
        f"{k},{station / 25.4},{eccentric(math.radians(15 * k)) / 25.4:.9f} in"
        for station in (0.0, 100.0, 200.0)
        for k in range(24)
    ]
    path = table(tmp_path, ["# taken on Sunday", "", *rows], head="index,station,radius")
    positions = mass_properties(read_readings(path, Units.INCH, index_count=24).skin.mesh)
    assert positions.volume == pytest.approx(degrees.volume, rel=1e-8)
    np.testing.assert_allclose(positions.centre, degrees.centre, atol=1e-6)


def test_turning_the_index_turns_the_solid(tmp_path):
    first = mass_properties(read_readings(table(tmp_path, circle_rows())).skin.mesh).centre
    turned = [f"{(float(r.split(',')[0]) + 90) % 360},{r.split(',', 1)[1]}" for r in circle_rows()]
    second = mass_properties(read_readings(table(tmp_path, turned)).skin.mesh).centre
    np.testing.assert_allclose(second, [-first[1], first[0], first[2]], atol=1e-6)


def test_a_gap_is_bridged_and_said(tmp_path):
    skip = {(100.0, 45.0), (100.0, 60.0), (100.0, 75.0)}
    rows = [*circle_rows(skip=skip), "60,100,"]
    solid = read_readings(table(tmp_path, rows))
    require_closed(solid)
    assert solid.notes[0].startswith(
        "A gap of 60 degrees in the readings, at station 100.0 mm from 30 degrees on, is bridged"
    )
    missing = math.radians(60.0)
    point = eccentric(missing) * np.array([[math.cos(missing), math.sin(missing), 0.0]]) + [0, 0, 100.0]
    off = abs(signed_distance(build_tree(solid.skin.mesh), point).distance[0])
    assert off < 0.1
    assert off <= solid.uncertainty


@pytest.mark.parametrize("missing", [{}, {(80, 5)}])
def test_noise_of_the_readings_becomes_uncertainty(tmp_path, missing):
    rng = np.random.default_rng(8)
    rows = [
        f"{15 * k},{station},{eccentric(math.radians(15 * k)) + rng.normal(0, 2.0)}"
        for station in range(0, 400, 40)
        for k in range(24)
        if (station, k) not in missing
    ]
    # Two standard deviations; 240 readings tell one of 2 mm to about 5 % (chi square), three times that is allowed.
    # A single missing reading adds next to nothing: the cubic through its neighbours has squared weights of 34 / 36.
    assert read_readings(table(tmp_path, rows)).uncertainty == pytest.approx(4.0, rel=0.15)


def test_the_flat_ends_are_sawn_and_the_side_is_natural(tmp_path):
    skin = read_readings(table(tmp_path, circle_rows())).skin
    ends = np.abs(face_normals(skin.mesh)[:, 2]) > 0.999
    np.testing.assert_array_equal(skin.kinds == FaceKind.SAWN, ends)
    assert set(skin.patches[ends]) == {0, 1}


def scan_table(tmp_path, name):
    with scan_path(name).open() as file:
        rows = [f"{r['theta_deg']},{r['z_mm']},{r['r_mm']}" for r in csv.DictReader(file)]
    return table(tmp_path, rows)


def test_the_butt_log_from_its_readings_is_the_butt_log_as_a_mesh(tmp_path):
    solid = read_readings(scan_table(tmp_path, "butt_log_polar_exact.csv"))
    require_closed(solid)
    other = trimesh.load_mesh(scan_path("butt_log.stl"))
    # The table runs from 8 to 392 mm of the 400 mm long mesh, in the table's own heights.
    points = solid.skin.mesh.vertices[solid.skin.mesh.vertices[:, 2] % 384.0 > 1.0] + [0.0, 0.0, 8.0]
    distance = np.abs(trimesh.proximity.signed_distance(other, points[::23]))
    # The table holds 8 of the mesh's 24 stations, so the two differ between them; the uncertainty says how much.
    assert np.quantile(distance, 0.95) < solid.uncertainty < 1.5


def test_raw_laser_points_with_real_gaps_close_and_say_so(tmp_path):
    solid = read_readings(scan_table(tmp_path, "butt_log_polar_raw.csv"))
    require_closed(solid)
    assert any(note.startswith("A gap of 45 degrees in the readings, at station 400.0 mm") for note in solid.notes)
    assert solid.uncertainty > 2.0


def test_all_faulty_rows_are_told_at_once(tmp_path):
    rows = circle_rows(stations=(0.0, 100.0))
    rows += ["0,200,a lot", "15,200,-3", "north,200,80", "30,200,80", "30,200,81", "45,two,80"]
    with pytest.raises(JobFileError) as error:
        read_readings(table(tmp_path, rows))
    lines = str(error.value).splitlines()
    assert len(lines) == 5
    for line, words in zip(
        lines,
        (
            "line 50 radius = a lot",
            "line 51 radius = -3: expected a length above 0",
            "line 52 index_deg = north: expected a number",
            "line 55 station = two",
            "line 54 = 30 degrees at station 200 mm: expected each place once, line 53 has it already",
        ),
        strict=True,
    ):
        assert words in line
        assert "burr.csv" in line


@pytest.mark.parametrize(
    ("rows", "head", "words"),
    [
        (
            ["0,0,80", "90,0,80"],
            "index_deg,station,radius",
            ("1 station", "two or more", "2 reading(s)", "3 or more"),
        ),
        (["0,0,80"], "index_deg,height,radius", ("column station is missing",)),
        (["0,0,80"], "index,station,radius", ("index_count is 0", "3 or more")),
        ([], "index_deg,station,radius", ("holds no readings",)),
        (
            [f"{d},{s},80" for s in (0, 50) for d in (0, 60, 120)],
            "index_deg,station,radius",
            ("no reading over 240 degrees", "allowed are 180"),
        ),
        (
            [f"{d},{s},{r}" for s in (0, 50) for d, r in ((0, 300), (10, 12), (20, 10), (30, 300), (180, 300))],
            "index_deg,station,radius",
            ("reaches the axis",),
        ),
    ],
)
def test_tables_that_make_no_solid_are_refused(tmp_path, rows, head, words):
    with pytest.raises(FormmakerError) as error:
        read_readings(table(tmp_path, rows, head))
    for word in words:
        assert word in str(error.value)


def test_stations_with_few_readings_admit_that_they_cannot_test_themselves(tmp_path):
    solid = read_readings(table(tmp_path, [f"{d},{s},80" for s in (0, 50) for d in (0, 120, 240)]))
    require_closed(solid)
    assert solid.uncertainty == 2.0
    assert "2.0 mm is taken" in solid.notes[0]


def test_what_is_no_text_is_refused(tmp_path):
    path = tmp_path / "burr.csv"
    path.write_bytes(b"\xff\xfe\x00\x01" * 30)
    with pytest.raises(BlankError, match="is no CSV text"):
        read_readings(path)
