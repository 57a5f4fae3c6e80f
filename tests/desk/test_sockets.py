"""A page that hears no more holds up no other, and is cut off when it has not heard too much."""

import asyncio

import pytest

from formmaker.desk.sockets import Sockets
from tests.desk.callers import Caller


def test_a_page_that_hears_nothing_any_more_holds_up_no_other(plum) -> None:
    """A tablet asleep still has its socket; what it does not take must not stand in the way of the others."""

    async def sit() -> str:
        async with Caller(plum) as asleep:
            for _ in range(300):
                await asleep.send("trame.state.get")  # more answers than any system keeps, and none is heard
            await asyncio.sleep(1.0)
            async with Caller(plum) as awake:
                return str((await awake.state(seconds=20.0))["stage"])

    assert asyncio.run(asyncio.wait_for(sit(), 60.0)) in {"loading", "desk"}


@pytest.mark.parametrize(
    ("unheard", "is_closing", "is_cut"), [(0, False, False), (100, False, False), (101, False, True), (1, True, True)]
)
def test_who_has_not_heard_too_much_is_cut_off(unheard, is_closing, is_cut) -> None:
    class Line:
        headers = {"Upgrade": "websocket"}  # noqa: RUF012

        def __init__(self) -> None:
            self.transport, self.is_cut = self, False
            self.set_write_buffer_limits = lambda **_limits: None
            self.get_write_buffer_size = lambda: unheard
            self.is_closing = lambda: is_closing

        def abort(self) -> None:
            self.is_cut = True

    line, sockets = Line(), Sockets(most=100)

    async def handle(_request):
        sockets.cut()

    asyncio.run(sockets.keeping()(line, handle))
    assert line.is_cut is is_cut
    line.is_cut = False
    sockets.cut()  # and once it is gone it is no longer looked at
    assert not line.is_cut
