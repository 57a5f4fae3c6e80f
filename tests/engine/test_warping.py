"""Shrinkage of a piece of wood: every small length loses what its direction says, and the way back holds."""

import math

import numpy as np
import pytest

from formmaker.engine.warping import (
    Shrinkages,
    Warp,
    closes_round_pith,
    dried,
    ringed_warp,
    straight_warp,
    undried,
)

LOST = Shrinkages(along=0.001, radial=0.03, tangential=0.08)
PITH = np.array([3.0, -5.0, -40.0])
FIBRES = np.array([0.9, 0.3, 0.1]) / np.linalg.norm([0.9, 0.3, 0.1])
WARPS = (
    straight_warp(FIBRES, LOST),
    straight_warp(np.array([0.0, 0.0, 1.0]), LOST),
    ringed_warp(FIBRES, PITH, np.array([0.0, 0.0, 50.0]), LOST),
)


def places(count: int = 50) -> np.ndarray:
    return np.random.default_rng(5).uniform([-150, -150, 0], [150, 150, 120], (count, 3))


def stretches(warp: Warp, point: np.ndarray) -> np.ndarray:
    """Singular values of the derivative at a point, by central differences: what small lengths are multiplied by."""
    step = 1e-4
    columns = [(dried(warp, point + step * e) - dried(warp, point - step * e)) / (2 * step) for e in np.eye(3)]
    return np.sort(np.linalg.svd(np.column_stack(columns))[1])


@pytest.mark.parametrize("warp", WARPS)
def test_every_small_length_loses_its_share_and_nothing_is_strained(warp: Warp) -> None:
    for point in places(12):
        assert stretches(warp, point) == pytest.approx([0.92, 0.97, 0.999], abs=1e-6)


@pytest.mark.parametrize("warp", WARPS)
def test_the_way_back_is_the_way_there(warp: Warp) -> None:
    assert undried(warp, dried(warp, places())) == pytest.approx(places(), abs=1e-9)


@pytest.mark.parametrize("warp", WARPS)
def test_the_middle_of_the_foot_stays(warp: Warp) -> None:
    assert dried(warp, np.zeros((1, 3)))[0] == pytest.approx(np.zeros(3), abs=1e-9)


def test_lengths_along_fibres_rings_and_rays_are_those_of_the_handbook() -> None:
    """Wood Handbook, equation 4-9, direction by direction."""
    warp = ringed_warp(np.array([1.0, 0.0, 0.0]), np.zeros(3), np.array([0.0, 0.0, 60.0]), LOST)
    ends = np.array([[0.0, 0.0, 50.0], [0.0, 0.0, 90.0], [70.0, 0.0, 50.0]])
    at, ray, fibre = dried(warp, ends)
    assert np.linalg.norm(ray - at) == pytest.approx(40.0 * 0.97)
    assert np.linalg.norm(fibre - at) == pytest.approx(70.0 * 0.999)
    turn = np.linspace(-0.5, 0.5, 2001)
    ring = dried(warp, 50.0 * np.column_stack([np.zeros_like(turn), np.sin(turn), np.cos(turn)]))
    assert np.linalg.norm(np.diff(ring, axis=0), axis=1).sum() == pytest.approx(50.0 * 0.92, rel=1e-6)


def test_the_sawn_face_of_a_half_log_closes_up_by_what_its_rings_lose_more_than_its_rays() -> None:
    """Closed form: the half turn shrinks to pi (1 - T) / (1 - R), so each side tips up by half the rest."""
    warp = ringed_warp(np.array([1.0, 0.0, 0.0]), np.zeros(3), np.array([0.0, 0.0, 60.0]), LOST)
    right = dried(warp, np.array([[0.0, 100.0, 0.0], [0.0, 40.0, 0.0]]))
    rise = math.atan2(*(right[0] - right[1])[[2, 1]])
    assert rise == pytest.approx(math.pi / 2.0 * (1.0 - 0.92 / 0.97))


def test_straight_wood_across_the_axis_shrinks_tangentially_across_the_bowl_and_radially_in_height() -> None:
    warp = straight_warp(np.array([1.0, 0.0, 0.0]), LOST)
    assert dried(warp, np.array([[100.0, 100.0, 100.0]]))[0] == pytest.approx([99.9, 92.0, 97.0])
    far = ringed_warp(np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, -1e6]), np.array([0.0, 0.0, 50.0]), LOST)
    assert dried(far, places()) == pytest.approx(dried(warp, places()), abs=0.01)


def test_wood_that_closes_round_its_pith_is_known() -> None:
    warp = ringed_warp(np.array([1.0, 0.0, 0.0]), np.zeros(3), np.array([0.0, 0.0, 50.0]), LOST)
    angles = np.linspace(-math.pi, math.pi, 100)
    ring = 30.0 * np.column_stack([np.zeros_like(angles), np.sin(angles), np.cos(angles)])
    assert closes_round_pith(warp, ring)
    assert not closes_round_pith(warp, ring[np.abs(angles) < 2.0])
    assert not closes_round_pith(straight_warp(np.array([1.0, 0.0, 0.0]), LOST), ring)
