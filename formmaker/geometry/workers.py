"""Two threads for kernels that release the interpreter's lock, and none where the work is not worth a thread."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor


def in_halves(run: Callable[[int, int], None], count: int, *, least: int) -> None:
    """Run a kernel over 0 to ``count``, in two halves at once from ``least`` on.

    Parameters
    ----------
    run : callable
        Takes the first item and the one after the last; must not share what it writes with another half.
    count : int
    least : int
        Below this many items one thread does all: starting another costs about as much as a tenth of a millisecond
        of work.
    """
    if count < least:
        run(0, count)
        return
    with ThreadPoolExecutor(2) as pool:
        halves = [pool.submit(run, 0, count // 2), pool.submit(run, count // 2, count)]
    for half in halves:
        half.result()
