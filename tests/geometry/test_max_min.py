"""The least of linear functions made greatest: scipy's linprog (HiGHS) is the oracle, and weights prove it alone."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog

from formmaker.geometry.max_min import best_place, best_weights

MOST = 36


def drawn(seed: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Some functions of seven variables, and limits of which one may be 0."""
    rng = np.random.default_rng(seed)
    rows = rng.normal(size=(int(rng.integers(1, MOST + 1)), 8)) * [3.0, *[1.0] * 7]
    limits = np.exp(rng.normal(size=7))
    limits[int(rng.integers(0, 12)) % 7] *= seed % 3 > 0
    return rows, limits


def greatest(rows: NDArray[np.float64], limits: NDArray[np.float64]) -> float:
    bounds = [(-limit, limit) for limit in limits[:-1]] + [(0.0, limits[-1]), (None, None)]
    table = np.hstack([-rows[:, 1:], np.ones((len(rows), 1))])
    return -float(linprog([0.0] * 7 + [-1.0], A_ub=table, b_ub=rows[:, 0], bounds=bounds).fun)


@pytest.mark.parametrize("seed", range(200))
def test_place_and_weights_meet_at_the_optimum(seed: int) -> None:
    rows, limits = drawn(seed)
    weights, place = np.empty(MOST), np.empty(7)
    best_weights(rows, len(rows), limits, weights)
    best_place(rows, len(rows), limits, place)
    assert (np.abs(place) <= limits + 1e-9).all()
    assert place[-1] >= -1e-9
    assert weights[: len(rows)].min() >= 0.0
    mean = weights[: len(rows)] @ rows
    above = mean[0] + np.abs(mean[1:7]) @ limits[:6] + max(mean[7], 0.0) * limits[6]
    below = float((rows[:, 0] + rows[:, 1:] @ place).min())
    assert below == pytest.approx(greatest(rows, limits), abs=1e-7)
    assert above == pytest.approx(below, abs=1e-7)
