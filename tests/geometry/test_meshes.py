"""Mass properties of meshes against closed forms and published test bodies."""

import numpy as np
import pytest
import scipy.special
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import Mesh, face_areas, face_normals, mass_properties, moved
from tests.oracles import box_mesh
from tests.scans import closed_scan

TETRAHEDRON = Mesh(
    vertices=np.array([[0.0, 0, 0], [5, 0, 0], [0, 4, 0], [0, 0, 3]]),
    faces=np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]]),
)


def test_the_tetrahedron_of_the_literature() -> None:
    # Test body of the code published with B. Mirtich, Journal of Graphics Tools 1(2), 1996: legs 5, 4, 3. Closed
    # forms: abc / 6, a / 4, second moments a^3 bc / 60, products a^2 b^2 c / 120, then moved to the centre.
    found = mass_properties(TETRAHEDRON)
    assert found.volume == pytest.approx(10.0, rel=1e-12)
    np.testing.assert_allclose(found.centre, [1.25, 1.0, 0.75], rtol=1e-12)
    expected = [[9.375, 2.5, 1.875], [2.5, 12.75, 1.5], [1.875, 1.5, 15.375]]
    np.testing.assert_allclose(found.inertia, expected, rtol=1e-12)
    np.testing.assert_allclose(np.linalg.eigvalsh(found.inertia), [7.910610, 12.5, 17.089390], atol=1e-6)
    assert face_areas(TETRAHEDRON).sum() == pytest.approx(37.3654246, abs=1e-7)


def test_the_cube_and_a_box() -> None:
    cube = mass_properties(box_mesh(np.full(3, -10.0), np.full(3, 10.0)))
    assert cube.volume == pytest.approx(8000.0)
    np.testing.assert_allclose(cube.inertia, np.eye(3) * 8000.0 * 400.0 / 6.0, atol=1e-6)
    # Box 2 x 4 x 6 of density 1.5: centroid diagonal 312, 240, 120.
    box = mass_properties(box_mesh(np.array([9.0, -2, -3]), np.array([11.0, 2, 3])))
    np.testing.assert_allclose(box.centre, [10.0, 0.0, 0.0], atol=1e-12)
    np.testing.assert_allclose(1.5 * box.inertia, np.diag([312.0, 240.0, 120.0]), atol=1e-9)


def natural_edge_blank(radius: float, log: float, *, turns: int = 720, rings: int = 90) -> Mesh:
    """Upright cylinder from the sawn face through the pith of a half log up to its bark."""
    angle = 2.0 * np.pi * np.arange(turns) / turns
    rho = radius * np.arange(1, rings + 1) / rings
    x, y = rho[:, None] * np.sin(angle), rho[:, None] * np.cos(angle)
    top = np.stack([x, y, np.sqrt(log**2 - y**2)], axis=-1).reshape(-1, 3)
    floor = np.stack([x[-1], y[-1], np.zeros(turns)], axis=-1)
    vertices = np.vstack([top, floor, [[0.0, 0.0, log], [0.0, 0.0, 0.0]]])
    now, after = np.arange(turns), (np.arange(turns) + 1) % turns
    rim, low, crown, middle = (rings - 1) * turns, rings * turns, len(vertices) - 2, len(vertices) - 1
    faces = [np.column_stack([np.full(turns, crown), after, now])]
    for ring in range(rings - 1):
        a, b, c, d = ring * turns + now, ring * turns + after, (ring + 1) * turns + now, (ring + 1) * turns + after
        faces += [np.column_stack([a, b, d]), np.column_stack([a, d, c])]
    faces += [
        np.column_stack([rim + now, rim + after, low + after]),
        np.column_stack([rim + now, low + after, low + now]),
    ]
    faces += [np.column_stack([np.full(turns, middle), low + now, low + after])]
    return Mesh(vertices=vertices, faces=np.vstack(faces))


@pytest.mark.parametrize(("radius", "volume"), [(60.0, 1_077_481.310), (80.0, 1_833_206.542)])
def test_the_natural_edge_blank_has_half_the_volume_of_two_crossing_cylinders(radius: float, volume: float) -> None:
    # V = (4 R / 3) ((R^2 + r^2) E(m) - (R^2 - r^2) K(m)), m = (r / R)^2: half of what is published for the body
    # common to two crossing cylinders. 720 chords fall short by (2 pi / 720)^2 / 6 = 1.3e-5 of the area.
    log, share = 100.0, (radius / 100.0) ** 2
    first, second = scipy.special.ellipk(share), scipy.special.ellipe(share)
    closed = 4.0 * log / 3.0 * ((log**2 + radius**2) * second - (log**2 - radius**2) * first)
    assert closed == pytest.approx(volume, abs=1e-3)
    found = mass_properties(natural_edge_blank(radius, log))
    assert found.volume == pytest.approx(closed, rel=4e-5)
    height = (log**2 * np.pi * radius**2 - np.pi * radius**4 / 4.0) / (2.0 * closed)
    np.testing.assert_allclose(found.centre, [0.0, 0.0, height], atol=4e-5 * height)


def test_an_independent_library_agrees_on_a_scan() -> None:
    mesh = closed_scan("stump_blank.stl")
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    found = mass_properties(mesh)
    assert found.volume == pytest.approx(other.volume, rel=1e-9)
    np.testing.assert_allclose(found.centre, other.center_mass, rtol=1e-9)
    np.testing.assert_allclose(found.inertia, other.moment_inertia, rtol=1e-7, atol=1e-7 * abs(found.inertia).max())


@settings(deadline=None)
@given(arrays(float, 3, elements=st.floats(-4.0, 4.0)), arrays(float, 3, elements=st.floats(-1e4, 1e4)))
def test_moving_a_body_moves_its_centre_and_turns_its_inertia(angles: np.ndarray, shift: np.ndarray) -> None:
    turn = np.asarray(trimesh.transformations.euler_matrix(*angles)[:3, :3])
    frame = Frame(rotation=turn, origin=shift)
    here, there = mass_properties(TETRAHEDRON), mass_properties(moved(TETRAHEDRON, frame))
    assert there.volume == pytest.approx(here.volume, rel=1e-8)
    np.testing.assert_allclose(there.centre, frame.carry(here.centre), atol=1e-7)
    np.testing.assert_allclose(there.inertia, turn @ here.inertia @ turn.T, atol=1e-6)


def test_an_inside_out_mesh_has_a_negative_volume() -> None:
    inside_out = Mesh(vertices=TETRAHEDRON.vertices, faces=TETRAHEDRON.faces[:, ::-1])
    assert mass_properties(inside_out).volume == pytest.approx(-10.0)


def test_normals_point_outward_and_a_face_without_area_has_none() -> None:
    flat = Mesh(vertices=TETRAHEDRON.vertices, faces=np.vstack([TETRAHEDRON.faces, [[0, 1, 1]]]))
    expected = [[0, 0, -1], [0, -1, 0], np.array([12.0, 15.0, 20.0]) / np.sqrt(769.0), [-1, 0, 0], [0, 0, 0]]
    np.testing.assert_allclose(face_normals(flat), expected, atol=1e-12)


def test_a_mesh_keeps_its_own_locked_copy() -> None:
    vertices = np.array(TETRAHEDRON.vertices)
    mesh = Mesh(vertices=vertices, faces=TETRAHEDRON.faces)
    vertices[0] = 99.0
    assert mesh.vertices[0].tolist() == [0.0, 0.0, 0.0]
    with pytest.raises(ValueError, match="read-only"):
        mesh.vertices[0, 0] = 1.0
