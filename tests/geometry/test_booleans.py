"""Mesh booleans against closed forms, and the origin of their triangles against geometry."""

import math

import numpy as np
import pytest
import trimesh
from scipy.special import ellipe, ellipk

from formmaker.errors import BlankError
from formmaker.geometry.booleans import (
    difference,
    difference_cut,
    intersection,
    intersection_cut,
    split_bodies,
    volume_of_intersection,
)
from formmaker.geometry.meshes import Mesh, mass_properties
from formmaker.geometry.revolve import revolved


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Mesh:
    solid = trimesh.creation.box(bounds=[low, high])
    return Mesh(vertices=solid.vertices, faces=solid.faces)


def rod(radius: float, length: float, segments: int = 720) -> Mesh:
    """Standing on z = -length / 2."""
    half = length / 2
    return revolved(np.array([[0, -half], [radius, -half], [radius, half], [0, half]]), segments)


def lying(mesh: Mesh) -> Mesh:
    """Axis z turned into axis x."""
    return Mesh(vertices=mesh.vertices[:, [2, 0, 1]], faces=mesh.faces)


def volume(mesh: Mesh) -> float:
    return mass_properties(mesh).volume


@pytest.mark.parametrize(
    ("radius", "published"), [(60.0, 1077481.310), (80.0, 1833206.542), (95.0, 2460535.788), (100.0, 2666666.667)]
)
def test_an_upright_rod_in_a_half_log_has_the_elliptic_volume(radius: float, published: float) -> None:
    # check-values 7.2 (two-cylinder volume, MathWorld): half of it above the sawn face
    m = (radius / 100) ** 2
    exact = 4 * 100 / 3 * ((100**2 + radius**2) * ellipe(m) - ((100**2 - radius**2) * ellipk(m) if m < 1 else 0))
    assert exact == pytest.approx(published, abs=1e-3)
    wood = intersection(lying(rod(100, 400)), box((-300, -300, 0), (300, 300, 300)))
    found = volume_of_intersection(wood, rod(radius, 400))
    # 720 flats with the circle's own area: the rest is second order in the flats, largest where both radii agree
    assert found == pytest.approx(exact, rel=2e-5)


def test_the_steinmetz_body_has_its_published_volume() -> None:
    # check-values 7.2: V = 16 r^3 / 3
    assert volume(intersection(rod(1, 4), lying(rod(1, 4)))) == pytest.approx(16 / 3, rel=2e-5)


def test_common_part_and_difference_make_up_the_whole() -> None:
    a, b = box((0, 0, 0), (10, 10, 10)), rod(4, 40, 24)
    assert volume(intersection(a, b)) + volume(difference(a, b)) == pytest.approx(1000.0, rel=1e-12)


def test_bodies_apart_or_touching_have_nothing_in_common() -> None:
    a = box((0, 0, 0), (10, 10, 10))
    for other in (box((20, 0, 0), (30, 10, 10)), box((10, 0, 0), (20, 10, 10))):
        assert volume_of_intersection(a, other) == 0.0
        assert len(intersection(a, other).faces) == 0
        assert len(intersection_cut(a, other).mesh.faces) == 0


def test_every_piece_lies_on_the_face_it_is_said_to_come_from() -> None:
    a, b = box((-50, -50, 0), (50, 50, 40)), rod(30, 200, 60)
    for cut in (intersection_cut(a, b), difference_cut(a, b)):
        assert 0 < cut.from_first.sum() < len(cut.from_first)
        for source, chosen in ((a, cut.from_first), (b, ~cut.from_first)):
            homes = source.corners[cut.faces[chosen]]
            normals = np.cross(homes[:, 1] - homes[:, 0], homes[:, 2] - homes[:, 0])
            normals /= np.linalg.norm(normals, axis=1, keepdims=True)
            off = np.einsum("ijk,ik->ij", cut.mesh.corners[chosen] - homes[:, :1], normals)
            assert np.abs(off).max() < 1e-9
        assert trimesh.Trimesh(cut.mesh.vertices, cut.mesh.faces, process=False).is_watertight


def test_colours_go_with_the_bark_and_run_on_between_its_corners() -> None:
    plain = box((0, 0, 0), (100, 100, 100))
    shade = np.stack([2 * plain.vertices[:, 0], plain.vertices[:, 1], np.full(8, 7)], axis=1)
    a = Mesh(vertices=plain.vertices, faces=plain.faces, colours=shade)
    knife = box((20, 20, 20), (70, 120, 120))
    cut = intersection_cut(a, Mesh(vertices=knife.vertices, faces=knife.faces, colours=np.full((8, 3), 250)))
    bark = np.unique(cut.mesh.faces[cut.from_first])
    at = cut.mesh.vertices[bark]
    wanted = np.stack([2 * at[:, 0], at[:, 1], np.full(len(at), 7)], axis=1)
    assert np.abs(cut.mesh.colours[bark].astype(float) - wanted).max() <= 0.5 + 1e-9
    assert volume(cut.mesh) == pytest.approx(50 * 80 * 80)


def test_bodies_come_largest_first_and_keep_their_hollows() -> None:
    walls = difference(box((0, 0, 0), (10, 10, 10)), box((4, 4, 4), (6, 6, 6)))
    small, mid = box((20, 0, 0), (23, 3, 3)), box((30, 0, 0), (35, 5, 5))
    parts = [small, walls, mid]
    starts = np.cumsum([0] + [len(part.vertices) for part in parts])
    together = Mesh(
        vertices=np.concatenate([part.vertices for part in parts]),
        faces=np.concatenate([part.faces + start for part, start in zip(parts, starts, strict=False)]),
    )
    bodies = split_bodies(together)
    assert [round(volume(body), 6) for body in bodies] == [1000.0 - 8.0, 125.0, 27.0]
    assert split_bodies(intersection(small, mid)) == ()


def test_figures_far_from_the_origin_keep_their_places() -> None:
    far = np.array([4096.0, -4096.0, 8192.0])
    a, b = box((0, 0, 0), (1, 1, 1)), rod(0.5, 9, 64)
    moved = [Mesh(vertices=part.vertices + far, faces=part.faces) for part in (a, b)]
    assert volume_of_intersection(*moved) == pytest.approx(math.pi / 16, rel=1e-8)


def test_what_is_no_solid_is_refused() -> None:
    good = box((0, 0, 0), (1, 1, 1))
    bad = {
        "not closed": Mesh(vertices=good.vertices, faces=good.faces[1:]),
        "inside out": Mesh(vertices=good.vertices, faces=good.faces[:, ::-1]),
        "not finite": Mesh(vertices=good.vertices / [[np.nan, 1, 1]], faces=good.faces),
        "does not exist": Mesh(vertices=good.vertices, faces=good.faces + 1),
    }
    for word, mesh in bad.items():
        with pytest.raises(BlankError, match=word):
            intersection(mesh, good)
