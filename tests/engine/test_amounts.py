"""Wood in a bowl by the field, against Pappus and against halves."""

import numpy as np
import pytest

from formmaker.engine.amounts import field_figures
from formmaker.engine.field import Field
from formmaker.engine.preparation import prepare_form
from formmaker.engine.section import section_volume
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.proof import ProofMethod
from formmaker.model.shapes import Board
from tests.engine.jobs import described_field, straight_form, upright

TENON = Hold(kind=HoldKind.TENON, diameter=40.0, depth=6.0)
RECESS = Hold(kind=HoldKind.RECESS, diameter=40.0, depth=5.0)
PLUG = {TENON: np.pi * 20.0**2 * 6.0, RECESS: -np.pi * 20.0**2 * 5.0}


@pytest.fixture(scope="module")
def board() -> Field:
    return described_field(Board(length=200.0, width=160.0, thickness=90.0), cells=64)


@pytest.mark.parametrize("hold", [TENON, RECESS])
def test_all_of_a_bowl_that_stands_in_wood_is_wood(board: Field, hold: Hold) -> None:
    prepared = prepare_form(straight_form(60.0, 50.0), hold)
    figures = field_figures(prepared, board, upright(foot_height=15.0).blank_from_form)
    assert figures.method is ProofMethod.FIELD
    assert figures.bowl == pytest.approx(section_volume(prepared.section) + PLUG[hold], rel=3e-4)  # chords
    assert figures.missing == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("hold", [TENON, RECESS])
def test_half_of_a_bowl_whose_axis_lies_in_the_side_of_the_blank_is_missing(board: Field, hold: Hold) -> None:
    prepared = prepare_form(straight_form(60.0, 50.0, lowest_rim=30.0), hold)
    figures = field_figures(prepared, board, upright((0.0, 80.0, 0.0), foot_height=15.0).blank_from_form)
    whole = section_volume(prepared.section) + PLUG[hold]
    assert figures.bowl == pytest.approx(whole / 2.0, rel=1e-3)
    # above the lowest rim nothing is asked for: a tube of 20 mm less
    tube = np.pi * (60.0**2 - 52.0**2) * 20.0
    assert figures.missing == pytest.approx((whole - tube) / 2.0, rel=1e-3)
