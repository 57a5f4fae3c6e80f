"""Wood cut through the axis: against the closed form of a half log, and against trimesh on a bumpy body."""

import numpy as np
import pytest
import shapely
import trimesh

from formmaker.engine.wood_sections import quarter_sections, wood_section
from formmaker.geometry.booleans import shadow_outline
from formmaker.geometry.frames import Frame, frame_from_axis
from formmaker.geometry.meshes import Mesh
from formmaker.model.shapes import HalfLog
from formmaker.sources.shapes import shape_mesh

HERE = Frame(rotation=np.eye(3), origin=np.zeros(3))


def bumpy() -> Mesh:
    body = trimesh.creation.icosphere(subdivisions=4, radius=100.0)
    x, y, z = body.vertices.T
    body.vertices *= (1 + 0.2 * np.sin(x / 20) * np.cos(y / 25) + 0.1 * np.sin(z / 15))[:, None]
    return Mesh(vertices=body.vertices, faces=body.faces)


def test_a_half_log_is_a_quarter_circle_across_and_a_rectangle_along() -> None:
    mesh = shape_mesh(HalfLog(radius=100.0, length=300.0))
    along, across, back, _ = quarter_sections(mesh, HERE)
    assert along.area.bounds == pytest.approx((0, 0, 150, 100), abs=0.05)
    assert along.area.area == pytest.approx(150 * 100, rel=1e-3)
    assert back.area.bounds == pytest.approx(along.area.bounds, abs=1e-6)
    arc = shapely.get_coordinates(across.area.exterior)
    arc = arc[(arc[:, 0] > 1e-3) & (arc[:, 1] > 1e-3)]
    np.testing.assert_allclose(np.hypot(*arc.T), 100.0, atol=0.05)
    assert across.area.area == pytest.approx(np.pi * 100**2 / 4, rel=1e-3)


@pytest.mark.parametrize("theta", [0.3, 1.9, 4.0])
def test_a_section_at_any_angle_about_any_axis_is_what_trimesh_finds(theta: float) -> None:
    mesh = bumpy()
    pose = frame_from_axis(np.array([5.0, -7, -20]), np.array([0.2, 0.1, 1.0]), np.array([1.0, 0.3, 0]))
    area = wood_section(mesh, pose, theta).area
    body = trimesh.Trimesh(vertices=pose.inverse.carry(mesh.vertices), faces=mesh.faces, process=False)
    body.apply_transform(trimesh.transformations.rotation_matrix(-theta, [0, 0, 1]))
    segments = trimesh.intersections.mesh_plane(body, plane_normal=[0, 1, 0], plane_origin=[0, 0, 0])
    rings = shapely.get_parts(shapely.polygonize([shapely.LineString(s[:, [0, 2]].round(9)) for s in segments]))
    half = shapely.union_all(rings).intersection(shapely.box(0, -500, 500, 500))
    assert area.symmetric_difference(half).area < 1.0  # mm2 of some 15 000


def test_a_shadow_holds_every_corner_and_is_no_larger_than_their_hull() -> None:
    mesh = bumpy()
    shadow = shadow_outline(mesh, HERE)
    points = shapely.points(mesh.vertices[:, :2])
    assert shapely.distance(points, shadow).max() < 1e-6
    assert shadow.area <= shapely.MultiPoint(points).convex_hull.area + 1e-6
