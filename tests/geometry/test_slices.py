"""How far a body reaches from an axis, against closed forms and against slices cut by another library."""

import numpy as np
import trimesh
from numpy.testing import assert_allclose

from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.meshes import Mesh
from formmaker.geometry.slices import reach_by_height
from tests.oracles import box_mesh

HERE = Frame(rotation=np.eye(3), origin=np.zeros(3))


def test_a_pyramid_reaches_its_corners_and_narrows_to_its_tip() -> None:
    vertices = np.array([[30, 0, 0], [0, 30, 0], [-30, 0, 0], [0, -30, 0], [0, 0, 60]])
    faces = np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4], [1, 0, 3], [1, 3, 2]])
    reach = reach_by_height(Mesh(vertices=vertices, faces=faces), HERE, 13)
    assert_allclose(reach.height, np.linspace(0.0, 60.0, 13))
    assert_allclose(reach.radius, 30.0 * (1.0 - reach.height / 60.0), atol=1e-12)


def test_a_box_has_its_corners_at_both_ends_and_between() -> None:
    reach = reach_by_height(box_mesh([-30.0, -40.0, 5.0], [20.0, 10.0, 25.0]), HERE, 5)
    assert_allclose(reach.radius, 50.0)


def test_a_leaning_axis_is_the_axis_of_the_slices() -> None:
    lump = trimesh.creation.icosphere(subdivisions=3)
    lump.vertices *= [60.0, 40.0, 30.0]
    frame = frame_from_axis(np.array([8.0, -5.0, 12.0]), np.array([0.4, -0.2, -1.0]), np.array([1.0, 0.0, 0.0]))
    reach = reach_by_height(Mesh(vertices=lump.vertices, faces=lump.faces), frame, 21)
    for height, radius in zip(reach.height[1:-1], reach.radius[1:-1], strict=True):
        middle = frame.carry(np.array([0.0, 0.0, height]))
        lines = trimesh.intersections.mesh_plane(lump, plane_normal=frame.rotation[:, 2], plane_origin=middle)
        assert_allclose(radius, np.linalg.norm(lines.reshape(-1, 3) - middle, axis=1).max(), rtol=1e-9)
