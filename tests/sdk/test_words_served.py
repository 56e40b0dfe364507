"""Later words through the client and its command line, spoken to the real service in this process."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

import httpx
import pytest
from tests.api import World, empty_world, price, settle
from tests.prices.test_histories import HELD, rulebook
from tests.sdk.test_readme import InProcess
from typer.testing import CliRunner, Result

import gradewright_sdk as gw
from gradewright.accounts.service import Role
from gradewright_sdk import AsyncClient, Client
from gradewright_sdk.cli import app

FAR_OFF = gw.PriceSeen("33.0", "USD", "lb", grade="copper-no2")
SEEN = {"observed_on": "2026-05-04", "evidence": "sign"}
WHY = ["--reason", "asked at the gate"]
SHELL = ["--observed-on", "2026-05-04", "--evidence", "sign"]


class Members:
    """Clients, and the command line, with the keys of members of one service."""

    def __init__(self, world: World, way: InProcess) -> None:
        self.world, self.way = world, way

    def key(self, who: str) -> str:
        return self.world.keys[who]["Authorization"].removeprefix("Bearer ")

    def client(self, who: str) -> Client:
        return Client("http://test", self.key(who), http_client=httpx.Client(transport=self.way))

    def async_client(self, who: str) -> AsyncClient:
        http = httpx.AsyncClient(transport=self.way)
        return AsyncClient("http://test", self.key(who), http_client=http)

    async def apart(self, work: Callable[[], Any]) -> Any:
        """Runs what blocks in a thread of its own: the service answers in this one."""
        return await asyncio.to_thread(work)

    async def shell(self, who: str, *words: str) -> Result:
        """A command, as somebody gives it."""

        def run() -> Result:
            obj = lambda url, timeout: self.client(who)  # noqa: E731
            return CliRunner().invoke(app, list(words), obj=obj, env={"COLUMNS": "100"})

        result: Result = await self.apart(run)
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
        return result


@pytest.fixture(scope="module")
async def bay(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """Two yards that five members speak of; far-off prices wait."""
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    async with empty_world(request, "sqlite") as world:
        await world.publish(document)
        await settle(world)
        for who, yard, amount in (
            ("dunlin", "low-quay", "3.40"),
            ("siskin", "tern-row", "3.22"),
            ("plover", "tern-row", "3.35"),
            ("avocet", "low-quay", "3.27"),
        ):
            await world.post(price("copper-no2", amount), who=who, yard=yard, on="2026-05-01")
        for who, role in (("wren", Role.MEMBER), ("teal", Role.MEMBER), ("sedge", Role.MAINTAINER)):
            await world.key(who, role)
        yield world


@pytest.fixture
async def members(bay: World) -> Members:
    return Members(bay, InProcess(bay.client, {}))


def posts(client: Client) -> gw.Posting:
    """Wren posts a price that waits, and one that does not."""
    right = gw.PriceSeen("4.10", "USD", "lb", grade="copper-no1")
    return client.postings.create("cinder-lane", prices=[right, FAR_OFF], **SEEN)  # type: ignore[arg-type]


async def test_words_reach_the_service(members: Members) -> None:
    """Every word that the client says is told with the posting, by whom it was said; what waits is let go."""

    def work() -> None:
        wren, teal, sedge = (members.client(who) for who in ("wren", "teal", "sedge"))
        posting = posts(wren)
        assert [price.line for price in wren.postings.get(posting.id).held] == [2]
        assert teal.postings.get(posting.id).withheld == 1
        assert [one.id for one in sedge.postings.held("XO-KEL").postings] == [posting.id]
        assert teal.postings.held("XO-KEL").postings == ()

        teal.postings.dispute(posting.id, reason="never", lines=[1])
        teal.postings.confirm(posting.id, reason="it says so on the board", lines=[2])
        assert teal.postings.get(posting.id).withheld == 0
        sedge.postings.decide(posting.id, "rejected", reason="nobody pays that", lines=[2])
        right = gw.PriceSeen("3.30", "USD", "lb", grade="copper-no2")
        made = wren.postings.correct(posting.id, [right], lines=[2], reason="a slip")
        wren.postings.withdraw(posting.id, reason="and the other")
        told = wren.postings.get(posting.id)
        assert [price.status for price in told.prices] == ["withdrawn", "withdrawn"]
        assert [(word.kind, word.author, word.lines, word.verdict) for word in told.words] == [
            ("dispute", "teal", (1,), None),
            ("confirmation", "teal", (2,), None),
            ("decision", "sedge", (2,), "rejected"),
            ("withdrawal", "wren", (2,), None),
            ("withdrawal", "wren", (1,), None),
        ]
        read = wren.postings.get(made.posting.id)
        assert [price.status for price in made.posting.prices] == ["recorded"]
        assert [price.status for price in read.prices] == ["counts"]
        assert made.posting.model_dump(exclude={"prices"}) == read.model_dump(exclude={"prices"})
        assert made.posting.revision == made.withdrawal.revision == told.words[3].revision
        then = wren.postings.get(posting.id, known_at=posting.revision)
        assert [price.status for price in then.prices] == ["counts", "held"]
        wren.postings.withdraw(made.posting.id, reason="done")

    await members.apart(work)


async def test_refusals_are_typed(members: Members) -> None:
    """What the service does not let somebody say is an error of its kind, in both clients."""
    posting = await members.apart(lambda: posts(members.client("wren")))
    async with members.async_client("wren") as wren, members.async_client("teal") as teal:
        for call in (wren.postings.confirm, wren.postings.dispute, teal.postings.withdraw):
            with pytest.raises(gw.Forbidden):
                await call(posting.id, reason="x")
        with pytest.raises(gw.Forbidden):
            await teal.postings.decide(posting.id, "accepted", reason="x")
        with pytest.raises(gw.NotFound):
            await teal.postings.confirm("p-0", reason="x")
        with pytest.raises(gw.InvalidRequest) as caught:
            await wren.postings.correct(posting.id, [FAR_OFF], reason=" ", lines=[])
        assert [fault.pointer for fault in caught.value.errors] == ["#/reason", "#/lines"]
        with pytest.raises(gw.UnknownGrade):
            await wren.postings.correct(
                posting.id, [gw.PriceSeen("1", "USD", "lb", grade="coper")], reason="x"
            )
        said = await wren.postings.withdraw(posting.id, reason="x", lines=[2], idempotency_key="once")
        again = await wren.postings.withdraw(posting.id, reason="x", lines=[2], idempotency_key="once")
        assert again.raw == said.raw
        with pytest.raises(gw.Conflict):
            await wren.postings.withdraw(posting.id, reason="x", lines=[2])
        await wren.postings.withdraw(posting.id, reason="x")


async def test_a_day_at_the_terminal(members: Members) -> None:
    """Post, see that it waits, put it right, and what others and maintainers say, all by commands."""
    posted = await members.shell(
        "wren", "post", "--yard", "cinder-lane", *SHELL, "--price", "copper-no2 33.0 USD/lb"
    )
    assert "1 price waits and does not count yet:" in posted.stdout
    assert "in the middle, give or take" in " ".join(posted.stdout.split())
    id = posted.stdout.split()[2].rstrip(",")
    held = await members.shell("sedge", "held", "--region", "XO-KEL")
    assert held.stdout.startswith("XO-KEL: 1 price waits")
    assert id in held.stdout
    assert "far off what others of 2 yards say" in " ".join(held.stdout.split())
    assert "No price in XO-KEL waits" in (await members.shell("teal", "held", "--region", "XO-KEL")).stdout

    confirmed = await members.shell("teal", "confirm", id, "--line", "1", "--reason", "saw it too")
    assert confirmed.stdout.startswith(f"Confirmed: line 1 of {id}\nBy teal, ")
    decided = await members.shell("sedge", "decide", id, "--verdict", "rejected", "--reason", "no")
    assert decided.stdout.startswith(f"Rejected: line 1 of {id}\nBy sedge, ")
    corrected = await members.shell(
        *["wren", "correct", id, "--price", "copper-no2 3.30 USD/lb", "--line", "1", "--reason", "a slip"]
    )
    assert corrected.stdout.startswith(f"Taken back: line 1 of {id}\n")
    assert "wait" not in corrected.stdout
    instead = corrected.stdout.partition("Stored as ")[2].partition(",")[0]
    gone = await members.shell("wren", "withdraw", instead, "--reason", "last year's", "--json")
    assert json.loads(gone.stdout)["posting"] == instead


async def test_what_a_word_did_is_told(members: Members) -> None:
    """Each line is told as it was posted: whether it counts now, waits now or still, and how far off it is;
    the posting shows beforehand what is to be confirmed, and afterwards who said what."""
    lines = ["--price", "copper-no2 33.0 USD/lb from 100 lb", "--price", "copper-no1 4.10 USD/lb"]
    posted = await members.shell("wren", "post", "--yard", "cinder-lane", *SHELL, *lines)
    id = posted.stdout.split()[2].rstrip(",")

    seen = " ".join((await members.shell("dunlin", "show", id)).stdout.split())
    assert seen.startswith(f"{id}: cinder-lane, seen on 2026-05-04, evidence: sign Posted by wren on ")
    assert "1 copper-no2, from 100 lb 33.0 USD/lb waits 2 copper-no1 4.10 USD/lb counts" in seen
    assert "told by the ledger" in seen
    assert "10 times theirs" not in seen
    own = " ".join((await members.shell("wren", "show", id)).stdout.split())
    assert "33.0 USD/lb waits At 2 yards others are paid 3.27 USD/lb in the middle" in own
    assert "told by the ledger" not in own

    def said(result: Result) -> str:
        assert result.exit_code == 0, result.output
        return " ".join(result.stdout.split())

    off = "At 2 yards others are paid 3.27 USD/lb in the middle, give or take"
    disputed = said(await members.shell("dunlin", "dispute", id, "--line", "1", "--reason", "never"))
    assert f"line 1, copper-no2, from 100 lb 33.0 USD/lb: still waits. {off}" in disputed
    confirmed = said(await members.shell("teal", "confirm", id, "--line", "1", "--reason", "saw it too"))
    counts = "line 1, copper-no2, from 100 lb 33.0 USD/lb: counts now, as teal confirms it."
    assert f"{counts} {off}" in confirmed
    assert confirmed.endswith("10 times theirs.")
    first = said(await members.shell("siskin", "dispute", id, "--line", "2", "--reason", "no"))
    alone = "It waits once two members or more dispute it, who together weigh more than those behind it."
    assert first.endswith(f"line 2, copper-no1 4.10 USD/lb: counts, as before. {alone}")
    for who in ("plover", "dunlin", "avocet"):
        last = said(await members.shell(who, "dispute", id, "--line", "2", "--reason", "no"))
        if "waits now" in last:
            break
    assert "line 2, copper-no1 4.10 USD/lb: waits now. Members dispute it who weigh more" in last
    let = said(await members.shell("sedge", "decide", id, "--line", "2", "--verdict", "accepted", *WHY))
    assert let.endswith("line 2, copper-no1 4.10 USD/lb: counts now, as sedge accepted it.")
    told = " ".join((await members.shell("sedge", "show", id)).stdout.split())
    assert "dunlin disputed line 1: never (ledger revision" in told
    assert "teal confirmed line 1: saw it too (ledger revision" in told
    rejected = said(await members.shell("sedge", "decide", id, "--verdict", "rejected", "--reason", "no"))
    assert "line 1, copper-no2, from 100 lb 33.0 USD/lb: rejected: it does not count." in rejected
    gone = said(await members.shell("wren", "withdraw", id, "--reason", "a slip"))
    assert "line 2, copper-no1 4.10 USD/lb: taken back: it counts no more." in gone
    as_json = json.loads((await members.shell("wren", "show", id, "--json")).stdout)
    assert [one["status"] for one in as_json["prices"]] == ["withdrawn", "withdrawn"]


async def test_a_dispute_that_is_taken_back_is_no_reason_any_more(members: Members) -> None:
    """Two dispute a price and one of them confirms it after all: it counts, and is not told that members
    dispute it who weigh more."""
    post = ["post", "--yard", "cinder-lane", *SHELL, "--price", "light-iron 0.09 USD/lb"]
    id = (await members.shell("wren", *post)).stdout.split()[2].rstrip(",")
    waits = False
    for who in ("siskin", "plover", "dunlin", "avocet"):
        told = " ".join((await members.shell(who, "dispute", id, *WHY)).stdout.split())
        last, waits = who, "waits now" in told
        if waits:
            break
    assert waits
    refused = " ".join((await members.shell(last, "withdraw", id, *WHY)).stderr.split())
    assert "Your dispute of it you take back by confirming it" in refused
    back = " ".join((await members.shell(last, "confirm", id, *WHY)).stdout.split())
    assert back.endswith(f"line 1, light-iron 0.09 USD/lb: counts now, as {last} confirms it.")
    assert (await members.shell("wren", "withdraw", id, "--reason", "done")).exit_code == 0


async def test_a_slip_that_counts_is_told(members: Members) -> None:
    """Where too few speak of a grade to hold a price, ten times what its author posted before counts, and is
    told; the correction is not."""
    post = ["post", "--yard", "cinder-lane", *SHELL, "--price"]
    first = await members.shell("wren", *post, "light-iron 0.09 USD/lb")
    assert "it counts, and is" not in first.stdout
    slip = " ".join((await members.shell("wren", *post, "light-iron 0.90 USD/lb")).stdout.split())
    far = (
        "light-iron 0.90 USD/lb: it counts, and is 10 times what was paid there before, 0.09 USD/lb, seen on"
    )
    assert f"line 1, {far} 2026-05-04." in slip
    id = slip.split()[2].rstrip(",")
    mend = ["correct", id, "--line", "1", "--price", "light-iron 0.10 USD/lb", "--reason", "a slip"]
    assert "it counts, and is" not in (await members.shell("wren", *mend)).stdout


async def test_a_slip_in_a_grade_that_nobody_had_posted_is_told(members: Members) -> None:
    """Where a related grade spoke for it, ten times that price counts, and is told with what it is held
    against."""
    post = ["post", "--yard", "cinder-lane", *SHELL, "--price"]
    near = await members.shell("wren", *post, "copper-residue 2.00 USD/lb from 500 lb")
    assert "it counts, and is" not in near.stdout
    slip = " ".join((await members.shell("wren", *post, "copper-residue 36.00 USD/kg")).stdout.split())
    assert "copper-residue 36.00 USD/kg: it counts, and is " in slip
    assert " times what the list had before, " in slip
    assert " USD/kg: none of its own; 0.5 of Copper No. 2 (" in slip
    for words in (near.stdout, slip):
        id = words.split()[2].rstrip(",")
        assert (await members.shell("wren", "withdraw", id, "--reason", "a slip")).exit_code == 0


REFUSED = [
    (["teal", "withdraw"], "only wren can take it back"),
    (["wren", "confirm"], "is your own: others confirm or dispute it"),
    (["wren", "dispute"], "is your own"),
    (["teal", "decide", "--verdict", "accepted"], "This needs a maintainer's key; teal is a member."),
    (["sedge", "decide", "--verdict", "maybe"], "--verdict: "),
    (["teal", "confirm", "--line", "9"], "--line: There is no line 9: the posting has lines 1 to 2."),
    (["wren", "correct", "--all", "--price", "coper-no2 3.3 USD/lb"], "--price number 1, grade: "),
    (["wren", "correct", "--price", "copper-no2 3.3 USD/lb", "--line", "3"], "--line: There is no line 3"),
    (["teal", "dispute", "--reason", " "], "--reason: "),
]


async def test_a_list_is_not_taken_back_for_one_price(members: Members) -> None:
    """Where more prices stand than are posted in their place, it has to be said which are meant, or that all
    are; as many as there are take each other's place."""
    id = (await members.apart(lambda: posts(members.client("wren")))).id
    one = ["wren", "correct", id, "--reason", "a slip", "--price", "copper-no2 3.30 USD/lb"]
    refused = await members.shell(*one)
    assert (refused.exit_code, refused.stdout) == (2, "")
    told = " ".join(refused.stderr.split())
    assert f"2 prices of {id} stand, and 1 would be in their place: say with --line which is meant" in told
    assert len((await members.apart(lambda: members.client("wren").postings.get(id))).words) == 0
    both = await members.shell(*one, "--price", "copper-no1 4.10 USD/lb")
    assert both.stdout.startswith(f"Taken back: lines 1 to 2 of {id}\n"), both.output
    instead = both.stdout.partition("Stored as ")[2].partition(",")[0]
    gone = await members.shell("wren", "correct", instead, *one[3:], "--all")
    assert gone.stdout.startswith(f"Taken back: lines 1 to 2 of {instead}\n"), gone.output


async def test_refusals_at_the_terminal(members: Members) -> None:
    """A refused command ends with 1, says why at its option, and once; a second time is a conflict."""
    id = (await members.apart(lambda: posts(members.client("wren")))).id
    for (who, command, *more), says in REFUSED:
        result = await members.shell(who, command, id, "--reason", "x", *more)
        told = " ".join(result.stderr.split())
        assert (result.exit_code, result.stdout) == (1, ""), command
        assert says in told, told
        assert "#/" not in told
        assert "ask a maintainer" not in told
    again = ["wren", "withdraw", id, "--line", "2", "--reason", "x"]
    assert (await members.shell(*again)).exit_code == 0
    twice = await members.shell(*again)
    assert "--line: Line 2 was taken back by its author" in " ".join(twice.stderr.split())
    await members.shell("wren", "withdraw", id, "--reason", "x")
