"""Reduction of very many triangles, which sweeps begin: still closed, still the same body, nothing lost on flats."""

import math

import numpy as np
import pytest
import trimesh

from formmaker.geometry import reduce
from formmaker.geometry.meshes import Mesh, mass_properties
from formmaker.geometry.reduce import reduced

MANY = 150_000
"""More triangles than are queued at once."""


def as_mesh(solid: trimesh.Trimesh) -> Mesh:
    return Mesh(vertices=solid.vertices, faces=solid.faces)


def test_a_box_of_196_608_triangles_comes_down_to_twelve_at_its_own_corners() -> None:
    box = trimesh.creation.box((10, 20, 30))
    corners = {tuple(corner) for corner in np.round(box.vertices, 6).tolist()}
    for _ in range(7):
        box = box.subdivide()
    assert len(box.faces) > MANY
    small = reduced(as_mesh(box), 12)
    assert len(small.faces) == 12
    assert {tuple(corner) for corner in (np.round(small.vertices, 6) + 0.0).tolist()} == corners


def test_a_ring_keeps_its_tunnel_its_volume_and_its_skin() -> None:
    """Closed form: volume 2 pi^2 R r^2, and every point of the skin r from the circle of radius R."""
    big, little = 80.0, 25.0
    ring = trimesh.creation.torus(big, little, major_sections=600, minor_sections=150)
    assert len(ring.faces) > MANY
    small = reduced(as_mesh(ring), 5000)
    checked = trimesh.Trimesh(small.vertices, small.faces, process=False)
    assert 4900 <= len(small.faces) <= 5000
    assert checked.is_watertight
    assert checked.is_winding_consistent
    assert checked.euler_number == 0
    assert mass_properties(small).volume == pytest.approx(2.0 * math.pi**2 * big * little**2, rel=2e-3)
    x, y, z = small.vertices.T
    off = np.hypot(np.hypot(x, y) - big, z) - little
    assert np.abs(off).max() < 0.1  # two sides of its triangles are 4 mm: their sagitta at r = 25 is 0.08


def test_sweeps_cost_no_more_than_a_queue_of_all_edges(monkeypatch) -> None:
    """The queue alone is the plain twin: the sweeps first may leave the true skin by little more than it does."""
    bumpy = trimesh.creation.icosphere(7, radius=100.0)
    x, y, z = bumpy.vertices.T
    lumps = 1.0 + 0.06 * np.sin(x / 9.0) * np.sin(y / 11.0) * np.sin(z / 7.0)
    full = Mesh(vertices=bumpy.vertices * lumps[:, None], faces=bumpy.faces)
    assert len(full.faces) > MANY
    swept = _rms(full, reduced(full, 4000))
    monkeypatch.setattr(reduce, "_MANY", len(full.faces))
    queued = _rms(full, reduced(full, 4000))
    assert swept <= 1.1 * queued


def _rms(full: Mesh, small: Mesh) -> float:
    target = trimesh.Trimesh(small.vertices, small.faces, process=False)
    away = trimesh.proximity.closest_point(target, full.vertices[::97])[1]
    return float(np.sqrt((away**2).mean()))
