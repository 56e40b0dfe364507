"""Every read before and after a later word: lists, series and valuations, as known then and as known now."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AsyncExitStack
from dataclasses import dataclass
from string import ascii_uppercase
from typing import Any

import httpx
import pytest
from tests.api import World, empty_world, price, problem_of
from tests.conftest import KINDS
from tests.prices.test_histories import HELD, rulebook

from gradewright.accounts.service import Role

TODAY, YESTERDAY, FIRST, EARLIER = "2026-05-04", "2026-05-03", "2026-05-01", "2026-04-28"
WHY = {"reason": "as it was told at the gate"}
CODES = [f"X{letter}" for letter in ascii_uppercase]  # ISO 3166-1 leaves XA to XZ to its users
PARTS = [{"name": "pipe", "weight": "1 lb", "grade": "copper-no2"}]
OTHERS = (
    ("wren", "quay", "3.30"),
    ("dunlin", "quay", "3.40"),
    ("siskin", "lane", "3.22"),
    ("plover", "lane", "3.35"),
    ("avocet", "quay", "3.27"),
)
Told = dict[str, Any]


@dataclass(frozen=True)
class Bay:
    """A region of its own in a world that is shared: its members and yards are nobody else's.

    Five members speak of two yards; at a third, the row, shrike saw 3.36 on the first of May.
    """

    world: World
    worker: World
    region: str

    def named(self, name: str) -> str:
        """A yard, or a member, of this region."""
        return f"{name}-{self.region.lower()}"

    async def seen(self, amount: str, on: str, who: str = "shrike", yard: str = "row") -> str:
        """A price of Copper No. 2 that somebody posts; the id of the posting."""
        line = price("copper-no2", amount)
        stored = await self.world.post(line, who=self.named(who), yard=self.named(yard), on=on)
        return str(stored["id"])

    async def latest(self) -> str:
        """The newest posting at the row."""
        found = await self.world.get("/v1/postings", yard=self.named("row"), limit=1)
        return str(found["postings"][0]["id"])

    async def stood(self, posting: str, known_at: int | None = None) -> httpx.Response:
        """A posting as shrike sees it, as known at a revision."""
        asked = {} if known_at is None else {"known_at": known_at}
        headers = await self.world.key(self.named("shrike"))
        return await self.world.client.get(f"/v1/postings/{posting}", params=asked, headers=headers)

    async def say(self, kind: str, who: str = "shrike", **more: Any) -> None:
        """A later word about what shrike posted last, expected to be stored."""
        role = Role.MAINTAINER if who == "sedge" else Role.MEMBER
        path = f"/v1/postings/{await self.latest()}/{kind}"
        answer = await self.world.send(path, {**WHY, **more}, self.named(who), role)
        assert answer.status_code == 201, answer.text


@pytest.fixture(scope="module", params=KINDS)
async def worlds(request: pytest.FixtureRequest) -> AsyncIterator[tuple[World, World, Any]]:
    """An application without regions, another worker on its database, and names for regions."""
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    async with AsyncExitStack() as stack:
        world = await stack.enter_async_context(empty_world(request, request.param))
        await world.publish(document)
        yield world, await stack.enter_async_context(world.another()), iter(CODES)


@pytest.fixture
async def bay(worlds: tuple[World, World, Any]) -> Bay:
    """A new region in the shared world."""
    world, worker, numbers = worlds
    made = Bay(world, worker, next(numbers))
    terms = {"name": "Bay", "currency": "USD", "unit": "lb"}
    bodies: list[tuple[str, Told]] = [("regions", {"code": made.region, "parent": None, **terms})]
    bodies += [
        ("yards", {"slug": made.named(yard), "region": made.region, **terms})
        for yard in ("quay", "lane", "row")
    ]
    for path, body in bodies:
        answer = await world.send(f"/v1/{path}", body, "bittern", Role.MAINTAINER)
        assert answer.status_code == 201, answer.text
    for who, yard, amount in (*OTHERS, ("shrike", "row", "3.36")):
        await made.seen(amount, FIRST, who, yard)
    return made


async def backdated(bay: Bay) -> None:
    """What was seen in April is posted in May."""
    await bay.seen("3.30", EARLIER)


async def corrected(bay: Bay) -> None:
    """Shrike had read the wrong line of the board."""
    await bay.say("correction", prices=[price("copper-no2", "3.46")])


async def corrected_day(bay: Bay) -> None:
    """The price was right, and seen on another day."""
    await bay.say("correction", prices=[price("copper-no2", "3.36")], observed_on=EARLIER)


async def withdrawn(bay: Bay) -> None:
    """Shrike takes back what was posted last."""
    await bay.say("withdrawal")


async def confirmed(bay: Bay) -> None:
    """A second member stands behind what shrike posted last, some time later."""
    bay.world.later(hours=3)
    await bay.say("confirmation", "heron")


async def disputed(bay: Bay) -> None:
    """Two members dispute what shrike posted last."""
    for who in ("wren", "dunlin"):
        await bay.say("dispute", who)


async def accepted(bay: Bay) -> None:
    """A maintainer accepts what shrike posted last."""
    await bay.say("decision", "sedge", verdict="accepted")


async def rejected(bay: Bay) -> None:
    """A maintainer rejects what shrike posted last."""
    await bay.say("decision", "sedge", verdict="rejected")


async def rejected_then_accepted(bay: Bay) -> None:
    """Maintainers change their mind before anybody looks again."""
    await rejected(bay)
    await accepted(bay)


@dataclass(frozen=True)
class Case:
    """What shrike posts at the row besides, what is then said, and what a read of a day tells of the yard:
    its own likely price before and after, None where it has none of its own. `status`: of shrike's last
    price, before and after.
    """

    posted: tuple[str, ...]
    act: Callable[[Bay], Awaitable[None]]
    on: str
    before: str | None
    after: str | None
    status: tuple[str, str]


KEPT, GONE, LET_GO = ("counts", "counts"), ("counts", "withdrawn"), ("held", "counts")
CASES = {
    "backdated, on its own day": Case((), backdated, EARLIER, None, "3.30", KEPT),
    "backdated, today": Case((), backdated, TODAY, "3.36", "3.36", KEPT),
    "corrected": Case((), corrected, TODAY, "3.36", "3.46", GONE),
    "corrected while it waited": Case(("33.0",), corrected, TODAY, "3.36", "3.46", ("held", "withdrawn")),
    "corrected to another day, that day": Case((), corrected_day, EARLIER, None, "3.36", GONE),
    "withdrawn, the one before counts": Case(("3.44",), withdrawn, TODAY, "3.44", "3.36", GONE),
    "withdrawn, none is left": Case((), withdrawn, TODAY, "3.36", None, GONE),
    "confirmed late": Case(("2.20",), confirmed, TODAY, "3.36", "2.20", LET_GO),
    "disputed late": Case(("3.44",), disputed, TODAY, "3.44", "3.36", ("counts", "held")),
    "accepted": Case(("33.0",), accepted, TODAY, "3.36", "33.0", LET_GO),
    "rejected": Case(("3.44",), rejected, TODAY, "3.44", "3.36", ("counts", "rejected")),
    "rejected, then accepted": Case(("3.44",), rejected_then_accepted, TODAY, "3.44", "3.44", KEPT),
}


async def answers(bay: Bay, world: World, on: str, known_at: int | None = None) -> Told:
    """What the lists, the series and a valuation tell of the row, and of its region, on a day."""
    known = {} if known_at is None else {"known_at": known_at}
    days, yard = {"from_": on, "to": on, "step": "day", **known}, bay.named("row")
    valued = await world.send("/v1/valuations", {"yard": yard, "on": on, "parts": PARTS, **known})
    return {
        "list": await world.get("/v1/prices", yard=yard, on=on, **known),
        "series": await world.get(f"/v1/yards/{yard}/prices/copper-no2/series", **days),
        "valuation": valued.json(),
        "region": await world.get("/v1/prices", region=bay.region, on=on, **known),
        "region's series": await world.get(f"/v1/prices/{bay.region}/copper-no2/series", **days),
    }


def likely(told: Told) -> list[str | None]:
    """The yard's own price in the list, a valuation and the series; None where it has none of its own."""
    lines = [line for line in told["list"]["prices"] if line["grade"] == "copper-no2"]
    lines += [part["price"] for part in told["valuation"]["parts"] if part["price"]]
    own = [line["likely"] for line in lines if line["basis"]["kind"] == "yard"]
    return [*(own or [None, None]), told["series"]["points"][0]["likely"]]


@pytest.mark.parametrize("case", CASES.values(), ids=CASES)
async def test_before_and_after(bay: Bay, case: Case) -> None:
    """Each read tells the price as it is known now, and, asked for what was known before, as it was then, by
    this worker and by another; a valuation that was kept before is read and replayed byte for byte. So with
    the posting: it is told as it stood, without what was said since, and not before it was there.
    """
    for amount in case.posted:
        await bay.seen(amount, YESTERDAY)
    body = {"yard": bay.named("row"), "on": case.on, "parts": PARTS, "keep": True}
    kept = await bay.world.send("/v1/valuations", body)
    assert kept.status_code == 201, kept.text
    before = await answers(bay, bay.world, case.on)
    assert likely(before) == [case.before] * 3
    known, posting = before["list"]["known_at"], await bay.latest()
    stood = (await bay.stood(posting)).json()
    assert [line["status"] for line in stood["prices"]] == [case.status[0]]

    await case.act(bay)
    assert likely(await answers(bay, bay.world, case.on)) == [case.after] * 3
    assert await answers(bay, bay.world, case.on, known) == before
    assert await answers(bay, bay.worker, case.on, known) == before
    newest = await bay.world.revision()
    assert await bay.worker.get("/v1/prices", yard=bay.named("row"), on=case.on, known_at=newest) == (
        await bay.world.get("/v1/prices", yard=bay.named("row"), on=case.on)
    )
    path = kept.headers["location"]
    assert (await bay.world.client.get(path)).content == kept.content
    assert (await bay.worker.client.post(f"{path}/replay")).content == kept.content

    stands = (await bay.stood(posting)).json()
    assert [line["status"] for line in stands["prices"]] == [case.status[1]]
    assert bool(stands["words"]) is (case.act is not backdated)
    assert (await bay.stood(posting, newest)).json() == stands
    assert (await bay.stood(posting, known)).json() == stood
    problem_of(await bay.stood(posting, stood["revision"] - 1), "not-found")


async def test_what_waited_is_told_as_it_was_judged_then(bay: Bay) -> None:
    """The figures that held a price are those of the revision asked for, whatever others posted since."""
    posting = await bay.seen("33.0", YESTERDAY)
    known = await bay.world.revision()

    async def held(known_at: int | None = None) -> Any:
        return (await bay.stood(posting, known_at)).json()["prices"][0]["held"]

    then = await held()
    for who, yard, amount in OTHERS:
        await bay.seen(amount.replace("3.", "3.5"), TODAY, who, yard)
    assert (await held())["median"] != then["median"]
    assert await held(known) == then
