"""Both ends of an axis on the skin."""

import numpy as np
import pytest

from formmaker.engine.axis_ends import axis_ends
from formmaker.errors import MountingError
from tests.oracles import box_mesh, joined

BOX = box_mesh(np.array([-50.0, -50.0, 0.0]), np.array([50.0, 50.0, 80.0]))


def test_a_leaning_axis_leaves_a_box_at_its_faces() -> None:
    ends = axis_ends(BOX, np.array([5.0, 0.0, 20.0]), np.array([0.1, 0.0, 1.0]))
    np.testing.assert_allclose(ends.foot, [3.0, 0.0, 0.0], atol=1e-9)
    np.testing.assert_allclose(ends.rim, [11.0, 0.0, 80.0], atol=1e-9)


def test_a_centre_meets_the_outermost_wood() -> None:
    above = box_mesh(np.array([-50.0, -50.0, 90.0]), np.array([50.0, 50.0, 120.0]))
    ends = axis_ends(joined(BOX, above), np.array([0.0, 1.0, 10.0]), np.array([0.0, 0.0, 2.0]))
    assert (ends.foot[2], ends.rim[2]) == (0.0, 120.0)


def test_an_axis_beside_the_wood_is_refused() -> None:
    with pytest.raises(MountingError, match="passes beside the wood"):
        axis_ends(BOX, np.array([60.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0]))
