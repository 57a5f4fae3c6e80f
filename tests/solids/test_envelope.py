"""The envelope holds its form, and the wood in it gives the same bowl as the whole blank."""

import numpy as np
import pytest

from formmaker.geometry.booleans import difference, volume_of_intersection
from formmaker.geometry.frames import Frame
from formmaker.geometry.meshes import mass_properties, moved
from formmaker.geometry.revolve import Facets, revolved
from formmaker.solids.envelope import envelope, wood_round
from tests.oracles import box_mesh
from tests.scans import closed_scan

CUP = np.array([[0, 0], [30, 0], [70, 40], [85, 90], [77, 90], [62, 44], [25, 10], [0, 10]], dtype=float)
URN = np.array([[0, 0], [40, 0], [90, 40], [50, 90], [42, 90], [80, 40], [35, 10], [0, 10]], dtype=float)


@pytest.mark.parametrize("outline", [CUP, URN])
def test_nothing_of_the_form_stands_out_of_its_envelope(outline: np.ndarray) -> None:
    around = envelope(outline)
    form = revolved(outline, 360, facets=Facets.OUTSIDE)
    assert len(difference(form, around).faces) == 0
    grown = revolved(outline * 1.02, 360)
    assert mass_properties(around).volume > mass_properties(grown).volume
    assert len(around.faces) < 700


def test_the_wood_round_a_form_gives_the_bowl_of_the_whole_blank() -> None:
    blank = closed_scan("stump_blank.stl")
    frame = Frame(rotation=np.eye(3), origin=np.array([-20.0, 0.0, 42.0]))
    form = moved(revolved(CUP * [1.4, 1.0], 180), frame)
    wood = wood_round(blank, moved(envelope(CUP * [1.4, 1.0]), frame), form)
    assert len(wood.faces) < 0.6 * len(blank.faces)
    assert volume_of_intersection(wood, form) == pytest.approx(volume_of_intersection(blank, form), rel=1e-9)


def test_pieces_that_the_form_does_not_touch_are_left_out() -> None:
    form = revolved(np.array([[0, 0], [20, 0], [20, 10], [0, 10]], dtype=float), 90)
    blank = box_mesh(np.array([-50.0, -50, -1]), np.array([50.0, 50, 60]))
    wood = wood_round(blank, box_mesh(np.array([-30.0, -30, -5]), np.array([30.0, 30, 15])), form)
    assert mass_properties(wood).volume == pytest.approx(60 * 60 * 16)
