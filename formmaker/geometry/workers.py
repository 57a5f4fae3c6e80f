"""Two threads for kernels that release the interpreter's lock, and none where the work is not worth a thread."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

_POOL = ThreadPoolExecutor(2, thread_name_prefix="halves")
"""Kept: to start a thread for each half costs a check a third of its time on a busy machine."""


def in_halves(run: Callable[[int, int], None], count: int, *, least: int) -> None:
    """Run a kernel over 0 to ``count``, in two halves at once from ``least`` on.

    Parameters
    ----------
    run : callable
        Takes the first item and the one after the last; must not share what it writes with another half.
    count : int
    least : int
        Below this many items one thread does all: handing half of them over costs about as much as a tenth of a
        millisecond of work.

    Notes
    -----
    The second half is done here after all where no thread has begun it by then; so halves may be halved in their
    turn, and nobody waits for a thread that waits.
    """
    if count < least:
        run(0, count)
        return
    other = _POOL.submit(run, count // 2, count)
    try:
        run(0, count // 2)
    finally:
        if other.cancel():
            run(count // 2, count)
        else:
            other.result()
