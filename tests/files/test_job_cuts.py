"""Cuts in a job file: what they are read as, and every fault."""

from pathlib import Path

import numpy as np
import pytest

from formmaker.errors import JobFileError
from formmaker.files.job_cuts import MOST_CUTS
from formmaker.files.job_file import job_from_text
from formmaker.model.cut import SawCut, TurnCut
from formmaker.sources.samples import sample_job

BASE = sample_job("plum half log")
SAW = {"kind": '"saw"', "point": "[0, 0, 90]", "normal": "[0, 0, 1]"}
TURN = {
    "kind": '"turn"',
    "foot_centre": "[0, 0, 0]",
    "rim_centre": "[0, 0, 100]",
    "profile": "[[0, 60], [90, 100]]",
}


def job_with(*entries: dict[str, str]) -> str:
    tables = ("".join(f"{key} = {value}\n" for key, value in entry.items()) for entry in entries)
    return BASE + "".join(f"\n[[cut]]\n{table}" for table in tables)


def read(*entries: dict[str, str]) -> tuple[SawCut | TurnCut, ...]:
    return job_from_text(job_with(*entries), Path("job.toml")).plan.cuts


def faults(*entries: dict[str, str]) -> list[str]:
    with pytest.raises(JobFileError) as caught:
        read(*entries)
    return [str(fault) for fault in caught.value.faults]


def test_cuts_are_read_in_order_in_the_units_of_the_file_or_their_own() -> None:
    unit = 25.4 if 'units = "in"' in BASE else 1.0
    first, second = read(TURN, SAW | {"point": '[0, "1 1/2 in", "9 cm"]', "normal": "[0, 0, 5]"})
    assert isinstance(first, TurnCut)
    np.testing.assert_allclose(first.profile, np.array([[0, 60], [90, 100]]) * unit)
    np.testing.assert_allclose(first.rim_centre, [0, 0, 100 * unit])
    assert isinstance(second, SawCut)
    np.testing.assert_allclose(second.point, [0.0, 38.1, 90.0])
    np.testing.assert_allclose(second.normal, [0, 0, 1])


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        (SAW | {"kind": '"sawn"'}, 'cut[1].kind = "sawn": expected one of "saw", "turn"; did you mean "saw"?'),
        ({"point": "[0, 0, 9]"}, "cut[1].kind = (missing): expected a value, this key has to be there"),
        ({"kind": '"saw"', "point": "[0, 0, 9]"}, "cut[1].normal = (missing): expected a value"),
        (SAW | {"point": '[0, 0, "high"]'}, 'cut[1].point[3] = "high": expected a length'),
        (SAW | {"point": "[0, 0, nan]"}, "cut[1].point[3] = NaN: expected a length"),
        (SAW | {"point": "[0, 0]"}, "cut[1].point = [0, 0]: expected [x, y, z], 3 lengths"),
        (SAW | {"normal": "[0, 0, 0]"}, "cut[1].normal = [0, 0, 0]: expected a direction; 0, 0, 0 is none"),
        (SAW | {"normal": '[0, 0, "1"]'}, 'cut[1].normal[3] = "1": expected a number'),
        (SAW | {"normal": "[0, 0, inf]"}, "cut[1].normal[3] = Infinity: expected an ordinary number"),
        (SAW | {"normal": "[1, 0]"}, "cut[1].normal = [1, 0]: expected [x, y, z], a direction"),
        (SAW | {"profile": "[[0, 1], [2, 3]]"}, "cut[1].profile = [[0, 1], [2, 3]]: expected a known key"),
        (TURN | {"rim_centre": "[0, 0, 0]"}, "cut[1].rim_centre = [0, 0, 0]: expected another point than"),
        (TURN | {"profile": "[[0, 60]]"}, "cut[1].profile = [[0, 60]]: expected a list of at least 2 pairs"),
        (TURN | {"profile": "[[0, 60], [9]]"}, "cut[1].profile[2] = [9]: expected [z, r]"),
        (TURN | {"profile": "[[0, 60], [9, -1]]"}, "cut[1].profile[2][2] = -1: expected a length 0 or more"),
        (TURN | {"profile": "[[9, 60], [0, 60]]"}, "expected rows in the order of their heights"),
        (TURN | {"profile": "[[9, 60], [9, 50]]"}, "expected a last height at least 0.01 mm above the first"),
        (TURN | {"profile": "[[0, 9], [5, 9], [5, 8], [5, 7]]"}, "expected at most two rows at one height"),
        (TURN | {"profile": str([[n, 9] for n in range(201)])}, "expected a list of at most 200 pairs"),
    ],
)
def test_each_fault_of_a_cut_is_told_in_its_place(entry: dict[str, str], said: str) -> None:
    (fault,) = faults(entry)
    assert said in fault


def test_all_faults_are_told_together() -> None:
    assert len(faults(SAW | {"normal": "[0, 0, 0]"}, TURN | {"profile": "3", "rim_centre": "4"})) == 3


def test_thousands_of_cuts_are_refused_in_one_line() -> None:
    (fault,) = faults(*[SAW] * 3000)
    assert f"expected at most {MOST_CUTS} cuts; there are 3000" in fault


def test_a_cut_that_is_no_table_is_a_fault() -> None:
    with pytest.raises(JobFileError, match=r"a list of tables, each under \[\[cut\]\]"):
        job_from_text("cut = 3\n" + BASE, Path("job.toml"))
