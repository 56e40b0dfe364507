"""Following the ledger: one loop that loses nothing, whatever happens to the service meanwhile."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import aclosing
from datetime import UTC, date, datetime
from decimal import Decimal
from itertools import islice
from typing import Any

import pytest
import rfc8785

import gradewright_sdk as gw
from gradewright.core.merkle import leaf_hash
from gradewright_sdk import Client, Retry
from gradewright_sdk._following import Deliver, EntryPage, Following, Listen, Outcome, Read, Step, ids
from gradewright_sdk._retry import Wait
from gradewright_sdk.resources.ledger import follow_ledger
from gradewright_sdk.testing import FakeGradewright

Json = dict[str, Any]
ALWAYS = Retry(random=lambda: 1.0)


def region(number: int, revision: int, line: int = 1, **more: Any) -> Json:
    """A region's entry."""
    return {
        "number": number,
        "revision": revision,
        "line": line,
        "kind": "region",
        "recorded_at": "2026-05-04T09:12:00.000001Z",
        "code": f"XO-{number}",
        "name": "Kelder Bay",
        "parent": "XO",
        "currency": "USD",
        "unit": "lb",
        "author": None,
        **more,
    }


def sets_page(fake: FakeGradewright, entries: list[Json], upto: str, newest: int, **more: Any) -> None:
    """Sets a page of JSON Lines as the answer."""
    body = b"".join(rfc8785.dumps(entry) + b"\n" for entry in entries)
    headers = {"Content-Type": "application/x-ndjson", "Ledger-Upto": upto, "Ledger-Newest": str(newest)}
    fake.answer("GET", "/v1/ledger/entries", body, headers=headers, **more)


def entry(number: int, revision: int, line: int = 1) -> gw.LedgerEntry:
    """An entry as the client reads it."""
    return gw.LedgerEntry.model_validate(region(number, revision, line))


def page(upto: str, newest: int, *entries: gw.LedgerEntry) -> EntryPage:
    """A page as the client reads it."""
    return EntryPage(entries, upto, newest)


def after(call: gw._base.Call[Any]) -> str:
    """What a call asks for."""
    return dict(call.query)["after"]


def play(following: Following[Any], *outcomes: Outcome | type[Deliver] | type[Wait]) -> list[Step]:
    """The steps, where these things come of them; of Deliver and Wait nothing comes."""
    steps = following.steps(ALWAYS)
    told = [next(steps)]
    for outcome in outcomes:
        if isinstance(outcome, type):
            assert isinstance(told[-1], outcome)
        told.append(steps.send(None if isinstance(outcome, type) else outcome))
    return told


LOST = gw.ConnectionFailed("http://test", "refused")


def test_goes_on_behind_what_it_has() -> None:
    """Pages are read until there is no more, then it listens from where it is; a higher id makes it read."""
    told = play(
        follow_ledger(after=3),
        page("5.1", 6, entry(7, 5)), Deliver, page("6", 6, entry(8, 5, 2)), Deliver,
        6, 9, page("9", 9, entry(9, 9)), Deliver,
    )  # fmt: skip
    asked = [(type(step), after(step.call)) for step in told if isinstance(step, Read | Listen)]
    assert asked == [(Read, "3"), (Read, "5.1"), (Listen, "6"), (Listen, "6"), (Read, "6"), (Listen, "9")]


def test_a_worker_that_is_behind_is_asked_again() -> None:
    """Where the stream told of a revision that the page does not have yet, it asks again, ever later."""
    told = play(follow_ledger(after=3), page("3", 3), 5, page("3", 3), Wait, page("4", 4), Wait)
    assert [step.seconds for step in told if isinstance(step, Wait)] == [0.25, 0.5]
    assert [after(step.call) for step in told if isinstance(step, Read)] == ["3", "3", "3", "4"]


def test_a_lost_service_is_waited_for() -> None:
    """After the first contact faults that pass are told, waited out ever longer, and forgotten."""
    told: list[gw.GradewrightError] = []
    busy = gw.ServerError("busy", status=503, retry_after=5.0)
    steps = play(
        follow_ledger(after="3.2", on_trouble=told.append),
        page("4", 4), LOST, Wait, LOST, Wait, busy, Wait, page("4", 4), None, Wait, page("4", 4),
    )  # fmt: skip
    assert [step.seconds for step in steps if isinstance(step, Wait)] == [0.25, 0.25, 5.0, 0.5]
    assert told == [LOST, LOST, busy]
    assert isinstance(steps[-1], Listen)


@pytest.mark.parametrize("error", [LOST, gw.InvalidRequest("no", status=422), gw.TimedOut("http://test", 1)])
def test_the_first_question_has_to_be_answered(error: gw.GradewrightError) -> None:
    """Where nobody sensible answers the first time, that is raised: the address may be wrong."""
    with pytest.raises(type(error)):
        play(follow_ledger(after=3), error)


@pytest.mark.parametrize("listening", [False, True])
def test_another_ledger_is_not_followed(listening: bool) -> None:
    """A service that has not reached what was followed, as one set back to an older copy, is told."""
    older = gw.InvalidRequest("The ledger has not reached revision 4", status=422)
    before = [page("4", 4), 6] if not listening else [page("4", 4)]
    with pytest.raises(gw.InvalidRequest):
        play(follow_ledger(after=4), *before, older)


def test_a_gap_is_told() -> None:
    """An entry whose number does not follow that of the last one is not handed out."""
    with pytest.raises(gw.UnexpectedAnswer, match="entry 9 came where entry 8 was due"):
        play(follow_ledger(after=3), page("4", 5, entry(7, 4)), Deliver, page("5", 5, entry(9, 5)))


@pytest.mark.parametrize(
    "error",
    [gw.NotFound("no", status=404), gw.UnexpectedAnswer("a page", url="http://test", status=200)],
)
def test_without_a_stream_it_asks(error: gw.GradewrightError) -> None:
    """Where there is no stream of events it asks every few seconds instead."""
    told = play(follow_ledger(after=3, poll_seconds=7), page("3", 3), error, Wait, page("3", 3), Wait)
    assert [step.seconds for step in told if isinstance(step, Wait)] == [7, 7]
    assert sum(isinstance(step, Listen) for step in told) == 1


def test_from_now_on() -> None:
    """With after=None it begins behind the newest, and nothing older is handed out."""
    told = play(follow_ledger(after=None), page("1.1", 8, entry(0, 1)), page("8", 8))
    assert [after(step.call) for step in told if isinstance(step, Read | Listen)] == ["0", "8", "8"]


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("id: 12", 12),
        ("id:12", 12),
        ("id: x", None),
        (": id: 3", None),
        ("data: 5", None),
        ("id", None),
        ("", None),
    ],
)
def test_ids_are_read_from_lines(line: str, found: int | None) -> None:
    """Only a line that sets the id counts, and only an id that is a revision."""
    assert ids(line) == found


def test_entries_go_through_all_pages(fake: FakeGradewright, client: Client) -> None:
    """client.ledger.entries gives the entries of all pages, each with its bytes, leaf and position."""
    sets_page(fake, [region(2, 3)], "3", 3)
    sets_page(fake, [region(0, 2), region(1, 2, 2, unit="„kg“")], "2", 3, times=1)
    found = list(client.ledger.entries(after=1, page_size=2))
    assert [each.position for each in found] == ["2.1", "2.2", "3.1"]
    assert found[1].raw == rfc8785.dumps(region(1, 2, 2, unit="„kg“"))
    assert found[1].leaf == leaf_hash(found[1].raw)
    assert found[1].members["unit"] == "„kg“"
    assert [request.query for request in fake.requests] == [
        {"after": "1", "limit": "2"},
        {"after": "2", "limit": "2"},
    ]
    assert fake.requests[0].headers["accept"].startswith("application/x-ndjson")


def test_follow_listens_between_pages(fake: FakeGradewright, client: Client) -> None:
    """The stream is opened once all is read, and read again when it tells of more."""
    sets_page(fake, [region(1, 3)], "3", 3)
    sets_page(fake, [region(0, 2)], "2", 2, times=1)
    stream = b"retry: 1000\nid: 2\n\n:\n\nid: 3\nevent: revision\ndata: {}\n\n"
    fake.answer("GET", "/v1/events", stream, headers={"Content-Type": "text/event-stream"})
    assert [each.position for each in islice(client.ledger.follow(after=1), 2)] == ["2.1", "3.1"]
    assert [(each.path, each.query["after"]) for each in fake.requests] == [
        ("/v1/ledger/entries", "1"),
        ("/v1/events", "2"),
        ("/v1/ledger/entries", "2"),
    ]


async def test_the_async_client_follows_alike(fake: FakeGradewright) -> None:
    """`async for` does the same; what answers in place of a stream is told as what it is."""
    sets_page(fake, [region(1, 3)], "3", 3)
    sets_page(fake, [region(0, 2)], "2", 2, times=1)
    fake.problem("GET", "/v1/events", "unavailable", times=1)
    told: list[gw.GradewrightError] = []
    async with fake.async_client() as client:
        found = []
        async with aclosing(client.ledger.follow(after=1, on_trouble=told.append)) as entries:  # type: ignore[type-var]
            async for each in entries:
                found.append(each.position)
                if len(found) == 2:
                    break
    assert found == ["2.1", "3.1"]
    assert [type(error) for error in told] == [gw.ServerError]
    assert fake.waits == [0.25]


KIND = {"Content-Type": "application/x-ndjson"}
ENDS = {"Ledger-Upto": "1", "Ledger-Newest": "1"}


@pytest.mark.parametrize(
    ("body", "headers", "why"),
    [
        (b"{}", {"Content-Type": "application/json", **ENDS}, "not application/x-ndjson"),
        (b"[]\n", KIND, "where it ends"),
        (b"nonsense\n", {**KIND, **ENDS}, "not JSON"),
        (b'{"kind":"region"}\n', {**KIND, **ENDS}, "number"),
    ],
)
def test_what_is_no_page_is_told(
    fake: FakeGradewright, client: Client, body: bytes, headers: dict[str, str], why: str
) -> None:
    """An answer that is not a page of entries says what it lacks."""
    fake.answer("GET", "/v1/ledger/entries", body, headers=headers)
    with pytest.raises(gw.UnexpectedAnswer, match=why):
        list(client.ledger.entries())


PRICE = {
    **{name: region(4, 7)[name] for name in ("number", "revision", "line", "recorded_at", "currency")},
    "kind": "price",
    "posting": "p-1",
    "yard": "low-quay",
    "author": "wren",
    "observed_on": "2026-05-03",
    "evidence": "sign",
    "note": None,
    "grade": "copper-no2",
    "label": "#2 Cu",
    "price": "3.350",
    "per": "lb",
    "from_weight": "100 lb",
}
NEWER = {
    **{name: region(5, 8)[name] for name in ("number", "revision", "line", "recorded_at")},
    "kind": "moon",
    "phase": 3,
}


def test_entries_are_typed_by_their_kind(fake: FakeGradewright, client: Client) -> None:
    """A price is exact and has its currency; a kind that is not known yet still has all its members."""
    sets_page(fake, [PRICE, NEWER], "8", 8)
    price, newer = client.ledger.entries(after=6)
    assert isinstance(price, gw.PriceEntry)
    assert (price.price, price.per, price.observed_on) == (
        gw.Money(Decimal("3.350"), "USD"),
        "lb",
        date(2026, 5, 3),
    )
    assert price.recorded_at == datetime(2026, 5, 4, 9, 12, 0, 1, UTC)
    assert type(newer) is gw.LedgerEntry
    assert newer.members["phase"] == 3


def test_the_command_prints_a_line_for_each(fake: FakeGradewright, run: Callable[..., Any]) -> None:
    """`follow` prints a readable line for each entry, with --json its canonical form; an error ends it."""
    word = {
        **PRICE,
        "kind": "decision",
        "line": 2,
        "number": 5,
        "about": 1,
        "verdict": "rejected",
        "reason": "a\nb\x1b[2J",
    }
    sets_page(fake, [PRICE, word, {**NEWER, "number": 6}], "8", 8, times=1)
    fake.problem("GET", "/v1/events", "invalid-request")
    done = run("follow", "--after", "6")
    lines = done.stdout.splitlines()
    assert " ".join(lines[0].split()) == (
        '7.1 2026-05-04 09:12:00Z price low-quay: copper-no2 as "#2 Cu" 3.350 USD per lb from 100 lb '
        "(sign of 2026-05-03, wren, p-1)"
    )
    assert lines[1].endswith("p-1 line 1 rejected, by wren: a b [2J")
    assert lines[2].endswith("moon          phase 3")
    assert done.exit_code == 1
    sets_page(fake, [PRICE], "8", 8, times=1)
    assert run("follow", "--after", "6", "--json").stdout.encode() == rfc8785.dumps(PRICE) + b"\n"
    assert run("follow", "--after", "yesterday").exit_code == 2
