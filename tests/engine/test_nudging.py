import numpy as np
import pytest

from formmaker.engine.nudging import Centre, levelled, nudged, raised, tilted
from formmaker.engine.preparation import prepare_form
from formmaker.engine.rim import trace_rim
from formmaker.engine.section import outer_curve
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.shapes import Round
from tests.engine.jobs import described_field, straight_form, upright

SLANTED = upright((3.0, -2.0, 5.0), foot_height=4.0)


def test_a_nudge_moves_its_centre_alone_and_square_to_the_axis() -> None:
    after = nudged(SLANTED, Centre.RIM, toward=np.pi / 2.0, by=2.5)
    np.testing.assert_allclose(after.rim_centre - SLANTED.rim_centre, [0.0, 2.5, 0.0], atol=1e-12)
    np.testing.assert_allclose(after.foot_centre, SLANTED.foot_centre)
    both = nudged(SLANTED, Centre.BOTH, toward=0.0, by=1.0)
    np.testing.assert_allclose(both.axis, SLANTED.axis)


def test_a_nudge_and_its_opposite_cancel() -> None:
    there = nudged(SLANTED, Centre.FOOT, toward=0.7, by=1.5)
    back = nudged(there, Centre.FOOT, toward=0.7 + np.pi, by=1.5)
    # square to an axis tilted by 1.5 in 100: the way back is off by the square of that, 0.03 mm
    np.testing.assert_allclose(back.foot_centre, SLANTED.foot_centre, atol=0.03)


def test_the_foot_stays_in_place_under_a_tilt() -> None:
    after = tilted(SLANTED, toward=1.0, by=0.2)
    np.testing.assert_allclose(after.blank_from_form.origin, SLANTED.blank_from_form.origin, atol=1e-9)
    up = SLANTED.blank_from_form.inverse.turn(after.axis / np.linalg.norm(after.axis))
    np.testing.assert_allclose(up, [np.sin(0.2) * np.cos(1.0), np.sin(0.2) * np.sin(1.0), np.cos(0.2)], atol=1e-12)
    assert np.linalg.norm(after.axis) == pytest.approx(np.linalg.norm(SLANTED.axis))


def test_raising_moves_the_foot_plane_along_the_axis() -> None:
    assert raised(SLANTED, 1.5).foot_height == pytest.approx(5.5)


def test_a_rim_that_a_flat_face_ends_is_levelled() -> None:
    # closed form: the upper face of a round is level, so a tilted axis stands upright when its rim is level
    field = described_field(Round(diameter=200.0, thickness=60.0))
    form = straight_form(60.0, 90.0, lowest_rim=20.0)
    outer = prepare_form(form, Hold(kind=HoldKind.GLUE_BLOCK, diameter=40.0, depth=20.0)).section.outer
    leaning = tilted(upright((0.0, 0.0, 0.0), foot_height=20.0), toward=2.0, by=np.radians(5.0))
    assert trace_rim(field, outer, leaning.blank_from_form).lean > 5.0
    level = levelled(leaning, field, outer)
    axis = level.axis / np.linalg.norm(level.axis)
    assert np.degrees(np.arccos(axis[2])) < 0.05
    assert trace_rim(field, outer_curve(form), level.blank_from_form).lean < 0.05
