"""Wishes that contradict each other: which of them, left out alone, would let a bowl come out, and how large."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from formmaker.engine.field import Field
from formmaker.engine.ground import ground_of
from formmaker.engine.seeking import quick_best
from formmaker.model.choices import Clash, Relief
from formmaker.model.job import Job
from formmaker.model.wish import ANY, Wish

_WITHOUT: dict[str, dict[str, object]] = {
    "least_diameter": {"least_diameter": None},
    "most_diameter": {"most_diameter": None},
    "level": {"level": None},
    "keep": {"keep": ()},
    "avoid": {"avoid": ()},
    "no_sawn_rim": {"no_sawn_rim": False},
    "tilt_limit": {"tilt_limit": None},
    "shift_limit": {"shift_limit": None},
    "hold_end": {"hold_end": None},
    "setting_error": {"setting_error": 0.0},
    "unbalance_limit": {"unbalance_limit": None},
    "rim_side": {"rim_side": ANY},
}


def clash_of(
    job: Job, wish: Wish, field: Field, *, rng: np.random.Generator, stop: Callable[[], bool] = lambda: False
) -> Clash:
    """Find out which wishes stand in each other's way.

    Parameters
    ----------
    job : Job
    wish : Wish
        Under which no bowl was found.
    field : Field
    rng : numpy.random.Generator
        For the quick searches, one for each wish.
    stop : callable
        Asked before each.

    Returns
    -------
    Clash
        The wishes that help when they alone are left out, the one that helps most first; where none does, all that
        the job has.
    """
    asked = _asked(wish, field)
    reliefs = []
    for name in asked:
        if stop():
            break
        best = quick_best(ground_of(job, without(wish, name), field), rng)
        if best is not None:
            reliefs.append(Relief(wish=name, diameter=best.diameter))
    reliefs.sort(key=lambda relief: -relief.diameter)
    return Clash(wishes=tuple(relief.wish for relief in reliefs) or asked, reliefs=tuple(reliefs))


def without(wish: Wish, name: str) -> Wish:
    """The wishes less one."""
    return replace(wish, **_WITHOUT[name])  # type: ignore[arg-type]  # the table keeps to the fields' kinds


def _asked(wish: Wish, field: Field) -> tuple[str, ...]:
    """The wishes that ask for something; marks of the blank ask too where the job leaves them all in force."""
    kinds = {mark.kind.value for mark in field.blank.marks}
    asked = [name for name in _WITHOUT if _asks(getattr(wish, name))]
    by_marks = [
        name for name, kind in (("keep", "keep"), ("avoid", "flaw")) if kind in kinds and getattr(wish, name) is None
    ]
    return (*asked, *by_marks)


def _asks(value: object) -> bool:
    if isinstance(value, float | str | tuple | bool):
        return value not in (0.0, ANY, (), False)
    return value is not None
