"""The largest piece of a cut, with what its triangles came from."""

import numpy as np
from numpy.testing import assert_allclose

from formmaker.geometry.booleans import Cut, intersection_cut
from formmaker.geometry.meshes import Mesh, mass_properties
from formmaker.geometry.pieces import largest_piece
from tests.oracles import box_mesh, joined


def test_the_largest_piece_keeps_its_triangles_their_origin_and_colours() -> None:
    # a comb of two teeth cut by a bar: the wider tooth is left
    comb = joined(box_mesh([0.0, 0, 0], [10.0, 50, 10]), box_mesh([20.0, 0, 0], [45.0, 50, 10]))
    colours = np.repeat(np.array([[10, 20, 30], [200, 100, 50]], dtype=np.uint8), 8, axis=0)
    coloured = Mesh(vertices=comb.vertices, faces=comb.faces, colours=colours)
    whole = intersection_cut(coloured, box_mesh([-5.0, 10, -5], [60.0, 30, 20]))
    piece = largest_piece(whole)
    assert_allclose(mass_properties(piece.mesh).volume, 25.0 * 20.0 * 10.0)
    assert_allclose(piece.mesh.bounds, [[20, 10, 0], [45, 30, 10]], atol=1e-9)
    assert len(piece.faces) == len(piece.from_first) == len(piece.mesh.faces) < len(whole.mesh.faces)
    assert (piece.faces[piece.from_first] >= 12).all()  # triangles of the second tooth
    assert piece.mesh.colours is not None
    assert (piece.mesh.colours[piece.mesh.faces[piece.from_first]] == [200, 100, 50]).all()


def test_size_is_volume_not_triangles() -> None:
    ball = box_mesh([100.0, 0, 0], [130.0, 30, 30])
    split = joined(*(box_mesh([2.0 * i, 0, 0], [2.0 * i + 1.0, 1, 1]) for i in range(5)), ball)
    count = len(split.faces)
    piece = largest_piece(Cut(mesh=split, from_first=np.ones(count), faces=np.arange(count)))
    assert_allclose(mass_properties(piece.mesh).volume, 27_000.0)
    assert piece.faces.tolist() == list(range(count - 12, count))


def test_nothing_stays_nothing() -> None:
    empty = Cut(mesh=Mesh(vertices=np.zeros((0, 3)), faces=np.zeros((0, 3))), from_first=[], faces=[])
    assert largest_piece(empty) is empty
