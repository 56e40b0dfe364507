"""Comparisons that are worked out at once: by turns, and maintainers' before all others."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from typing import Any

import pytest
from tests.api import World, problem_of, small_rulebook, world, world_without_rulebook
from tests.samples import document

from gradewright.accounts.service import Role
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks import comparing
from gradewright.rulebooks.comparing import MOST_WAITING, WAITS, Busy, Comparing, TooLong
from gradewright.rulebooks.document import read
from gradewright.rulebooks.sharing import Sharing
from gradewright.rulebooks.solving import BETWEEN

__all__ = ["world", "world_without_rulebook"]
BOOK = read(document())
PATH = "/v1/rulebooks/2021.1/comparison"


def named(name: str) -> tuple[Rulebook, dict[str, Any]]:
    """A rulebook whose comparison with another is one of its own."""
    return replace(BOOK, version=name, sha256=name), {}


class Long:
    """Stands for what compares: those that are held go on for ever, step by step, until they are let go."""

    def __init__(self) -> None:
        self.held: set[str] = set()
        self.steps: dict[str, int] = {}
        self.on: str | None = None
        self.together: set[str] = set()

    def __call__(self, before: Any, after: Any, stopping: threading.Event, tell: Any) -> Any:
        name = after[0].version
        self.steps[name] = 0
        while name in self.held or self.steps[name] < 3:
            BETWEEN.get()()
            if self.on is not None:
                self.together |= {self.on, name}
            self.on = name
            self.steps[name] += 1
            time.sleep(0.001)
            self.on = None
        return name


@pytest.fixture
def long(monkeypatch: pytest.MonkeyPatch) -> Long:
    """What compares, in the place of what does."""
    found = Long()
    monkeypatch.setattr(Comparing, "_compared", staticmethod(found))
    monkeypatch.setattr(comparing, "Sharing", partial(Sharing, 0.02))
    return found


@pytest.fixture
def room(long: Long) -> Iterator[Comparing]:
    """Where comparisons are worked out."""
    found = Comparing()
    yield found
    found.close()


async def until(so: Callable[[], bool]) -> None:
    """Waits for something that comes in a moment."""
    async with asyncio.timeout(20):
        while not so():  # noqa: ASYNC110 - what it waits for is done by threads
            await asyncio.sleep(0.002)


async def have(room: Comparing, name: str, *, first: bool = False) -> Any:
    return await asyncio.wait_for(room.of(named("old"), named(name), first=first), 20)


def ask(room: Comparing, name: str, tell: Any = None, *, first: bool = False) -> asyncio.Task[Any]:
    return asyncio.create_task(room.of(named("old"), named(name), tell, first=first))


async def test_a_long_one_does_not_hold_up_a_short_one(room: Comparing, long: Long) -> None:
    """Both go on by turns: the short one is there while the long one is not, which goes on after that."""
    long.held = {"long"}
    slow = ask(room, "long")
    await until(lambda: long.steps.get("long", 0) > 3)
    assert await have(room, "short") == "short"
    so_far = long.steps["long"]
    await until(lambda: long.steps["long"] > so_far)
    assert not slow.done()
    long.held.clear()
    assert await slow == "long"


async def test_one_goes_on_at_a_time(room: Comparing, long: Long) -> None:
    """Together they take one processor: while one has its turn the others stand still."""
    long.held = {"1", "2", "3"}
    tasks = [ask(room, name) for name in long.held]
    await until(lambda: len(long.steps) == len(tasks) and min(long.steps.values()) > 30)
    assert long.together == set()
    long.held.clear()
    assert sorted(await asyncio.gather(*tasks)) == ["1", "2", "3"]


async def test_a_maintainer_s_goes_before_all_others(room: Comparing, long: Long) -> None:
    """However many of others there are: they stand still for as long as it takes, and go on then."""
    long.held = {"first", *map(str, range(MOST_WAITING))}
    told: list[str] = []
    tasks = [ask(room, str(n), lambda what, done, of: told.append(what)) for n in range(MOST_WAITING)]
    await until(lambda: len(long.steps) == MOST_WAITING and min(long.steps.values()) > 1)
    with pytest.raises(Busy, match="Ask again"):
        await room.of(named("old"), named("one more"))
    mine = ask(room, "first", first=True)
    await until(lambda: long.steps.get("first", 0) > 1)
    before = {name: steps for name, steps in long.steps.items() if name != "first"}
    await until(lambda: long.steps["first"] > 60)
    assert {name: steps for name, steps in long.steps.items() if name != "first"} == before
    assert WAITS in told
    long.held.discard("first")
    assert await mine == "first"
    long.held.clear()
    assert sorted(await asyncio.gather(*tasks)) == sorted(map(str, range(MOST_WAITING)))


async def test_maintainers_take_turns_too(room: Comparing, long: Long) -> None:
    """A long one of theirs does not hold up a short one of theirs."""
    long.held = {"long"}
    slow = ask(room, "long", first=True)
    await until(lambda: long.steps.get("long", 0) > 3)
    assert await have(room, "short", first=True) == "short"
    long.held.clear()
    assert await slow == "long"


async def test_what_takes_too_long_is_ended(
    room: Comparing, long: Long, monkeypatch: pytest.MonkeyPatch
) -> None:
    """For others than maintainers: with what to do. It is not begun again for them until a maintainer
    has had it worked out, for whom it goes on for as long as it takes."""
    monkeypatch.setattr(comparing, "MOST_SECONDS", 0.001)
    long.held = {"long"}
    with pytest.raises(TooLong, match="gradewright rulebooks compare old long") as ended:
        await room.of(named("old"), named("long"))
    assert "Have a maintainer ask with their key" in ended.value.detail
    long.steps.clear()
    with pytest.raises(TooLong):
        await room.of(named("old"), named("long"))
    assert long.steps == {}
    mine = ask(room, "long", first=True)
    await until(lambda: long.steps.get("long", 0) > 30)
    others = ask(room, "long")
    await asyncio.sleep(0)
    long.held.clear()
    assert [await mine, await others, await room.of(named("old"), named("long"))] == ["long"] * 3


async def test_the_longest_makes_room_where_another_comes(
    room: Comparing, long: Long, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Long ones do not keep a short one out: where as many are worked out as may, the one that has taken
    longest is ended, once it has had its few seconds."""
    names = [*map(str, range(MOST_WAITING))]
    long.held = {*names}
    tasks = {name: ask(room, name) for name in names}
    await until(lambda: len(long.steps) == MOST_WAITING and min(long.steps.values()) > 1)
    with pytest.raises(Busy, match="Ask again in a minute"):
        await room.of(named("old"), named("short"))
    monkeypatch.setattr(comparing, "FEW_SECONDS", 0.0)
    assert await have(room, "short") == "short"
    [ended] = (await asyncio.wait(tasks.values(), return_when=asyncio.FIRST_COMPLETED))[0]
    with pytest.raises(Busy, match="ended to make room"):
        await ended
    long.held.clear()
    left = [task for task in tasks.values() if task is not ended]
    assert len({await task for task in left}) == MOST_WAITING - 1


async def test_one_that_a_maintainer_waits_for_too_is_first(
    room: Comparing, long: Long, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another has begun goes before the others from then on, and as long as it takes."""
    long.held = {"other", "mine"}
    tasks = [ask(room, "other"), ask(room, "mine")]
    await until(lambda: len(long.steps) == 2 and min(long.steps.values()) > 1)
    tasks.append(ask(room, "mine", first=True))
    await until(lambda: sum(work.first for work in room._works.values()) == 1)
    so_far = long.steps["mine"]
    await until(lambda: long.steps["mine"] > so_far + 1)
    before = long.steps["other"]
    await until(lambda: long.steps["mine"] > so_far + 60)
    assert long.steps["other"] == before
    long.held.clear()
    assert await asyncio.gather(*tasks) == ["other", "mine", "mine"]


async def test_a_maintainer_s_key_has_it_worked_out(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Over the interface: 403 for others where it takes too long; what a maintainer gets is kept for them. A
    key that is none is refused."""
    later = small_rulebook(version="2021.1", effective_from="2021-01-01")
    later["limits"]["heavy_steel_thickness"]["value"] = "6.345 mm"
    await world.publish(later)
    monkeypatch.setattr(comparing, "MOST_SECONDS", -1)
    problem = problem_of(await world.client.get(PATH), "forbidden", 403)
    assert "gradewright rulebooks compare 2020.1 2021.1" in problem.detail
    member = await world.key("wren")
    problem_of(await world.client.get(PATH, headers=member), "forbidden", 403)
    problem_of(await world.client.get(PATH, headers={"Authorization": "Bearer x"}), "unauthorized")
    found = await world.client.get(PATH, headers=await world.key("sedge", Role.MAINTAINER))
    assert found.json()["kind"] == "changes"
    for headers in ({}, member):
        assert (await world.client.get(PATH, headers=headers)).content == found.content
