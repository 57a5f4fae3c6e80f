"""The wood a holding stands in, against closed forms: circles cut by planes and rings of bark."""

import math
from dataclasses import replace

import numpy as np
import pytest

from formmaker.engine.field import Field, build_field
from formmaker.engine.preparation import PreparedForm, prepare_form
from formmaker.engine.seating import seat_of, seat_points, seat_segments
from formmaker.model.blank import Timber
from formmaker.model.hold import Hold, HoldKind
from formmaker.model.holding import HoldCode, Seat
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import Board, Log
from formmaker.units import Units
from tests.engine.jobs import described_field, job_of, straight_form, upright

FORM = straight_form(45.0, 50.0)


def held(kind: HoldKind, diameter: float = 60.0, depth: float = 20.0) -> PreparedForm:
    return prepare_form(FORM, Hold(kind=kind, diameter=diameter, depth=depth))


@pytest.fixture(scope="module")
def board() -> Field:
    """200 by 160, 100 thick: its edge is x = 100."""
    return described_field(Board(length=200.0, width=160.0, thickness=100.0), uncertainty=0.5)


@pytest.fixture(scope="module")
def log() -> Field:
    """Radius 80: natural skin round it, sawn ends at x = 0 and 200."""
    return described_field(Log(radius=80.0, length=200.0), uncertainty=0.0)


END_ON = Mounting(foot_centre=(0.0, 0.0, 0.0), rim_centre=(200.0, 0.0, 0.0), zero=(0.0, 0.0, 1.0), foot_height=20.0)  # type: ignore[arg-type]


def seat(field: Field, prepared: PreparedForm, mounting: Mounting) -> Seat:
    return seat_of(prepared, field, mounting.blank_from_form)


def test_a_glue_face_in_the_middle_of_a_board_lies_in_wood_all_round(board: Field) -> None:
    found = seat(board, held(HoldKind.GLUE_BLOCK), upright(foot_height=20.0))
    assert found.depth == pytest.approx(20.0, abs=0.06)  # the slack of the search
    assert (found.in_wood, found.is_in_wood, found.flaws) == (pytest.approx(1.0), True, ())
    assert found.bark is None
    assert math.isinf(found.natural)  # a board is sawn all round


@pytest.mark.parametrize("over", [-15.0, 0.0, 12.0])
def test_the_share_of_a_face_that_hangs_over_the_edge_is_that_of_a_circle_cut_by_a_line(
    board: Field, over: float
) -> None:
    radius, off = 30.0, 100.0 + over
    found = seat(board, held(HoldKind.GLUE_BLOCK), upright((off, 0.0, 0.0), foot_height=50.0))
    segment = radius**2 * math.acos(over / radius) - over * math.sqrt(radius**2 - over**2)
    assert found.in_wood == pytest.approx(segment / (math.pi * radius**2), abs=0.01)
    assert found.depth == pytest.approx(-(over + radius), rel=0.011)
    assert not found.is_in_wood


@pytest.mark.parametrize(("height", "is_in"), [(0.4, False), (0.7, True)])
def test_a_face_nearer_to_the_skin_than_that_is_known_cannot_be_said_to_lie_in_wood(
    board: Field, height: float, is_in: bool
) -> None:
    found = seat(board, held(HoldKind.GLUE_BLOCK), upright(foot_height=height))
    assert found.in_wood == pytest.approx(1.0)
    assert found.is_in_wood is is_in


def test_bark_on_the_face_is_the_ring_outside_the_wood(log: Field) -> None:
    thick = 12.0
    barked = replace(log, blank=replace(log.blank, timber=Timber(bark=thick)))
    found = seat(barked, prepare_form(straight_form(79.0, 60.0), held(HoldKind.GLUE_BLOCK, 150.0).hold), END_ON)
    # of a face of radius 75 in a log of 80, whatever lies beyond 68 is bark
    assert found.bark == pytest.approx(1.0 - (68.0 / 75.0) ** 2, abs=0.02)
    assert found.natural == pytest.approx(80.0 - 75.0, abs=75.0 / 128.0 + 0.1)  # the last ring of places
    assert seat(barked, held(HoldKind.GLUE_BLOCK), END_ON).bark == 0.0


def test_a_tenon_and_a_recess_are_asked_where_they_are_cut() -> None:
    tenon, recess = seat_segments(held(HoldKind.TENON)), seat_segments(held(HoldKind.RECESS, 60.0, 5.0))
    assert (tenon[:, [1, 3]].min(), tenon[:, [1, 3]].max()) == (-20.0, 0.0)
    assert (recess[:, [1, 3]].min(), recess[:, [1, 3]].max()) == (0.0, 5.0)
    assert recess[:, [0, 2]].max() == 45.0  # the ring that the jaws push on, out to the edge of the foot


def test_a_tenon_that_stands_out_under_the_board_is_found(board: Field) -> None:
    found = seat(board, held(HoldKind.TENON), upright(foot_height=15.0))
    assert found.depth == pytest.approx(-5.0, abs=0.06)
    assert (found.height, found.is_in_wood) == (pytest.approx(-20.0), False)


@pytest.mark.parametrize(("radius", "meets"), [(9.9, ()), (12.0, ("crack",))])
def test_a_flaw_that_reaches_into_the_face_is_named(board: Field, radius: float, meets: tuple[str, ...]) -> None:
    mark = Mark(name="crack", kind=MarkKind.FLAW, at=np.array([0.0, 0.0, 30.0]), radius=radius)
    witness = Mark(name="A", kind=MarkKind.WITNESS, at=np.array([0.0, 0.0, 20.0]), radius=50.0)
    field = replace(board, blank=replace(board.blank, marks=(mark, witness)))
    assert seat(field, held(HoldKind.GLUE_BLOCK), upright(foot_height=20.0)).flaws == meets


def test_moving_wood_and_axis_together_changes_nothing(board: Field) -> None:
    here = seat(board, held(HoldKind.GLUE_BLOCK), upright((85.0, 10.0, 0.0), foot_height=20.0))
    shift = np.array([500.0, -300.0, 40.0])
    mesh = replace(board.blank.mesh, vertices=board.blank.mesh.vertices + shift)
    away = build_field(replace(board.blank, mesh=mesh), cells=96)
    there = seat(away, held(HoldKind.GLUE_BLOCK), upright((585.0, -290.0, 40.0), foot_height=20.0))
    assert there.depth == pytest.approx(here.depth, abs=0.11)  # the slack of two searches
    assert there.in_wood == pytest.approx(here.in_wood, abs=1e-9)


SOUND = Seat(
    depth=5.0, slack=1.0, theta=math.pi / 2, radius=30.0, height=0.0, in_wood=1.0, bark=0.0, natural=40.0, flaws=()
)


@pytest.mark.parametrize(
    ("found", "code", "hinders", "words"),
    [
        (replace(SOUND, depth=0.9), HoldCode.AIR, True, "at 90 deg (index 6 of 24) it is 0.9 mm deep"),
        (replace(SOUND, depth=-3.0, in_wood=0.9), HoldCode.AIR, True, "3.0 mm at 90 deg (index 6 of 24), 10 % of it"),
        (replace(SOUND, bark=0.12), HoldCode.BARK, True, "12 % of the glue face lies in bark"),
        (replace(SOUND, bark=None, natural=9.0), HoldCode.BARK, False, "within 9.0 mm of the glue face"),
        (replace(SOUND, flaws=("shake",)), HoldCode.FLAW, True, "Flaw shake reaches into the glue face"),
    ],
)  # fmt: skip
def test_what_speaks_against_the_wood_is_said(found: Seat, code: HoldCode, hinders: bool, words: str) -> None:
    job = job_of(FORM, upright(), hold=held(HoldKind.GLUE_BLOCK).hold)
    (point,) = seat_points(found, job)
    assert (point.code, point.hinders) == (code, hinders)
    assert words in point.text


def test_sound_wood_has_nothing_said_of_it() -> None:
    job = job_of(FORM, upright(), hold=held(HoldKind.TENON).hold, units=Units.INCH)
    assert list(seat_points(SOUND, job)) == []
    assert list(seat_points(replace(SOUND, bark=None, natural=10.0), job)) == []
