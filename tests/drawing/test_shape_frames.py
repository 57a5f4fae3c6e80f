"""Pictures of the described blanks: the committed ones are the drawn ones, and what they show is true."""

import math
import xml.etree.ElementTree as ET
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from formmaker.drawing.marks import Line, Polyline, Text, bounds, text_box
from formmaker.drawing.shape_frames import EXAMPLES, FOLDER, shape_picture, write_shape_pictures
from formmaker.drawing.wireframes import TOWARD_EYE, on_paper
from formmaker.model.shapes import SHAPES


def meaning(path: Path) -> list[tuple[str, str, list[float], str | None]]:
    """Tags, words and figures in order; figures apart, to be compared as such."""
    found = []
    for e in ET.parse(path).getroot().iter():
        words, figures = [], []
        for name, value in sorted(e.attrib.items()):
            for word in value.replace(",", " ").replace("(", " ").replace(")", " ").split():
                try:
                    figures.append(float(word))
                except ValueError:
                    words.append(f"{name}={word}")
        found.append((e.tag, " ".join(words), figures, (e.text or "").strip()))
    return found


def test_the_committed_pictures_are_what_the_code_draws(tmp_path: Path) -> None:
    for path in write_shape_pictures(tmp_path):
        new, old = meaning(path), meaning(FOLDER / path.name)
        assert [(tag, words, text) for tag, words, _, text in new] == [(t, w, x) for t, w, _, x in old], path.name
        for (*_, figures, _), (*_, kept, _) in zip(new, old, strict=True):
            np.testing.assert_allclose(figures, kept, atol=1e-4)
    assert {path.name for path in FOLDER.glob("*.svg")} == {f"{name.replace(' ', '-')}.svg" for name in SHAPES}


@pytest.mark.parametrize("name", list(SHAPES))
def test_a_picture_names_every_size_of_its_shape_and_the_three_axes_apart_and_inside_the_paper(name: str) -> None:
    sheet = shape_picture(name, EXAMPLES[name])
    texts = [mark for mark in sheet.marks if isinstance(mark, Text)]
    assert sorted(text.text for text in texts) == sorted([name, "x", "y", "z", *SHAPES[name].__dataclass_fields__])
    for one, other in combinations(texts, 2):
        assert not text_box(one).meets(text_box(other)), (one.text, other.text)
    box = bounds(sheet.marks)
    assert min(box.left, box.low, sheet.width - box.right, sheet.height - box.high) > 0.0


def test_equal_lengths_along_the_axes_are_equal_on_paper_and_the_eye_sees_along_its_own_line_a_point() -> None:
    ends = on_paper(np.eye(3))
    np.testing.assert_allclose(np.hypot(*ends.T), 1.0)
    np.testing.assert_allclose(on_paper(TOWARD_EYE), 0.0, atol=1e-15)
    # right-handed seen from above: x turned counter-clockwise comes to y
    assert ends[0, 0] * ends[1, 1] - ends[0, 1] * ends[1, 0] > 0


def test_a_board_shows_nine_whole_edges_and_three_dashed_ones() -> None:
    sheet = shape_picture("board", EXAMPLES["board"])
    runs = [mark for mark in sheet.marks if isinstance(mark, Polyline)]
    long = [run for run in runs if math.dist(run.points[0], run.points[-1]) > 3.0]
    assert len([run for run in long if run.style.number == "01.2"]) == 9
    assert len([run for run in long if run.style.number == "02.1"]) >= 3
    assert [mark for mark in sheet.marks if isinstance(mark, Line)]


def test_the_face_of_a_log_toward_the_eye_is_a_whole_ellipse_of_the_right_size() -> None:
    # oracle: a circle of radius r square to x is seen, at scale 1 along the axes, as an ellipse of half axes
    # r sqrt(3/2) and r sqrt(1/2); its area on paper is pi r^2 sqrt(3) / 2 (closed form)
    shape = EXAMPLES["log"]
    sheet = shape_picture("log", shape)
    rings = [m.points for m in sheet.marks if isinstance(m, Polyline) and np.allclose(m.points[0], m.points[-1])]
    assert len(rings) == 1
    (x, y), (across, up) = rings[0].T, np.roll(rings[0], -1, axis=0).T
    area = abs((x * up - across * y).sum()) / 2
    (near,) = [m for m in sheet.marks if isinstance(m, Polyline) and len(m.points) == 2 and m.style.number == "01.2"][
        :1
    ]
    scale = math.dist(*near.points) / shape.length
    assert area == pytest.approx(math.pi * (shape.radius * scale) ** 2 * math.sqrt(3) / 2, rel=5e-3)
