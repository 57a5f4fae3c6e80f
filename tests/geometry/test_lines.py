"""A line through a skin, against boxes by closed form and trimesh's own rays."""

import numpy as np
import pytest
import trimesh

from formmaker.geometry.lines import line_crossings
from formmaker.geometry.meshes import Mesh
from tests.oracles import box_mesh

BOX = box_mesh(np.array([-10.0, -20.0, -30.0]), np.array([10.0, 20.0, 30.0]))


@pytest.mark.parametrize(
    ("origin", "direction", "crossings"),
    [
        ((1.0, 2.0, 0.0), (0.0, 0.0, 1.0), (-30.0, 30.0)),
        ((1.0, 2.0, 100.0), (0.0, 0.0, -5.0), (70.0, 130.0)),  # from outside, direction of any length
        ((0.0, 0.0, 0.0), (3.0, 4.0, 0.0), (-50.0 / 3.0, 50.0 / 3.0)),  # 10 / (3/5)
        ((11.0, 0.0, 0.0), (0.0, 0.0, 1.0), ()),  # beside it
    ],
)
def test_a_box_is_crossed_where_its_sides_stand(
    origin: tuple[float, ...], direction: tuple[float, ...], crossings: tuple[float, ...]
) -> None:
    found = np.unique(line_crossings(BOX, np.array(origin), np.array(direction)).round(9))
    np.testing.assert_allclose(found, crossings, atol=1e-9)


def test_a_line_through_edges_and_corners_is_not_lost() -> None:
    for direction in ((0.0, 0.0, 1.0), (1.0, 2.0, 3.0), (1.0, 2.0, 0.0), (1.0, 0.0, 3.0)):
        found = line_crossings(BOX, np.zeros(3), np.array(direction))
        assert found[0] < 0.0 < found[-1]


def test_a_ball_is_crossed_where_trimesh_says() -> None:
    ball = trimesh.creation.icosphere(subdivisions=4, radius=50.0)
    mesh = Mesh(vertices=ball.vertices, faces=ball.faces)
    chance = np.random.default_rng(7)
    for _ in range(50):
        origin, direction = chance.uniform(-30.0, 30.0, 3), chance.normal(size=3)
        unit = direction / np.linalg.norm(direction)
        hits = ball.ray.intersects_location([origin - 200.0 * unit], [unit])[0]
        np.testing.assert_allclose(
            line_crossings(mesh, origin, direction), np.sort((hits - origin) @ unit), atol=1e-6
        )
