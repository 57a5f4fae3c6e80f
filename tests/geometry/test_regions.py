"""Regions and least cuts on rasters small enough to see, and against a flood fill."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from formmaker.geometry.regions import label_round, least_cut


def flooded(mask: np.ndarray) -> np.ndarray:
    """Plain twin of ``label_round`` for two axes: flood fill with a stack."""
    labels = np.zeros(mask.shape, dtype=int)
    count = 0
    for seed in np.argwhere(mask):
        if labels[tuple(seed)]:
            continue
        count += 1
        stack = [tuple(seed)]
        while stack:
            i, j = stack.pop()
            if not (0 <= j < mask.shape[1]) or not mask[i % len(mask), j] or labels[i % len(mask), j]:
                continue
            labels[i % len(mask), j] = count
            stack += [(i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)]
    return labels


@given(arrays(bool, st.tuples(st.integers(3, 9), st.integers(1, 7))))
def test_regions_are_those_of_a_flood_fill(mask: np.ndarray) -> None:
    ours, plain = label_round(mask), flooded(mask)
    assert (ours > 0).tolist() == mask.tolist()
    assert len(set(zip(ours.ravel(), plain.ravel(), strict=True))) == len(np.unique(plain)) == len(np.unique(ours))


def test_a_cut_goes_through_the_neck() -> None:
    mask = np.zeros((12, 6), dtype=bool)
    mask[:, :2] = True
    mask[4, 2:4] = True
    mask[2:8, 4:] = True
    source, sink = np.zeros_like(mask), np.zeros_like(mask)
    source[2:8, 5] = True
    sink[:, 0] = True
    cut = least_cut(mask, np.full(6, 3.0), np.array([2.0, 2.5, 1.5, 2.0, 2.0]), source=source, sink=sink)
    assert abs(cut.capacity - 1.5) < 1e-9
    assert cut.source_side.sum() == 13
    assert not cut.source_side[4, 2]


def test_a_part_joined_round_the_turn_is_not_cut_off_at_the_seam() -> None:
    mask = np.ones((8, 3), dtype=bool)
    source, sink = np.zeros_like(mask), np.zeros_like(mask)
    source[0, 2] = True
    sink[4, 2] = True
    cut = least_cut(mask, np.full(3, 1.0), np.full(2, 0.25), source=source, sink=sink)
    assert abs(cut.capacity - 2.25) < 1e-9
