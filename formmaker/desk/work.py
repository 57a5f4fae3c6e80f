"""One piece of work at a time, in the order asked; of wishes that only the newest counts for, the newest alone."""

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, replace

PASSING = frozenset({"drag", "look"})
"""Wishes that a newer one of the same kind makes needless."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What the page asks for: a name, its figures, and the numbers under which pages wait for an answer."""

    name: str
    data: Mapping[str, object]
    waiting: tuple[str, ...] = ()


class Workbench:
    """A queue of wishes and the one task that fulfils them."""

    def __init__(self, fulfil: Callable[[Wish], Awaitable[None]], rest: Callable[[], Awaitable[None]]) -> None:
        self._fulfil = fulfil
        self._rest = rest
        self._wishes: deque[Wish] = deque()
        self._arrived = asyncio.Event()

    def ask(self, wish: Wish) -> None:
        """Put a wish in the queue; a passing one takes the place of its like at the end of it."""
        last = self._wishes[-1] if self._wishes else None
        if last is not None and wish.name in PASSING and last.name == wish.name:
            self._wishes[-1] = replace(wish, waiting=last.waiting + wish.waiting)
        else:
            self._wishes.append(wish)
        self._arrived.set()

    @property
    def length(self) -> int:
        """How many wishes wait."""
        return len(self._wishes)

    async def run(self, *, pause: float) -> None:
        """Fulfil wishes for ever; after a pause without any (seconds), see to what was left for quiet times."""
        is_rested = True
        while True:
            try:
                await asyncio.wait_for(self._arrived.wait(), None if is_rested else pause)
            except TimeoutError:
                await self._rest()
                is_rested = True
                continue
            while self._wishes:
                await self._fulfil(self._wishes.popleft())
            self._arrived.clear()
            is_rested = False
