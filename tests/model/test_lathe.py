"""A lathe checks itself."""

import math

import pytest

from formmaker.errors import LatheError
from formmaker.model.lathe import UNKNOWN_LATHE, Lathe


@pytest.mark.parametrize(
    ("figures", "said"),
    [
        ({"swing": 0.0}, "swing 0.0 of the lathe; give a figure above 0"),
        ({"between_centres": math.nan}, "between_centres nan"),
        ({"lowest_speed": math.inf}, "lowest_speed inf"),
        ({"lowest_speed": 500.0, "highest_speed": 499.0}, "lowest_speed 500 rpm is above its highest_speed 499 rpm"),
    ],
)
def test_a_lathe_that_cannot_be_is_refused(figures: dict[str, float], said: str) -> None:
    with pytest.raises(LatheError, match=said):
        Lathe(**figures)  # type: ignore[arg-type]


def test_a_lathe_of_one_speed_and_one_of_which_nothing_is_known_are_lathes() -> None:
    assert Lathe(lowest_speed=700.0, highest_speed=700.0).swing is None
    assert Lathe() == UNKNOWN_LATHE
