"""The spoken answer tells the turner the answer, the worst place and what hangs loose, in the units of the job."""

from dataclasses import replace

import numpy as np
import pytest

from formmaker.files.spoken import CAUTION, LINE_WIDTH, say_angle, spoken, wrapped
from formmaker.files.spoken_proof import spoken_proof
from formmaker.model.hold import HoldKind
from formmaker.model.job import Job
from formmaker.model.proof import MissingPiece, Proof, ProofMethod, Reduction, WoodFigures
from formmaker.model.verdict import (
    Answer,
    Extremum,
    Finding,
    LoosePiece,
    Reason,
    RimKind,
    RimLine,
    Verdict,
    WeakNeck,
    Window,
)
from formmaker.units import Units


def words(verdict: Verdict, job: Job) -> str:
    """The answer as one line, wherever its lines were broken."""
    return " ".join(spoken(verdict, job).split())


def test_the_first_sentence_is_the_answer_and_the_second_the_worst_place(verdict: Verdict, job: Job) -> None:
    assert words(verdict, job).startswith(
        "plum: it comes out, with 3.2 mm to spare (known to within 1.1 mm). "
        "The least is at the wall, 214 deg (index 14 of 24), 41.0 mm above the foot."
    )


@pytest.mark.parametrize(
    ("answer", "margin", "said"),
    [
        (Answer.TIGHT, 0.4, "too close to call: 0.4 mm to spare, but this is only known to within 1.1 mm."),
        (
            Answer.TIGHT,
            -0.4,
            "too close to call: 0.4 mm of wood is missing, but this is only known to within 1.1 mm.",
        ),
        (
            Answer.MISSES,
            -4.1,
            "it does not come out: 4.1 mm of wood is missing (known to within 1.1 mm). The worst place is",
        ),
        (Answer.MISSES, 4.1, "it does not come out as wished: see the findings."),
    ],
)
def test_every_answer_has_its_sentence(verdict: Verdict, job: Job, answer: Answer, margin: float, said: str) -> None:
    assert said in words(replace(verdict, answer=answer, margin=margin), job)


LOOSE = LoosePiece(volume=2_500.0, theta=np.pi, height=70.0)
NECK = WeakNeck(area=125.0, volume=12_000.0, theta=0.0, height=61.0)
WINDOW = Window(area=350.0, theta=1.0, height=30.0)


def found(reason: Reason, amount: float) -> Finding:
    return Finding(reason=reason, text=f"About a {reason.value}.", amount=amount)


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ({"loose_pieces": (LOOSE,)}, "not all of it hangs together: a piece is not joined to the foot."),
        ({"weak_necks": (NECK,)}, "not all of it hangs together: a part of the rim hangs by a weak neck."),
        ({"windows": (WINDOW,)}, "but the wall is open below the rim."),
        (
            {"findings": (found(Reason.FLAW_CLEAR, 0.5),)},
            "but whether the form stays clear of a flaw is too close to",
        ),
        ({"findings": (found(Reason.FLAW_MET, 0.5),)}, "but whether the form stays clear of a flaw is too close to"),
        ({"findings": (found(Reason.KEEP_LOST, 9.0),)}, "but whether the rim passes a mark near enough is too close"),
        ({"findings": (found(Reason.KEEP_MET, 7.0),)}, "but whether the rim passes a mark near enough is too close"),
        (
            {"loose_pieces": (LOOSE,), "windows": (WINDOW,), "findings": (found(Reason.FLAW_CLEAR, 30.0),)},
            "hangs together: a piece is not joined to the foot and the wall is open below the rim.",
        ),
    ],
)
def test_a_tight_bowl_with_wood_to_spare_says_what_is_in_doubt(
    verdict: Verdict, job: Job, parts: dict[str, tuple[object, ...]], said: str
) -> None:
    told = words(replace(verdict, answer=Answer.TIGHT, **parts), job)
    assert told.startswith("plum: the wood is there, with 3.2 mm to spare (known to within 1.1 mm), but ")
    assert said in told
    assert "The least is at the wall, 214 deg" in told
    assert "but this is only known" not in told


@pytest.mark.parametrize(
    ("reason", "amount", "said"),
    [
        (Reason.KEEP_LOST, 25.0, "a mark that was to be kept is lost"),
        (Reason.FLAW_MET, 6.0, "the form meets a flaw"),
        (Reason.HOLD_FLOOR, -1.0, "the recess breaks through"),
    ],
)
def test_a_bowl_that_misses_although_the_wood_is_there_says_why(
    verdict: Verdict, job: Job, reason: Reason, amount: float, said: str
) -> None:
    lost = found(reason, amount)
    hold = replace(verdict.hold, findings=(lost,))
    told = words(replace(verdict, answer=Answer.MISSES, hold=hold, findings=(lost,)), job)
    assert f"plum: it does not come out as wished: {said}. Where it must be wood: 3.2 mm to spare" in told


def test_inches_are_said_as_fractions(verdict: Verdict, job: Job) -> None:
    said = words(verdict, replace(job, units=Units.INCH))
    assert "with 1/8 in to spare" in said  # 3.2 mm is 4.03 thirty-seconds
    assert "mm" not in said
    assert "cu in" in said


def test_the_rim_is_told_with_its_ends_lean_and_sway(verdict: Verdict, job: Job) -> None:
    said = words(verdict, job)
    assert "lowest 60.0 mm at 270 deg (index 18 of 24), highest 74.0 mm at" in said
    assert "50 % bark edge, 25 % sawn face, 25 % turned edge" in said
    assert "leans up by 6.0 mm toward 90 deg (index 6 of 24)" in said
    assert "sways by 4.0 mm" in said


def test_a_lean_within_the_uncertainty_has_no_direction(verdict: Verdict, rim: RimLine, job: Job) -> None:
    said = words(replace(verdict, rim=replace(rim, lean=1.1)), job)
    assert "It leans less than can be told, 1.1 mm; it sways by 4.0 mm" in said
    assert "toward" not in said


@pytest.mark.parametrize("lean", [0.0, 0.049])
def test_a_lean_of_nothing_has_no_direction(verdict: Verdict, rim: RimLine, job: Job, lean: float) -> None:
    said = words(replace(verdict, rim=replace(rim, lean=lean), uncertainty=0.01), job)
    assert "On the model it leans to no side (known to within 0.0 mm); it sways by 4.0 mm" in said
    assert "toward" not in said


def test_a_rim_of_one_height_is_level(verdict: Verdict, rim: RimLine, job: Job) -> None:
    level = replace(rim, height=70.0 + np.array([0.0, 0.02, 0.0, -0.02]), lean=0.02, sway=0.0)
    said = words(replace(verdict, rim=level), job)
    assert "The rim runs level all the way round, 70.0 mm high; 50 % bark edge" in said
    assert "lean" not in said


def test_a_turned_rim_is_said_in_one_sentence(verdict: Verdict, rim: RimLine, job: Job) -> None:
    flat = replace(rim, height=np.full(4, 80.0), kinds=(RimKind.TURNED,) * 4, lean=0.0, sway=0.0)
    said = words(replace(verdict, rim=flat), job)
    assert "The rim is turned all round, 80.0 mm high." in said
    assert "leans" not in said


def test_what_is_unknown_is_never_a_figure(verdict: Verdict, rim: RimLine, job: Job) -> None:
    blind = replace(rim, height=np.full(4, np.nan), lean=np.nan, lean_toward=np.nan, sway=np.nan)
    said = spoken(replace(verdict, rim=blind, margin=np.nan, worst=replace(verdict.worst, theta=np.nan)), job)
    assert "nan" not in said
    assert "could not be found" in said


def test_findings_come_once_each_with_their_place(broken: Verdict, job: Job) -> None:
    lines = spoken(broken, job).splitlines()
    assert "- A part hangs by a neck. At 270 deg (index 18 of 24), 61.0 mm above the foot." in lines
    assert sum("The tenon is small." in line for line in lines) == 1
    assert lines.index("- The scan had a hole.") > 0


def test_a_piece_that_may_fly_off_brings_the_caution_before_everything_else(broken: Verdict, job: Job) -> None:
    said = words(broken, job)
    assert said.index(CAUTION) < said.index("- A part hangs")
    for danger in ("loose_pieces", "weak_necks"):
        calm = replace(broken, **{danger: ()})
        assert CAUTION in words(calm, job)
    assert CAUTION not in words(replace(broken, loose_pieces=(), weak_necks=()), job)


def test_no_figure_is_called_safe_and_lines_fit_a_terminal(broken: Verdict, job: Job) -> None:
    said = spoken(broken, replace(job, skin=2.0))
    assert "safe" not in said.lower()
    assert "2.0 mm for truing" in said
    assert max(map(len, said.splitlines())) <= LINE_WIDTH


@pytest.mark.parametrize(("degrees", "said"), [(359.9, "0 deg (index 0 of 24)"), (-90.0, "270 deg (index 18 of 24)")])
def test_an_angle_is_said_within_one_turn(degrees: float, said: str) -> None:
    assert say_angle(np.radians(degrees), 24) == said


def proof_of(bowls: tuple[float, ...], missing: tuple[float, ...]) -> Proof:
    figures = tuple(
        WoodFigures(method=method, bowl=bowl, missing=lack)
        for method, bowl, lack in zip(ProofMethod, bowls, missing, strict=True)
    )
    return Proof(figures=figures, form_volume=100_000.0, reduction=None, loose_volume=0.0)


@pytest.mark.parametrize(
    ("proof", "said"),
    [
        # a crumb is 50 mm3, a thousandth of the form 100 mm3
        (proof_of((90_000.0, 90_099.0, 90_050.0), (49.0, 0.0, 10.0)), ""),
        (proof_of((90_000.0, 90_000.0, 90_000.0), (900.0, 900.0, 900.0)), ""),
        (
            proof_of((90_000.0, 90_000.0, 90_000.0), (0.0, 0.0, 51.0)),
            "wood is missing by the solid kernel, none by the distance grid and the mesh boolean. This is no proof.",
        ),
        (
            proof_of((90_000.0, 90_101.0, 90_000.0), (0.0, 0.0, 0.0)),
            "on the bowl's volume to within 0.1 % of the form",
        ),
    ],
)
def test_methods_that_do_not_agree_are_not_taken_for_a_proof(job: Job, proof: Proof, said: str) -> None:
    told = " ".join(spoken_proof(proof, job).split())
    assert ("They do not agree" in told) == bool(said)
    assert said in told


def test_a_proof_lays_its_methods_side_by_side(job: Job) -> None:
    pieces = tuple(MissingPiece(volume=v, theta=np.pi, radius=50.0, height=70.0) for v in (900.0, 80.0, 70.0, 60.0))
    figures = tuple(
        WoodFigures(method=method, bowl=bowl, missing=1110.0, pieces=pieces)
        for method, bowl in zip(ProofMethod, (250_000.0, 250_100.0, 250_250.0), strict=True)
    )
    reduction = Reduction(faces_before=300_000, faces_after=4_000, farthest=0.456, rms=0.1, volume_change=3.0)
    proof = Proof(figures=figures, form_volume=500_000.0, reduction=reduction, loose_volume=2_500.0)
    said = " ".join(spoken_proof(proof, job).split())
    assert "distance grid 250 cm3 1.11 cm3" in said
    assert "differ by at most 0.05 % of the whole form (500 cm3)" in said  # 250 of 500 000
    assert "0.900 cm3 missing about 180 deg (index 12 of 24), 70.0 mm above the foot, 50.0 mm from the axis." in said
    assert said.count("from the axis") == 3
    assert "and 1 smaller place." in said
    assert "300000 triangles, was brought down to 4000; the two skins are at most 0.46 mm apart" in said
    assert "2.50 cm3 hang on nothing" in said


@pytest.mark.parametrize(
    ("margin", "skin", "said"),
    [
        # margin 0.1 below 0 with 2.0 of allowance: 1.9 of it is there, none of the bowl is missing
        (-0.1, 2.0, "too close to call: 0.1 mm of the 2.0 mm for truing is missing, but this is only known"),
        (-2.4, 2.0, "it does not come out: 0.4 mm of wood is missing, and the 2.0 mm for truing as well ("),
        (-2.4, 0.0, "it does not come out: 2.4 mm of wood is missing (known"),
    ],
)
def test_what_is_missing_of_the_allowance_is_not_missing_of_the_bowl(
    verdict: Verdict, job: Job, margin: float, skin: float, said: str
) -> None:
    answer = Answer.TIGHT if margin > -verdict.uncertainty else Answer.MISSES
    told = words(replace(verdict, answer=answer, margin=margin), replace(job, skin=skin))
    assert said in told
    assert "already taken off" not in told


def test_a_flat_high_is_named_where_the_drawing_names_it(verdict: Verdict, rim: RimLine, job: Job) -> None:
    flat = replace(
        rim, height=np.array([74.0, 60.0, 62.0, 74.0]), highs=(Extremum(theta=np.radians(315.0), height=74.0),)
    )
    assert "highest 74.0 mm at 315 deg (index 21 of 24)" in words(replace(verdict, rim=flat), job)
    plain = replace(flat, highs=(), lows=())
    assert "lowest 60.0 mm at 90 deg" in words(replace(verdict, rim=plain), job)


@pytest.mark.parametrize(
    ("ends", "foot", "cured"),
    [
        ((RimKind.NATURAL,) * 4, 60.0, True),
        ((RimKind.NATURAL,) * 3 + (RimKind.SAWN,), 60.0, True),  # three quarters
        ((RimKind.NATURAL,) * 2 + (RimKind.SAWN, RimKind.TURNED), 60.0, False),
        ((RimKind.NATURAL,) * 4, 0.0, False),
    ],
)
def test_a_tilt_levels_only_what_is_a_rim(
    verdict: Verdict, rim: RimLine, job: Job, ends: tuple[RimKind, ...], foot: float, cured: bool
) -> None:
    bent = replace(rim, kinds=ends, height=np.array([70.0, 80.0, 70.0, foot]))
    assert ("which a tilt would level" in words(replace(verdict, rim=bent), job)) == cured


def test_a_measure_is_never_broken_from_its_unit() -> None:
    for room in range(1, 100):
        lines = list(wrapped([f"{'x' * room} 83 % bark edge or 1 11/32 in of it"]))
        assert sum("83 % bark" in line or line.endswith("83 %") for line in lines) == 1
        assert sum("1 11/32 in" in line for line in lines) == 1


def test_what_was_told_is_not_told_again(broken: Verdict, job: Job) -> None:
    assert "The scan had a hole." not in spoken(broken, job, told=("The scan had a hole.",))
    assert "A part hangs by a neck." in spoken(broken, job, told=("The scan had a hole.",))


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        (HoldKind.TENON, "bowl with its tenon wood missing"),
        (HoldKind.RECESS, "bowl less its recess wood missing"),
        (HoldKind.GLUE_BLOCK, ". bowl wood missing"),
    ],
)
def test_a_proof_says_what_its_volumes_are_of(job: Job, kind: HoldKind, said: str) -> None:
    proof = proof_of((90_000.0, 90_000.0, 90_000.0), (0.0, 0.0, 0.0))
    held = replace(job, hold=replace(job.hold, kind=kind))
    assert said in " ".join(spoken_proof(proof, held).split())
