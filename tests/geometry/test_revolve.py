"""Turned outlines against Pappus, closed forms and an independent revolve."""

import math

import numpy as np
import pytest
import trimesh

from formmaker.errors import FormError
from formmaker.geometry.meshes import Mesh, mass_properties
from formmaker.geometry.revolve import Facets, revolved


def as_trimesh(mesh: Mesh) -> trimesh.Trimesh:
    return trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)


FRUSTUM = np.array([[0.0, 0.0], [3.0, 0.0], [1.0, 4.0], [0.0, 4.0]])
BOWL = np.array(
    [[0.0, 0.0], [40.0, 0.0], [70.0, 30.0], [90.0, 80.0], [84.0, 80.0], [65.0, 34.0], [36.0, 9.0], [0.0, 8.0]]
)


def torus_outline(count: int) -> np.ndarray:
    angles = np.arange(count) * 2 * math.pi / count
    widening = math.sqrt(2 * math.pi / count / math.sin(2 * math.pi / count))  # keeps the disc's area
    return np.stack([5 + 2 * widening * np.cos(angles), 2 * widening * np.sin(angles)], axis=1)


def test_a_turned_frustum_has_the_closed_form_volume_and_centre() -> None:
    # check-values 2.1: V = 54.454273, z = 1.3846154 (closed forms from memory, worked there)
    found = mass_properties(revolved(FRUSTUM, 40))
    assert found.volume == pytest.approx(math.pi * 4 * (9 + 3 + 1) / 3, rel=1e-12)
    assert found.volume == pytest.approx(54.454273, abs=1e-6)
    assert found.centre[2] == pytest.approx(1.3846154, abs=1e-7)


def test_a_turned_ring_obeys_pappus() -> None:
    # check-values 2.1: torus R 5, r 2, V = 2 pi^2 R r^2 = 394.78418
    assert mass_properties(revolved(torus_outline(90), 70)).volume == pytest.approx(394.78418, abs=1e-5)


@pytest.mark.parametrize("outline", [FRUSTUM, FRUSTUM[::-1], BOWL, torus_outline(12)])
def test_a_turned_outline_is_closed_and_wound_outward_either_way_round(outline: np.ndarray) -> None:
    solid = as_trimesh(revolved(outline, 37))
    assert solid.is_watertight
    assert solid.is_winding_consistent
    assert solid.volume > 0.0
    assert len(solid.vertices) == len(np.unique(solid.vertices, axis=0))


def test_inside_flats_match_an_independent_revolve() -> None:
    # trimesh's own revolve is inscribed as well
    other = trimesh.creation.revolve(np.vstack([BOWL, BOWL[:1]]), sections=48)
    mine = mass_properties(revolved(BOWL, 48, facets=Facets.INSIDE))
    assert mine.volume == pytest.approx(abs(other.volume), rel=1e-12)


@pytest.mark.parametrize("segments", [3, 8, 360])
def test_inside_flats_stay_in_the_circle_and_outside_flats_beyond_it(segments: int) -> None:
    cylinder = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 5.0], [0.0, 5.0]])
    for facets, near in ((Facets.INSIDE, 10 * math.cos(math.pi / segments)), (Facets.OUTSIDE, 10.0)):
        mesh = revolved(cylinder, segments, facets=facets)
        side = mesh.corners[np.abs(mesh.corners[:, :, :2]).sum(axis=2).min(axis=1) > 0]
        middles = np.linalg.norm(side[:, :, :2].mean(axis=1), axis=1).min()
        corners = np.linalg.norm(mesh.vertices[:, :2], axis=1).max()
        flat = corners * math.cos(math.pi / segments)
        assert flat == pytest.approx(near, rel=1e-12)
        assert middles >= flat - 1e-9


@pytest.mark.parametrize(
    ("outline", "segments", "word"),
    [
        (FRUSTUM, 2, "segments"),
        (FRUSTUM[:2], 12, "encloses nothing"),
        (FRUSTUM - [0.5, 0.0], 12, "crosses the axis"),
        (FRUSTUM[[0, 2, 1, 3]], 12, "crosses itself"),
        (np.array([[0.0, 0.0], [np.nan, 0.0], [1.0, 1.0]]), 12, "finite"),
    ],
)
def test_what_is_no_outline_is_refused(outline: np.ndarray, segments: int, word: str) -> None:
    with pytest.raises(FormError, match=word):
        revolved(outline, segments)
