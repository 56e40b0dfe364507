"""The feed of entries: all that was written, in order, each once, as the bytes that the tree is made of."""

from __future__ import annotations

import hashlib
import json
from decimal import Decimal
from itertools import product
from typing import Any, cast

import pytest
import rfc8785
from sqlalchemy import Table, insert, select
from tests.api import World, only, price, problem_of
from tests.ledger.listening import district

from gradewright.accounts.service import Role
from gradewright.core.merkle import leaf_hash
from gradewright.db.entries import canonical
from gradewright.db.leaves import LeafRow, seal
from gradewright.db.ledger import next_revision
from gradewright.ledger import feed as module
from gradewright.prices import entries as sealed
from gradewright.prices.models import EntryRow, PostingRow
from gradewright.web.preferring import preferred

__all__ = ["district"]


@pytest.fixture
def world(district: World) -> World:
    """The district of this module: what one test adds the next ones find."""
    return district


LINES = {"Accept": "application/x-ndjson"}
Entry = dict[str, Any]


async def lines_of(world: World, after: str = "0", **query: Any) -> tuple[list[bytes], str]:
    """The lines of a page of JSON Lines, and where it ends."""
    asked = {"after": after, **query}
    response = await world.client.get("/v1/ledger/entries", params=asked, headers=LINES)
    assert response.status_code == 200, response.text
    assert response.content == b"" or response.content.endswith(b"\n")
    return response.content.splitlines(), response.headers["ledger-upto"]


async def paged(world: World, limit: int, after: str = "0") -> list[bytes]:
    """All lines, page by page, the way that Link leads."""
    found: list[bytes] = []
    link: str | None = f"/v1/ledger/entries?after={after}&limit={limit}"
    while link is not None:
        response = await world.client.get(link, headers=LINES)
        page = response.content.splitlines()
        assert len(page) <= limit
        found += page
        link = response.links["next"]["url"] if "next" in response.links else None
    assert response.headers["ledger-upto"] == response.headers["ledger-newest"] == str(await world.revision())
    return found


async def speak_of_everything(world: World) -> dict[str, Any]:
    """Writes entries of the kinds that the district has none of: prices, later words, house rules."""
    posted = await world.post(
        price("copper-no2", "3.350", from_weight="100 lb"), price("copper-no1", "3.60"), note="„Schild“ ☂\n2"
    )
    path = f"/v1/postings/{posted['id']}"
    for kind, who, role, more in (
        ("confirmation", "heron", Role.MEMBER, {}),
        ("dispute", "plover", Role.MEMBER, {"lines": [2]}),
        ("decision", "sedge", Role.MAINTAINER, {"verdict": "accepted"}),
        ("withdrawal", "wren", Role.MEMBER, {"lines": [1]}),
    ):
        said = await world.send(f"{path}/{kind}", {"reason": f"because of {kind}", **more}, who, role)
        assert said.status_code == 201, said.text
    rules = {"reason": "the board says so", "limits": [{"limit": "heavy_steel_thickness", "value": "1/8 in"}]}
    for place in ("yards/cinder-lane", "regions/XO-FEN"):
        said = await world.send(f"/v1/{place}/house-rules", rules, "sedge", Role.MAINTAINER)
        assert said.status_code == 201, said.text
    return dict(posted)


async def test_everything_written_is_there_in_order(world: World) -> None:
    """Entries of all kinds come by their numbers without a gap, revisions by theirs, as they were written."""
    posted = await speak_of_everything(world)
    lines, upto = await lines_of(world)
    entries = [json.loads(line) for line in lines]
    assert upto == str(await world.revision())
    assert [entry["number"] for entry in entries] == list(range(len(entries)))
    places = [(entry["revision"], entry["line"]) for entry in entries]
    assert places == sorted(set(places))
    assert {revision for revision, _ in places} == set(range(1, await world.revision() + 1))
    kinds = {entry["kind"] for entry in entries}
    words = {"confirmation", "dispute", "decision", "withdrawal"}
    assert kinds >= {"rulebook", "region", "yard", "label", "refusal", "limit", "price", *words}
    told = [entry for entry in entries if entry.get("posting") == posted["id"]]
    prices = [entry for entry in told if entry["kind"] == "price"]
    assert [(each["grade"], each["price"], each["from_weight"], each["note"]) for each in prices] == [
        ("copper-no2", "3.350", "100 lb", "„Schild“ ☂\n2"),
        ("copper-no1", "3.60", None, "„Schild“ ☂\n2"),
    ]
    assert [(each["kind"], each["author"], each["about"], each["verdict"]) for each in told[2:]] == [
        ("confirmation", "heron", 1, None),
        ("confirmation", "heron", 2, None),
        ("dispute", "plover", 2, None),
        ("decision", "sedge", 1, "accepted"),
        ("decision", "sedge", 2, "accepted"),
        ("withdrawal", "wren", 1, None),
    ]
    yards = {entry["slug"] for entry in entries if entry["kind"] == "yard"}
    assert yards == {yard["slug"] for yard in (await world.get("/v1/yards"))["yards"]}


async def test_each_line_is_a_leaf(world: World) -> None:
    """Each line of JSON Lines is in the form of RFC 8785, and its RFC 6962 hash is the leaf of its number."""
    await world.post(price("copper-no2", "3.35"), note='<&>\u2028\U0001f527\\"')
    lines, _ = await lines_of(world)
    assert [rfc8785.dumps(json.loads(line)) for line in lines] == lines
    async with world.services.database.read() as session:
        leaves = list(await session.scalars(select(LeafRow.hash).order_by(LeafRow.number)))
    assert [hashlib.sha256(b"\0" + line).digest() for line in lines] == leaves


async def test_json_tells_the_same(world: World) -> None:
    """As JSON the entries are the same bytes, with where the page ends, and whether there is more."""
    newest = await world.revision()
    lines, _ = await lines_of(world)
    whole = await world.client.get("/v1/ledger/entries")
    assert whole.content == b'{"entries":[' + b",".join(lines) + b'],"newest":%d,"next":null,"upto":"%d"}' % (
        newest,
        newest,
    )
    page = await world.get("/v1/ledger/entries", after=2, limit=1)
    assert (page["upto"], page["next"], page["newest"]) == ("3", "3", newest)
    assert [entry["revision"] for entry in page["entries"]] == [3]


async def test_pages_make_the_whole(world: World) -> None:
    """Whatever the size of pages, together they are all entries once, and none is larger than asked for."""
    whole, _ = await lines_of(world)
    for limit in (1, 2, 3, 5000):
        assert await paged(world, limit) == whole


async def test_every_place_can_be_gone_on_from(world: World) -> None:
    """After each revision, and after each line of it, comes exactly what stands behind it."""
    whole, _ = await lines_of(world)
    entries = [json.loads(line) for line in whole]
    for (number, entry), limit in product(list(enumerate(entries, start=1))[-9:], (1, 2, 100)):
        inside = f"{entry['revision']}.{entry['line']}"
        found, upto = await lines_of(world, inside, limit=limit)
        assert found == whole[number:][: len(found)]
        assert bool(found) == (number < len(whole))
        last = json.loads(found[-1]) if found else entry
        assert upto in {f"{last['revision']}.{last['line']}", str(last["revision"])}


async def test_a_page_ends_with_a_revision(world: World) -> None:
    """A page is cut inside a revision only where that one has more entries than fit; else it ends before."""
    for _ in range(3):
        await world.post(price("copper-no1", "3.5"), price("copper-no2", "3.1"))
    newest = await world.revision()
    before = str(newest - 3)
    ends = [(1, f"{newest - 2}.1"), (2, newest - 2), (2, newest - 2), (4, newest - 1), (4, newest - 1)]
    for limit, (count, upto) in enumerate([*ends, (6, newest)], start=1):
        found, end = await lines_of(world, before, limit=limit)
        assert (len(found), end) == (count, str(upto))
    inside, end = await lines_of(world, f"{newest - 2}.1", limit=3)
    assert (len(inside), end) == (3, str(newest - 1))


async def test_what_others_wrote_is_there(world: World) -> None:
    """What another worker wrote comes with the next page, and `after` may name it at once."""
    async with world.another() as other:
        posting = await other.post(price("copper-no2", "3.35"))
    found, upto = await lines_of(world, str(posting["revision"] - 1))
    assert [json.loads(line)["posting"] for line in found] == [posting["id"]]
    assert await lines_of(world, upto) == ([], upto)


async def test_a_place_that_cannot_be_read_is_refused(world: World) -> None:
    """What is neither a revision nor one of its lines is refused with what to write."""
    for after in [
        "",
        "x",
        "-1",
        "1.0",
        "1.",
        ".1",
        "0.1",
        "1.1.1",
        "1e3",
        " 1",
        "9" * 16,
        "1." + "9" * 10,
        "٣",
    ]:
        response = await world.client.get("/v1/ledger/entries", params={"after": after})
        fault = only(problem_of(response, "invalid-request"))
        assert fault.parameter == "after"
        assert "312.500" in fault.detail


async def test_a_place_that_is_not_there_is_refused(world: World) -> None:
    """A revision that is still to come, or a line that its revision does not have, is another ledger's."""
    for after in ["999999", "999999.1", "1.2", "3.999"]:
        response = await world.client.get("/v1/ledger/entries", params={"after": after})
        assert only(problem_of(response, "invalid-request")).parameter == "after"


async def test_a_page_size_that_cannot_be_is_refused(world: World) -> None:
    """A page has 1 to 5,000 entries."""
    for limit in ["0", "5001", "-1", "x", ""]:
        response = await world.client.get("/v1/ledger/entries", params={"limit": limit})
        assert only(problem_of(response, "invalid-request")).parameter == "limit"


TYPES = [
    ("*/*", "application/json"),
    ("application/*", "application/json"),
    ("application/x-ndjson", "application/x-ndjson"),
    ("application/jsonl", "application/jsonl"),
    ("application/jsonl, application/problem+json", "application/json"),
    ("application/jsonl, application/problem+json;q=0.1", "application/jsonl"),
    ("application/jsonl;q=0.5, application/json", "application/json"),
    ("application/json;q=0.5, application/x-ndjson", "application/x-ndjson"),
    ("*/*;q=0.1, application/jsonl", "application/jsonl"),
]


async def test_the_type_is_the_one_preferred(world: World) -> None:
    """JSON, or JSON Lines under either name: what Accept gives the highest weight."""
    for accept, kind in TYPES:
        response = await world.client.get("/v1/ledger/entries", headers={"Accept": accept})
        assert (response.status_code, response.headers["content-type"]) == (200, kind), accept


async def test_other_types_are_not_to_be_had(world: World) -> None:
    """Who accepts neither is refused; HEAD and OPTIONS are answered as everywhere."""
    response = await world.client.get("/v1/ledger/entries", headers={"Accept": "text/csv"})
    assert only(problem_of(response, "not-acceptable")).header == "Accept"
    head = await world.client.head("/v1/ledger/entries", headers=LINES)
    whole = await world.client.get("/v1/ledger/entries", headers=LINES)
    assert (head.content, head.headers["content-length"]) == (b"", str(len(whole.content)))
    options = await world.client.options("/v1/ledger/entries")
    assert options.headers["allow"] == "GET, HEAD, OPTIONS"


@pytest.mark.parametrize(
    ("accept", "chosen"),
    [("", "a/b"), ("c/d", "c/d"), ("*/*", "a/b"), ("a/b;q=0.2, c/*;q=0.3", "c/d"), ("a/b;q=0, */*", "c/d"),
     ("c/d;q=nonsense, a/b;q=0.9", "c/d")],
)  # fmt: skip
def test_the_most_precise_range_weighs(accept: str, chosen: str) -> None:
    """Of two types the one with the higher weight, by the most precise range that has it (RFC 9110)."""
    assert preferred(accept, ("a/b", "c/d")) == chosen


async def test_a_revision_larger_than_a_page(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """A revision of 10,000 entries comes page by page, in order; it is not read again for each page."""
    before = await world.revision()
    database = world.services.database
    (author,) = {
        entry["author"] for entry in map(json.loads, (await lines_of(world))[0]) if entry.get("slug")
    }
    async with database.write() as session:
        taken = await next_revision(session, world.clock())
        row = PostingRow(
            id="p-large", revision=taken.number, yard="low-quay", author=author, note=None,
            observed_on=world.clock().date(), evidence="sign", recorded_at=taken.recorded_at,
        )  # fmt: skip
        session.add(row)
        await session.flush()
        copied = {"posting": row.id, "yard": row.yard, "author": author, "observed_on": row.observed_on}
        copied |= {"revision": taken.number, "grade": "copper-no2"}
        seen = {"evidence": "sign", "currency": "USD", "per": "lb", "label": None, "kind": "price"}
        prices = [
            {**copied, **seen, "line": line, "price": Decimal(line), "from_weight": f"{line} lb"}
            for line in range(1, 10_001)
        ]
        await session.execute(insert(cast("Table", EntryRow.__table__)), prices)
        entries = [EntryRow(**each) for each in prices]
        await seal(session, taken, sealed.prices_written(row, entries))
    reads = 0
    read = module.entries_between

    async def counted(*arguments: Any) -> list[Entry]:
        nonlocal reads
        reads += 1
        return await read(*arguments)

    monkeypatch.setattr(module, "entries_between", counted)
    found = await paged(world, 900, str(before))
    assert [json.loads(line)["line"] for line in found] == list(range(1, 10_001))
    assert reads == 2  # for the pages inside, and for the last one
    monkeypatch.undo()
    async with database.read() as session:
        wanted = [canonical(entry) for entry in await read(session, before, before + 1)]
        leaves = list(
            await session.scalars(select(LeafRow.hash).order_by(LeafRow.number.desc()).limit(10_000))
        )
    assert found == wanted
    assert [leaf_hash(line) for line in found] == leaves[::-1]
    tail, upto = await lines_of(world, f"{before + 1}.9999", limit=5)
    assert (len(tail), upto) == (1, str(before + 1))
