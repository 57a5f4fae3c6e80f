"""Planes of patches whose corners are known."""

import numpy as np
from numpy.testing import assert_allclose

from formmaker.geometry.meshes import Mesh
from formmaker.geometry.planes import patch_planes
from tests.oracles import box_mesh


def test_each_side_of_a_box_has_its_outward_plane_and_no_bulge() -> None:
    planes = patch_planes(box_mesh([1.0, 2.0, 3.0], [5.0, 7.0, 9.0]), np.repeat(np.arange(6), 2))
    assert_allclose(planes.normals, [[-1, 0, 0], [1, 0, 0], [0, -1, 0], [0, 1, 0], [0, 0, -1], [0, 0, 1]])
    assert_allclose(planes.offsets, [-1.0, 5.0, -2.0, 7.0, -3.0, 9.0])
    assert_allclose(planes.bulges, 0.0, atol=1e-12)


def test_every_corner_of_an_uneven_patch_lies_within_its_bulge() -> None:
    random = np.random.default_rng(4)
    steps = np.stack(np.meshgrid(np.arange(9.0), np.arange(7.0), indexing="ij"), axis=-1).reshape(-1, 2)
    vertices = np.column_stack([10.0 * steps, 0.3 * random.normal(size=len(steps)) + 0.2 * steps[:, 0]])
    cells = np.array([[7 * i + j, 7 * i + j + 7, 7 * i + j + 8, 7 * i + j + 1] for i in range(8) for j in range(6)])
    mesh = Mesh(vertices=vertices, faces=np.vstack([cells[:, [0, 1, 2]], cells[:, [0, 2, 3]]]))
    planes = patch_planes(mesh, np.zeros(len(mesh.faces), dtype=np.int32))
    off = np.abs(vertices @ planes.normals[0] - planes.offsets[0])
    assert planes.normals[0, 2] > 0.9
    assert off.max() == np.float64(planes.bulges[0])
    assert planes.bulges[0] < 1.5


def test_faces_of_no_patch_count_for_nothing_and_a_gap_in_the_numbers_is_no_patch() -> None:
    mesh = box_mesh([0.0, 0.0, 0.0], [1.0, 1.0, 1.0])
    none = patch_planes(mesh, np.full(12, -1, dtype=np.int32))
    assert len(none.offsets) == 0
    one = patch_planes(mesh, np.where(np.arange(12) >= 10, 3, -1).astype(np.int32))
    assert len(one.offsets) == 4
    assert_allclose(one.normals[3], [0, 0, 1])


def test_a_patch_that_closes_on_itself_has_no_plane() -> None:
    planes = patch_planes(box_mesh([0.0, 0.0, 0.0], [1.0, 2.0, 3.0]), np.zeros(12, dtype=np.int32))
    assert np.isinf(planes.bulges[0])
    assert np.isfinite(planes.normals).all()
