"""Benchmarks: made once, filled from files, corrected without anything being lost."""

from __future__ import annotations

import asyncio
import csv
import io
from typing import Any

import pytest

from gradewright.accounts.service import Role
from tests.api import World, problem_of, where
from tests.benchmarks.keeping import COPPER, keep, make, send


async def test_a_benchmark_is_made_and_read(world: World) -> None:
    """It has the next revision, and no values yet; its unit is kept by its symbol."""
    before = await world.revision()
    made = await make(world, unit="tonne")
    assert made.status_code == 201, made.text
    assert made.headers["location"] == "/v1/benchmarks/copper"
    told = {**COPPER, "unit": "t", "revision": before + 1, "days": 0, "first": None, "last": None}
    assert made.json() == told
    assert (await world.get("/v1/benchmarks")) == {"benchmarks": [told]}
    one = await world.get("/v1/benchmarks/copper")
    assert one == {**told, "known_at": before + 1, "values": []}


async def test_an_index_has_neither_currency_nor_unit(world: World) -> None:
    """Points are in nothing; a unit alone says nothing of the money."""
    made = await make(world, currency=None, unit=None)
    assert (made.status_code, made.json()["currency"], made.json()["unit"]) == (201, None, None)
    refused = problem_of(await make(world, slug="tin", currency=None), "invalid-request")
    assert where(refused) == ["#/currency"]
    refused = problem_of(await make(world, slug="tin", unit=None), "invalid-request")
    assert where(refused) == ["#/unit"]


async def test_a_benchmark_is_made_once(world: World) -> None:
    """A name that is taken stays as it is."""
    await make(world)
    problem_of(await make(world, name="Other"), "conflict", 409)
    assert (await world.get("/v1/benchmarks/copper"))["name"] == "Copper"


@pytest.mark.parametrize(
    ("changed", "pointer"),
    [
        ({"slug": "Copper Price"}, "#/slug"),
        ({"currency": "USX"}, "#/currency"),
        ({"unit": "ton"}, "#/unit"),
        ({"source": ""}, "#/source"),
        ({"colour": "red"}, "#/colour"),
    ],
)
async def test_what_cannot_be_a_benchmark(world: World, changed: dict[str, Any], pointer: str) -> None:
    """Each fault is pointed at, and nothing is made."""
    assert where(problem_of(await make(world, **changed), "invalid-request")) == [pointer]
    assert (await world.get("/v1/benchmarks"))["benchmarks"] == []


async def test_members_keep_no_benchmarks(world: World) -> None:
    """Only maintainers make them and add to them."""
    await make(world)
    problem_of(await world.send("/v1/benchmarks", {**COPPER, "slug": "tin"}, "wren"), "forbidden", 403)
    headers = {**await world.key("wren"), "Content-Type": "text/csv"}
    path = "/v1/benchmarks/copper/values"
    sent = await world.client.post(path, content=b"date,value\n2026-05-01,1\n", headers=headers)
    problem_of(sent, "forbidden", 403)


async def test_a_file_is_taken_whole_and_again(world: World) -> None:
    """New days are added, the same value again changes nothing, another one corrects: and all stays known."""
    await make(world)
    first = await send(world, "date,value,currency,unit\n2026-04-30,9380.00,USD,t\n2026-05-01,9400,,\n")
    assert first.status_code == 201, first.text
    assert {k: first.json()[k] for k in ("new", "changed", "same", "dry_run")} == {
        "new": 2, "changed": 0, "same": 0, "dry_run": False,
    }  # fmt: skip
    at = first.json()["revision"]
    again = await send(world, "date,value\n2026-04-30,9380\n2026-05-01,9410\n2026-05-04,9450\n")
    assert again.status_code == 201
    assert [(c["line"], c["date"], c["change"], c["before"]) for c in again.json()["changes"]] == [
        (3, "2026-05-01", "changed", "9400"), (4, "2026-05-04", "new", None),
    ]  # fmt: skip
    assert again.json()["same"] == 1
    now = await world.get("/v1/benchmarks/copper")
    assert [v["value"] for v in now["values"]] == ["9380.00", "9410", "9450"]
    assert (now["days"], now["first"]["date"], now["last"]["value"]) == (3, "2026-04-30", "9450")
    then = await world.get("/v1/benchmarks/copper", known_at=at)
    assert [v["value"] for v in then["values"]] == ["9380.00", "9400"]
    span = await world.get("/v1/benchmarks/copper", from_="2026-05-01", to="2026-05-03")
    assert [v["date"] for v in span["values"]] == ["2026-05-01"]


async def test_nothing_new_takes_no_revision(world: World) -> None:
    """A file in which nothing is new is answered 200, and the ledger stays where it is."""
    await make(world)
    at = await keep(world, {"2026-05-01": "9400"})
    again = await send(world, "date;value\r\n2026-05-01;9400.00\r\n")
    assert (again.status_code, again.json()["revision"], again.json()["same"]) == (200, None, 1)
    assert await world.revision() == at


async def test_a_dry_run_stores_nothing(world: World) -> None:
    """It tells what would change, and nothing does."""
    await make(world)
    before = await world.revision()
    told = await send(world, "date,value\n2026-05-01,9400\n", dry_run=True)
    assert (told.status_code, told.json()["new"], told.json()["dry_run"]) == (200, 1, True)
    assert await world.revision() == before
    assert (await world.get("/v1/benchmarks/copper"))["values"] == []


async def test_json_lines_are_taken_too(world: World) -> None:
    """The same columns, one object a line."""
    await make(world)
    text = '{"date":"2026-05-01","value":"9400","currency":"USD"}\n'
    assert (await send(world, text, media="application/x-ndjson")).status_code == 201
    assert (await world.get("/v1/benchmarks/copper"))["last"] == {"date": "2026-05-01", "value": "9400"}


async def test_a_number_in_json_lines_is_one_fault(world: World) -> None:
    """A value that is no text is told as that, and a day that is not there as missing."""
    await make(world)
    text = '{"date":"2026-05-01","value":9400}\n{"value":9400}\n9400\n'
    problem = problem_of(await send(world, text, media="application/x-ndjson"), "invalid-request")
    assert where(problem) == ["#/lines/1/value", "#/lines/2/value", "#/lines/2/date", "#/lines/3"]


FAULTY = [
    ("2026-05-05,9400,,", "#/lines/2/date", "has not come yet"),
    ("2026-05-01,9400,EUR,", "#/lines/2/currency", "kept in USD per t, not in EUR"),
    ("2026-05-01,9400,,kg", "#/lines/2/unit", "kept in USD per t, not per kg"),
    ("2026-05-01,9400,,ton", "#/lines/2/unit", "short ton"),
    ("2026-05-01,0,,", "#/lines/2/value", "above zero"),
    ("2026-05-01,-3,,", "#/lines/2/value", "above zero"),
    ('2026-05-01,"9400,50",,', "#/lines/2/value", "has a comma"),
    ("2026-05-01,$9400,,", "#/lines/2/value", "is not a number"),
    ("1 May,9400,,", "#/lines/2/date", "YYYY-MM-DD"),
    (",9400,,", "#/lines/2/date", "missing"),
    ("2026-05-01,,,", "#/lines/2/value", "missing"),
    ("2026-05-01,27000,,", "#/lines/2/value", "far off the value before it, 9000 of 2026-04-02"),
    ("2026-05-01,3000,,", "#/lines/2/value", "far_off=true"),
]


@pytest.mark.parametrize(("line", "pointer", "says"), FAULTY, ids=[line for line, _, _ in FAULTY])
async def test_a_faulty_line_is_pointed_at(world: World, line: str, pointer: str, says: str) -> None:
    """Each fault by its line and column; the good line beside it is not stored either."""
    await make(world)
    at = await keep(world, {"2026-04-01": "9000"})
    text = f"date,value,currency,unit\n{line}\n2026-04-02,9000,,\n"
    refused = problem_of(await send(world, text), "invalid-request")
    assert where(refused) == [pointer]
    assert refused.errors is not None
    assert says in refused.errors[0].detail
    assert "Nothing was stored" in refused.detail
    assert await world.revision() == at


async def test_how_many_more_faults_there_are_is_told(world: World) -> None:
    """In the sentence the first, and how many more; each by itself below."""
    await make(world)
    faulty = "2026-02-30,1,,\n2026-02-31,1,,\n2026-02-32,1,,\n"
    for rows, more in ((faulty, " (and 2 more)"), (faulty.partition("\n")[0], "")):
        refused = problem_of(await send(world, f"date,value,currency,unit\n{rows}"), "invalid-request")
        assert refused.detail.endswith(f"Nothing was stored.{more}")
        assert len(where(refused)) == (3 if more else 1)


async def test_a_value_is_held_against_both_neighbours(world: World) -> None:
    """A day before the first one is looked at beside it; a jump inside a file is told once."""
    await make(world)
    await keep(world, {"2026-05-01": "9450"})
    refused = problem_of(await send(world, "date,value\n2026-04-01,90.00\n"), "invalid-request")
    assert "far off the value after it, 9450 of 2026-05-01" in refused.detail
    refused = problem_of(
        await send(world, "date,value\n2026-04-01,3000\n2026-04-02,9400\n"), "invalid-request"
    )
    assert where(refused) == ["#/lines/3/value"]
    assert (await send(world, "date,value\n2026-04-01,7000\n2026-05-01,9451\n")).status_code == 201


async def test_the_same_file_at_the_same_time_counts_once(world: World) -> None:
    """Six who send it at once, two workers: one stores it, the others have nothing new or are told to send it
    again, and each day has one value."""
    await make(world)
    text = "date,value\n2026-04-30,9380.00\n2026-05-01,9400\n"
    async with world.another() as other:
        sent = [send(at, text) for at in (world, other, world, other, world, other)]
        answers = [response.status_code for response in await asyncio.gather(*sent)]
    assert answers.count(201) == 1
    assert set(answers) <= {200, 201, 409}
    page = await world.get("/v1/ledger/entries", after=0)
    assert sum(entry["kind"] == "reading" for entry in page["entries"]) == 2


async def test_far_off_values_can_be_meant(world: World) -> None:
    """Said so, a value that is three times the one before it is taken."""
    await make(world)
    await keep(world, {"2026-04-01": "9000"})
    assert (await send(world, "date,value\n2026-05-01,27000\n", far_off=True)).status_code == 201


async def test_a_day_stands_once_in_a_file(world: World) -> None:
    """Which of two values of one day would be meant cannot be told."""
    await make(world)
    refused = problem_of(
        await send(world, "date,value\n2026-05-01,9400\n2026-05-01,9401\n"), "invalid-request"
    )
    assert where(refused) == ["#/lines/3/date"]


async def test_files_without_their_columns_are_refused(world: World) -> None:
    """What is missing is named."""
    await make(world)
    refused = problem_of(await send(world, "day,price\n2026-05-01,9400\n"), "invalid-request")
    assert "date, value, currency, unit" in refused.detail
    refused = problem_of(await send(world, "date,unit\n2026-05-01,t\n"), "invalid-request")
    assert "no column value" in refused.detail


async def test_an_export_is_what_is_imported(world: World) -> None:
    """As CSV its values come in the form in which they are taken: sent again, nothing is new."""
    await make(world)
    await keep(world, {"2026-04-30": "9380.00", "2026-05-01": "9400"})
    response = await world.client.get("/v1/benchmarks/copper", headers={"Accept": "text/csv"})
    assert response.headers["content-type"].startswith("text/csv")
    rows = list(csv.DictReader(io.StringIO(response.text)))
    assert rows[0] == {"date": "2026-04-30", "value": "9380.00", "currency": "USD", "unit": "t"}
    again = await send(world, response.text)
    assert (again.status_code, again.json()["same"]) == (200, 2)
    refused = await world.client.get("/v1/benchmarks/copper?format=csv", headers={"Accept": "image/png"})
    problem_of(refused, "not-acceptable", 406)


async def test_an_unknown_benchmark_is_suggested(world: World) -> None:
    """What is near comes back; at an older revision it was not there."""
    await make(world)
    refused = problem_of(await world.client.get("/v1/benchmarks/cooper"), "unknown-benchmark", 404)
    assert refused.errors is not None
    assert refused.errors[0].suggestions == ["copper"]
    problem_of(await send(world, "date,value\n2026-05-01,1\n", "cooper"), "unknown-benchmark", 404)
    at = await world.revision() - 1
    problem_of(await world.client.get(f"/v1/benchmarks/copper?known_at={at}"), "unknown-benchmark", 404)


async def test_a_repetition_under_a_key_is_done_once(world: World) -> None:
    """Sent twice under one Idempotency-Key, values are recorded once, and the answer is the same."""
    await make(world)
    headers = {
        **await world.key("sedge", Role.MAINTAINER), "Content-Type": "text/csv", "Idempotency-Key": '"k1"',
    }  # fmt: skip
    path, body = "/v1/benchmarks/copper/values", b"date,value\n2026-05-01,9400\n"
    first = await world.client.post(path, content=body, headers=headers)
    again = await world.client.post(path, content=body, headers=headers)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert await world.revision() == first.json()["revision"]


async def test_its_values_are_entries_of_the_ledger(world: World) -> None:
    """Benchmark and values stand in the feed, each a leaf of the tree."""
    await make(world)
    at = await keep(world, {"2026-05-01": "9400", "2026-04-30": "9380.00"})
    page = await world.get("/v1/ledger/entries", after=at - 2)
    told = [{k: e[k] for k in e if k not in {"number", "recorded_at", "author"}} for e in page["entries"]]
    reading = {"kind": "reading", "revision": at, "benchmark": "copper"}
    assert told == [
        {"kind": "benchmark", "revision": at - 1, "line": 1, **COPPER},
        {**reading, "line": 1, "date": "2026-04-30", "value": "9380.00"},
        {**reading, "line": 2, "date": "2026-05-01", "value": "9400"},
    ]
    assert {entry["author"] for entry in page["entries"]} == {"sedge"}
