"""The set-up sheet: one page, with its pictures, on any paper."""

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pdfplumber
import pytest
from PIL import Image

from formmaker.drawing.pages import pages
from formmaker.drawing.papers import PAPERS
from formmaker.drawing.setup_sheet import setup_sheet
from formmaker.drawing.sheets import Format, sheet_files
from formmaker.engine.mounted import balance_on
from formmaker.model.blank import Blank, BlankSource
from formmaker.model.form import Edge
from formmaker.model.hold import HoldKind
from formmaker.model.lathe import Lathe
from formmaker.model.mounting import Mounting
from formmaker.model.shapes import Round
from formmaker.sources.shapes import shape_mesh
from tests.drawing.reading import MM_PER_POINT, subject_of
from tests.drawing.test_end_sheets import moved


def png() -> bytes:
    stream = io.BytesIO()
    Image.new("RGB", (64, 48), (200, 150, 90)).save(stream, "PNG")
    return stream.getvalue()


@pytest.mark.parametrize("paper", ["a4", "letter", "a3", "tabloid"])
@pytest.mark.parametrize("hold", HoldKind)
def test_it_is_one_page_with_both_pictures(
    make_case: Callable[..., Any], tmp_path: Path, paper: str, hold: HoldKind
) -> None:
    subject = subject_of(make_case(hold=hold), pictures=(png(), png()))
    assert len(pages(setup_sheet(subject), PAPERS[paper])) == 1
    files = dict(sheet_files("set-up", setup_sheet(subject), PAPERS[paper], tuple(Format)))
    assert files["set-up.svg"].count(b"data:image/png;base64,") == 2
    (tmp_path / "set-up.pdf").write_bytes(files["set-up.pdf"])
    with pdfplumber.open(tmp_path / "set-up.pdf") as pdf:
        (page,) = pdf.pages
        assert [round((image["x1"] - image["x0"]) * MM_PER_POINT, 3) for image in page.images] == [48.0, 48.0]
        assert "Order of work" in page.extract_text()


def test_it_says_what_hinders_before_anything_else_that_is_to_be_minded(make_case: Callable[..., Any]) -> None:
    subject = subject_of(make_case(), hindrances=("Do not start it on this mounting: it is too long.",))
    said = " ".join(mark.text for mark in setup_sheet(subject).marks if hasattr(mark, "text"))
    assert "Before you turn: Do not start it" in said
    assert "maker's manual" in said
    assert "safe" not in said


def test_it_tells_what_drying_does_where_it_is_told(make_case: Callable[..., Any]) -> None:
    for drying, told in (("250.0 mm turned now comes to about 240 mm.", True), ("", False)):
        said = " ".join(
            mark.text for mark in setup_sheet(subject_of(make_case(), drying=drying)).marks if hasattr(mark, "text")
        )
        assert ("Drying: 250.0 mm turned now" in said) is told


def said_by(subject: Any) -> str:
    return " ".join(mark.text for mark in setup_sheet(subject).marks if hasattr(mark, "text"))


def test_sizes_and_order_of_work_are_those_of_the_bowl(make_case: Callable[..., Any]) -> None:
    # 280 across and 1 for truing on each side; floor 4 + 110/20 under a rim at 110
    case = make_case()
    said = said_by(subject_of(case))
    heights = case.verdict.rim.height
    for words in (
        "Rough it to 282.0 mm",
        "drill 100.5 mm under the rim's plane",
        "diameter 280.0 mm, height 110.0 mm",
        f"rim {heights.min():.1f} mm to {heights.max():.1f} mm, natural edge",
        "Wrap the rim strip round it",
        "tight",
    ):
        assert words in said
    assert "Wrap the rim strip" not in said_by(subject_of(make_case(edge=Edge.TURNED)))


def test_balance_is_told_as_it_is_for_a_round_on_an_axis_off_its_middle(make_case: Callable[..., Any]) -> None:
    # closed form: a round of radius 100 turned 10 off its middle has its mass 10 off, and wood 110 away on that side
    mesh = shape_mesh(Round(diameter=200.0, thickness=80.0))
    blank = Blank(
        mesh=mesh,
        face_kinds=np.ones(len(mesh.faces), dtype=np.uint8),
        face_patches=np.full(len(mesh.faces), -1, dtype=np.int32),
        uncertainty=0.5,
        source=BlankSource.SHAPE,
    )
    foot, rim = np.array([0.0, -10.0, 0.0]), np.array([0.0, -10.0, 80.0])
    mounting = Mounting(foot_centre=foot, rim_centre=rim, zero=np.array([1.0, 0, 0]))
    balance = balance_on(blank, mounting, Lathe())
    said = said_by(subject_of(make_case(), balance=balance))
    assert "the centre of mass lies 10.0 mm off the axis" in said
    assert "toward 90° (index 6): that side swings down" in said
    assert "Farthest wood 110.0 mm from the axis" in said
    assert f"keep under {balance.start.rpm:g} rpm" in said
    still = replace(balance, start=replace(balance.start, rpm=None))
    without = said_by(subject_of(make_case(), balance=still))
    assert "No starting speed is given for this mounting." in without
    assert "keep under" not in without


def test_a_move_is_told_by_length_direction_and_dividers(make_case: Callable[..., Any]) -> None:
    said = said_by(moved(make_case(), [2.0, 3.0, 0.0], [9.0, -6.0, 0.0]))
    # (7, -9): 11.40 toward 360 - 52.1; hypot(51, 46) and hypot(59, 76)
    assert "the foot centre goes 11.4 mm to 308°" in said
    assert "dividers A 68.7 mm, B 96.2 mm" in said
