import numpy as np
import pytest
import shapely
import trimesh

from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.plane_loops import plane_loops


def area_of(loops):
    solid = shapely.Polygon()
    for loop in loops:
        solid = solid.symmetric_difference(shapely.Polygon(loop))
    return solid.area


def test_a_ball_is_cut_in_circles_of_the_height() -> None:
    ball = trimesh.creation.icosphere(subdivisions=4, radius=50.0)
    mesh = Mesh(vertices=ball.vertices, faces=ball.faces)
    level = Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, 30.0]))
    (loop,) = plane_loops(mesh, level)
    # closed form: a circle of radius sqrt(50^2 - 30^2) = 40; the ball's chords lie within 0.3 mm of it
    np.testing.assert_allclose(np.hypot(*loop.T), 40.0, atol=0.3)


@pytest.mark.parametrize("seed", range(4))
def test_a_slanted_cut_has_the_area_that_trimesh_finds(seed: int) -> None:
    random = np.random.default_rng(seed)
    body = trimesh.creation.torus(major_radius=40.0, minor_radius=13.0, major_sections=48, minor_sections=24)
    mesh = Mesh(vertices=body.vertices, faces=body.faces)
    frame = frame_from_axis(random.normal(size=3) * 5.0, random.normal(size=3), random.normal(size=3))
    section = body.section(plane_origin=frame.origin, plane_normal=frame.rotation[:, 2])
    flat, _ = section.to_2D()
    assert area_of(plane_loops(mesh, frame)) == pytest.approx(flat.area, rel=1e-6)


def test_a_plane_beside_the_body_cuts_nothing() -> None:
    box = trimesh.creation.box(extents=(10.0, 10.0, 10.0))
    mesh = Mesh(vertices=box.vertices, faces=box.faces)
    assert plane_loops(mesh, Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, 6.0]))) == ()


def test_a_plane_through_corners_still_closes_its_loop() -> None:
    box = trimesh.creation.box(extents=(10.0, 10.0, 10.0))
    mesh = Mesh(vertices=box.vertices, faces=box.faces)
    diagonal = frame_from_axis(np.zeros(3), np.array([1.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0]))
    # the plane holds four corners: a rectangle of 10 by 10 sqrt 2
    assert area_of(plane_loops(mesh, diagonal)) == pytest.approx(10.0 * np.hypot(10.0, 10.0))


def test_a_face_sawn_at_the_plane_is_not_cut_to_ribbons() -> None:
    random = np.random.default_rng(3)
    box = trimesh.creation.box(extents=(10.0, 10.0, 10.0)).subdivide().subdivide()
    shaken = box.vertices + np.where(np.abs(box.vertices[:, 2:] - 5.0) < 1e-9, 1e-5, 0.0) * random.normal(
        size=(len(box.vertices), 1)
    ) * np.array([0.0, 0.0, 1.0])
    mesh = Mesh(vertices=shaken, faces=box.faces)
    loops = plane_loops(mesh, Frame(rotation=np.eye(3), origin=np.array([0.0, 0.0, 5.0])))
    assert area_of(loops) == pytest.approx(100.0, rel=1e-3)
