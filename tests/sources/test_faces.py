"""Saw cuts are told from bark on bodies whose faces are known."""

import math

import manifold3d
import numpy as np
import pytest

from formmaker.errors import BlankError
from formmaker.geometry.frames import frame_from_axis
from formmaker.geometry.meshes import Mesh, face_areas, face_normals, moved
from formmaker.model.blank import FaceKind
from formmaker.model.job import FaceRule
from formmaker.model.shapes import Board, CapBurr, Crotch, HalfLog, Log, Round
from formmaker.sources.faces import sort_faces
from formmaker.sources.repair import repair_mesh
from formmaker.sources.scan_files import read_scan_file
from formmaker.sources.shapes import sawn_planes, shape_mesh, shape_skin
from tests.scans import scan_path

SHAPES = [
    Log(radius=90.0, length=250.0),
    HalfLog(radius=110.0, length=300.0),
    CapBurr(diameter=200.0, height=70.0),
    Crotch(stem_radius=90.0, stem_length=200.0, branch_radius=70.0, branch_length=210.0, angle=0.5),
    Board(length=400.0, width=400.0, thickness=40.0),
]


def scanned(mesh: Mesh, *, edge: float, noise: float) -> Mesh:
    """The same body as a scanner would give it: even triangles, every point off by some noise."""
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=np.array(mesh.vertices), tri_verts=mesh.faces.astype(np.uint64))
    )
    fine = solid.simplify(0.05).refine_to_length(edge).to_mesh64()
    points = np.array(fine.vert_properties)[:, :3]
    points += np.random.default_rng(11).normal(0.0, noise, points.shape)
    return Mesh(vertices=points, faces=np.array(fine.tri_verts).astype(np.int32))


def agreement(mesh: Mesh, kinds: np.ndarray, shape) -> float:
    """Share of the skin whose kind agrees with the shape's saw cuts, told by place alone."""
    middles = mesh.corners.mean(axis=1)
    true = np.zeros(len(middles), dtype=bool)
    for plane in sawn_planes(shape):
        true |= np.abs(middles @ np.array(plane.normal) - plane.offset) < 1.5
    areas = face_areas(mesh)
    return float(areas[true == (kinds == FaceKind.SAWN)].sum() / areas.sum())


@pytest.mark.parametrize("shape", SHAPES, ids=lambda shape: type(shape).__name__)
def test_without_being_told_the_cuts_of_a_shape_are_found_and_nothing_else(shape):
    skin = shape_skin(shape)
    faces = sort_faces(skin.mesh)
    np.testing.assert_array_equal(faces.patches >= 0, skin.patches >= 0)
    assert faces.patches.max() == skin.patches.max()


@pytest.mark.parametrize("shape", SHAPES[:4], ids=lambda shape: type(shape).__name__)
def test_on_a_noisy_scan_of_the_shape_the_cuts_are_found_too(shape):
    mesh = scanned(shape_mesh(shape), edge=6.0, noise=0.3)
    faces = sort_faces(mesh)
    assert faces.patches.max() + 1 == len(sawn_planes(shape))
    # What is missed is a strip of about one triangle along the arrises.
    assert agreement(mesh, faces.kinds, shape) > 0.95


def test_the_bark_of_a_round_is_not_flat_however_fine_its_facets():
    faces = sort_faces(shape_mesh(Round(diameter=400.0, thickness=150.0)))
    assert faces.patches.max() == 1


def test_patches_are_numbered_largest_first_and_cover_what_is_sawn():
    mesh = shape_mesh(SHAPES[1])
    faces = sort_faces(mesh)
    sizes = np.bincount(faces.patches[faces.patches >= 0], weights=face_areas(mesh)[faces.patches >= 0])
    assert (np.diff(sizes) <= 1e-6).all()
    assert sizes[0] == pytest.approx(220.0 * 300.0)
    np.testing.assert_array_equal(faces.kinds == FaceKind.SAWN, faces.patches >= 0)


def test_moving_the_blank_moves_its_faces_with_it():
    mesh = scanned(shape_mesh(SHAPES[1]), edge=6.0, noise=0.2)
    frame = frame_from_axis(np.array([70.0, -20.0, 5.0]), np.array([1.0, 2.0, 3.0]), np.array([1.0, 0.0, 0.0]))
    here, there = sort_faces(mesh), sort_faces(moved(mesh, frame))
    areas = face_areas(mesh)
    assert areas[here.kinds != there.kinds].sum() < 0.005 * areas.sum()


def test_the_users_word_wins_over_the_search():
    mesh = shape_mesh(SHAPES[1])
    faces = sort_faces(mesh, (FaceRule(kind="natural", at=(10.0, 5.0, 0.0)),))
    below = face_normals(mesh)[:, 2] < -0.99
    assert (faces.kinds[below] == FaceKind.NATURAL).all()
    assert faces.patches.max() == 1
    again = sort_faces(
        mesh, (FaceRule(kind="natural", at=(10.0, 5.0, 0.0)), FaceRule(kind="sawn", at=(0.0, 0.0, 0.0)))
    )
    assert (again.kinds[below] == FaceKind.SAWN).all()
    assert "Taken as sawn, as told, at (0.0 mm, 0.0 mm, 0.0 mm)" in again.notes[0]


def test_a_word_on_what_is_natural_already_changes_nothing_and_is_said():
    mesh = shape_mesh(SHAPES[1])
    faces = sort_faces(mesh, (FaceRule(kind="natural", at=(0.0, 0.0, 110.0)),))
    np.testing.assert_array_equal(faces.kinds, sort_faces(mesh).kinds)
    assert faces.notes == ("The face at (0.0 mm, 0.0 mm, 110.0 mm) was natural already.",)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        (FaceRule(kind="planed", at=(0.0, 0.0, 0.0)), "kind 'planed' is unknown; write natural or sawn"),
        (FaceRule(kind="sawn", at=(0.0, 0.0, 900.0)), "is 790.0 mm off the skin, allowed are 19.4 mm"),
    ],
)
def test_a_rule_that_cannot_be_followed_is_refused(rule, words):
    with pytest.raises(BlankError) as error:
        sort_faces(shape_mesh(SHAPES[1]), (rule,))
    assert words in str(error.value)


def test_on_the_butt_half_log_the_cut_through_the_pith_and_the_ends_are_sawn_and_the_bark_is_not():
    mesh = repair_mesh(read_scan_file(scan_path("butt_half_log.stl"), "mm").mesh, "butt_half_log.stl").mesh
    faces = sort_faces(mesh)
    normals = face_normals(mesh)
    # Its cuts look along -x (through the pith) and along z (the ends); bark looks anywhere else, always toward +x.
    cut = (normals[:, 0] < math.cos(math.pi - 0.01)) | (np.abs(normals[:, 2]) > math.cos(0.01))
    np.testing.assert_array_equal(faces.kinds == FaceKind.SAWN, cut)
    assert faces.patches.max() == 2
