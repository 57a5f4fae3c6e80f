"""Frames: what is carried there comes back, and axes stand where they were asked."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from formmaker.geometry.frames import Frame, frame_from_axis

vectors = arrays(float, 3, elements=st.floats(-100.0, 100.0))


@given(vectors, vectors, vectors, vectors)
def test_a_frame_from_an_axis_is_right_handed_and_undone_by_its_inverse(
    origin: np.ndarray, axis: np.ndarray, towards: np.ndarray, point: np.ndarray
) -> None:
    across = np.linalg.norm(np.cross(axis, towards))
    assume(np.linalg.norm(axis) > 1e-3)
    assume(across > 1e-3 * np.linalg.norm(axis) * np.linalg.norm(towards))
    assume(across > 1e-3)
    frame = frame_from_axis(origin, axis, towards)
    np.testing.assert_allclose(frame.rotation.T @ frame.rotation, np.eye(3), atol=1e-9)
    assert np.linalg.det(frame.rotation) == pytest.approx(1.0)
    np.testing.assert_allclose(frame.rotation[:, 2], axis / np.linalg.norm(axis), atol=1e-12)
    assert frame.rotation[:, 0] @ towards > 0.0
    assert frame.rotation[:, 1] @ towards == pytest.approx(0.0, abs=1e-7)
    np.testing.assert_allclose(frame.inverse.carry(frame.carry(point)), point, atol=1e-7)


def test_a_quarter_turn_carries_points_and_turns_directions() -> None:
    frame = Frame(rotation=np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]]), origin=np.array([10.0, 20.0, 30.0]))
    assert frame.carry(np.array([[1.0, 2.0, 3.0]])).tolist() == [[8.0, 21.0, 33.0]]
    assert frame.turn(np.array([1.0, 2.0, 3.0])).tolist() == [-2.0, 1.0, 3.0]


def test_an_axis_of_no_length_is_refused() -> None:
    with pytest.raises(ValueError, match="two ends are the same point"):
        frame_from_axis(np.zeros(3), np.zeros(3), np.array([1.0, 0, 0]))


def test_a_zero_direction_along_the_axis_is_refused() -> None:
    with pytest.raises(ValueError, match="lies along the axis"):
        frame_from_axis(np.zeros(3), np.array([0.0, 0, 1]), np.array([0.0, 0, -5]))
