"""Described solids against closed forms, areas of slices, and the meshes that the engine works on."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from scipy.special import ellipe, ellipk

from formmaker.geometry.meshes import face_areas, mass_properties
from formmaker.model.shapes import Board, CapBurr, Crotch, HalfLog, Log, Round, Shape
from formmaker.sources.shapes import chord_error, shape_mesh

pytestmark = pytest.mark.kernel

CROTCH = Crotch(stem_radius=90, stem_length=220, branch_radius=65, branch_length=180, angle=0.6)


def strip(length: float, half_width: float, angle: float) -> shapely.Geometry:
    return shapely.affinity.rotate(shapely.box(0, -half_width, length, half_width), angle, (0, 0), use_radians=True)


def fork_volume(shape: Crotch) -> float:
    """Areas of level slices, each the union of three strips, by Gauss from level to level."""
    nodes, weights = np.polynomial.legendre.leggauss(200)
    total = 0.0
    levels = [0.0, *sorted((shape.stem_radius, shape.branch_radius))]
    for low, high in pairwise(levels):
        for node, weight in zip(nodes, weights, strict=True):
            # z = high sin(u): the widths end like a root at the top, and a sine makes that smooth
            first = math.asin(low / high)
            u = first + (math.pi / 2 - first) * (node + 1) / 2
            z = high * math.sin(u)
            arms = [
                strip(length, math.sqrt(radius**2 - z**2), angle)
                for radius, length, angle in (
                    (shape.stem_radius, shape.stem_length, math.pi),
                    (shape.branch_radius, shape.branch_length, shape.angle),
                    (shape.branch_radius, shape.branch_length, -shape.angle),
                )
                if radius > z
            ]
            step = weight / 2 * (math.pi / 2 - first) * high * math.cos(u)
            total += step * shapely.union_all(arms).area
    return total


EXACT = [
    (Log(radius=90, length=300), math.pi * 90**2 * 300),
    (HalfLog(radius=100, length=320), math.pi * 100**2 * 320 / 2),
    # check-values 2.1: cap of a ball of radius 10, 4 high, V = 435.634181
    (CapBurr(diameter=16, height=4), 435.634181),
    (CapBurr(diameter=300, height=150), 2 / 3 * math.pi * 150**3),
    (CROTCH, fork_volume(CROTCH)),
    (Board(length=400, width=250, thickness=60), 400 * 250 * 60),
    (Round(diameter=260, thickness=70), math.pi * 130**2 * 70),
]


@pytest.mark.parametrize(("shape", "exact"), EXACT)
def test_a_described_solid_has_its_closed_form_volume(shape: Shape, exact: float) -> None:
    from formmaker.solids.kernel import measure
    from formmaker.solids.shapes import shape_solid

    solid = shape_solid(shape)
    assert solid.isValid()
    # the crotch's oracle is a sum over slices whose area has corners where strips part: 1e-5
    assert measure(solid).volume == pytest.approx(exact, rel=1e-5 if isinstance(shape, Crotch) else 1e-8)


@pytest.mark.parametrize("shape", [case[0] for case in EXACT])
def test_solid_and_mesh_of_a_shape_are_one_body_in_one_frame(shape: Shape) -> None:
    from formmaker.solids.kernel import boxed, measure
    from formmaker.solids.shapes import shape_solid

    solid, mesh = shape_solid(shape), shape_mesh(shape)
    found, wanted = measure(solid), mass_properties(mesh)
    # facets stand inside the skin by at most the chord error: the volume lacks at most that times the area
    error = chord_error(shape)
    assert (
        -1e-9 * found.volume <= found.volume - wanted.volume <= error * face_areas(mesh).sum() + 1e-6 * found.volume
    )
    assert wanted.centre == pytest.approx(found.centre, abs=0.01 + error)
    assert mesh.bounds == pytest.approx(boxed(solid), abs=0.005 + error)


@pytest.mark.parametrize(("radius", "published"), [(60.0, 1077481.310), (80.0, 1833206.542), (95.0, 2460535.788)])
def test_an_upright_rod_in_a_half_log_has_the_elliptic_volume(radius: float, published: float) -> None:
    # check-values 7.2 (half of the two-cylinder volume, MathWorld); r = R is left out: tangent skins
    from formmaker.solids.kernel import parted
    from formmaker.solids.shapes import shape_solid

    m = (radius / 100) ** 2
    exact = 4 * 100 / 3 * ((100**2 + radius**2) * ellipe(m) - (100**2 - radius**2) * ellipk(m))
    assert exact == pytest.approx(published, abs=1e-3)
    rod = shape_solid(Round(diameter=2 * radius, thickness=150))
    parting = parted(rod, shape_solid(HalfLog(radius=100, length=320)))
    assert parting.common_volume == pytest.approx(exact, rel=1e-6)
    assert parting.rest_volume == pytest.approx(math.pi * radius**2 * 150 - exact, rel=1e-5)


def test_the_steinmetz_body_has_its_published_volume() -> None:
    # check-values 7.2: V = 16 r^3 / 3, and for a thinner cross rod V2(1, 0.6) = 2.1549626202
    from formmaker.geometry.frames import Frame
    from formmaker.solids.kernel import parted, placed
    from formmaker.solids.shapes import shape_solid

    sunk = Frame(rotation=np.eye(3), origin=np.array([200.0, 0.0, -200.0]))
    log = shape_solid(Log(radius=100, length=400))
    for radius, share in ((100.0, 16 / 3), (60.0, 2.1549626202)):
        rod = placed(shape_solid(Round(diameter=2 * radius, thickness=400)), sunk)
        assert parted(rod, log).common_volume == pytest.approx(share * 1e6, rel=1e-6)
