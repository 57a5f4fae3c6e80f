"""Cuts on the skin of triangles: volumes against closed forms, what stays, what is known of the faces made."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from formmaker.engine.cuts import cut_blank
from formmaker.engine.field import build_field
from formmaker.engine.preparation import prepare_form
from formmaker.errors import BlankError
from formmaker.geometry.meshes import Mesh, face_areas, face_normals, mass_properties
from formmaker.model.blank import Blank, BlankSource, FaceKind
from formmaker.model.cut import BlankCut, SawCut, TurnCut
from formmaker.model.job import BlankPlan
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import Board, HalfLog, Log, Shape
from formmaker.model.verdict import Answer, Reason
from formmaker.sources.blank import read_blank
from tests.engine.jobs import BLOCK, plain_blank, straight_form, upright, verdict_on

LOG = Log(radius=100.0, length=300.0)
ALONG = Mounting(foot_centre=(0.0, 0.0, 0.0), rim_centre=(300.0, 0.0, 0.0), zero=(0.0, 0.0, 1.0))


def wood(shape: Shape, *cuts: BlankCut, mounting: Mounting | None = None, **others: object) -> Blank:
    plan = BlankPlan(source=BlankSource.SHAPE, shape=shape, cuts=cuts, mounting=mounting, **others)  # type: ignore[arg-type]
    return read_blank(plan)


def volume(blank: Blank) -> float:
    return mass_properties(blank.mesh).volume


def along(*rows: tuple[float, float], start: float = 0.0) -> TurnCut:
    """A cut about the pith of a log."""
    return TurnCut(foot_centre=(start, 0, 0), rim_centre=(start + 1.0, 0, 0), profile=np.array(rows))  # type: ignore[arg-type]


def saw(point: tuple[float, float, float], normal: tuple[float, float, float]) -> SawCut:
    return SawCut(point=point, normal=normal)  # type: ignore[arg-type]


# ---- volumes, against closed forms -----------------------------------------------------------------------------


def test_a_board_sawn_askew_keeps_the_wedge_of_the_formula() -> None:
    # plane x + z = 0 through the middle of a board 300 x 200 x 60 standing on z = 0: a trapezium, by hand
    blank = wood(Board(length=300.0, width=200.0, thickness=60.0), saw((0, 0, 0), (1, 0, 1)))
    assert volume(blank) == pytest.approx(200.0 * 60.0 * (150.0 - 30.0), rel=1e-12)
    assert blank.cuts[0].removed == pytest.approx(300.0 * 200.0 * 60.0 - blank.cuts[0].left, rel=1e-12)


def test_a_half_log_sawn_level_keeps_all_but_the_circular_segment() -> None:
    # segment of a circle at height h: R^2 acos(h/R) - h sqrt(R^2 - h^2) (any handbook of mensuration)
    blank = wood(HalfLog(radius=100.0, length=300.0), saw((0, 0, 60), (0, 0, 1)))
    segment = 100.0**2 * math.acos(0.6) - 60.0 * 80.0
    assert volume(blank) == pytest.approx(300.0 * (math.pi * 100.0**2 / 2.0 - segment), rel=2e-4)


def test_a_log_sawn_askew_is_as_long_as_its_pith() -> None:
    # a cylinder cut by a skew plane: area times the length on the axis
    blank = wood(LOG, saw((180, 0, 0), (1, 0.3, -0.2)))
    assert volume(blank) == pytest.approx(math.pi * 100.0**2 * 180.0, rel=2e-4)


def test_a_turned_log_has_the_volume_of_its_frustum_and_cylinder_less_the_chords() -> None:
    blank = wood(LOG, along((0, 80), (150, 60), (150, 90), (300, 90)))
    whole = math.pi * (150.0 / 3.0 * (80.0**2 + 80.0 * 60.0 + 60.0**2) + 90.0**2 * 150.0)
    assert volume(blank) < whole
    # a polygon of sagitta s in a circle of radius r lacks about 4/3 s / r of its area
    assert volume(blank) == pytest.approx(whole * (1.0 - 4.0 / 3.0 * 0.01 / 85.0), rel=5e-5)
    assert blank.uncertainty == pytest.approx(2.004 + 0.01, abs=1e-4)


def test_between_its_first_and_last_height_alone_the_tool_takes_wood() -> None:
    blank = wood(LOG, along((100, 50), (140, 50)))
    groove = math.pi * (100.0**2 - 50.0**2) * 40.0
    assert blank.cuts[0].removed == pytest.approx(groove, rel=3e-4)


def test_radius_0_faces_the_end_off() -> None:
    blank = wood(LOG, along((260, 0), (310, 0)))
    assert volume(blank) == pytest.approx(math.pi * 100.0**2 * 260.0, rel=2e-4)
    assert blank.mesh.bounds[1, 0] == pytest.approx(260.0, abs=1e-9)


def test_an_axis_beside_the_pith_turns_about_itself() -> None:
    # two circles of radius 100 and 70, 50 apart: the lens (MathWorld, circle-circle intersection, from memory)
    cut = TurnCut(foot_centre=(0, 50, 0), rim_centre=(1, 50, 0), profile=np.array([[-1.0, 70.0], [301.0, 70.0]]))  # type: ignore[arg-type]
    big, small, apart = 100.0, 70.0, 50.0
    a = (apart**2 + big**2 - small**2) / (2.0 * apart)
    lens = big**2 * math.acos(a / big) + small**2 * math.acos((apart - a) / small) - apart * math.sqrt(big**2 - a**2)
    assert volume(wood(LOG, cut)) == pytest.approx(300.0 * lens, rel=3e-4)


# ---- laws ------------------------------------------------------------------------------------------------------

directions = st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda d: np.linalg.norm(d) > 0.2)


@st.composite
def cuts(draw: st.DrawFn) -> BlankCut:
    """A cut that leaves the middle of a half log of radius 100 and length 240."""
    direction = np.array(draw(directions))
    middle = np.array([0.0, 0.0, 40.0])
    if draw(st.booleans()):
        unit = direction / np.linalg.norm(direction)
        return SawCut(point=middle + draw(st.floats(20.0, 110.0)) * unit, normal=direction)
    heights = np.sort(draw(st.lists(st.integers(-120, 120), min_size=2, max_size=4, unique=True)))
    radii = draw(st.lists(st.floats(25.0, 120.0), min_size=len(heights), max_size=len(heights)))
    return TurnCut(foot_centre=middle, rim_centre=middle + direction, profile=np.column_stack([heights, radii]))


MERGED = 0.1
"""mm3: on a skin of 2e5 mm2 half a nanometre, what the boolean merges along edges."""

HALF = read_blank(BlankPlan(source=BlankSource.SHAPE, shape=HalfLog(radius=100.0, length=240.0)))


def flats(blank: Blank) -> float:
    """Volume that its turned faces may be off by, mm3: their flats lie within a chord of the round, anywhere."""
    turned = face_areas(blank.mesh)[blank.face_kinds == FaceKind.TURNED].sum()
    return max(report.chord for report in blank.cuts) * float(turned)


@settings(max_examples=10, deadline=None)
@given(first=cuts(), second=cuts())
def test_two_cuts_leave_the_same_wood_in_either_order(first: BlankCut, second: BlankCut) -> None:
    one, other = cut_blank(HALF, (first, second)), cut_blank(HALF, (second, first))
    if any(report.loose > 0.0 for report in (*one.cuts, *other.cuts)):
        return  # which piece flies may hang on the order
    assert volume(one) == pytest.approx(volume(other), abs=MERGED + flats(one) + flats(other))


@settings(max_examples=10, deadline=None)
@given(cut=cuts())
def test_a_cut_never_adds_wood_and_made_again_takes_none(cut: BlankCut) -> None:
    once = cut_blank(HALF, (cut,))
    again = cut_blank(once, (cut,))
    assert once.cuts[0].removed >= -MERGED
    assert once.cuts[0].removed + volume(once) == pytest.approx(volume(HALF), abs=MERGED)
    assert again.cuts[1].removed == pytest.approx(0.0, abs=MERGED + flats(again))


def test_a_centre_moved_after_a_cut_leaves_the_cut_about_its_own_axis() -> None:
    cut = along((0, 80), (300, 80))
    moved = Mounting(foot_centre=(0.0, 20.0, 5.0), rim_centre=(300.0, -10.0, 0.0), zero=(0.0, 0.0, 1.0))
    here, there = wood(LOG, cut, mounting=ALONG), wood(LOG, cut, mounting=moved)
    np.testing.assert_array_equal(here.mesh.vertices, there.mesh.vertices)


def test_places_go_with_the_scale_of_the_scan_and_radii_are_true() -> None:
    blank = wood(LOG)
    scaled = Blank(
        mesh=Mesh(vertices=2.0 * blank.mesh.vertices, faces=blank.mesh.faces),
        face_kinds=blank.face_kinds,
        face_patches=blank.face_patches,
        uncertainty=0.0,
        source=BlankSource.SCAN,
        scale=2.0,
    )
    cut = cut_blank(scaled, (saw((150, 0, 0), (1, 0, 0)), along((0, 80), (300, 80), start=0.0)))
    assert cut.mesh.bounds[1, 0] == pytest.approx(300.0, abs=1e-9)
    assert volume(cut) == pytest.approx(math.pi * 80.0**2 * 300.0, rel=4e-4)


# ---- the faces made --------------------------------------------------------------------------------------------


def test_faces_made_by_saw_and_tool_are_known_as_such_and_lie_where_they_were_cut() -> None:
    blank = wood(LOG, saw((200, 0, 0), (1, 0, 0)), along((50, 80), (120, 80)))
    radii = np.hypot(blank.mesh.corners[..., 1], blank.mesh.corners[..., 2])
    turned = blank.face_kinds == FaceKind.TURNED
    ground = turned & (blank.face_patches < 0)
    assert np.abs(radii[ground] - 80.0).max() < 1e-9
    middles = blank.mesh.corners[ground]
    middles = 0.5 * (middles + np.roll(middles, 1, axis=1))
    inside = 80.0 - np.hypot(middles[..., 1], middles[..., 2])
    assert inside.min() > -1e-9
    assert inside.max() <= 0.01
    shoulders = turned & (blank.face_patches >= 0)
    assert set(np.round(blank.mesh.corners[shoulders][..., 0].ravel(), 9)) == {50.0, 120.0}
    new = (blank.face_kinds == FaceKind.SAWN) & (blank.mesh.corners[..., 0].min(axis=1) > 199.0)
    assert len(set(blank.face_patches[new])) == 1
    np.testing.assert_allclose(face_normals(blank.mesh)[new], np.tile([1.0, 0.0, 0.0], (new.sum(), 1)), atol=1e-9)
    natural = blank.face_kinds == FaceKind.NATURAL
    assert np.abs(radii[natural] - 100.0).max() < 0.01


# ---- marks -----------------------------------------------------------------------------------------------------


def mark(name: str, kind: MarkKind, at: tuple[float, float, float]) -> Mark:
    return Mark(name=name, kind=kind, at=np.array(at), radius=10.0)


def test_marks_whose_place_was_cut_away_are_told_and_no_others() -> None:
    marks = (
        mark("A", MarkKind.WITNESS, (280, 0, 100)),
        mark("B", MarkKind.WITNESS, (20, 0, 100)),
        mark("deep", MarkKind.FLAW, (290, 0, 20)),
        mark("wing", MarkKind.KEEP, (270, 0, -100)),
    )
    blank = wood(LOG, saw((200, 0, 0), (1, 0, 0)), along((0, 99.9), (60, 99.9)), marks=marks)
    assert {m.name: m.cut_away for m in blank.marks} == {"A": 1, "B": 2, "deep": 1, "wing": 1}
    assert [report.marks for report in blank.cuts] == [("A", "deep", "wing"), ("B",)]
    assert "Mark A (witness) went with cut 1." in blank.notes
    kept = wood(LOG, saw((281, 0, 0), (1, 0, 0)), marks=marks)
    assert {m.name for m in kept.marks if m.cut_away} == {"deep"}


def test_a_keep_mark_that_was_sawn_off_is_lost_however_near_the_rim_passes() -> None:
    wing = mark("wing", MarkKind.KEEP, (60, 0, 98))
    half = wood(
        HalfLog(radius=100.0, length=300.0),
        saw((0, 0, 90), (0, 0, 1)),
        marks=(wing,),
        mounting=upright(),
        uncertainty=0.0,
    )
    verdict = verdict_on(
        build_field(half), prepare_form(straight_form(60.0, 120.0, lowest_rim=50.0), BLOCK), upright()
    )
    assert verdict.answer is Answer.MISSES
    lost = [finding.text for finding in verdict.findings if finding.reason is Reason.KEEP_LOST]
    assert lost == ["Mark wing was to be kept, but went with cut 1."]


# ---- what stays, and what is refused ---------------------------------------------------------------------------


def test_of_wood_parted_in_two_the_piece_at_the_foot_stays_though_it_is_the_smaller() -> None:
    blank = wood(LOG, along((80, 0), (100, 0)), mounting=ALONG)
    assert blank.mesh.bounds[1, 0] == pytest.approx(80.0, abs=1e-9)
    assert blank.cuts[0].loose == pytest.approx(math.pi * 100.0**2 * 200.0, rel=2e-4)
    assert "such a piece flies" in blank.notes[-1]


def test_without_a_foot_in_the_wood_the_largest_piece_stays() -> None:
    beside = upright((0.0, 0.0, 500.0))
    for mounting in (None, beside):
        blank = wood(LOG, along((80, 0), (100, 0)), mounting=mounting)
        assert blank.mesh.bounds[0, 0] == pytest.approx(100.0, abs=1e-9)


def test_a_hollow_stays_with_the_wood_round_it() -> None:
    board = wood(Board(length=100.0, width=100.0, thickness=100.0)).mesh
    inner = 0.4 * (board.vertices - [0.0, 0.0, 50.0]) + [0.0, 0.0, 50.0]
    hollow = Mesh(
        vertices=np.concatenate([board.vertices, inner]),
        faces=np.concatenate([board.faces, board.faces[:, ::-1] + len(board.vertices)]),
    )
    cut = saw((0, 0, 90), (0, 0, 1))
    blank = cut_blank(plain_blank(hollow), (cut,), upright())
    assert volume(blank) == pytest.approx(100.0 * 100.0 * 90.0 - 40.0**3, rel=1e-12)


def test_a_cut_that_leaves_nothing_is_refused_with_the_way_out() -> None:
    with pytest.raises(BlankError, match=r"cut 1 \(saw\) leaves no wood at all; its normal points away .* turn it"):
        wood(LOG, saw((-1, 0, 0), (1, 0, 0)))
    with pytest.raises(BlankError, match=r"cut 2 \(turn\) leaves no wood at all; .* larger radii"):
        wood(LOG, saw((299, 0, 0), (1, 0, 0)), along((-1, 0), (301, 0)))


def test_a_cut_that_frees_the_foot_is_refused() -> None:
    for cut in (saw((50, 0, 0), (-1, 0, 0)), along((-1, 0), (50, 0))):
        with pytest.raises(
            BlankError, match=r"cut 1 \(\w+\) frees the foot: no wood .* 1\.0 mm, .* cut less, or first"
        ):
            wood(LOG, cut, mounting=ALONG)


def test_a_cut_flush_with_the_foot_plane_does_not_free_it() -> None:
    raised = Mounting(
        foot_centre=(0.0, 0.0, 0.0), rim_centre=(300.0, 0.0, 0.0), zero=(0.0, 0.0, 1.0), foot_height=6.0
    )
    assert wood(LOG, saw((6, 0, 0), (-1, 0, 0)), mounting=raised).mesh.bounds[0, 0] == pytest.approx(6.0, abs=1e-9)


def test_a_cut_beside_the_wood_takes_nothing_and_says_so() -> None:
    blank = wood(LOG, saw((400, 0, 0), (1, 0, 0)))
    assert blank.notes[-1] == "Cut 1, sawn: it takes no wood off."
    assert volume(blank) == pytest.approx(volume(wood(LOG)), rel=1e-12)


@pytest.mark.parametrize(
    ("made", "said"),
    [
        (lambda: saw((0, 0, 0), (0, 0, 0)), "the normal of a saw cut is 0, 0, 0"),
        (lambda: saw((0, math.nan, 0), (0, 0, 1)), r"point \[0\.0, nan, 0\.0\] of a cut is no point"),
        (lambda: along((0, 1), start=math.inf), "foot_centre"),
        (lambda: TurnCut(foot_centre=(0, 0, 0), rim_centre=(0, 0, 0), profile=[[0, 1], [2, 1]]), "one place"),  # type: ignore[arg-type]
        (lambda: along((0, 10)), "two or more rows"),
        (lambda: along((0, math.nan), (1, 1)), "all finite"),
        (lambda: along((10, 50), (0, 50)), "in the order of their heights"),
        (lambda: along((0, 50), (10, -1)), "radii of 0 or more"),
        (lambda: along((5, 50), (5, 60)), "a last height at least 0.01 mm above the first"),
        (lambda: along((5, 50), (5.001, 60), (9, 60)), "or at least 0.01 mm apart"),
        (lambda: along((0, 5), (5, 50), (5, 60), (5, 50), (9, 9)), "at most two rows at one height"),
    ],
)
def test_what_is_no_cut_is_refused_when_it_is_made(made: object, said: str) -> None:
    with pytest.raises(BlankError, match=said):
        made()  # type: ignore[operator]


def test_the_smallest_normal_is_a_direction() -> None:
    np.testing.assert_allclose(saw((0, 0, 0), (0, 3e-200, 4e-200)).normal, [0.0, 0.6, 0.8])


def test_weight_is_that_of_the_timber_and_unknown_without_one() -> None:
    from formmaker.model.blank import Timber
    from formmaker.model.timber import density, find_species

    oak = find_species("oak, white")
    assert oak is not None
    blank = wood(LOG, saw((200, 0, 0), (1, 0, 0)), timber=Timber(name="white oak"))
    assert blank.cuts[0].weight == pytest.approx(density(oak, None) * blank.cuts[0].removed)
    assert wood(LOG, saw((200, 0, 0), (1, 0, 0))).cuts[0].weight is None


def test_a_weighed_piece_is_lighter_by_the_share_that_was_cut_off() -> None:
    from formmaker.engine.weighing import weigh
    from formmaker.model.blank import Timber

    blank = wood(LOG, saw((200, 0, 0), (1, 0, 0)), saw((150, 0, 0), (1, 0, 0)), timber=Timber(weight=9.0))
    assert weigh(blank).mass.kilograms == pytest.approx(4.5)
    assert [report.weight for report in blank.cuts] == pytest.approx([3.0, 1.5])
    assert blank.notes[-1].endswith("by volume, 4.5 kg of it are left.")
