"""What `formmaker dry` says and writes: the record's own figures in the job's units, and never the word safe."""

import json
import math
from collections.abc import Iterator
from dataclasses import replace

import pytest

from formmaker.engine.drying import dry_bowl
from formmaker.engine.section import build_section
from formmaker.files.dry_json import drying_to_json
from formmaker.files.spoken import wrapped
from formmaker.files.spoken_dry import say_climate, spoken_dry
from formmaker.model.blank import Timber
from formmaker.model.drying import Drying
from formmaker.model.job import Job
from formmaker.units import Units, format_length


@pytest.fixture
def cherry(job: Job) -> Job:
    return replace(job, plan=replace(job.plan, timber=Timber(name="cherry, black")))


def dried(job: Job, end: float = 8.0) -> Drying:
    return dry_bowl(job, build_section(job.form), end=end)


@pytest.mark.parametrize("units", Units)
def test_walls_ovals_and_the_ten_percent_rule_are_told(cherry: Job, units: Units) -> None:
    job = replace(cherry, units=units)
    drying = dried(job)
    told = "\n".join(spoken_dry(drying, job))
    for length in (
        drying.rough.wall,
        drying.rough.outside,
        drying.careful.wall,
        drying.tenth,
        drying.finished.before,
        drying.finished.across or 0.0,
    ):
        assert format_length(length, units) in told
    for words in ("ten-percent rule (common practice)", "one in forty", "natural edge", "stops losing weight"):
        assert words in told
    assert "safe" not in told


def test_a_piece_of_a_kind_without_a_weight_is_weighed_by_the_turner(cherry: Job) -> None:
    job = replace(
        cherry,
        plan=replace(cherry.plan, timber=Timber(name="plane")),
        dry=replace(cherry.dry, radial=4.0, tangential=9.0),
    )
    told = "\n".join(spoken_dry(dried(job), job))
    assert "Weigh the rough-out as soon as it is turned: it is ready when it weighs 68 % of that." in told


def test_lines_fit_the_terminal_and_no_measure_is_torn(cherry: Job) -> None:
    lines = list(wrapped(spoken_dry(dried(cherry), cherry)))
    assert max(map(len, lines)) <= 100
    assert not any(line.split()[0] in {"mm", "%", "kg"} for line in lines)


def test_a_climate_is_told_in_both_degrees_and_with_its_doubt() -> None:
    (line,) = say_climate((20.0, 0.5))
    assert "20 C (68 F) and 50 %" in line
    assert "half a point" in line
    assert say_climate(None) == ()


def flat(value: object) -> Iterator[object]:
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    yield value
    for part in inside:
        yield from flat(part)


def test_the_object_for_programs_holds_the_same_figures_and_is_json(cherry: Job) -> None:
    drying = dried(cherry)
    plain = drying_to_json(drying, (20.0, 0.5))
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert all(math.isfinite(x) for x in flat(plain) if isinstance(x, float))
    assert plain["climate"] == {"temperature_c": 20.0, "humidity_pct": 50.0}
    assert plain["ten_percent_holds"] is (drying.tenth >= drying.rough.wall)
    rough = plain["rough_out"]
    assert isinstance(rough, dict)
    assert rough["wall_mm"] == drying.rough.wall
    assert drying_to_json(drying, None)["climate"] is None
