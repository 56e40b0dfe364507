"""The board keeps a bounded number of lists, those asked for last, and makes long ones aside."""

from __future__ import annotations

import asyncio
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy.ext.asyncio import AsyncSession
from tests.api import World, price, small_rulebook
from tests.prices.test_histories import HELD, STANDING

from gradewright.accounts.service import Role
from gradewright.core.pricelist import PriceList, Shown
from gradewright.prices import board, counting, repository
from gradewright.prices.board import Place
from gradewright.yards.service import Atlas

HERE = Place("XO-KEL")
SOMEWHERE = {"name": "Somewhere", "parent": None, "currency": "USD", "unit": "lb"}


async def _list(world: World, days_ago: int = 0, known_at: int | None = None) -> PriceList:
    on = world.clock().date() - timedelta(days=days_ago)
    rulebook = (await world.services.rulebooks.in_force(on)).rulebook
    found, _ = await world.services.prices.list_for(HERE, rulebook, on, known_at)
    return found


async def _dated(world: World, known_at: int | None = None) -> tuple[PriceList, int]:
    on = world.clock().date()
    rulebook = (await world.services.rulebooks.in_force(on)).rulebook
    return await world.services.prices.list_for(HERE, rulebook, on, known_at)


def _shown(prices: PriceList) -> Shown:
    found = prices.price("copper-no2")
    assert found is not None
    return found.shown


def _likely(prices: PriceList) -> str:
    return _shown(prices).likely


async def test_todays_list_stays_while_history_is_read(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list that is asked for between others stays the same object; the one not asked for is made anew."""
    monkeypatch.setattr(board, "NEWEST_KEPT", 2)
    await world.post(price("copper-no2", "3.35"))
    today, yesterday = await _list(world), await _list(world, 1)
    for days_ago in range(2, 5):
        assert await _list(world) is today
        await _list(world, days_ago)
    assert await _list(world) is today
    assert await _list(world, 1) is not yesterday


async def test_older_revisions_are_kept_by_last_use(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same for lists as they were known at older revisions."""
    monkeypatch.setattr(board, "OLDER_KEPT", 2)
    revision = (await world.post(price("copper-no2", "3.35")))["revision"]
    first, second = await _list(world, 0, revision), await _list(world, 1, revision)
    assert await _list(world, 0, revision) is first
    await _list(world, 2, revision)
    assert await _list(world, 0, revision) is first
    assert await _list(world, 1, revision) is not second


async def test_a_list_of_many_entries_is_worked_out_aside(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Beyond so many entries the same list comes out of a thread, and other requests go on meanwhile."""
    stored = await world.post(price("copper-no2", "3.35"), price("light-iron", "0.05"))
    query = {"region": "XO-KEL", "known_at": stored["revision"]}
    here = await world.get("/v1/prices", on="2026-05-04", **query)
    aside: list[str] = []
    real = asyncio.to_thread

    async def to_thread(work: Any) -> Any:
        aside.append("list")
        return await real(work)

    monkeypatch.setattr(counting, "MANY_ROWS", 2)
    monkeypatch.setattr(asyncio, "to_thread", to_thread)
    next_day = await world.get("/v1/prices", on="2026-05-05", **query)
    assert aside
    likely = [[line["grade"], line["likely"]] for line in here["prices"]]
    assert [[line["grade"], line["likely"]] for line in next_day["prices"]] == likely


async def test_a_list_and_its_revision_belong_together(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever waits while others post and ask gets the newer list with its own, newer, revision."""
    await world.post(price("copper-no2", "3.00"))
    await _list(world)
    await world.send("/v1/regions", {**SOMEWHERE, "code": "XP"}, "sedge", Role.MAINTAINER)
    looked, go_on = asyncio.Event(), asyncio.Event()
    real = repository.touched

    async def slow(session: AsyncSession, after: int, until: int) -> set[str]:
        found = await real(session, after, until)
        if not looked.is_set():
            looked.set()
            await go_on.wait()
        return found

    monkeypatch.setattr(repository, "touched", slow)
    waiting = asyncio.create_task(_dated(world))
    await looked.wait()
    try:
        stored = await world.post(price("copper-no2", "1.00"), who="heron")
        await _dated(world)
    finally:
        go_on.set()
    prices, revision = await waiting
    as_known, _ = await _dated(world, revision)
    assert _likely(prices) == _likely(as_known)
    assert revision == stored["revision"]


async def test_a_yard_added_while_the_list_was_made(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A posting at a yard that came between the revision and the map of a list is seen at once."""
    await world.post(price("copper-no2", "3.00"))
    yards = world.services.yards
    real = yards.atlas
    late = {"slug": "late-yard", "name": "Late Yard", "region": "XO-KEL", "currency": "USD", "unit": "lb"}

    async def later() -> Atlas:
        monkeypatch.setattr(yards, "atlas", real)
        assert (await world.send("/v1/yards", late, "sedge", Role.MAINTAINER)).status_code == 201
        return await real()

    monkeypatch.setattr(yards, "atlas", later)
    await _list(world)
    await world.post(price("copper-no2", "5.00"), yard="late-yard")
    found = (await _list(world)).price("copper-no2")
    assert found is not None
    assert found.shown.basis.yards == 2


async def test_the_order_of_rows_does_not_matter(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """Equal prices and from-weights in two spellings read the same in whatever order the rows come."""
    for who, amount, lot in (("a-b", "3.50", "100 lb"), ("aa", "3.5", "1600 oz")):
        await world.post(price("copper-no1", amount), price("copper-no2", amount, from_weight=lot), who=who)
    rulebook = (await world.services.rulebooks.in_force(world.clock().date())).rulebook
    revision = await world.services.prices.revision(None)
    shown = []
    real = repository.newest_prices
    for order in (list, reversed):

        async def rows(*arguments: Any, order: Any = order, **named: Any) -> Any:
            return list(order(await real(*arguments, **named)))

        monkeypatch.setattr(repository, "newest_prices", rows)
        fresh = board.Board(world.services.database, world.services.yards, world.services.benchmarks)
        found = await fresh.as_known(HERE, rulebook, world.clock().date(), revision)
        prices = [found.price("copper-no1"), *found.tiers("copper-no2")]
        shown.append([each.shown for each in prices if each is not None])
    assert len(shown[0]) == 2
    assert shown[0] == shown[1]


async def test_a_list_that_was_outdated_while_it_was_made_is_not_kept(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A posting during the making, seen by another request meanwhile, is in the next answer."""
    await world.post(price("copper-no2", "3.00"))
    real = repository.newest_prices

    async def slow(*arguments: Any, **named: Any) -> Any:
        monkeypatch.setattr(repository, "newest_prices", real)
        found = await real(*arguments, **named)
        await world.post(price("copper-no2", "1.00"))
        await _dated(world)
        return found

    monkeypatch.setattr(repository, "newest_prices", slow)
    assert _likely((await _dated(world))[0]) == "3.00"
    assert _likely((await _dated(world))[0]) == "1.00"


async def test_authors_are_judged_once_for_lists_of_all_days(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lists of several days as known at one revision weigh authors as on its day: judged once for each region
    that is looked at, and with the same prices as a board that judges them for each list."""
    document = small_rulebook(version="2021.1", effective_from="2021-01-01")
    document["pricing"] |= {"held": HELD, "standing": STANDING}
    await world.publish(document)
    for who, amount in (("wren", "3.00"), ("dipper", "3.20"), ("avocet", "3.50")):
        await world.post(price("copper-no2", amount), who=who)
    rulebook = (await world.services.rulebooks.in_force(world.clock().date())).rulebook
    revision, today = await world.services.prices.revision(None), world.clock().date()
    judged: list[int] = []
    real = counting._standing

    async def counted(session: AsyncSession, asked: counting.Asked, *more: Any) -> Any:
        judged.append(len(asked.yards))
        return await real(session, asked, *more)

    monkeypatch.setattr(counting, "_standing", counted)
    services = world.services
    days = [today + timedelta(days=n) for n in range(3)]
    one = board.Board(services.database, services.yards, services.benchmarks)
    lists = [await one.as_known(HERE, rulebook, on, revision) for on in days]
    assert len(judged) == 2
    for on, found in zip(days, lists, strict=True):
        fresh = board.Board(services.database, services.yards, services.benchmarks)
        again = await fresh.as_known(HERE, rulebook, on, revision)
        assert _shown(found) == _shown(again)
    assert len(judged) == 8


async def test_nothing_is_read_above_where_every_grade_has_a_price(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Further regions are looked at for grades that no nearer one prices; not at all where there is none."""
    rulebook = (await world.services.rulebooks.in_force(world.clock().date())).rulebook
    looked: list[int] = []
    real = counting.count

    async def counted(session: AsyncSession, asked: counting.Asked, *more: Any) -> Any:
        looked.append(len(asked.yards))
        return await real(session, asked, *more)

    monkeypatch.setattr(board, "count", counted)
    await world.post(*(price(grade, "1.00") for grade in list(rulebook.grades)[1:]))
    await _list(world)
    assert len(looked) == 2
    await world.post(price(next(iter(rulebook.grades)), "1.00"))
    await _list(world)
    assert len(looked) == 3
