"""End sheets: centres, arcs and arrow where the move says they are, mirrored at the foot."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely

from formmaker.drawing.end_sheets import end_sheet
from formmaker.drawing.linestyles import CENTRE
from formmaker.drawing.marks import Arc, Fill, Line, Polyline, Text, text_box
from formmaker.engine.wood_sections import end_outline
from formmaker.geometry.frames import Frame
from formmaker.model.ends import End
from formmaker.model.marks import Mark, MarkKind
from formmaker.model.move import CheckRing, Divider, DividerPair, EndMove, Move, WhichCrossing
from formmaker.model.shapes import Log
from formmaker.sources.shapes import shape_mesh
from tests.drawing.reading import subject_of

MARKS = (
    Mark(name="A", kind=MarkKind.WITNESS, at=np.array([60.0, 40.0, 0.0])),
    Mark(name="B", kind=MarkKind.WITNESS, at=np.array([-50.0, 70.0, 0.0])),
)


def moved(case: Any, before: Any, after: Any) -> Any:
    before, after = np.array(before), np.array(after)
    settings = tuple(Divider(mark=m.name, radius=float(np.linalg.norm(m.at - after))) for m in MARKS)
    pair = DividerPair(settings=settings, crossing=WhichCrossing.NEARER, side=0.0, blur=1.1)
    step = after - before
    ends = tuple(
        EndMove(
            end=end,
            before=before,
            after=after,
            toward=math.atan2(step[1], step[0]),
            across=float(np.hypot(*step[:2])),
            rise=0.0,
            bearing=None,
            dividers=pair,
            usable=("A", "B"),
        )
        for end in End
    )
    mounting = case.job.mounting
    ring = CheckRing(height=10.0, from_foot=10.0, touching=0.0, gaps=())
    move = Move(old=mounting, new=mounting, ends=ends, tilt=0.0, foot_slip=0.0, run_out=(), keep=(), ring=ring)
    along = Frame(rotation=np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]]), origin=np.zeros(3))
    outline = end_outline(shape_mesh(Log(radius=150.0, length=300.0)), along, low=0.0, high=300.0)
    return replace(subject_of(case), witnesses=MARKS, move=move, outline=outline)


@pytest.mark.parametrize("end", End)
def test_both_arcs_pass_through_the_new_centre_and_the_arrow_goes_to_it(
    make_case: Callable[..., Any], end: End
) -> None:
    subject = moved(make_case(), [2.0, 3.0, 0.0], [9.0, -6.0, 0.0])
    drawing = end_sheet(subject, end)
    side = np.array([1.0, -1.0 if end is End.FOOT else 1.0])  # the foot is seen from below
    centre = np.array([9.0, -6.0]) * side
    named = {mark.id: mark for mark in drawing.marks if getattr(mark, "id", "")}
    assert np.mean([named["new-centre"].start, named["new-centre"].end], axis=0) == pytest.approx(centre)
    assert np.mean([named["old-centre"].start, named["old-centre"].end], axis=0) == pytest.approx([2, 3] * side)
    for mark in MARKS:
        arc = named[f"arc-{mark.name}"]
        assert isinstance(arc, Arc)
        assert arc.centre == pytest.approx(mark.at[:2] * side)
        assert arc.radius == pytest.approx(np.linalg.norm(mark.at - [9.0, -6.0, 0.0]))  # square to the axis: as set
        middle = (arc.start + arc.end) / 2
        assert arc.centre + arc.radius * np.array([math.cos(middle), math.sin(middle)]) == pytest.approx(centre)
    assert any(isinstance(m, Line) and m.end == pytest.approx(tuple(centre)) for m in drawing.marks)
    assert "11.4 mm toward 308°" in drawing.caption.notes[0]  # (7, -9): 11.40, 360 - 52.1


@pytest.mark.parametrize("end", End)
def test_the_outline_of_an_end_is_that_of_the_wood_there(make_case: Callable[..., Any], end: End) -> None:
    drawing = end_sheet(moved(make_case(), [0.0, 0, 0], [0.0, 0, 0]), end)
    named = {mark.id: mark for mark in drawing.marks if isinstance(mark, Polyline)}
    for name in ("end-outline", "shadow"):
        assert shapely.Polygon(named[name].points).area == pytest.approx(math.pi * 150.0**2, rel=2e-3)
    assert "stays where it is" in drawing.caption.notes[0]
    assert "old-centre" not in {getattr(mark, "id", "") for mark in drawing.marks}


def test_no_lettering_of_an_end_sheet_covers_another(make_case: Callable[..., Any]) -> None:
    for after in ([9.0, -6.0, 0.0], [58.0, 36.0, 0.0], [130.0, 0.0, 0.0]):
        drawing = end_sheet(moved(make_case(), [2.0, 3.0, 0.0], after), End.RIM)
        boxes = [text_box(mark) for mark in drawing.marks if hasattr(mark, "text")]
        assert len(boxes) == 12  # four directions in two lines, two centres, two marks
        assert not any(a.meets(b) for i, a in enumerate(boxes) for b in boxes[:i])


@pytest.mark.parametrize("end", End)
def test_directions_and_marks_stand_where_they_are_seen_from_outside(make_case: Callable[..., Any], end: End) -> None:
    subject = moved(make_case(), [0.0, 0, 0], [0.0, 0, 0])
    flaw = Mark(name="crack", kind=MarkKind.FLAW, at=np.array([-60.0, -40.0, 0.0]))
    first = subject.move.ends[0]
    ends = tuple(replace(one, usable=("A", "B", "crack")) for one in subject.move.ends)
    subject = replace(subject, witnesses=(*MARKS, flaw), move=replace(subject.move, ends=ends))
    drawing = end_sheet(subject, end)
    texts = {mark.text: mark for mark in drawing.marks if isinstance(mark, Text)}
    side = -1.0 if end is End.FOOT else 1.0  # the foot is seen from below
    for degrees in (0, 90, 180, 270):
        way = np.array([math.cos(math.radians(degrees)), side * math.sin(math.radians(degrees))])
        box = text_box(texts[f"{degrees}°"])
        middle = np.array([box.left + box.right, box.low + box.high]) / 2.0
        assert way @ middle > 0.9 * np.hypot(*middle)  # within 25 degrees of its own way
    ticks = [mark for mark in drawing.marks if isinstance(mark, Line) and mark.style == CENTRE]
    reach = subject.verdict.diameter / 2
    tips = {(round(line.end[0], 6) + 0.0, round(line.end[1], 6) + 0.0) for line in ticks}
    assert {(reach, 0.0), (-reach, 0.0), (0.0, reach), (0.0, -reach)} <= tips
    assert "mark A" in texts
    assert "mark crack" not in texts
    assert drawing.caption.notes[-1].endswith("run clockwise." if end is End.FOOT else "run counter-clockwise.")
    assert first.dividers is not None
    assert "72.1 mm from mark A and 86.0 mm from mark B" in drawing.caption.notes[0]  # hypot(60, 40), hypot(50, 70)


def test_the_arrow_has_its_head_at_the_new_centre_and_each_end_its_own_outline(make_case: Callable[..., Any]) -> None:
    subject = moved(make_case(), [2.0, 3.0, 0.0], [32.0, 43.0, 0.0])
    own = {End.FOOT: shapely.box(-90.0, -90.0, 90.0, 90.0), End.RIM: shapely.Point(0, 0).buffer(60.0)}
    subject = replace(subject, outline=replace(subject.outline, inside=own))
    drawing = end_sheet(subject, End.RIM)
    (head,) = [mark for mark in drawing.marks if isinstance(mark, Fill)]
    assert np.hypot(*(head.points - [32.0, 43.0]).T).min() < 1e-9
    named = {mark.id: mark for mark in drawing.marks if isinstance(mark, Polyline)}
    assert shapely.Polygon(named["end-outline"].points).area == pytest.approx(math.pi * 60.0**2, rel=0.01)


@pytest.mark.parametrize("end", End)
def test_where_no_marks_serve_the_end_is_found_by_its_outline(make_case: Callable[..., Any], end: End) -> None:
    said = " ".join(end_sheet(subject_of(make_case()), end).caption.paragraphs)
    assert "witness marks, or swing" not in said
    assert "Cut it out along the outline" in said
    assert "make two that do" in said
    with_marks = " ".join(end_sheet(moved(make_case(), [2.0, 3.0, 0.0], [9.0, -6.0, 0.0]), end).caption.paragraphs)
    assert "by the witness marks, or swing the arcs" in with_marks
    assert "Cut it out" not in with_marks
