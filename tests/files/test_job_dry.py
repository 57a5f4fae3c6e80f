"""What a job file says of the tree and of drying is read as it says, or refused in one line."""

from pathlib import Path

import pytest

from formmaker.errors import MeasureError
from formmaker.files.job_dry import read_climate
from formmaker.model.drying import NO_WISH, DryWish
from formmaker.model.grain import UNKNOWN_GRAIN, Grain, GrainWord, known_grain
from formmaker.model.shapes import CapBurr, HalfLog
from tests.files.test_job_lathe import fault_of, job_of


def test_the_tree_is_read_from_the_blank(tmp_path: Path) -> None:
    blank = 'grain = [0, 2, 1]\npith = [1, "2 in", -30]\nsapwood = 18'
    assert job_of(tmp_path, blank=blank).plan.grain == Grain(way=(0, 2, 1), pith=(1.0, 50.8, -30.0), sapwood=18.0)
    assert job_of(tmp_path, blank='grain = "axis"').plan.grain == Grain(way=GrainWord.AXIS)
    assert job_of(tmp_path).plan.grain == UNKNOWN_GRAIN


def test_a_log_says_its_grain_and_pith_itself_and_a_burr_says_nothing() -> None:
    log = HalfLog(radius=100.0, length=200.0)
    assert known_grain(UNKNOWN_GRAIN, log) == Grain(way=GrainWord.X, pith=(0.0, 0.0, 0.0))
    own = Grain(way=GrainWord.Y)
    assert known_grain(own, log) is own
    assert known_grain(UNKNOWN_GRAIN, CapBurr(diameter=100.0, height=40.0)) is UNKNOWN_GRAIN


def test_the_wish_for_drying_is_read(tmp_path: Path) -> None:
    table = '[dry]\ntemperature = "68 F"\nhumidity = "55%"\nskin = 1.5\nshrinkage = [3.5, 8]\n'
    wish = job_of(tmp_path, lathe=table).dry
    assert wish.temperature == pytest.approx(20.0)
    assert (wish.humidity, wish.skin, wish.radial, wish.tangential) == (0.55, 1.5, 3.5, 8.0)
    assert job_of(tmp_path, lathe="[dry]\nto = 0\n").dry == DryWish(to=0.0)
    assert job_of(tmp_path, lathe="[dry]\n").dry == job_of(tmp_path).dry == NO_WISH


@pytest.mark.parametrize(
    ("blank", "said"),
    [
        ("grain = [0, 0, 0]", "blank.grain = [0, 0, 0]: expected a direction with a length"),
        ('grain = "sideways"', 'blank.grain = "sideways": expected the way of the fibres: [x, y, z]'),
        ("grain = [1, 2]", "blank.grain = [1, 2]: expected the way of the fibres"),
        ("grain = [1, nan, 0]", "blank.grain[2] = NaN: expected an ordinary number"),
        ("grain = [1e308, 1e308, 0]", "blank.grain = [1e+308, 1e+308, 0]: expected a direction with a length"),
        ("sapwood = -1", "blank.sapwood = -1: expected a length 0 or more"),
        ("pith = 3", "blank.pith = 3: expected [x, y, z], 3 lengths"),
        ("grian = [1, 0, 0]", 'blank.grian = [1, 0, 0]: expected a known key; did you mean "grain"?'),
    ],
)
def test_what_is_no_tree_is_refused(tmp_path: Path, blank: str, said: str) -> None:
    assert fault_of(tmp_path, blank=blank).startswith(said)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ("to = -1", "dry.to = -1: expected a moisture in % of the dry weight from 0 to 250"),
        ("temperature = 20", "dry.temperature = 20: expected humidity beside it"),
        ("humidity = 50", "dry.humidity = 50: expected temperature beside it"),
        ("to = 8\ntemperature = 20\nhumidity = 50", "dry.to = 8: expected nothing, where a climate is given"),
        ("temperature = 90\nhumidity = 50", "dry.temperature = 90: expected a temperature from 0 to 70 C"),
        ('temperature = "hot"\nhumidity = 50', 'dry.temperature = "hot": expected a temperature from 0 to 70 C'),
        ("temperature = 20\nhumidity = 100", "dry.humidity = 100: expected a relative humidity in per cent"),
        ("shrinkage = 8", "dry.shrinkage = 8: expected [radial, tangential]"),
        ("shrinkage = [4, 80]", "dry.shrinkage[2] = 80: expected a shrinkage in % from 0 to 25"),
        ("skin = -2", "dry.skin = -2: expected a length 0 or more"),
        ("temprature = 20", 'dry.temprature = 20: expected a known key; did you mean "temperature"?'),
    ],
)
def test_what_is_no_wish_is_refused(tmp_path: Path, table: str, said: str) -> None:
    assert fault_of(tmp_path, lathe=f"[dry]\n{table}\n").startswith(said)


def test_a_climate_is_read_from_a_command_line_or_refused() -> None:
    assert read_climate("68F, 65 %") == (pytest.approx(20.0), 0.65)
    for text in ("20C", "20C,50%,3", "warm,50%", "20C,damp", "20C,0%", "nan,50"):
        with pytest.raises(MeasureError, match="20C,50%"):
            read_climate(text)
