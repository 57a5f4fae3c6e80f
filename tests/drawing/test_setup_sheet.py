"""The set-up sheet: one page, with its pictures, on any paper."""

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from PIL import Image

from formmaker.drawing.pages import pages
from formmaker.drawing.papers import PAPERS
from formmaker.drawing.setup_sheet import setup_sheet
from formmaker.drawing.sheets import Format, sheet_files
from formmaker.model.hold import HoldKind
from tests.drawing.reading import MM_PER_POINT, subject_of


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
        assert [round((image["x1"] - image["x0"]) * MM_PER_POINT, 3) for image in page.images] == [56.0, 56.0]
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
