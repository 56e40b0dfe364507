"""Whole lists through the SDK and its command line, against the stand-in."""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk import Client, InvalidRequest, Money, PriceSeen, UnexpectedAnswer, UnknownGrade
from gradewright_sdk.testing import FakeGradewright, samples

LISTS = "/v1/yards/low-quay/lists"
CSV = b"label;price\r\n#2 Cu;3.35\r\n"
UPLOAD = ["--yard", "low-quay", "--observed-on", "2026-05-04"]
UNKNOWN: dict[str, Any] = {
    "line": 3,
    "label": "#2Cu",
    "grade": None,
    "price": None,
    "currency": None,
    "per": None,
    "by": None,
    "percent": None,
    "before": None,
    "faults": [{"column": "label", "detail": "'#2Cu' is not a label of low-quay.", "suggestions": ["#2 Cu"]}],
    "near": [{"kind": "label", "written": "#2 Cu", "grade": "copper-no2"}],
}
GONE: dict[str, Any] = {
    "line": None,
    "grade": "tin",
    "label": None,
    "price": None,
    "currency": None,
    "by": None,
    "percent": None,
}


def words(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize(
    ("lines", "media", "content"),
    [
        (CSV, "text/csv", CSV),
        (CSV.decode(), "text/csv", CSV),
        (b'\xef\xbb\xbf {"label": "#2 Cu"}', "application/x-ndjson", b'\xef\xbb\xbf {"label": "#2 Cu"}'),
        (
            [{"label": "½", "price": "3.35"}, PriceSeen("4.10", "USD", "lb", grade="tin")],
            "application/x-ndjson",
            '{"label": "½", "price": "3.35"}\n'
            '{"price": "4.10", "currency": "USD", "per": "lb", "grade": "tin"}\n'.encode(),
        ),
    ],
    ids=["bytes", "text", "json-lines", "prices"],
)
def test_a_list_is_sent_as_it_is(
    fake: FakeGradewright, client: Client, lines: Any, media: str, content: bytes
) -> None:
    """Files go out byte for byte under their type, prices as JSON Lines without what they do not say."""
    fake.answer("POST", LISTS, samples.list_compared())
    client.lists.upload("low-quay", lines, observed_on="2026-05-04", evidence="sign", note="a & b")
    (sent,) = fake.requests
    assert (sent.content, sent.headers["content-type"]) == (content, media)
    assert sent.query == {"observed_on": "2026-05-04", "evidence": "sign", "note": "a & b"}
    assert len(sent.headers["idempotency-key"]) == 32


def test_a_file_may_be_given_by_its_path_or_open(
    fake: FakeGradewright, client: Client, tmp_path: Path
) -> None:
    """It is sent as it stands; the name of one alone, which would be sent as if it were one, is refused."""
    file = tmp_path / "list.csv"
    file.write_bytes(CSV if isinstance(CSV, bytes) else CSV.encode())
    fake.answer("POST", LISTS, samples.list_compared())
    seen: dict[str, Any] = {"observed_on": "2026-05-04", "evidence": "sign"}
    with file.open("rb") as raw, file.open(encoding="utf-8", newline="") as text:
        for given in (file, raw, text):
            client.lists.upload("low-quay", given, **seen)
    assert {sent.content for sent in fake.requests} == {file.read_bytes()}
    with pytest.raises(ValueError, match=r"give Path\('list.csv'\)"):
        client.lists.upload("low-quay", "list.csv", **seen)
    with pytest.raises(FileNotFoundError):
        client.lists.upload("low-quay", tmp_path / "none.csv", **seen)
    assert len(fake.requests) == 3


def test_a_dry_run_is_repeated_without_a_key(fake: FakeGradewright, client: Client) -> None:
    """A dry run writes nothing: it has no Idempotency-Key, and is sent again when the connection is lost."""
    fake.answer("POST", LISTS, samples.list_compared())
    fake.lose("POST", LISTS, times=1)
    found = client.lists.upload(
        "low-quay", CSV, observed_on="2026-05-04", evidence="sign", dry_run=True, format="csv"
    )
    assert (found.dry_run, found.can_be_stored, found.posting) == (True, True, None)
    assert [sent.query["dry_run"] for sent in fake.requests] == ["true", "true"]
    assert "idempotency-key" not in fake.requests[0].headers


def test_changes_are_typed(fake: FakeGradewright, client: Client) -> None:
    """Prices and differences are money, and a line without a price has none."""
    fake.answer(
        "POST",
        LISTS,
        samples.list_compared(
            samples.list_change(),
            samples.list_change("unknown", **UNKNOWN),
            samples.list_change("gone", **GONE),
        ),
    )
    found = client.lists.upload("low-quay", CSV, observed_on="2026-05-04", evidence="sign", dry_run=True)
    raised, unknown, gone = found.lines
    assert (raised.price, raised.by) == (Money(Decimal("3.35"), "USD"), Money(Decimal("0.05"), "USD"))
    assert raised.before is not None
    assert raised.before.price == Money(Decimal("3.30"), "USD")
    assert (unknown.price, unknown.near[0].written) == (None, "#2 Cu")
    assert (gone.line, gone.before is not None) == (None, True)
    assert (found.counts.raised, found.counts.unknown, found.counts.gone) == (1, 1, 1)


def test_faults_point_at_lines(fake: FakeGradewright, client: Client) -> None:
    """A refusal is an error of its kind with a pointer to every line."""
    errors = [{"detail": "no", "pointer": "#/lines/7/label", "suggestions": ["#2 Cu"]}]
    fake.problem("POST", LISTS, "unknown-grade", errors=errors)
    with pytest.raises(UnknownGrade) as caught:
        client.lists.upload("low-quay", CSV, observed_on="2026-05-04", evidence="sign")
    assert [fault.pointer for fault in caught.value.errors] == ["#/lines/7/label"]


def test_export(fake: FakeGradewright, client: Client) -> None:
    """The file comes byte for byte, with the revision that it is known at; it is asked for as what it is."""
    fake.answer("GET", LISTS, CSV, headers={"Content-Type": "text/csv", "Known-At": "312"})
    found = client.lists.export("low-quay", on="2026-05-04", known_at=312)
    assert (found.content, found.text, found.known_at) == (CSV, CSV.decode(), 312)
    assert fake.requests[0].query == {"on": "2026-05-04", "known_at": "312", "format": "csv"}
    assert fake.requests[0].headers["accept"].startswith("text/csv,")


def test_an_export_of_something_else(fake: FakeGradewright, client: Client) -> None:
    """An answer that names no revision is not a list of the service."""
    fake.answer("GET", LISTS, b"<html>", headers={"Content-Type": "text/html"})
    with pytest.raises(UnexpectedAnswer, match="which revision"):
        client.lists.export("low-quay")


def test_a_format_that_is_none(client: Client) -> None:
    """An unknown format is told before anything is sent."""
    with pytest.raises(ValueError, match="csv or jsonl, not as 'xlsx'"):
        client.lists.export("low-quay", format="xlsx")


def test_all_prices_of_a_long_posting(fake: FakeGradewright, client: Client) -> None:
    """The prices of a posting come page by page, each page from the line that the one before names."""
    (price,) = samples.posting()["prices"][:1]

    def page(request: Any) -> dict[str, Any]:
        first = int(request.query.get("from_line", 1))
        return samples.posting(prices=[{**price, "line": first}], next_line=first + 1 if first < 3 else None)

    fake.answer("GET", "/v1/postings/*", page)
    assert [one.line for one in client.postings.prices("p-1")] == [1, 2, 3]
    assert [sent.query.get("from_line") for sent in fake.requests] == [None, "2", "3"]
    assert client.postings.get("p-1", from_line=2).next_line == 3


def test_dry_run_table(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """The table has the lines that change something, their faults below, and how many of each kind."""
    fake.answer("GET", "/v1/prices", samples.price_list())
    (tmp_path / "list.csv").write_bytes(CSV)
    same = samples.list_change("same", line=4, by=None, percent=None, label=None, from_weight="100 lb")
    fake.answer(
        "POST",
        LISTS,
        samples.list_compared(
            samples.list_change(),
            samples.list_change("unknown", **UNKNOWN),
            same,
            samples.list_change("gone", **GONE),
        ),
    )
    result = run("upload", str(tmp_path / "list.csv"), *UPLOAD, "--dry-run")
    shown = words(result.stdout)
    assert "low-quay, list of 2026-05-04, in USD Price Before By" in shown
    assert "2 raised #2 Cu (copper-no2) 3.35/lb 3.30/lb +0.05 (+1.5 %)" in shown
    assert "3 unknown #2Cu label: '#2Cu' is not a label of low-quay." in shown
    assert "- gone tin 3.30/lb" in shown
    assert "1 raised, 1 same, 1 gone, 1 unknown." in shown
    assert "It cannot be stored" in shown
    assert "4 same" not in shown
    assert result.exit_code == 1
    assert fake.requests[0].query["evidence"] == "written-list"
    assert max(map(len, result.stdout.splitlines())) <= 80
    shown = words(run("upload", str(tmp_path / "list.csv"), *UPLOAD, "--dry-run", "--all").stdout)
    assert "4 same copper-no2, from 100 lb 3.35/lb 3.30/lb" in shown


def test_a_difference_across_units_has_its_unit(fake: FakeGradewright, run: Run) -> None:
    """Where the price before is in another unit, the difference is told in that of the list."""
    fake.answer("GET", "/v1/prices", samples.price_list())
    line = samples.list_change("lowered", per="short ton", price="3.40", by="-6856.60", percent="-100.0")
    fake.answer("POST", LISTS, samples.list_compared(line))
    shown = words(run("upload", "-", *UPLOAD, "--dry-run", input=CSV, columns=120).stdout)
    assert "3.40/short ton 3.30/lb -6856.60/short ton (-100.0 %)" in shown


def test_dry_run_json(fake: FakeGradewright, run: Run) -> None:
    """--json prints the service's own answer; standard input is read for -."""
    fake.answer("POST", LISTS, samples.list_compared())
    result = run("upload", "-", *UPLOAD, "--dry-run", "--json", input=CSV)
    assert json.loads(result.stdout)["lines"][0]["change"] == "raised"
    assert (result.exit_code, fake.requests[0].content) == (0, CSV)


HELD: dict[str, Any] = {"price": "33.4", "by": "30.1", "held": samples.held_price()["held"]}


def test_what_waits_is_told_line_by_line(fake: FakeGradewright, client: Client, run: Run) -> None:
    """Of a line that waits the reason stands below it, and how many wait in what comes of the list."""
    fake.answer("GET", "/v1/prices", samples.price_list())
    lines = [samples.list_change(**HELD), samples.list_change("same", **HELD), samples.list_change()]
    fake.answer("POST", LISTS, samples.list_compared(*lines))
    found = client.lists.upload("low-quay", CSV, observed_on="2026-05-04", evidence="sign", dry_run=True)
    assert found.held == 2
    assert found.lines[0].held is not None
    assert found.lines[0].held.median == Money(Decimal("7.275255"), "USD")
    assert found.lines[2].held is None
    shown = words(run("upload", "-", *UPLOAD, "--dry-run", input=CSV).stdout)
    told = "waits: At 3 yards others are paid 3.30 USD/lb in the middle"
    assert f"+30.1 (+1.5 %) {told}" in shown
    assert shown.count(told) == 2
    assert "It can be stored as it is, and 2 prices of it will wait and not count yet. This was a" in shown


@pytest.mark.parametrize(
    ("count", "told"), [(1, "1 price of it waits and does not"), (2, "2 prices of it wait and do not")]
)
def test_what_waits_of_a_stored_list(fake: FakeGradewright, run: Run, count: int, told: str) -> None:
    """Stored it says how many of its prices wait."""
    lines = [samples.list_change(**HELD)] * count
    fake.answer(
        "POST", LISTS, samples.list_compared(*lines, posting="p-1", revision=313, dry_run=False), status=201
    )
    shown = words(run("upload", "-", *UPLOAD, input=CSV).stdout)
    assert f"Stored as p-1, ledger revision 313; {told} count yet." in shown


def test_stored(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """What was stored is told with its id and revision; a file's ending says what it is."""
    fake.answer("GET", "/v1/prices", samples.price_list())
    (tmp_path / "list.jsonl").write_bytes(b'{"label": "#2 Cu", "price": "3.35"}')
    fake.answer("POST", LISTS, samples.list_compared(posting="p-1", revision=313, dry_run=False), status=201)
    shown = words(run("upload", str(tmp_path / "list.jsonl"), *UPLOAD, "--evidence", "sign").stdout)
    assert "Stored as p-1, ledger revision 313." in shown
    assert fake.requests[0].headers["content-type"] == "application/x-ndjson"


def test_faults_are_told_by_line(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Each fault is told at its line of the file; nothing was posted."""
    (tmp_path / "list.csv").write_bytes(CSV)
    errors: list[dict[str, object]] = [
        {"detail": "'ton' does not say which ton.", "pointer": "#/lines/7/per", "suggestions": ["t"]},
        {"detail": "There are 5 cells under 2 columns.", "pointer": "#/lines/9"},
    ]
    fake.problem("POST", LISTS, "invalid-request", errors=errors)
    result = run("upload", str(tmp_path / "list.csv"), *UPLOAD)
    assert result.exit_code == 1
    told = words(result.stderr)
    assert "list.csv: line 7, per: 'ton' does not say which ton." in told
    assert "list.csv: line 9: There are 5 cells under 2 columns." in told
    assert told.endswith("Nothing was posted.")


def test_a_fault_of_no_line(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """A fault of an option is told by the option."""
    (tmp_path / "list.csv").write_bytes(CSV)
    errors = [{"detail": "write a day of the calendar", "parameter": "observed_on"}]
    fake.problem("POST", LISTS, "invalid-request", errors=errors)
    result = run("upload", str(tmp_path / "list.csv"), *UPLOAD)
    assert "--observed-on: write a day of the calendar" in words(result.stderr)


def test_no_such_file(run: Run) -> None:
    """A file that is not there is wrong usage, told by name."""
    result = run("upload", "nothing.csv", *UPLOAD)
    assert (result.exit_code, "Cannot read nothing.csv" in result.stderr) == (2, True)


def test_export_to_standard_output_and_to_a_file(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """The list goes to standard output or, byte for byte, into a file."""
    fake.answer("GET", LISTS, CSV, headers={"Content-Type": "text/csv", "Known-At": "312"})
    assert run("export", "--yard", "low-quay").stdout_bytes == CSV
    target = tmp_path / "out.jsonl"
    options = ["--on", "2026-05-04", "--known-at", "312", "--format", "jsonl", "--output", str(target)]
    told = words(run("export", "--yard", "low-quay", *options).stdout)
    assert told.endswith("out.jsonl: the list of low-quay as known at ledger revision 312.")
    assert target.read_bytes() == CSV
    assert fake.requests[-1].query == {"on": "2026-05-04", "known_at": "312", "format": "jsonl"}
    assert run("export", "--yard", "low-quay", "--output", str(tmp_path)).exit_code == 2
    assert run("export", "--yard", "low-quay", "--format", "xlsx").exit_code == 2


async def test_the_async_client_does_the_same(fake: FakeGradewright) -> None:
    """Awaited, a refusal and a file are the same."""
    fake.problem("POST", LISTS, "invalid-request")
    fake.answer("GET", LISTS, CSV, headers={"Content-Type": "text/csv", "Known-At": "312"})
    async with fake.async_client() as client:
        with pytest.raises(InvalidRequest):
            await client.lists.upload("low-quay", CSV, observed_on="2026-05-04", evidence="sign")
        assert (await client.lists.export("low-quay")).content == CSV
