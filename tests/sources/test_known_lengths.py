"""The scale of a scan, corrected by caliper distances."""

import numpy as np
import pytest

from formmaker.errors import BlankError
from formmaker.model.job import KnownLength
from formmaker.model.marks import Mark, MarkKind
from formmaker.sources.known_lengths import fit_scale, say_fit
from formmaker.units import Units

PLACES = {"A": (0.0, 0.0, 0.0), "B": (200.0, 0.0, 0.0), "C": (0.0, 100.0, 0.0)}
MARKS = tuple(Mark(name=name, kind=MarkKind.WITNESS, at=np.array(at)) for name, at in PLACES.items())


def length(first: str, second: str, mm: float) -> KnownLength:
    return KnownLength(first=first, second=second, length=mm)


def test_without_known_lengths_the_scan_stays_as_it_is():
    fit = fit_scale((), MARKS)
    assert (fit.factor, fit.residuals, fit.worst) == (1.0, (), 0.0)


def test_lengths_that_agree_leave_nothing_over():
    fit = fit_scale((length("A", "B", 204.0), length("A", "C", 102.0)), MARKS)
    assert fit.factor == pytest.approx(1.02)
    assert fit.worst == pytest.approx(0.0, abs=1e-9)


def test_the_factor_is_the_least_squares_one():
    # s = sum d L / sum d^2 = (200 * 202 + 100 * 103) / (200^2 + 100^2) = 50700 / 50000; by hand.
    lengths = (length("A", "B", 202.0), length("A", "C", 103.0))
    fit = fit_scale(lengths, MARKS)
    assert fit.factor == pytest.approx(1.014)
    assert fit.residuals == pytest.approx((0.8, -1.6))
    assert fit.worst == pytest.approx(1.6)
    assert "A-B +0.80 mm, A-C -1.60 mm" in say_fit(lengths, fit)


def test_a_single_length_says_that_it_checks_nothing():
    lengths = (length("A", "B", 202.0),)
    said = say_fit(lengths, fit_scale(lengths, MARKS))
    assert said.startswith("The scan was scaled by 1.01000 to one known length; ")
    assert said.endswith("nothing over to check it by.")


def test_what_is_left_over_is_said_in_the_units_of_the_job():
    # 0.8 mm is 0.0315 in, 1.6 mm 0.0630 in.
    lengths = (length("A", "B", 202.0), length("A", "C", 103.0))
    said = say_fit(lengths, fit_scale(lengths, MARKS), Units.INCH)
    assert said.endswith("to 2 known lengths; left over (scan less caliper): A-B +0.031 in, A-C -0.063 in.")


def test_five_per_cent_is_just_allowed_and_more_is_not():
    assert fit_scale((length("A", "B", 209.99),), MARKS).factor == pytest.approx(1.04995)
    with pytest.raises(BlankError):
        fit_scale((length("A", "B", 210.01),), MARKS)


@pytest.mark.parametrize(
    ("known", "words"),
    [
        (length("A", "Q", 200.0), ("no mark 'Q'", "marks are A, B, C")),
        (length("A", "A", 200.0), ("both marks are at one place", "two marks far apart")),
        (length("A", "B", 0.0), ("known_length A-B is 0.0 mm", "above 0")),
        (length("A", "B", float("nan")), ("known_length A-B is nan mm",)),
        (length("A", "B", 5080.0), ("by 25.4", "5% either way", "in where it says mm")),
        (length("A", "B", 2050.0), ("by 10.25", "cm where it says mm")),
        (length("A", "B", 230.0), ("by 1.15", "check the marks and the caliper readings")),
    ],
)
def test_lengths_that_cannot_be_right_are_refused(known, words):
    with pytest.raises(BlankError) as error:
        fit_scale((known,), MARKS)
    for word in words:
        assert word in str(error.value)
