"""The wishes of a job: read with their units, and every fault told in a line."""

import math
from pathlib import Path

import numpy as np
import pytest

from formmaker.errors import JobFileError
from formmaker.files.job_file import job_from_text
from formmaker.model.wish import NO_WISH, HeldEnd, Largest

JOB = """
units = "{units}"
[blank]
shape = "half log"
size = {{ radius = {radius}, length = {length} }}
[[blank.mark]]
name = "wing"
kind = "keep"
at = [0, 0, 1]
radius = 1
[[blank.mark]]
name = "crack"
kind = "flaw"
at = [1, 0, 1]
radius = 1
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 2]
zero = [1, 0, 0]
[form]
profile = "open-bowl"
edge = "turned"
diameter = {diameter}
height = {height}
wall = {wall}
floor = {wall}
[hold]
kind = "tenon"
diameter = {wall}
depth = {wall}
"""
MM = JOB.format(units="mm", radius=150, length=300, diameter=200, height=80, wall=8)
INCH = JOB.format(units="in", radius=6, length=12, diameter=8, height=3, wall=0.3)


def wish_of(text: str, job: str = MM):  # type: ignore[no-untyped-def]
    return job_from_text(job + "[wish]\n" + text, Path("job.toml")).wish


def test_a_job_without_wishes_asks_nothing() -> None:
    assert job_from_text(MM, Path("job.toml")).wish == NO_WISH


def test_every_wish_is_read_in_the_units_of_the_job() -> None:
    wish = wish_of(
        'largest = "volume"\nleast_diameter = 4\nmost_diameter = "200 mm"\nlevel = "1/8 in"\nkeep = ["wing"]\n'
        'avoid = ["crack"]\nno_sawn_rim = true\ntilt_limit = 30\nshift_limit = 1\nhold_end = "headstock"\n'
        'setting_error = 0.0625\nunbalance_limit = 2\nrim_side = "wing"\n',
        INCH,
    )
    assert wish.largest is Largest.VOLUME
    assert (wish.least_diameter, wish.most_diameter, wish.level) == pytest.approx((101.6, 200.0, 3.175))
    assert (wish.keep, wish.avoid, wish.no_sawn_rim) == (("wing",), ("crack",), True)
    assert wish.tilt_limit == pytest.approx(math.pi / 6.0)
    assert (wish.shift_limit, wish.setting_error) == pytest.approx((25.4, 1.5875))
    assert wish.hold_end is HeldEnd.HEADSTOCK
    assert wish.unbalance_limit == pytest.approx(2 * 0.45359237 * 25.4)  # the pound of 1959
    assert wish.rim_side == "wing"


def test_a_side_may_be_a_direction() -> None:
    assert np.allclose(wish_of("rim_side = [0, 1, 0]").rim_side, [0.0, 1.0, 0.0])


@pytest.mark.parametrize(
    ("text", "key", "expected"),
    [
        ('largest = "radius"', "wish.largest", '"diameter", "volume"'),
        ("least_diameter = 200\nmost_diameter = 100", "wish.least_diameter", "no more than most_diameter"),
        ('keep = ["crack"]', "wish.keep[1]", 'kind "keep"'),
        ('avoid = ["wing"]', "wish.avoid[1]", 'kind "flaw"'),
        ('keep = ["Z"]', "wish.keep[1]", "the name of a mark"),
        ('keep = "wing"', "wish.keep", "a list of names"),
        ("no_sawn_rim = 1", "wish.no_sawn_rim", "true or false"),
        ("tilt_limit = 200", "wish.tilt_limit", "degrees from 0 to 180"),
        ("shift_limit = -1", "wish.shift_limit", "0 or more"),
        ('hold_end = "foot"', "wish.hold_end", '"headstock", "tailstock"'),
        ("setting_error = 500", "wish.setting_error", "at most 100"),
        ("unbalance_limit = -1", "wish.unbalance_limit", "kg mm"),
        ("rim_side = [0, 0, 0]", "wish.rim_side", "a direction with a length"),
        ('rim_side = "top"', "wish.rim_side", '"any"'),
        ("level = 0", "wish.level", "above 0"),
        ("levle = 3", "wish.levle", 'did you mean "level"'),
    ],
)
def test_a_faulty_wish_is_told_in_a_line(text: str, key: str, expected: str) -> None:
    with pytest.raises(JobFileError) as caught:
        wish_of(text)
    (fault,) = caught.value.faults
    assert fault.key == key
    assert expected in fault.expected
