"""Depths round the turn against the same lookups one by one."""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from formmaker.geometry.frames import frame_from_axis
from formmaker.geometry.grid import grid_distance
from formmaker.geometry.rings import ring_depths
from tests.oracles import box_distance, box_mesh
from tests.skins import placed_points, skin_of

HALF = np.array([70.0, 50.0, 40.0])


@pytest.mark.parametrize(("count", "turns"), [(3, 7), (1, 1), (4000, 9)])  # one thread, one angle, two threads
def test_depths_stand_by_angle_and_by_place(count: int, turns: int) -> None:
    grid = skin_of(box_mesh(-HALF, HALF)).grid
    frame = frame_from_axis(np.array([5.0, -3.0, -20.0]), np.array([0.2, 0.1, -1.0]), np.array([0.0, 1.0, 0.0]))
    random = np.random.default_rng(2)
    places = np.column_stack([random.uniform(0, 90, count), random.uniform(-60, 60, count)])
    depths = ring_depths(grid, places, frame, turns)
    assert depths.shape == (turns, count)
    for turn in range(turns):
        points = placed_points(places, np.full(count, 2.0 * np.pi * turn / turns), frame)
        assert_allclose(depths[turn], grid_distance(grid, points), atol=1e-9)
        inside = box_distance(points, HALF) > 0.0
        assert_allclose(depths[turn][inside], box_distance(points, HALF)[inside], atol=grid.error)
