"""The command line: what goes to which stream, which exit code, and that nothing is a traceback."""

import json
import math
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import click
import numpy as np
import pytest
from click.testing import CliRunner, Result

import formmaker
from formmaker.cli import main
from formmaker.errors import BlankError, KernelError
from formmaker.files.job_file import read_job
from formmaker.model.job import BlankPlan
from formmaker.model.proof import Proof, ProofMethod, WoodFigures
from formmaker.model.shapes import HalfLog
from formmaker.model.verdict import (
    Answer,
    HoldCheck,
    Part,
    Place,
    RimKind,
    RimLine,
    Spin,
    Verdict,
    Volumes,
)
from formmaker.units import Units

Say = Callable[[str], None]

JOB = """
title = "plum"
units = "mm"
[blank]
shape = "half log"
size = { radius = 100, length = 260 }
[mounting]
foot_centre = [0, 0, 0]
rim_centre = [0, 0, 100]
zero = [1, 0, 0]
[form]
outer = [[40, 0], [60, 80]]
joints = ["corner", "corner"]
wall = 8
floor = 10
edge = "natural"
lowest_rim = 60
[hold]
kind = "glue block"
diameter = 60
depth = 6
"""


def verdict(answer: Answer) -> Verdict:
    theta = np.radians(np.arange(360.0))
    return Verdict(
        answer=answer,
        margin={Answer.FITS: 3.0, Answer.TIGHT: 0.1, Answer.MISSES: -3.0}[answer],
        uncertainty=1.0,
        worst=Place(theta=0.0, radius=60.0, height=60.0, part=Part.WALL),
        diameter=120.0,
        height=80.0,
        foot=80.0,
        rim=RimLine(
            theta=theta,
            radius=np.full(360, 60.0),
            height=np.full(360, 80.0),
            kinds=(RimKind.NATURAL,) * 360,
            lean=0.0,
            lean_toward=0.0,
            sway=0.0,
            highs=(),
            lows=(),
        ),
        spin=Spin(height=np.zeros(1), core=np.ones(1), ghost=np.ones(1)),
        loose_pieces=(),
        weak_necks=(),
        windows=(),
        volumes=Volumes(blank=3e6, bowl=3e5, waste=2.7e6),
        hold=HoldCheck(kind="glue block", diameter=60.0, ratio=0.5, findings=()),
        findings=(),
    )


class Stub:
    """Stands in for the pipeline: keeps what it was asked and answers as it was told."""

    def __init__(self) -> None:
        self.answer = Answer.FITS
        self.missing = (0.0, 0.0, 0.0)
        self.error: BaseException | None = None
        self.asked: list[tuple[object, ...]] = []

    def _work(self, say: Say, *asked: object) -> None:
        say("working")
        self.asked.append(asked)
        if self.error is not None:
            raise self.error

    def check(self, job: Path, say: Say) -> object:
        self._work(say, job)
        return SimpleNamespace(job=read_job(job), verdict=verdict(self.answer))

    def prove(self, job: Path, say: Say, *, step: Path | None, stl: Path | None) -> object:
        self._work(say, job, step, stl)
        figures = tuple(
            WoodFigures(method=method, bowl=3e5, missing=missing)
            for method, missing in zip(ProofMethod, self.missing, strict=True)
        )
        proof = Proof(figures=figures, form_volume=3e5, reduction=None, loose_volume=0.0)
        return SimpleNamespace(verdict=verdict(self.answer), proof=proof)

    def draw(self, job: Path, folder: Path, say: Say) -> tuple[Path, ...]:
        self._work(say, job, folder)
        return (folder / "a.svg", folder / "b.svg")

    def sheets(self, job: Path, folder: Path, say: Say, **asked: object) -> tuple[Path, ...]:
        self._work(say, job, folder, asked)
        return (folder / "a.pdf",)

    def picture(self, job: Path, target: Path, say: Say) -> Path:
        self._work(say, job, target)
        return target

    def new(self, folder: Path, plan: BlankPlan, units: Units, say: Say) -> object:
        self._work(say, folder, plan, units)
        return SimpleNamespace(job_path=folder / "job.toml", lines=("A half log.",))

    def demo(self, folder: Path, say: Say) -> object:
        self._work(say, folder)
        return SimpleNamespace(folder=folder, page=folder / "index.html", lines=("Three bowls.",))


@pytest.fixture
def stub(monkeypatch: pytest.MonkeyPatch) -> Stub:
    pipeline = Stub()
    monkeypatch.setitem(sys.modules, "formmaker.pipeline", pipeline)  # type: ignore[arg-type]
    monkeypatch.setattr(formmaker, "pipeline", pipeline, raising=False)
    return pipeline


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "job.toml").write_text(JOB)
    (tmp_path / "bad.toml").write_text(JOB.replace("wall = 8", "wall = -8").replace("depth", "deth"))
    return tmp_path


def run(*words: str) -> Result:
    result = CliRunner().invoke(main, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.mark.parametrize(("answer", "code"), [(Answer.FITS, 0), (Answer.TIGHT, 1), (Answer.MISSES, 1)])
@pytest.mark.parametrize("words", [("check",), ("check", "--json"), ("prove",)])
def test_the_exit_code_is_the_answer(
    folder: Path, stub: Stub, words: tuple[str, ...], answer: Answer, code: int
) -> None:
    stub.answer = answer
    result = run(*words, "job.toml")
    assert (result.exit_code, result.stdout != "", result.stderr) == (code, True, "working\n")


def test_json_is_one_object_and_nothing_else(folder: Path, stub: Stub) -> None:
    result = run("check", "job.toml", "--json")
    answer, end = json.JSONDecoder().raw_decode(result.stdout)
    assert result.stdout[end:] == "\n"
    assert answer["answer"] == "fits"
    assert len(answer["rim"]["height_mm"]) == 360


def test_people_are_answered_in_sentences(folder: Path, stub: Stub) -> None:
    assert run("check", "job.toml").stdout.startswith("plum: it comes out, with 3.0 mm to spare")


@pytest.mark.parametrize(
    "words", [("check",), ("check", "--json"), ("prove",), ("draw",), ("sheets",), ("picture", "-o", "x.png")]
)
def test_a_faulty_job_is_refused_line_by_line_before_the_pipeline_is_asked(
    folder: Path, stub: Stub, words: tuple[str, ...]
) -> None:
    result = run(words[0], "bad.toml", *words[1:])
    assert (result.exit_code, result.stdout, stub.asked) == (2, "", [])
    lines = result.stderr.splitlines()
    assert [line.split(" = ")[0] for line in lines] == [
        "bad.toml: form.wall",
        "bad.toml: hold.depth",
        "bad.toml: hold.deth",
    ]


@pytest.mark.parametrize("name", ["missing.toml", ".", "job.toml/x"])
def test_a_job_that_is_no_file_is_refused_in_one_line(folder: Path, stub: Stub, name: str) -> None:
    result = run("check", name)
    assert (result.exit_code, result.stdout, result.stderr.count("\n")) == (2, "", 1)


@pytest.mark.parametrize("error", [BlankError("one triangle"), KernelError("gave up"), MemoryError()])
def test_what_goes_wrong_on_the_way_is_one_line_and_exit_code_2(
    folder: Path, stub: Stub, error: BaseException
) -> None:
    stub.error = error
    result = run("check", "job.toml")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.splitlines()[1:] == [str(error) or result.stderr.splitlines()[1]]


def test_ctrl_c_leaves_with_130_and_one_line(folder: Path, stub: Stub) -> None:
    stub.error = KeyboardInterrupt()
    result = run("check", "job.toml")
    assert (result.exit_code, result.stdout, result.stderr) == (130, "", "working\nstopped\n")


def test_draw_says_what_it_wrote_and_goes_to_exports_if_not_told(folder: Path, stub: Stub) -> None:
    result = run("draw", "job.toml")
    assert result.stdout.splitlines() == [str(Path("exports", "a.svg")), str(Path("exports", "b.svg"))]
    assert run("draw", "job.toml", "-o", "out").exit_code == 0
    assert [asked[1] for asked in stub.asked] == [Path("exports"), Path("out")]


def test_sheets_are_chosen_by_how_their_names_begin_and_written_in_the_formats_named(
    folder: Path, stub: Stub
) -> None:
    assert run("sheets", "job.toml").stdout == f"{Path('exports', 'a.pdf')}\n"
    words = ("--only", "template", "--only", "rim", "--format", "PDF, svg", "--paper", "roll:24 in")
    assert run("sheets", "job.toml", "-o", "out", *words).exit_code == 0
    (_, _, first), (_, place, second) = stub.asked
    assert first["formats"] == ["svg", "pdf", "dxf"]  # type: ignore[index]
    assert first["paper"].name == "A4"  # type: ignore[index]
    assert place == Path("out")
    assert second["names"] == ("template-outside", "template-inside", "rim-strip")  # type: ignore[index]
    assert second["formats"] == ["pdf", "svg"]  # type: ignore[index]
    assert second["paper"].width == pytest.approx(609.6)  # type: ignore[index]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--paper", "A9"), "'A9' is not known"),
        (("--paper", "roll:3"), "a roll 3.0 mm wide"),
        (("--only", "nonsense"), '"nonsense" is no sheet; there are template-outside, '),
        (("--only", ""), "is no sheet"),
        (("--format", "dwg"), '"dwg": give one or more of svg,pdf,dxf'),
        (("--format", ""), "give one or more of svg,pdf,dxf"),
        (("-o", "bad.toml"), "is not a folder"),
    ],
)
def test_sheets_that_cannot_be_meant_are_refused_before_the_work(
    folder: Path, stub: Stub, words: tuple[str, ...], said: str
) -> None:
    result = run("sheets", "job.toml", *words)
    assert (result.exit_code, result.stdout, stub.asked) == (2, "", [])
    assert said in result.stderr


@pytest.mark.parametrize(
    "words",
    [
        ("draw", "job.toml", "-o", "bad.toml"),
        ("draw", "job.toml", "-o", "bad.toml/deep"),
        ("picture", "job.toml", "-o", "bad.toml/x.png"),
        ("picture", "job.toml", "-o", "x.jpg"),
        ("picture", "job.toml", "-o", "."),
        ("prove", "job.toml", "--step", "x.stl"),
        ("prove", "job.toml", "--stl", "bad.toml/x.stl"),
        ("demo", "-o", "bad.toml"),
        ("new", "bad.toml", "--shape", "round", "--size", "diameter=300", "--size", "thickness=60"),
    ],
)
def test_a_place_that_cannot_be_written_is_refused_before_the_work(
    folder: Path, stub: Stub, words: tuple[str, ...]
) -> None:
    before = sorted(folder.rglob("*"))
    result = run(*words)
    assert (result.exit_code, result.stdout, stub.asked) == (2, "", [])
    assert result.stderr.count("\n") == 1
    assert sorted(folder.rglob("*")) == before


def test_the_scan_that_the_answer_is_made_from_is_never_written_over(folder: Path, stub: Stub) -> None:
    (folder / "burr.stl").touch()
    scanned = JOB.replace('shape = "half log"', 'scan = "burr.stl"\nscan_unit = "mm"').replace("size =", "# size =")
    (folder / "scan.toml").write_text(scanned)
    result = run("prove", "scan.toml", "--stl", "./burr.stl")
    assert (result.exit_code, stub.asked) == (2, [])
    assert "not written over" in result.stderr


@pytest.mark.parametrize("method", range(3))
@pytest.mark.parametrize(("missing", "code"), [(49.0, 0), (51.0, 1), (math.nan, 1)])  # a crumb is 50 mm3
def test_wood_missing_by_any_one_method_is_no_fit(
    folder: Path, stub: Stub, method: int, missing: float, code: int
) -> None:
    stub.missing = tuple(missing if place == method else 0.0 for place in range(3))
    assert run("prove", "job.toml").exit_code == code


def test_prove_hands_its_targets_on(folder: Path, stub: Stub) -> None:
    assert run("prove", "job.toml", "--step", "a.step", "--stl", "a.stl").exit_code == 0
    assert stub.asked == [(Path("job.toml"), Path("a.step"), Path("a.stl"))]


def test_new_hands_on_a_described_shape(folder: Path, stub: Stub) -> None:
    words = ("--shape", "half log", "--size", "radius=120", "--size", "length=12 in", "--wood", "plum")
    result = run("new", "plum", *words, "--moisture", "12")
    assert result.exit_code == 0, result.stderr
    assert result.stdout.splitlines() == ["A half log.", f"Job file: {Path('plum', 'job.toml')}"]
    ((target, plan, units),) = stub.asked
    assert isinstance(plan, BlankPlan)
    assert (target, units) == (Path("plum"), Units.MM)
    assert plan.shape == HalfLog(radius=120.0, length=12 * 25.4)
    assert (plan.timber.name, plan.timber.moisture) == ("plum", 12.0)


def test_new_reads_plain_sizes_in_the_units_asked(folder: Path, stub: Stub) -> None:
    words = ("--shape", "half log", "--size", "radius=4", "--size", "length=10", "--moisture", "green")
    assert run("new", "plum", *words, "--units", "in").exit_code == 0
    ((_, plan, units),) = stub.asked
    assert isinstance(plan, BlankPlan)
    assert (plan.shape, units) == (HalfLog(radius=101.6, length=254.0), Units.INCH)


def test_new_hands_on_a_scan_and_readings(folder: Path, stub: Stub) -> None:
    (folder / "burr.stl").touch()
    (folder / "burr.csv").touch()
    assert run("new", "a", "--scan", "burr.stl", "--unit", "cm").exit_code == 0
    assert run("new", "b", "--readings", "burr.csv", "--index-count", "48").exit_code == 0
    scan, readings = (asked[1] for asked in stub.asked)
    assert isinstance(scan, BlankPlan)
    assert isinstance(readings, BlankPlan)
    assert (scan.path, scan.scan_unit) == (Path("burr.stl"), "cm")
    assert (readings.path, readings.index_count) == (Path("burr.csv"), 48)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "exactly one"),
        (("--scan", "bad.toml", "--readings", "bad.toml"), "exactly one"),
        (("--scan", "none.stl", "--unit", "mm"), "a file that is there"),
        (("--scan", "burr.stl"), "unit"),
        (("--scan", "burr.stl", "--unit", "yd"), "'--unit'"),
        (("--shape", "cube"), "'--shape'"),
        (("--shape", "round", "--size", "diameter"), "NAME=LENGTH"),
        (("--shape", "round", "--size", "diameter=-3", "--size", "thickness=6"), "size.diameter"),
        (("--shape", "round", "--size", "diameter=nan", "--size", "thickness=6"), "size.diameter"),
        (("--shape", "round", "--size", "radius=3"), "size.radius"),
        (("--shape", "round", "--size", "diameter=3", "--size", "diameter=4"), "twice"),
        (("--readings", "burr.csv", "--index-count", "1"), "'--index-count'"),
        (("--readings", "burr.csv", "--moisture", "999"), "moisture"),
    ],
)
def test_new_refuses_a_blank_that_is_not_described(
    folder: Path, stub: Stub, words: tuple[str, ...], said: str
) -> None:
    (folder / "burr.stl").touch()
    (folder / "burr.csv").touch()
    result = run("new", "out", *words)
    assert (result.exit_code, result.stdout, stub.asked) == (2, "", [])
    assert said in result.stderr
    assert not (folder / "out").exists()


def test_demo_goes_to_exports_if_not_told(folder: Path, stub: Stub) -> None:
    result = run("demo")
    assert result.stdout.splitlines() == ["Three bowls.", f"Page: {Path('exports', 'demo', 'index.html')}"]
    assert stub.asked == [(Path("exports", "demo"),)]


@pytest.mark.parametrize(
    "words", [("nonsense",), ("check",), ("check", "job.toml", "--yaml"), ("draw", "job.toml", "-o")]
)
def test_a_wrong_word_on_the_command_line_is_exit_code_2(folder: Path, stub: Stub, words: tuple[str, ...]) -> None:
    assert run(*words).exit_code == 2


def test_help_and_version_are_told(folder: Path) -> None:
    assert isinstance(main, click.Group)
    listed = run("--help").stdout
    assert all(f"\n  {name} " in listed for name in ("check", "prove", "draw", "sheets", "picture", "new", "demo"))
    assert "..." not in listed.split("Commands:")[1]  # every command's sentence fits
    assert "0.1.0" in run("--version").stdout
    for name in main.commands:
        assert run(name, "--help").exit_code == 0
