"""What is said of a blank: size, weight, centre, faces and repairs, every figure from a closed form."""

from dataclasses import replace

import numpy as np
import pytest

from formmaker.files.spoken_blank import spoken_blank
from formmaker.geometry.meshes import Mesh
from formmaker.model.blank import Blank, BlankSource, FaceKind, Repair, Timber
from formmaker.units import Units


@pytest.fixture
def block() -> Blank:
    """A block of 254 x 127 x 50.8 mm (10 x 5 x 2 in) from the origin, its two faces across x sawn, each a patch."""
    box = np.array([[x, y, z] for x in (0.0, 254.0) for y in (0.0, 127.0) for z in (0.0, 50.8)])
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    faces = np.array([[a, b, c] for p, q, r, s in sides for a, b, c in ((p, q, r), (p, r, s))])
    patches = np.array([0, 0, 1, 1] + [-1] * 8)
    return Blank(
        mesh=Mesh(vertices=box, faces=faces),
        face_kinds=np.where(patches >= 0, FaceKind.SAWN, FaceKind.NATURAL),
        face_patches=patches,
        uncertainty=2.0,
        source=BlankSource.SCAN,
    )


def words(blank: Blank, units: Units = Units.MM) -> str:
    return " ".join(spoken_blank(blank, units))


def faces_sawn(block: Blank, sawn: int) -> Blank:
    patches = np.where(np.arange(12) < 2 * sawn, np.arange(12) // 2, -1)
    return replace(block, face_kinds=np.where(patches >= 0, FaceKind.SAWN, FaceKind.NATURAL), face_patches=patches)


def test_size_volume_and_centre_are_said_in_the_units_of_the_job(block: Blank) -> None:
    said = words(block)
    # 254 * 127 * 50.8 mm3 = 1638.7 cm3 = 100 cu in
    assert "A solid from a scan, 12 triangles: 254.0 mm along x, 127.0 mm along y, 50.8 mm along z; 1640 cm3." in said
    assert "centre of mass lies at x, y, z = 127.0 mm, 63.5 mm, 25.4 mm." in said
    assert "known to within 2.0 mm" in said
    inches = words(block, Units.INCH)
    assert "10 in along x, 5 in along y, 2 in along z; 100 cu in." in inches
    assert "x, y, z = 5 in, 2 1/2 in, 1 in." in inches
    assert "mm" not in inches


@pytest.mark.parametrize(
    ("sawn", "said"),
    [
        # of 103225.6 mm2 an end across x has 127 * 50.8: 6.25 %; both with a side of 254 * 50.8 have 25 %
        (0, "100 % of its skin is natural; it has no sawn face."),
        (1, "94 % of its skin is natural; one sawn face makes up 6 %."),
        (3, "75 % of its skin is natural; 3 sawn faces make up 25 %."),
    ],
)
def test_sawn_faces_are_counted_in_good_grammar(block: Blank, sawn: int, said: str) -> None:
    assert said in spoken_blank(faces_sawn(block, sawn), Units.MM)


def test_sawn_skin_that_is_no_flat_face_is_not_counted_as_faces(block: Blank) -> None:
    round_side = replace(faces_sawn(block, 1), face_patches=np.full(12, -1))
    assert "94 % of its skin is natural; sawn skin makes up 6 %." in spoken_blank(round_side, Units.MM)


def test_the_weight_needs_a_timber_of_the_table(block: Blank) -> None:
    assert "Its weight is not known: no timber is named" in words(block)
    assert '"moonwood" is not in the timber table' in words(replace(block, timber=Timber(name="moonwood")))
    # US Forest Service, FIADB REF_SPECIES, American elm (972): 0.46 green, 0.50 at 12 %, 94.00 % of water green:
    # 0.46 * 1.94 * 1.6387 kg = 1.462 kg = 3.22 lb
    elm = replace(block, timber=Timber(name="elm, American"))
    # known to 10 % at best, and 2 mm of skin on 1032.3 cm2 are 12.6 % of 1638.7 cm3
    assert "As elm, American, green, it weighs about 1.5 kg, give or take 23 %" in words(elm)
    exact = replace(elm, uncertainty=0.0)
    assert "give or take 10 %; bark counts as wood." in words(exact)
    weighed = replace(block, timber=Timber(name="elm, American", weight=1.25))
    assert "It weighs 1.2 kg, give or take 2 %, by the scales." in words(weighed)
    assert "about 3.2 lb" in words(elm, Units.INCH)
    dry = replace(block, timber=Timber(name="elm, American", moisture=12.0))
    assert "at 12 % moisture, it weighs about 0.9 kg" in words(dry)  # 0.50 * 1.12 * 1.6387 = 0.918, same source


def test_repairs_and_notes_are_each_said_once(block: Blank) -> None:
    repairs = (Repair(code="welded", text="12 points welded"), Repair(code="scaled", text="The scan was scaled."))
    lines = spoken_blank(replace(block, repairs=repairs, notes=("The scan was scaled.", "A gap.")), Units.MM)
    assert lines[-3:] == ("Repaired: 12 points welded", "The scan was scaled.", "A gap.")
