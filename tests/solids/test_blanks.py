"""Blanks as solids: what reduction keeps and costs, and solids of flat faces against their meshes."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from formmaker.errors import KernelError
from formmaker.geometry.meshes import Mesh, mass_properties
from formmaker.geometry.reduce import reduced

SCANS = Path(__file__).parents[3] / "shared" / "data"

pytestmark = pytest.mark.kernel


def as_mesh(solid: trimesh.Trimesh) -> Mesh:
    return Mesh(vertices=solid.vertices, faces=solid.faces)


def scan(name: str) -> Mesh:
    path = SCANS / name
    if not path.exists():
        pytest.skip(f"no shared scan {name} beside the project")
    solid = trimesh.load(path)
    solid.merge_vertices()
    return as_mesh(solid)


def test_a_box_of_many_faces_comes_down_to_twelve_and_loses_nothing() -> None:
    from formmaker.solids.blanks import reduction_cost

    box = trimesh.creation.box((10, 20, 30)).subdivide().subdivide().subdivide()
    small = reduced(as_mesh(box), 12)
    cost = reduction_cost(as_mesh(box), small)
    assert (cost.faces_before, cost.faces_after) == (768, 12)
    assert cost.farthest == pytest.approx(0.0, abs=1e-9)
    assert cost.volume_change == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("name", ["stump_blank.stl", "butt_log.stl"])
@pytest.mark.parametrize("faces", [1200, 300])
def test_a_reduced_scan_is_closed_and_keeps_its_tunnels(name: str, faces: int) -> None:
    # the stump has one tunnel, which quadric reduction without the link condition tears open
    full = scan(name)
    small = reduced(full, faces)
    before, after = (trimesh.Trimesh(mesh.vertices, mesh.faces, process=False) for mesh in (full, small))
    assert len(small.faces) <= faces
    assert after.is_watertight
    assert after.is_winding_consistent
    assert after.euler_number == before.euler_number
    assert after.volume == pytest.approx(before.volume, rel=0.03)


def test_the_cost_of_a_reduction_is_no_less_than_an_independent_measure_finds() -> None:
    from formmaker.solids.blanks import reduction_cost

    full = scan("stump_blank.stl")
    small = reduced(full, 500)
    cost = reduction_cost(full, small)
    pairs = [(small, full), (full, small)]
    for skin, other in pairs:
        target = trimesh.Trimesh(skin.vertices, skin.faces, process=False)
        distances = trimesh.proximity.closest_point(target, other.vertices)[1]
        assert cost.farthest >= distances.max() - 1e-6
        assert distances.max() > 0.3 * cost.farthest
    assert 0.0 < cost.rms < cost.farthest


@pytest.mark.parametrize("subdivisions", [1, 3])
def test_a_solid_of_flat_faces_is_its_mesh(subdivisions: int) -> None:
    from formmaker.solids.blanks import faceted_solid
    from formmaker.solids.kernel import boxed, measure

    mesh = as_mesh(trimesh.creation.icosphere(subdivisions, radius=80))
    solid = faceted_solid(mesh)
    assert solid.isValid()
    assert len(solid.Faces()) == len(mesh.faces)
    assert measure(solid).volume == pytest.approx(mass_properties(mesh).volume, rel=1e-12)
    assert boxed(solid) == pytest.approx(mesh.bounds, abs=1e-6)


def test_what_is_no_skin_makes_no_solid() -> None:
    from formmaker.solids.blanks import faceted_solid

    good = as_mesh(trimesh.creation.box((1, 1, 1)))
    flat = Mesh(vertices=good.vertices * [1, 1, 0], faces=good.faces)
    for word, mesh in {
        "exactly two triangles": Mesh(vertices=good.vertices, faces=good.faces[:-1]),
        "no area": flat,
        "faulty solid": Mesh(vertices=good.vertices, faces=good.faces[:, ::-1]),
    }.items():
        with pytest.raises(KernelError, match=word):
            faceted_solid(mesh)


def test_a_described_blank_is_not_reduced() -> None:
    from formmaker.model.shapes import Round
    from formmaker.solids.blanks import blank_solid
    from formmaker.sources.shapes import shape_mesh

    shape = Round(diameter=200, thickness=50)
    blank = blank_solid(shape_mesh(shape), shape, faces=100)
    assert blank.reduction is None
    assert len(blank.solid.Faces()) == 3
    assert np.isclose(blank.solid.Volume(), np.pi * 100**2 * 50, rtol=1e-9)
