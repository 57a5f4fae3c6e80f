import asyncio

from formmaker.desk.work import Wish, Workbench


def test_of_passing_wishes_the_newest_is_fulfilled_and_all_are_answered() -> None:
    done: list[Wish] = []
    rested: list[int] = []

    async def sit() -> None:
        async def fulfil(wish: Wish) -> None:
            await asyncio.sleep(0.01)
            done.append(wish)

        async def rest() -> None:
            rested.append(len(done))

        bench = Workbench(fulfil, rest)
        for number in range(5):
            bench.ask(Wish(name="drag", data={"n": number}, waiting=(str(number),)))
        bench.ask(Wish(name="drop", data={}, waiting=("5",)))
        bench.ask(Wish(name="nudge", data={}, waiting=("6",)))
        bench.ask(Wish(name="nudge", data={}, waiting=("7",)))  # a nudge counts every time
        task = asyncio.create_task(bench.run(pause=0.05))
        await asyncio.sleep(0.3)
        task.cancel()

    asyncio.run(sit())
    assert [wish.name for wish in done] == ["drag", "drop", "nudge", "nudge"]
    assert done[0].data == {"n": 4}
    assert done[0].waiting == ("0", "1", "2", "3", "4")
    assert rested == [4]  # once, when all was done
