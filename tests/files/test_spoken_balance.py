"""What is said of a blank on its lathe: the worst first, in the job's units, no speed where none is given."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest

from formmaker.engine.mounted import balance_on
from formmaker.files.balance_json import balance_to_json
from formmaker.files.spoken_balance import CAUTIONS, spoken_balance
from formmaker.model.balance import Balance
from formmaker.model.blank import Blank, FaceKind, Timber
from formmaker.model.ends import End
from formmaker.model.job import Job
from formmaker.model.lathe import Lathe
from formmaker.model.marks import Mark, MarkKind
from formmaker.units import Units
from tests.engine.jobs import plain_blank, upright
from tests.oracles import box_mesh

MARKS = tuple(
    Mark(name=name, kind=MarkKind.WITNESS, at=np.array(at)) for name, at in (("A", (0.0, 60, 40)), ("B", (-50, 0, 9)))
)
FOOT_DOWN = upright((0.0, 0.0, 0.0), foot_height=6.0)
FULL = Lathe(swing=200.0, between_centres=500.0, lowest_speed=60.0, highest_speed=2000.0)


def block(**others: object) -> Blank:
    """10 kg, 100 x 100 x 80 mm, its middle 8 mm off the upright axis toward 90 degrees."""
    mesh = box_mesh(np.array([-50.0, -42.0, 0.0]), np.array([50.0, 58.0, 80.0]))
    return plain_blank(mesh, **({"timber": Timber(weight=10.0), "marks": MARKS} | others))


def balanced(blank: Blank, lathe: Lathe = FULL, held: End | None = None) -> Balance:
    return balance_on(blank, FOOT_DOWN, lathe, held=held)


def said(job: Job, blank: Blank, lathe: Lathe = FULL, held: End | None = None, units: Units = Units.MM) -> str:
    """What is told, without its line breaks."""
    text = spoken_balance(balanced(blank, lathe, held), replace(job, units=units, lathe=lathe), blank)
    assert all(len(line) <= 100 for line in text.splitlines())
    assert "nan" not in text
    assert "inf" not in text.replace("information", "")
    return " ".join(text.split())


def test_balance_swing_and_start_are_told_in_millimetres(job: Job) -> None:
    text = said(job, block())
    assert text.startswith(
        "plum: the centre of mass lies 8.0 mm off the axis (known to within 0.0 mm), toward 90 deg (index 6 of 24), "
        "toward mark A, 34.0 mm above the foot. That side swings down."
    )
    assert "It weighs 10.0 kg, give or take 2 %, by the scales." in text
    assert "It is out of balance by 80 kg mm, with a couple of 0 kg mm2 about the middle between the centres." in text
    # the farthest corner: 50 and 58 mm make 76.6 mm, atan(58 / 50) = 49 deg
    assert re.search(r"The farthest wood is 76\.6 mm from the axis, at (49|131) deg", text)
    assert "it clears the bed by 23.4 mm (known to within 0.0 mm). A tool rest 86.6 mm from the axis" in text
    assert "Between its centres it is 80.0 mm long; the lathe has 500.0 mm." in text
    # a quarter of the weight at half of 945.65 / sqrt(8) rpm
    assert "Start the lathe at its lowest speed, 60 rpm, and keep under 160 rpm" in text
    assert "- 167 rpm: here the centres may have to hold 0.25 of its weight" in text
    # 153.2 mm are 6.03 in: 6000 / 6.03 and 9000 / 6.03
    assert "at 153.2 mm that is 995 to 1493 rpm" in text
    assert "the least move: both centres by 8.0 mm toward 90 deg (index 6 of 24). In the job:" in text
    assert "- foot_centre = [0.0, 8.0, 0.0] - rim_centre = [0.0, 8.0, 80.0]" in text
    assert all(f"- {caution}" in text for caution in CAUTIONS)


def test_inches_and_pounds_are_told_beside_inches(job: Job) -> None:
    text = said(job, block(), units=Units.INCH)
    assert "lies 5/16 in off the axis" in text
    assert "It weighs 22.0 lb" in text
    # 10 kg and 8 mm: 22.05 lb times 0.315 in
    assert "out of balance by 6.9 lb in, with a couple of 0 lb in2" in text
    # 10 kg, 8 mm at 500 rpm are 49.31 lbf (check values, section 3); so 17.8 at 300 rpm
    assert re.search(r"300 rpm 18 lbf \(18 lbf\) 0\.81 \(0\.81\) of its weight", text)
    assert "foot_centre = [0.0, 0.315, 0.0]" in text
    assert not re.search(r"\d mm|\d kg|\d N\b", text)


def test_the_force_is_told_up_to_the_weight_and_no_farther(job: Job) -> None:
    text = said(job, block())
    rows = re.findall(r"(\d+) rpm [\d.]+ N \([\d.]+ N\) ([\d.]+)", text)
    assert [float(rpm) for rpm, _ in rows] == [60.0, 100.0, 150.0, 200.0, 300.0, 400.0]
    assert float(rows[-1][1]) > 1.0 > float(rows[-2][1])
    assert "(check" not in text


def test_what_hinders_comes_first_and_no_speed_is_given(job: Job) -> None:
    text = said(job, block(), Lathe(swing=150.0, between_centres=60.0, lowest_speed=300.0))
    bed, length, speed = (
        "Do not start it on this mounting: it does not clear the bed. Cut it smaller or move the centres.",
        "Do not start it on this mounting: it is too long for the lathe. Cut it shorter.",
        "Do not start it on this mounting: even the lathe's lowest speed, 300 rpm, is faster than the 167 rpm",
    )
    way_out = "the centres may have to hold 0.25 of its weight. Balance it first, take it to a slower lathe, or ask"
    assert text.startswith(f"{bed} {length} {speed} at which {way_out} somebody trained. plum: ")
    assert text.count("Do not start it") == 3
    assert "Start the lathe" not in text
    assert "No starting speed is given for this mounting." in text
    assert "it is 1.6 mm too far out to clear the bed" in text
    assert "the lathe has 60.0 mm, and that is short." in text
    assert "The lathe's lowest speed is 300 rpm, faster than that." in text


def test_a_near_miss_of_the_bed_is_not_called_clear(job: Job) -> None:
    rough = block(uncertainty=1.0)
    text = said(job, rough, Lathe(swing=154.0, between_centres=81.0))
    assert "that it clears the bed cannot be said, so near does it come. Cut it smaller" in text
    assert "only 0.4 mm from the bed (known to within 1.0 mm), so it cannot be said to clear it." in text
    assert "that it goes between cannot be said, so near is its length to that of the lathe. Cut it shorter." in text


def test_a_large_round_is_refused_by_a_fast_lathe(job: Job) -> None:
    mesh = box_mesh(np.array([-300.0, -300.0, 0.0]), np.array([300.0, 300.0, 80.0]))
    text = said(job, plain_blank(mesh, timber=Timber(weight=20.0)), Lathe(lowest_speed=400.0))
    assert "faster than the 180 rpm at which common practice begins for wood of this size. Cut it smaller," in text
    assert "On the model it is balanced, so force sets no bound." in text
    assert "On the model the axis is balanced: no move makes it better." in text


def test_a_slow_lathe_bounds_the_start_itself(job: Job) -> None:
    text = said(job, block(), Lathe(lowest_speed=40.0, highest_speed=90.0))
    assert (
        "keep under 90 rpm until the wood runs round, because: - The lathe turns at 90 rpm at most. - 167 rpm" in text
    )


def test_without_a_lathe_the_turner_is_told_what_to_measure(job: Job) -> None:
    text = said(job, block(), Lathe())
    assert "the lathe's swing is not given. A tool rest" in text
    assert "Between its centres it is 80.0 mm long. Out-of-balance" in text
    assert "Start the lathe at its lowest speed, and keep under 160 rpm" in text
    assert "- The lathe's lowest speed is not given in the job: whether it is low enough cannot be said." in text
    assert "- The lathe's swing is not given in the job: measure that the wood clears the bed." in text


def test_no_weight_is_made_up(job: Job) -> None:
    text = said(job, block(timber=Timber(name="unobtainium")))
    assert 'Its weight is not known: "unobtainium" is not in the timber table' in text
    assert "Each kilogram of it hangs 8.0 mm off the axis, with a couple of 0 kg mm2" in text
    assert "Give wood or weight in [blank] for the whole." in text
    assert re.search(r"300 rpm 0\.81 \(0\.81\) of its weight", text)


@pytest.mark.parametrize(
    ("timber", "told"),
    [
        # skin 2 mm on the 200 cm2 and 320 cm2 of 800 cm3: 13 % beside the table's 10 %
        (
            Timber(name="elm, American"),
            r"As elm, American, green, it weighs about 0\.7 kg, give or take 23 %; bark counts",
        ),
        (Timber(name="walnut, black", bark=6.0), r"its 6\.0 mm of bark are weighed as bark\."),
        (Timber(name="plum", bark=6.0), r"bark counts as wood, for the table has no bark of this timber\."),
    ],
)
def test_how_the_weight_is_known_is_told(job: Job, timber: Timber, told: str) -> None:
    assert re.search(told, said(job, block(timber=timber, uncertainty=2.0)))


def test_a_side_that_is_not_known_is_not_named(job: Job) -> None:
    text = said(job, block(uncertainty=10.0))
    assert "by the model the centre of mass lies 8.0 mm off the axis, but that is known to within " in text
    assert "the wood itself has to show which side is heavy." in text
    assert "swings down" not in text
    assert "(which is less than can be told)" in text


@pytest.mark.parametrize(
    ("held", "told"),
    [
        # the middle stands half way up: the other end moves by twice the offset
        (End.FOOT, "with the foot centre held: move the rim centre by 16.0 mm toward 90 deg (index 6 of 24)"),
        (End.RIM, "with the rim centre held: move the foot centre by 16.0 mm toward 90 deg (index 6 of 24)"),
    ],
)
def test_a_held_end_is_told(job: Job, held: End, told: str) -> None:
    text = said(job, block(), held=held)
    assert told in text
    assert "What is left is a couple of " in text


@pytest.mark.parametrize(
    ("at", "told"),
    [
        ((0.0, 60.0, 0.0), "toward mark A"),
        ((30.0, 60.0, 0.0), "27 deg from mark A"),  # atan(30 / 60)
        ((0.0, -60.0, 0.0), "away from mark A"),
        ((30.0, -60.0, 0.0), "away from mark A within 27 deg"),
        ((60.0, 0.0, 0.0), "90 deg from mark A"),
    ],
)
def test_the_heavy_side_is_told_by_a_mark(job: Job, at: tuple[float, float, float], told: str) -> None:
    mark = Mark(name="A", kind=MarkKind.WITNESS, at=np.array(at))
    assert f"(index 6 of 24), {told}, 34.0 mm above the foot." in said(job, block(marks=(mark,)))


def test_places_are_told_as_the_job_file_gives_them(job: Job) -> None:
    text = said(job, block(scale=2.0))
    assert "foot_centre = [0.0, 4.0, 0.0] - rim_centre = [0.0, 4.0, 40.0]" in text
    told = balance_to_json(balanced(block(scale=2.0)), block(scale=2.0), Units.MM)
    assert told["centre_of_mass_mm"] == pytest.approx([0.0, 4.0, 20.0])
    assert told["offset_mm"] == pytest.approx(8.0)


def test_no_speed_is_called_without_danger(job: Job) -> None:
    for lathe in (FULL, Lathe(), Lathe(lowest_speed=900.0)):
        assert not re.search(r"\bsafe", said(job, block(), lathe), flags=re.IGNORECASE)


KEYS = {
    *("mass_kg", "mass_spread", "centre_of_mass_mm", "offset_mm", "heavy_toward_deg", "static_kg_mm"),
    *("couple_kg_mm2", "force_n", "swing", "start_rpm", "reasons", "cautions", "balanced"),
}


def told_to_programs(blank: Blank, lathe: Lathe = FULL) -> dict[str, object]:
    told = balance_to_json(balanced(blank, lathe), blank, Units.MM)
    return json.loads(json.dumps(told, allow_nan=False))


def test_programs_are_told_under_the_fixed_keys() -> None:
    told = told_to_programs(block())
    assert set(told) == KEYS
    assert (told["mass_kg"], told["mass_spread"]) == (10.0, 0.02)
    assert told["centre_of_mass_mm"] == pytest.approx([0.0, 8.0, 40.0])
    assert (told["offset_mm"], told["heavy_toward_deg"]) == (pytest.approx(8.0), pytest.approx(90.0))
    assert (told["static_kg_mm"], told["couple_kg_mm2"]) == (pytest.approx(80.0), pytest.approx(0.0, abs=1e-6))
    assert set(told["swing"]) == {"radius_mm", "theta_deg", "z_mm", "clears"}
    assert told["swing"]["clears"] is True
    assert told["start_rpm"] == 160.0
    assert all(set(force) == {"rpm", "n"} for force in told["force_n"])
    forces = {force["rpm"]: force["n"] for force in told["force_n"]}
    assert forces[500.0] == pytest.approx(219.32, abs=0.01)  # check values, section 3
    assert forces[60.0] == pytest.approx(219.32 * (60.0 / 500.0) ** 2, abs=0.01)
    assert told["balanced"]["rim_centre"] == pytest.approx([0.0, 8.0, 80.0])
    assert set(told["balanced"]) == {"foot_centre", "rim_centre"}
    assert told["cautions"] == list(CAUTIONS)
    assert [reason[:8] for reason in told["reasons"]] == ["167 rpm:", "995 rpm:", "The lath"]


def test_what_is_not_known_is_null_for_programs() -> None:
    told = told_to_programs(block(timber=Timber()), Lathe())
    for key in ("mass_kg", "mass_spread", "static_kg_mm", "couple_kg_mm2"):
        assert told[key] is None
    assert told["swing"]["clears"] is None
    assert all(force["n"] is None and force["rpm"] > 0.0 for force in told["force_n"])
    assert "measure that the wood clears the bed" in told["cautions"][0]
    middle = plain_blank(box_mesh(np.array([-50.0, -50.0, 0.0]), np.array([50.0, 50.0, 80.0])))
    assert told_to_programs(middle)["heavy_toward_deg"] is None


def test_programs_are_given_no_speed_where_something_hinders() -> None:
    told = told_to_programs(block(), Lathe(lowest_speed=300.0))
    assert told["start_rpm"] is None
    assert told["cautions"][0].startswith("Do not start it on this mounting: even the lathe's lowest speed")


def test_natural_skin_is_natural() -> None:
    assert (block().face_kinds == FaceKind.NATURAL).all()
