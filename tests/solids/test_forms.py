"""Solids of forms against Pappus and closed forms."""

import math
from itertools import pairwise

import numpy as np
import pytest

from formmaker.errors import FormError
from formmaker.geometry.curves import Curve
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.section import Section

pytestmark = pytest.mark.kernel


def straight(*points: tuple[float, float]) -> Curve:
    corners = np.array(points, dtype=float)
    shares = np.array([0, 1 / 3, 2 / 3, 1])[:, None]
    return Curve(pieces=[a + shares * (b - a) for a, b in pairwise(corners)])


CYLINDER = Section(outer=straight((60, 0), (60, 80)), inner=straight((0, 10), (52, 10), (52, 80)))
BOWL = Section(
    outer=Curve(
        pieces=[[[40, 0], [60, 4], [80, 20], [95, 45]], [[95, 45], [104, 60], [112, 76], [118, 100]]],
    ),
    inner=Curve(
        pieces=[[[0, 9], [20, 9], [40, 9.5], [52, 14]], [[52, 14], [80, 24], [98, 60], [110, 100]]],
    ),
)


def swept(curve: Curve) -> float:
    """2 pi times the integral of r^2 / 2 dz along a curve: what Pappus asks of it, by Gauss (exact to degree 11)."""
    nodes, weights = np.polynomial.legendre.leggauss(8)
    t = ((nodes + 1) / 2)[:, None]
    total = 0.0
    for a, b, c, d in curve.pieces:
        point = a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3
        slope = 3 * ((b - a) * (1 - t) ** 2 + 2 * (c - b) * t * (1 - t) + (d - c) * t**2)
        total += float((weights / 2 * math.pi * point[:, 0] ** 2 * slope[:, 1]).sum())
    return total


def pappus(section: Section) -> float:
    (r0, z0), (r1, z1) = section.outer.end, section.inner.end
    rim = math.pi * (r0 * r0 + r0 * r1 + r1 * r1) / 3 * (z1 - z0)
    return swept(section.outer) + rim - swept(section.inner)


def volume(section: Section, hold: Hold | None = None) -> float:
    from formmaker.solids.forms import form_solid
    from formmaker.solids.kernel import measure

    return measure(form_solid(section, hold=hold)).volume


def test_the_oracle_itself_knows_a_hollow_cylinder() -> None:
    assert pappus(CYLINDER) == pytest.approx(math.pi * (60**2 * 80 - 52**2 * 70), rel=1e-12)


@pytest.mark.parametrize("section", [CYLINDER, BOWL])
def test_a_form_has_the_volume_of_pappus(section: Section) -> None:
    assert volume(section) == pytest.approx(pappus(section), rel=1e-6)


def test_a_tenon_adds_and_a_recess_takes_its_own_cylinder() -> None:
    own = math.pi * 25**2 * 6
    plain = pappus(BOWL)
    assert volume(BOWL, Hold(kind=HoldKind.TENON, diameter=50, depth=6)) == pytest.approx(plain + own, rel=1e-6)
    assert volume(BOWL, Hold(kind=HoldKind.RECESS, diameter=50, depth=6)) == pytest.approx(plain - own, rel=1e-6)
    assert volume(BOWL, Hold(kind=HoldKind.GLUE_BLOCK, diameter=50, depth=6)) == pytest.approx(plain, rel=1e-6)


def test_a_tenon_as_wide_as_the_foot_is_a_tenon() -> None:
    hold = Hold(kind=HoldKind.TENON, diameter=80, depth=6)
    assert volume(BOWL, hold) == pytest.approx(pappus(BOWL) + math.pi * 40**2 * 6, rel=1e-6)


def test_a_form_stands_in_its_frame_and_reaches_its_sizes() -> None:
    from formmaker.solids.forms import form_solid
    from formmaker.solids.kernel import boxed

    solid = form_solid(BOWL, hold=Hold(kind=HoldKind.TENON, diameter=50, depth=6))
    assert boxed(solid) == pytest.approx(np.array([[-118, -118, -6], [118, 118, 100]]), abs=1e-4)


@pytest.mark.parametrize(
    ("kind", "diameter", "depth", "word"),
    [(HoldKind.TENON, 90, 6, "wider than the foot"), (HoldKind.RECESS, 50, 9, "goes through the floor")],
)
def test_a_holding_that_contradicts_the_form_is_refused(
    kind: HoldKind, diameter: float, depth: float, word: str
) -> None:
    with pytest.raises(FormError, match=word):
        volume(BOWL, Hold(kind=kind, diameter=diameter, depth=depth))
