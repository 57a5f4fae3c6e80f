"""The least rough-out: closed forms, and solids that are dried and asked whether they hold the finished bowl."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from formmaker.engine.rough_out import Allowances, least_allowances, rough_outline
from formmaker.engine.section import build_section, section_outline
from formmaker.engine.sketching import form_from_profile
from formmaker.engine.warping import Shrinkages, Warp, dried, ringed_warp, straight_warp
from formmaker.errors import FormError
from formmaker.files.profile_file import find_profile, profile_names, read_profile
from formmaker.geometry.booleans import difference
from formmaker.geometry.meshes import Mesh, mass_properties
from formmaker.geometry.revolve import revolved
from formmaker.model.form import Edge
from formmaker.model.section import Section
from formmaker.model.timber import SPECIES, estimated_shrinkage
from tests.engine.jobs import straight_form

STILL = Shrinkages(along=0.0, radial=0.0, tangential=0.0)
LOST = Shrinkages(along=0.001, radial=0.03, tangential=0.08)
ACROSS, UPRIGHT = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])


def test_wood_that_does_not_move_needs_the_truing_skin_alone() -> None:
    section = build_section(straight_form(60.0, 80.0))
    least = least_allowances(section, straight_warp(ACROSS, STILL), 2.0)
    assert [least.outside, least.inside, least.rim, least.foot] == pytest.approx([2.0] * 4, abs=0.03)


def test_an_upright_side_grain_bowl_needs_what_its_width_loses() -> None:
    """Closed form: radius r grows to (r + skin) / (1 - T), the rim from h to (h + skin) / (1 - R)."""
    section = build_section(straight_form(60.0, 80.0, wall=8.0))
    least = least_allowances(section, straight_warp(ACROSS, LOST), 2.0)
    assert least.outside == pytest.approx(62.0 / 0.92 - 60.0, abs=0.03)
    assert least.rim == pytest.approx(82.0 / 0.97 - 80.0, abs=0.01)
    assert least.foot == pytest.approx(2.0 / 0.97, abs=0.01)
    # along the grain the hollow keeps its size; only the skin is wanted there, and a little for the floor's height
    assert 52.0 - 50.0 / 0.999 - 0.03 <= least.inside <= 2.0 + 12.0 / 0.97 - 12.0 + 0.03


def test_an_upright_end_grain_bowl_needs_the_worse_of_its_two_widths() -> None:
    section = build_section(straight_form(60.0, 80.0, wall=8.0))
    least = least_allowances(section, straight_warp(UPRIGHT, LOST), 0.0)
    assert least.outside == pytest.approx(60.0 / 0.92 - 60.0, abs=0.03)
    assert least.rim == pytest.approx(80.0 / 0.999 - 80.0, abs=0.01)


def test_a_rough_outline_is_the_section_grown_on_each_side() -> None:
    section = build_section(straight_form(60.0, 80.0, wall=8.0))
    rough = rough_outline(section, Allowances(outside=5.0, inside=3.0, rim=4.0, foot=2.0))
    assert (rough[:, 0].max(), rough[:, 1].max(), rough[:, 1].min()) == pytest.approx((65.0, 84.0, -2.0), abs=1e-6)
    mouth = rough[np.isclose(rough[:, 1], 84.0)]
    assert mouth[:, 0].min() == pytest.approx(49.0, abs=1e-6)
    floor = rough[np.isclose(rough[:, 0], 0.0), 1]
    assert sorted(floor) == pytest.approx([-2.0, 13.0], abs=1e-6)


# --- solids, dried ------------------------------------------------------------------------------------------------

SEGMENTS = 144


def grown_bowl(section: Section, skin: float) -> Mesh:
    """The finished bowl with the truing skin all round, as a solid."""
    grown = shapely.Polygon(section_outline(section, chord=0.05)).buffer(skin, quad_segs=8)
    return revolved(np.array(grown.intersection(shapely.box(0, -99, 999, 999)).exterior.coords)[:-1], SEGMENTS)


def missing(section: Section, warp: Warp, bowl: Mesh, allowances: Allowances) -> float:
    """Volume of the bowl that the dried rough-out does not hold, mm3, by mesh boolean."""
    rough = rough_outline(section, allowances)
    rough = np.array(shapely.segmentize(shapely.Polygon(rough).exterior, 4.0).coords)[:-1]  # its straights bend too
    wet = revolved(rough, SEGMENTS)
    left = difference(bowl, Mesh(vertices=dried(warp, wet.vertices), faces=wet.faces))
    return mass_properties(left).volume if len(left.faces) else 0.0


def random_case(number: int) -> tuple[Section, Warp, float]:
    """A bowl of any of the profiles in any timber of the table, the grain any way, the pith known or not."""
    random = np.random.default_rng([7, number])
    while True:
        profile = read_profile(find_profile(str(random.choice(profile_names())), Path()))
        diameter = float(random.uniform(120.0, 400.0))
        height = diameter * float(random.uniform(0.25, 0.7))
        wall = float(random.uniform(4.0, 12.0))
        try:
            section = build_section(
                form_from_profile(
                    profile,
                    diameter=diameter,
                    height=height,
                    wall=wall,
                    floor=wall + float(random.uniform(0.0, 6.0)),
                    edge=Edge.TURNED,
                    lowest_rim=height,
                )
            )
        except FormError:
            continue
        break
    whole = estimated_shrinkage(SPECIES[random.integers(len(SPECIES))])
    share = random.uniform(0.4, 1.0) / 100.0
    lost = Shrinkages(
        along=0.15 * share, radial=whole.radial.value * share, tangential=whole.tangential.value * share
    )
    top = float(section.outer.end[1])
    fibres = random.normal(size=3)
    if random.random() < 0.5:
        return section, straight_warp(fibres / np.linalg.norm(fibres), lost), float(random.uniform(0.0, 3.0))
    turn = float(random.uniform(0.0, 2.0 * np.pi))
    fibres = np.array([np.cos(turn), np.sin(turn), 0.0])
    pith = np.array([-np.sin(turn), np.cos(turn), 0.0]) * float(random.uniform(-0.2, 0.2)) * diameter
    pith += np.array([0.0, 0.0, -float(random.uniform(0.05, 1.0)) * diameter])
    warp = ringed_warp(fibres, pith, np.array([0.0, 0.0, top / 2.0]), lost)
    return section, warp, float(random.uniform(0.0, 3.0))


def holds_and_would_not_with_a_millimetre_less(number: int) -> None:
    section, warp, skin = random_case(number)
    bowl = grown_bowl(section, skin)
    least = least_allowances(section, warp, skin)
    # 0.05 mm: what the flats of the two solids differ by
    spare = Allowances(**{side: getattr(least, side) + 0.05 for side in ("outside", "inside", "rim", "foot")})
    assert missing(section, warp, bowl, spare) < 1.0
    for side in ("outside", "inside"):
        if getattr(least, side) >= 1.0:
            assert missing(section, warp, bowl, replace(least, **{side: getattr(least, side) - 1.0})) > 5.0


@pytest.mark.parametrize("number", range(20))
def test_the_dried_rough_out_holds_the_bowl_and_with_a_millimetre_less_it_does_not(number: int) -> None:
    holds_and_would_not_with_a_millimetre_less(number)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(20, 100))
def test_the_same_of_eighty_more(number: int) -> None:
    holds_and_would_not_with_a_millimetre_less(number)
