"""What a blank weighs and how its weight lies: closed forms, published tables, a second library."""

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from formmaker.engine.cuts import cut_blank
from formmaker.engine.weighing import SCALES_SPREAD, weigh
from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh
from formmaker.model.balance import WeighedBy
from formmaker.model.bark import BARKS, bark_density
from formmaker.model.blank import Blank, FaceKind, Timber
from formmaker.model.cut import SawCut
from formmaker.model.timber import SPECIES, density, find_species
from tests.bodies import cap, cone, cylinder, half_log
from tests.engine.jobs import plain_blank
from tests.geometry.test_meshes import TETRAHEDRON
from tests.oracles import box_mesh
from tests.scans import closed_scan

PI = np.pi

# Standard closed forms (check values, sections 2.1 and 2.2): volume, centre, and the inertia about the centre of
# density one. The cap's are the ones worked out there; the half log's second moments are V L^2/12, V R^2/4 and
# V R^2/4 less V times its centre's height squared, that is 4 R / (3 pi).
HALF = PI * 100.0**2 * 260.0 / 2.0
HALF_X, HALF_Y = HALF * 260.0**2 / 12.0, HALF * 100.0**2 / 4.0
HALF_Z = HALF_Y - HALF * (400.0 / (3.0 * PI)) ** 2
TETRA = [[9.375, 2.5, 1.875], [2.5, 12.75, 1.5], [1.875, 1.5, 15.375]]
BODIES = {
    # m 10, r 3, h 5: 43.3333, 43.3333, 45
    "cylinder": (cylinder(3.0, 5.0), 45.0 * PI, (0, 0, 2.5), 4.5 * PI * np.diag([43.0 + 1 / 3, 43.0 + 1 / 3, 45.0])),
    "cone": (cone(3.0, 5.0), 15.0 * PI, (0, 0, 1.25), 15.0 * PI * np.diag([61.0 * 3 / 80, 61.0 * 3 / 80, 2.7])),
    "cap": (cap(10.0, 4.0), 435.634181, (0, 0, 7.3846154), np.diag([5250.294086, 5250.294086, 9704.589146])),
    "half log": (
        half_log(100.0, 260.0),
        HALF,
        (0, 0, 42.441318),
        np.diag([HALF_Y + HALF_Z, HALF_X + HALF_Z, HALF_X + HALF_Y]),
    ),
    # published with B. Mirtich, Journal of Graphics Tools 1(2), 1996
    "tetrahedron": (TETRAHEDRON, 10.0, (1.25, 1.0, 0.75), np.array(TETRA)),
}


def inertia_of(spread: np.ndarray) -> np.ndarray:
    """Inertia of a kilogram from its second moments, by the definition."""
    return np.trace(spread) * np.eye(3) - spread


@pytest.mark.parametrize("name", BODIES)
def test_mass_centre_and_inertia_are_the_closed_forms(name: str) -> None:
    mesh, volume, centre, inertia = BODIES[name]
    # green black cherry weighs 45.02 lb/ft3 (US Forest Service REF_SPECIES; 1 lb/ft3 = 16.01846337 kg/m3 by pint)
    weighing = weigh(plain_blank(mesh, timber=Timber(name="cherry, black", moisture=53.44681)))
    expected = volume * 45.02 * 16.01846337e-9
    assert weighing.mass.kilograms == pytest.approx(expected, rel=1e-4)  # the 45.02 has four figures
    assert weighing.mass.kilograms == pytest.approx(volume * 0.47e-6 * 1.5344681, rel=1e-6)  # Handbook equation 4-14
    size = np.sqrt(np.trace(inertia) / volume)
    np.testing.assert_allclose(weighing.body.centre, centre, atol=1e-6 * size)
    np.testing.assert_allclose(volume * inertia_of(weighing.body.spread), inertia, atol=1e-6 * np.trace(inertia))


def test_another_library_finds_the_same_on_a_scan() -> None:
    mesh = closed_scan("stump_blank.stl")
    other = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    body = weigh(plain_blank(mesh)).body
    np.testing.assert_allclose(body.centre, other.center_mass, atol=1e-6)
    expected = other.moment_inertia / other.volume
    np.testing.assert_allclose(inertia_of(body.spread), expected, atol=1e-6 * np.trace(expected))


def block(timber: Timber, *, natural: bool = True, uncertainty: float = 0.0) -> Blank:
    """A block of 100 x 60 x 40 mm on z = 0, its top natural, the rest sawn."""
    mesh = box_mesh(np.array([-50.0, -30.0, 0.0]), np.array([50.0, 30.0, 40.0]))
    on_top = (mesh.corners[:, :, 2] == 40.0).all(axis=1) & natural
    kinds = np.where(on_top, FaceKind.NATURAL, FaceKind.SAWN)
    return plain_blank(mesh, face_kinds=kinds, timber=timber, uncertainty=uncertainty)


def test_a_mass_from_the_table_carries_the_doubt_of_density_and_of_skin() -> None:
    mass = weigh(block(Timber(name="oak, white", moisture=12.0), uncertainty=0.5)).mass
    # 0.5 mm on 2 (6000 + 4000 + 2400) mm2 of 240 000 mm3: 5.17 %, beside the handbook's 10 %
    assert mass.known_by is WeighedBy.TIMBER
    assert mass.spread == pytest.approx(0.10 + 0.5 * 24_800.0 / 240_000.0)
    # Wood Handbook, equations 4-11 and 4-14 by hand (check values, section 1.4): white oak at 12 %, 744.8 kg/m3
    assert mass.kilograms == pytest.approx(744.8e-9 * 240_000.0, rel=1e-4)


def test_the_scales_know_better_than_the_table() -> None:
    weighing = weigh(block(Timber(name="oak, white", moisture=None, weight=0.31), uncertainty=0.5))
    assert (weighing.mass.kilograms, weighing.mass.spread) == (0.31, SCALES_SPREAD)
    assert weigh(block(Timber(weight=0.31))).mass.known_by is WeighedBy.SCALES
    np.testing.assert_allclose(weighing.body.centre, [0.0, 0.0, 20.0], atol=1e-12)


def test_what_was_cut_since_goes_off_the_scales_by_volume_with_the_skin_s_doubt() -> None:
    whole = block(Timber(weight=0.32), uncertainty=0.5)
    sawn = cut_blank(whole, (SawCut(point=(25.0, 0.0, 0.0), normal=(1.0, 0.0, 0.0)),))
    weighing = weigh(sawn)
    assert weighing.mass.kilograms == pytest.approx(0.24)  # 75 of 100 mm are left
    # 0.5 mm on 2 (75 * 60 + 75 * 40 + 60 * 40) mm2 of 180 000 mm3, beside the scales; the saw's own chord is 0
    assert weighing.mass.spread == pytest.approx(SCALES_SPREAD + sawn.uncertainty * 19_800.0 / 180_000.0)
    np.testing.assert_allclose(weighing.body.centre, [-12.5, 0.0, 20.0], atol=1e-6)


@pytest.mark.parametrize("name", ["", "unobtainium"])
def test_no_mass_is_made_up_for_a_wood_that_is_not_known(name: str) -> None:
    weighing = weigh(block(Timber(name=name)))
    assert (weighing.mass.kilograms, weighing.mass.spread) == (None, None)
    np.testing.assert_allclose(weighing.body.centre, [0.0, 0.0, 20.0], atol=1e-12)


# Bark volume as % of wood volume and green weight over dry weight of both, US Forest Service REF_SPECIES (check
# values, section 1.3): the table's own identity ties wood and bark together.
GREEN_OVER_DRY = {
    "cherry, black": (9.2, 1.5754504),
    "walnut, black": (15.0, 1.8002681),
    "maple, sugar": (15.6, 1.6164684),
    "elm, American": (14.0, 1.9216679),
    "yellow-poplar": (18.0, 1.9916567),
    "mulberry, red": (15.16, 1.7584736),
    "tanoak": (19.0, 1.7633763),
    "Osage-orange": (15.0, 1.3386176),
}


@pytest.mark.parametrize("name", GREEN_OVER_DRY)
def test_wood_and_bark_together_lose_what_the_forest_service_says(name: str) -> None:
    species, share = find_species(name), GREEN_OVER_DRY[name][0] / 100.0
    assert species is not None
    green, dry = bark_density(species, None), bark_density(species, 0.0)
    assert green is not None
    assert dry is not None
    wood, dry_wood = density(species, None), species.basic_gravity * 1e-6
    found = (wood + share * green) / (dry_wood + share * dry)
    assert found == pytest.approx(GREEN_OVER_DRY[name][1], rel=5e-5)  # moistures are printed to 0.01 %


def test_every_bark_belongs_to_a_timber_of_the_table() -> None:
    assert set(BARKS) <= {species.name for species in SPECIES}


def test_bark_of_a_stated_thickness_weighs_as_bark() -> None:
    walnut = find_species("walnut, black")
    assert walnut is not None
    wood, bark = density(walnut, None), bark_density(walnut, None)
    assert bark == pytest.approx(0.33e-6 * 1.8939)  # the table's 0.33 and 89.39 %
    weighing = weigh(block(Timber(name="walnut, black", bark=8.0)))
    below, above = 6000.0 * 32.0 * wood, 6000.0 * 8.0 * bark
    assert weighing.mass.kilograms == pytest.approx(below + above, rel=1e-12)
    height = (below * 16.0 + above * 36.0) / (below + above)
    np.testing.assert_allclose(weighing.body.centre, [0.0, 0.0, height], atol=1e-12)
    # a layer is taken as a skin in its middle, so that only t^2 / 12 of its own thickness is missing
    thick = below * (32.0**2 / 12.0 + (height - 16.0) ** 2) + above * (8.0**2 / 12.0 + (height - 36.0) ** 2)
    missing = (bark - wood) * 6000.0 * 8.0 * 8.0**2 / 12.0 / (below + above)
    assert weighing.body.spread[2, 2] == pytest.approx(thick / (below + above) - missing, rel=1e-12)


def test_a_weighed_piece_with_bark_keeps_its_weight_and_shifts_its_centre() -> None:
    weighed = weigh(block(Timber(name="walnut, black", bark=8.0, weight=0.25)))
    assert weighed.mass.kilograms == 0.25
    twin = weigh(block(Timber(name="walnut, black", bark=8.0)))
    np.testing.assert_allclose(weighed.body.centre, twin.body.centre)


@pytest.mark.parametrize("timber", [Timber(name="plum", bark=8.0), Timber(name="", bark=8.0, weight=0.2)])
def test_bark_that_no_table_knows_counts_as_wood(timber: Timber) -> None:
    plain = weigh(block(replace(timber, bark=0.0)))
    found = weigh(block(timber))
    assert found.mass == plain.mass
    np.testing.assert_allclose(found.body.centre, plain.body.centre)


def test_a_piece_without_natural_skin_has_no_bark() -> None:
    found = weigh(block(Timber(name="walnut, black", bark=8.0), natural=False))
    assert found.mass.kilograms == pytest.approx(240_000.0 * 0.51e-6 * 1.7912, rel=1e-9)


def test_more_bark_than_wood_is_refused() -> None:
    with pytest.raises(
        BlankError, match=r'bark 41\.0 mm thick .* more than the whole blank; give a thinner bark, or "i'
    ):
        weigh(block(Timber(name="walnut, black", bark=41.0)))


def test_what_is_weighed_is_not_changed() -> None:
    mesh = Mesh(vertices=TETRAHEDRON.vertices, faces=TETRAHEDRON.faces)
    with pytest.raises(ValueError, match="read-only"):
        weigh(plain_blank(mesh)).body.centre[0] = 1.0
