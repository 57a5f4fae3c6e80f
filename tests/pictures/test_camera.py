import math

import numpy as np
import pytest

from formmaker.pictures.camera import ELEVATION, VIEW_ANGLE, Camera, framed, open_side


def test_a_point_beside_the_focus_falls_where_similar_triangles_put_it() -> None:
    camera = Camera(eye=np.array([0.0, -1000.0, 0.0]), focus=np.zeros(3), size=(800, 600))
    # seen along +y: right is +x, up is +z; half the picture's height at the focus is 1000 tan(half angle)
    per_mm = 300.0 / (1000.0 * math.tan(VIEW_ANGLE / 2.0))
    seen = camera.project(np.array([[0.0, 0.0, 0.0], [50.0, 0.0, 20.0]]))
    np.testing.assert_allclose(seen[0], [400.0, 300.0, 1000.0])
    np.testing.assert_allclose(seen[1], [400.0 + 50.0 * per_mm, 300.0 - 20.0 * per_mm, 1000.0])


@pytest.mark.parametrize("size", [(800, 600), (300, 900)])
def test_what_must_be_seen_fills_its_share_in_the_middle_of_the_picture(size: tuple[int, int]) -> None:
    points = np.random.default_rng(2).uniform([-200, -40, 10], [90, 130, 170], (400, 3))
    camera = framed(points, 0.7, size, fill=0.8)
    seen = camera.project(points)[:, :2]
    shares = np.ptp(seen, axis=0) / np.array(size)
    assert shares.max() == pytest.approx(0.8, abs=0.002)
    np.testing.assert_allclose((seen.min(axis=0) + seen.max(axis=0)) / 2, np.array(size) / 2, atol=1.0)
    toward = (camera.eye - camera.focus) / np.linalg.norm(camera.eye - camera.focus)
    assert math.atan2(toward[1], toward[0]) == pytest.approx(0.7)
    assert math.asin(toward[2]) == pytest.approx(ELEVATION)


def test_a_leaning_rim_is_looked_at_over_its_low_side_and_a_level_one_from_the_given_side() -> None:
    turn = np.linspace(0.0, 2.0 * math.pi, 721)
    ring = np.column_stack([100 * np.cos(turn), 100 * np.sin(turn), 80 + 15 * np.cos(turn - 1.0)])
    assert math.remainder(open_side(ring, fallback=0.0) - (1.0 + math.pi), 2 * math.pi) == pytest.approx(0.0, abs=0.1)
    ring[:, 2] = 80.0
    assert open_side(ring, fallback=0.25) == 0.25
