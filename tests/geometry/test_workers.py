import threading

import numpy as np
import pytest

from formmaker.geometry.workers import in_halves


def test_every_item_is_done_once_however_deep_the_halves_lie() -> None:
    done = np.zeros((8, 50), dtype=int)

    def rows(start: int, stop: int) -> None:
        for row in range(start, stop):

            def columns(first: int, last: int, row: int = row) -> None:
                done[row, first:last] += 1

            in_halves(columns, 50, least=2)

    threads = [threading.Thread(target=in_halves, args=(rows, 8), kwargs={"least": 2}) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20.0)
        assert not thread.is_alive()
    assert (done == 6).all()


def test_what_a_half_raises_is_raised() -> None:
    def run(start: int, stop: int) -> None:
        if start:
            raise ValueError(str(stop))

    with pytest.raises(ValueError, match="9"):
        in_halves(run, 9, least=2)
