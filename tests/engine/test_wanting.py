import numpy as np
import pytest
import shapely

from formmaker.engine.wanting import wanting

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])


def area(parts):
    return sum(shapely.Polygon(part).area for part in parts)


def test_wood_all_round_wants_nothing() -> None:
    assert wanting(SQUARE, (SQUARE * 3.0 - 5.0,)) == ()


def test_air_wants_everything() -> None:
    assert area(wanting(SQUARE, ())) == pytest.approx(100.0)


def test_a_hollow_in_the_wood_is_wanted() -> None:
    hollow = SQUARE * 0.2 + 4.0  # 2 by 2
    assert area(wanting(SQUARE, (SQUARE * 3.0 - 5.0, hollow))) == pytest.approx(4.0)


def test_two_gaps_are_two_parts() -> None:
    strip = np.array([[3.0, -5.0], [7.0, -5.0], [7.0, 15.0], [3.0, 15.0]])
    parts = wanting(SQUARE, (strip,))
    assert len(parts) == 2
    assert area(parts) == pytest.approx(60.0)
