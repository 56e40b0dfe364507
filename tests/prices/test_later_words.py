"""Later words about postings over HTTP: who may say what, of which lines, and that it is all or nothing."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Any

import pytest
from tests.api import (
    Body,
    World,
    as_read,
    empty_world,
    only,
    posting,
    price,
    problem_of,
    settle,
    stored,
    where,
)
from tests.conftest import KINDS

from gradewright.accounts.service import Role
from gradewright.ledger.verify import verify

WHY = "read the wrong line of the board"
REASON = {"reason": WHY}
INSTEAD = [price("copper-no2", "3.53")]
BODIES: dict[str, Body] = {
    "withdrawal": REASON,
    "confirmation": REASON,
    "dispute": REASON,
    "decision": {**REASON, "verdict": "accepted"},
    "correction": {**REASON, "prices": INSTEAD},
}
SPEAKERS = {
    "withdrawal": "wren",
    "confirmation": "teal",
    "dispute": "teal",
    "decision": "sedge",
    "correction": "wren",
}


def role(who: str) -> Role:
    """Sedge and bittern maintain, others are members."""
    return Role.MAINTAINER if who in {"sedge", "bittern"} else Role.MEMBER


async def say(world: World, kind: str, id: str, who: str | None = None, **more: Any) -> Any:
    """Says something of a posting: by who usually says it, unless told otherwise."""
    headers = {name: more.pop(name) for name in ("Idempotency_Key",) if name in more}
    speaker = who or SPEAKERS[kind]
    body = {**BODIES[kind], **more}
    return await world.send(f"/v1/postings/{id}/{kind}", body, speaker, role(speaker), **headers)


async def said(world: World, kind: str, id: str, who: str | None = None, **more: Any) -> Any:
    """The same where it is expected to be stored."""
    answer = await say(world, kind, id, who, **more)
    assert answer.status_code == 201, answer.text
    return answer.json()


async def three_prices(world: World, who: str = "wren", **more: Any) -> Any:
    """A posting with three lines."""
    prices = (price("copper-no1", "4.10"), price("copper-no2", "3.35"), price("light-iron", "0.12"))
    return await world.post(*prices, who=who, **more)


def statuses(seen: Any) -> list[str]:
    """Whether each line counts."""
    return [line["status"] for line in seen["prices"]]


@dataclass
class Told:
    """Postings of which something was said already. No test adds to them: each makes its own for that.

    `some`: wren's, of three lines: the second confirmed by teal and accepted by sedge, the third taken back.
    `gone`: wren's, all taken back. `disputed`: wren's, of one line, disputed by teal. `own`: of sedge.
    """

    world: World
    some: str
    gone: str
    disputed: str
    own: str

    def of(self, name: str) -> str:
        """The id of one of them, or what is none."""
        return str(getattr(self, name, name))


@pytest.fixture(scope="module", params=KINDS)
async def told(request: pytest.FixtureRequest) -> AsyncIterator[Told]:
    """The small district with those postings, for all tests here; what they have written is sealed."""
    async with empty_world(request, request.param) as world:
        await settle(world)
        some, gone = await three_prices(world), await three_prices(world)
        disputed = await world.post(price("copper-no2", "3.35"))
        own = await world.send("/v1/postings", posting(price("copper-no2", "3.4")), "sedge", Role.MAINTAINER)
        found = Told(world, some["id"], gone["id"], disputed["id"], own.json()["id"])
        await said(world, "confirmation", found.some, lines=[2])
        await said(world, "decision", found.some, lines=[2])
        await said(world, "withdrawal", found.some, lines=[3])
        await said(world, "withdrawal", found.gone)
        await said(world, "dispute", found.disputed)
        yield found
        assert [each.says() for each in (await verify(world.services.database)).differences] == []


def refused(id: str, *case: Any) -> Any:
    """A case: kind, by whom, of which posting, what is said; the problem, where, and some of its words."""
    return pytest.param(*case, id=id)


BACK = "Your {} of it you take back by {}ing it: of what you say of a price the last word stands."
TAKEN = "Line 3 was taken back by its author"
REFUSED = [
    refused("other's", "withdrawal", "teal", "some", {}, "forbidden", [], "only wren can take it back"),
    refused(
        "not even a maintainer", "withdrawal", "sedge", "some", {}, "forbidden", [], "maintainers decide"
    ),
    refused(
        "own dispute",
        "withdrawal",
        "teal",
        "disputed",
        {},
        "forbidden",
        [],
        BACK.format("dispute", "confirm"),
    ),
    refused(
        "own confirmation",
        "withdrawal",
        "teal",
        "some",
        {},
        "forbidden",
        [],
        BACK.format("confirmation", "disput"),
    ),
    refused("correct other's", "correction", "teal", "some", {}, "forbidden", [], "only wren"),
    refused("confirm own", "confirmation", "wren", "some", {}, "forbidden", [], "others confirm or dispute"),
    refused("dispute own", "dispute", "wren", "some", {}, "forbidden", [], "You can take it back"),
    refused("decide own", "decision", "sedge", "own", {}, "forbidden", [], "another maintainer decides"),
    refused("decide as a member", "decision", "teal", "some", {}, "forbidden", [], "maintainer's key"),
    refused("no such posting", "dispute", "teal", "p-0", {}, "not-found", [], "no posting 'p-0'"),
    refused("withdraw twice", "withdrawal", "wren", "some", {"lines": [3]}, "conflict", ["#/lines/0"], TAKEN),
    refused(
        "confirm gone", "confirmation", "teal", "some", {"lines": [1, 3]}, "conflict", ["#/lines/1"], TAKEN
    ),
    refused("dispute gone", "dispute", "teal", "some", {"lines": [3]}, "conflict", ["#/lines/0"], TAKEN),
    refused("decide gone", "decision", "sedge", "some", {"lines": [3]}, "conflict", ["#/lines/0"], TAKEN),
    refused("correct gone", "correction", "wren", "some", {"lines": [3]}, "conflict", ["#/lines/0"], TAKEN),
    refused(
        "confirm twice",
        "confirmation",
        "teal",
        "some",
        {"lines": [2]},
        "conflict",
        ["#/lines/0"],
        "Your last word on line 2 is a confirmation already.",
    ),
    refused(
        "dispute twice, all",
        "dispute",
        "teal",
        "disputed",
        {},
        "conflict",
        [],
        "Your last word on line 1 is a dispute already.",
    ),
    refused(
        "decide twice",
        "decision",
        "bittern",
        "some",
        {"lines": [2]},
        "conflict",
        ["#/lines/0"],
        "Line 2 is accepted already.",
    ),
    refused("nothing left to withdraw", "withdrawal", "wren", "gone", {}, "conflict", [], "Line 1 was taken"),
    refused(
        "nothing left to confirm", "confirmation", "teal", "gone", {}, "conflict", [], "Line 1 was taken"
    ),
    refused("nothing left to decide", "decision", "sedge", "gone", {}, "conflict", [], "Line 1 was taken"),
    refused("nothing left to correct", "correction", "wren", "gone", {}, "conflict", [], "Line 1 was taken"),
    refused(
        "unknown line",
        "withdrawal",
        "wren",
        "some",
        {"lines": [1, 4]},
        "invalid-request",
        ["#/lines/1"],
        "There is no line 4: the posting has lines 1 to 3.",
    ),
    refused(
        "repeated line",
        "withdrawal",
        "wren",
        "some",
        {"lines": [1, 2, 1]},
        "invalid-request",
        ["#/lines/2"],
        "Line 1 is named already",
    ),
    refused(
        "all faults at once",
        "withdrawal",
        "wren",
        "some",
        {"lines": [3, 9, 1, 1]},
        "invalid-request",
        ["#/lines/0", "#/lines/1", "#/lines/3"],
        "Nothing was stored.",
    ),
    refused("line 0", "withdrawal", "wren", "some", {"lines": [0]}, "invalid-request", ["#/lines/0"], ""),
    refused("line -1", "withdrawal", "wren", "some", {"lines": [-1]}, "invalid-request", ["#/lines/0"], ""),
    refused("far line", "dispute", "teal", "some", {"lines": [10_001]}, "invalid-request", ["#/lines/0"], ""),
    refused(
        "huge line", "dispute", "teal", "some", {"lines": [2**63]}, "malformed-request", ["#/lines/0"], ""
    ),
    refused("line true", "dispute", "teal", "some", {"lines": [True]}, "invalid-request", ["#/lines/0"], ""),
    refused(
        "line as text", "dispute", "teal", "some", {"lines": ["1"]}, "invalid-request", ["#/lines/0"], ""
    ),
    refused("no lines", "confirmation", "teal", "some", {"lines": []}, "invalid-request", ["#/lines"], ""),
    refused(
        "bad verdict", "decision", "sedge", "some", {"verdict": "maybe"}, "invalid-request", ["#/verdict"], ""
    ),
    refused(
        "verdict of a member",
        "dispute",
        "teal",
        "some",
        {"verdict": "rejected"},
        "invalid-request",
        ["#/verdict"],
        "",
    ),
    refused(
        "no prices instead", "correction", "wren", "some", {"prices": []}, "invalid-request", ["#/prices"], ""
    ),
    refused(
        "unknown grade instead",
        "correction",
        "wren",
        "some",
        {"prices": [*INSTEAD, price("coper-no1", "4")]},
        "unknown-grade",
        ["#/prices/1/grade"],
        "Nothing was stored.",
    ),
    refused(
        "other currency instead",
        "correction",
        "wren",
        "some",
        {"prices": [price("copper-no2", "3.35", currency="CAD")]},
        "currency-mismatch",
        ["#/prices/0/currency"],
        "Nothing was stored.",
    ),
    refused(
        "the same twice instead",
        "correction",
        "wren",
        "some",
        {"prices": [*INSTEAD, *INSTEAD]},
        "invalid-request",
        ["#/prices/1"],
        "Nothing was stored.",
    ),
    refused(
        "a day to come",
        "correction",
        "wren",
        "some",
        {"observed_on": "2026-05-05"},
        "invalid-request",
        ["#/observed_on"],
        "in the future",
    ),
    refused(
        "no such evidence",
        "correction",
        "wren",
        "some",
        {"evidence": "x"},
        "invalid-request",
        ["#/evidence"],
        "",
    ),
    refused(
        "another yard", "correction", "wren", "some", {"yard": "tern-row"}, "invalid-request", ["#/yard"], ""
    ),
    refused(
        "good prices for a line that is not there",
        "correction",
        "wren",
        "some",
        {"lines": [4]},
        "invalid-request",
        ["#/lines/0"],
        "There is no line 4",
    ),
]


@pytest.mark.parametrize(("kind", "who", "of", "more", "slug", "at", "says"), REFUSED)
async def test_refused(
    told: Told, kind: str, who: str, of: str, more: Body, slug: str, at: list[str], says: str
) -> None:
    """What may not be said is refused with its reason and place, and nothing of it is stored."""
    before = await stored(told.world), await told.world.revision()
    problem = problem_of(await say(told.world, kind, told.of(of), who, **more), slug)
    assert where(problem) == at
    assert says in problem.detail
    assert (await stored(told.world), await told.world.revision()) == before


@pytest.mark.parametrize("kind", BODIES)
async def test_a_key_is_needed(told: Told, kind: str) -> None:
    """Without a key nothing can be said, before anything is looked at."""
    problem_of(await told.world.send(f"/v1/postings/{told.some}/{kind}", {"nonsense": 1}), "unauthorized")


@pytest.mark.parametrize("reason", [None, "", " ", "\n\t ", "\u2003", "x" * 501, "a\x1bb", 5, ["x"]])
@pytest.mark.parametrize("kind", BODIES)
async def test_a_reason_is_needed(told: Told, kind: str, reason: Any) -> None:
    """A reason that is empty, blank, too long or no text is refused at its place."""
    before = await stored(told.world)
    assert where(problem_of(await say(told.world, kind, told.some, reason=reason), "invalid-request")) == [
        "#/reason"
    ]
    assert await stored(told.world) == before


@pytest.mark.parametrize("kind", BODIES)
async def test_a_member_that_is_missing(told: Told, kind: str) -> None:
    """Nothing that must be said has a default; what nobody asked for is refused."""
    speaker = SPEAKERS[kind]
    path = f"/v1/postings/{told.some}/{kind}"
    answer = await told.world.send(path, {"author": "teal"}, speaker, role(speaker))
    missing = {f"#/{name}" for name in BODIES[kind]}
    assert set(where(problem_of(answer, "invalid-request"))) == {*missing, "#/author"}


async def test_a_word_is_answered_and_told_with_the_posting(told: Told) -> None:
    """One act is one revision; it is told with who, when, why and which lines; the prices stay as posted."""
    world = told.world
    before = await three_prices(world)
    when = world.later(hours=2)
    word = await said(world, "confirmation", before["id"], lines=[3, 1])
    assert word == {
        "revision": before["revision"] + 1,
        "kind": "confirmation",
        "lines": [3, 1],
        "author": "teal",
        "verdict": None,
        "reason": WHY,
        "recorded_at": when.strftime("%Y-%m-%dT%H:%M:%SZ"),
        "posting": before["id"],
    }
    told_later = {name: value for name, value in word.items() if name != "posting"}
    assert await world.get(f"/v1/postings/{before['id']}") == {**as_read(before), "words": [told_later]}
    assert await world.revision() == word["revision"]


async def test_without_lines_all_are_meant_that_still_stand(told: Told) -> None:
    """A word about no lines is about those that nobody took back, and that it was not said of already."""
    world = told.world
    id = (await three_prices(world))["id"]
    assert (await said(world, "withdrawal", id, lines=[2]))["lines"] == [2]
    assert (await said(world, "confirmation", id, lines=[3]))["lines"] == [3]
    assert (await said(world, "confirmation", id, lines=None))["lines"] == [1]
    assert (await said(world, "decision", id, verdict="rejected"))["lines"] == [1, 3]
    assert (await said(world, "withdrawal", id))["lines"] == [1, 3]
    seen = await world.get(f"/v1/postings/{id}")
    assert statuses(seen) == ["withdrawn"] * 3
    assert [word["kind"] for word in seen["words"]] == [
        *["withdrawal", "confirmation", "confirmation"],
        *["decision", "withdrawal"],
    ]


async def test_the_last_word_of_each_stands(told: Told) -> None:
    """A member may change their mind, and maintainers theirs; others' words are not in the way."""
    world = told.world
    id = (await three_prices(world))["id"]
    for kind in ("confirmation", "dispute", "confirmation"):
        await said(world, kind, id, lines=[1])
    await said(world, "confirmation", id, "heron", lines=[1])
    for who, verdict, status in (
        ("sedge", "rejected", "rejected"),
        ("bittern", "accepted", "counts"),
        ("sedge", "rejected", "rejected"),
    ):
        await said(world, "decision", id, who, lines=[1], verdict=verdict)
        seen = await world.get(f"/v1/postings/{id}")
        assert statuses(seen) == [status, "counts", "counts"]
    assert len(seen["words"]) == 7


async def test_maintainers_confirm_and_dispute_too(told: Told) -> None:
    """A maintainer may do all that a member may, with another's posting."""
    world = told.world
    id = (await three_prices(world))["id"]
    for kind in ("confirmation", "dispute"):
        assert (await said(world, kind, id, "sedge"))["author"] == "sedge"


async def test_a_correction_is_one_revision(told: Told) -> None:
    """Lines are taken back and others stand in their place, on day and evidence of before, all at once."""
    world = told.world
    before = await three_prices(world, yard="tern-row", note="at the gate", evidence="sign", on="2026-05-02")
    answer = await say(world, "correction", before["id"], lines=[2])
    made = answer.json()
    revision = before["revision"] + 1
    assert await world.revision() == revision
    assert answer.headers["location"] == f"/v1/postings/{made['posting']['id']}"
    assert await world.get(answer.headers["location"]) == as_read(made["posting"])
    instead = made["posting"]
    assert [instead[name] for name in ("revision", "yard", "observed_on", "evidence", "author", "note")] == [
        *[revision, "tern-row", "2026-05-02", "sign", "wren", "at the gate"],
    ]
    assert [(line["line"], line["grade"], line["price"]) for line in instead["prices"]] == [
        (1, "copper-no2", "3.53")
    ]
    word = made["withdrawal"]
    assert [word[name] for name in ("revision", "kind", "lines", "posting", "reason")] == [
        *[revision, "withdrawal", [2], before["id"], WHY],
    ]
    seen = await world.get(f"/v1/postings/{before['id']}")
    assert statuses(seen) == ["counts", "withdrawn", "counts"]
    likely = {
        grade: (await world.priced(grade, yard="tern-row"))["likely"]
        for grade in ("copper-no1", "copper-no2", "light-iron")
    }
    assert likely == {"copper-no1": "4.10", "copper-no2": "3.53", "light-iron": "0.12"}


async def test_a_correction_says_again_what_was_wrong(told: Told) -> None:
    """Day, evidence and note are said again where they were wrong; without lines all that stand are meant."""
    world = told.world
    before = await three_prices(world)
    again = {"observed_on": "2026-05-01", "evidence": "ticket", "note": "off the ticket"}
    made = await said(world, "correction", before["id"], **again)
    assert made["withdrawal"]["lines"] == [1, 2, 3]
    assert {name: made["posting"][name] for name in again} == again
    assert (await world.priced("copper-no2", yard="low-quay", on="2026-05-01"))["likely"] == "3.53"
    twice = await said(world, "correction", made["posting"]["id"], prices=[price("copper-no2", "3.54")])
    assert {name: twice["posting"][name] for name in again} == again
    problem_of(await say(world, "correction", made["posting"]["id"]), "conflict")


async def test_a_label_of_the_yard_in_a_correction(told: Told) -> None:
    """A corrected price may be named by the yard's own label, as in any posting."""
    world = told.world
    id = (await three_prices(world))["id"]
    label = {"label": "#2 Cu", "price": "3.5", "currency": "USD", "per": "lb"}
    made = await said(world, "correction", id, lines=[2], prices=[label])
    assert made["posting"]["prices"][0]["grade"] == "copper-no2"


@pytest.mark.parametrize("kind", BODIES)
async def test_sent_again_it_is_said_once(told: Told, kind: str) -> None:
    """Under one Idempotency-Key the first answer comes again, and the ledger goes no further.

    The same key for another body, or another word, is refused; a refusal keeps no key.
    """
    world = told.world
    id = (await three_prices(world))["id"]
    first = await say(world, kind, id, lines=[1], Idempotency_Key=f"{kind}-1")
    assert first.status_code == 201
    revision = await world.revision()
    again = await say(world, kind, id, lines=[1], Idempotency_Key=f"{kind}-1")
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["idempotency-replayed"] == "true"
    assert again.headers.get("location") == first.headers.get("location")
    problem_of(await say(world, kind, id, lines=[2], Idempotency_Key=f"{kind}-1"), "idempotency-mismatch")
    other = "correction" if kind == "withdrawal" else "withdrawal"
    answer = await say(world, other, id, SPEAKERS[kind], lines=[1], Idempotency_Key=f"{kind}-1")
    problem_of(answer, "idempotency-mismatch")
    for _ in range(2):
        problem_of(await say(world, kind, id, lines=[7], Idempotency_Key=f"{kind}-2"), "invalid-request")
    assert await world.revision() == revision
    assert (await say(world, kind, id, lines=[2], Idempotency_Key=f"{kind}-2")).status_code == 201


@pytest.mark.parametrize("kind", BODIES)
async def test_said_at_once_it_is_said_once(told: Told, kind: str) -> None:
    """The same word sent four times at the same moment is stored once and refused three times."""
    world = told.world
    id = (await three_prices(world))["id"]
    await world.key(SPEAKERS[kind], role(SPEAKERS[kind]))
    revision = await world.revision()
    answers = await asyncio.gather(*[say(world, kind, id, lines=[2]) for _ in range(4)])
    assert sorted(answer.status_code for answer in answers) == [201, 409, 409, 409]
    assert await world.revision() == revision + 1
    assert len((await world.get(f"/v1/postings/{id}"))["words"]) == 1


@pytest.mark.parametrize("kind", BODIES)
async def test_a_long_posting(told: Told, kind: str) -> None:
    """A word about all 500 lines of a posting, named one by one, is stored in one revision."""
    world = told.world
    lines = [price("copper-no2", f"{n % 9 + 1}.{n:05}", from_weight=f"{n} lb") for n in range(1, 501)]
    id = (await world.post(*lines, who="wren", evidence="sign"))["id"]
    every = list(range(500, 0, -1))
    word = await said(world, kind, id, lines=every)
    assert (word.get("withdrawal") or word)["lines"] == every
    problem = problem_of(await say(world, kind, id, lines=[1]), "conflict")
    assert only(problem).pointer == "#/lines/0"
