"""Benchmarks and backtests through the client and its command line, spoken to the real service in this
process."""

from __future__ import annotations

import json
from collections.abc import AsyncIterator
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from tests.api import World, empty_world, price, settle
from tests.benchmarks.keeping import following
from tests.sdk.test_readme import InProcess
from tests.sdk.test_words_served import Members

import gradewright_sdk as gw
from gradewright.accounts.service import Role

GRADE = "copper-no2"
VALUES = "date,value\n2026-04-01,9000\n2026-05-01,9450.00\n"
MADE = {"name": "Copper", "source": "made up for a test", "currency": "USD", "unit": "t"}


@pytest.fixture
async def bay(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """The small district under a rulebook whose copper follows a benchmark that is not there yet."""
    async with empty_world(request, "sqlite") as world:
        await world.publish(following())
        await settle(world)
        for who, yard, amount, on in (
            ("wren", "low-quay", "3.00", "2026-04-15"),
            ("dunlin", "tern-row", "3.10", "2026-04-14"),
            ("wren", "low-quay", "3.12", "2026-05-02"),
        ):
            await world.post(price(GRADE, amount), who=who, yard=yard, on=on)
        await world.key("sedge", Role.MAINTAINER)
        yield world


@pytest.fixture
async def members(bay: World) -> Members:
    """Clients of its members."""
    return Members(bay, InProcess(bay.client, {}))


async def test_a_benchmark_is_made_filled_and_read(members: Members) -> None:
    """Typed results of each call; the file comes back as it is taken; entries of the ledger are typed."""

    def work() -> None:
        sedge = members.client("sedge")
        assert sedge.benchmarks.list() == ()
        made = sedge.benchmarks.create("copper", **MADE)
        assert (made.slug, made.days, made.last) == ("copper", 0, None)
        tried = sedge.benchmarks.add_values("copper", VALUES, dry_run=True)
        assert (tried.revision, tried.new) == (None, 2)
        stored = sedge.benchmarks.add_values("copper", VALUES.encode())
        assert stored.revision is not None
        assert [(c.line, c.date, c.value, c.change) for c in stored.changes] == [
            (2, date(2026, 4, 1), Decimal(9000), "new"), (3, date(2026, 5, 1), Decimal("9450.00"), "new"),
        ]  # fmt: skip
        [listed] = sedge.benchmarks.list()
        assert listed.last == gw.BenchmarkValue(date=date(2026, 5, 1), value=Decimal("9450.00"))
        span = sedge.benchmarks.get("copper", from_="2026-04-02", known_at=stored.revision)
        assert [value.value for value in span.values] == [Decimal("9450.00")]
        file = sedge.benchmarks.csv("copper")
        assert file.known_at == stored.revision
        assert sedge.benchmarks.add_values("copper", file.content).same == 2
        line = '{"date": "2026-05-02", "value": "9451"}'
        assert sedge.benchmarks.add_values("copper", line).new == 1
        entries = list(sedge.ledger.entries(after=stored.revision - 2))
        assert [type(entry) for entry in entries[:2]] == [gw.BenchmarkEntry, gw.ReadingEntry]
        moved = sedge.prices.list(region="XO-KEL", grade=GRADE).prices[0].basis.moved
        assert moved is not None
        assert (moved.benchmark, moved.share, moved.entries) == ("copper", "80 %", 1)

    await members.apart(work)


async def test_faults_are_of_their_kinds(members: Members) -> None:
    """An unknown benchmark has an error of its own, a faulty file points at its lines, a member may not."""

    def work() -> None:
        sedge, wren = members.client("sedge"), members.client("wren")
        with pytest.raises(gw.UnknownBenchmark):
            sedge.benchmarks.get("cooper")
        with pytest.raises(gw.Forbidden):
            wren.benchmarks.create("copper", **MADE)
        sedge.benchmarks.create("copper", **MADE)
        with pytest.raises(gw.Conflict):
            sedge.benchmarks.create("copper", **MADE)
        with pytest.raises(gw.InvalidRequest) as refused:
            sedge.benchmarks.add_values("copper", "date,value\n2026-05-01,nine\n")
        assert [fault.pointer for fault in refused.value.errors] == ["#/lines/2/value"]
        with pytest.raises(ValueError, match="csv or jsonl"):
            sedge.benchmarks.add_values("copper", VALUES, format="xml")

    await members.apart(work)


async def test_async_and_sync_are_the_same(members: Members) -> None:
    """The async client reads the same."""
    async with members.async_client("sedge") as client:
        await client.benchmarks.create("copper", **MADE)
        await client.benchmarks.add_values("copper", VALUES)
        found = await client.benchmarks.get("copper")
        tested = await client.prices.backtest("XO-KEL", known_when="seen")
    assert found == await members.apart(lambda: members.client("sedge").benchmarks.get("copper"))
    assert tested == await members.apart(
        lambda: members.client("sedge").prices.backtest("XO-KEL", known_when="seen")
    )


async def test_a_backtest_is_typed(members: Members) -> None:
    """Of the one price that could be predicted, what each method would have been off by."""

    def work() -> None:
        sedge = members.client("sedge")
        sedge.benchmarks.create("copper", **MADE)
        sedge.benchmarks.add_values("copper", VALUES)
        found = sedge.prices.backtest(
            "XO-KEL", from_="2026-04-10", to=date(2026, 5, 4), grade=GRADE, known_when="seen"
        )
        assert (found.from_, found.to, found.rulebooks) == (date(2026, 4, 10), date(2026, 5, 4), ("2020.1",))
        assert found.overall is not None
        assert (found.overall.cases, found.unknown, found.waiting) == (1, 2, 0)
        # 3.12 was paid: that yard paid 3.00 last, the likely price too; it moves by 4 % with copper.
        assert {one.method: one.median_error for one in found.overall.methods} == {
            "last-posted": Decimal("3.85"),
            "consensus": Decimal("3.85"),
            "consensus-with-benchmark": Decimal("0.00"),
        }
        assert [(figures.grade, figures.cases) for figures in found.by_grade] == [(GRADE, 1)]
        last, _, aged = found.overall.methods
        assert (last.within, last.within_from, last.within_to) == (None, None, None)
        assert (aged.within, aged.within_from, aged.within_to) == (100, Decimal("20.65"), 100)
        assert found.known_when == "seen"

    await members.apart(work)


async def test_the_shell_keeps_and_shows(members: Members, tmp_path: Path) -> None:
    """`keep` makes a benchmark and fills it, tells what changes, and `benchmarks` shows it."""
    file = tmp_path / "copper.csv"
    file.write_text(VALUES)
    make = ["--name", "Copper", "--currency", "USD", "--unit", "t", "--source", "made up"]
    kept = await members.shell("sedge", "keep", "copper", str(file), *make)
    assert kept.exit_code == 0, kept.output
    assert "2 new, 0 changed, 0 the same." in kept.output
    assert "Stored, ledger revision" in kept.output
    again = await members.shell("sedge", "keep", "copper", str(file))
    assert "There is nothing new in it: nothing was stored." in again.output
    file.write_text(VALUES.replace("9450.00", "9460"))
    dry = await members.shell("sedge", "keep", "copper", str(file), "--dry-run")
    assert "This was a dry run: nothing was stored." in dry.output
    assert "9450.00" in dry.output
    listed = await members.shell("sedge", "benchmarks")
    assert "copper" in listed.output
    assert "USD/t" in listed.output
    one = await members.shell("sedge", "benchmarks", "copper", "--from", "2026-05-01")
    assert "9450.00" in one.output
    assert "9000" not in one.output
    as_json = json.loads((await members.shell("sedge", "benchmarks", "copper", "--json")).output)
    assert [value["value"] for value in as_json["values"]] == ["9000", "9450.00"]
    out = tmp_path / "out.csv"
    wrote = await members.shell("sedge", "benchmarks", "copper", "--format", "csv", "-o", str(out))
    assert f"Wrote {out}" in wrote.output.replace("\n", "")
    assert out.read_text().splitlines()[0] == "date,value,currency,unit"
    prices = await members.shell("wren", "prices", "--region", "XO-KEL", "--on", "2026-05-01")
    assert "moved +4.0 % with copper" in prices.output


async def test_the_shell_points_at_lines(members: Members, tmp_path: Path) -> None:
    """What is wrong in a file is told by its line; nothing is stored, and the command ends with 1."""
    file = tmp_path / "copper.csv"
    file.write_text(VALUES + "2026-05-02,95\nyesterday,1\n")
    await members.apart(lambda: members.client("sedge").benchmarks.create("copper", **MADE))
    refused = await members.shell("sedge", "keep", "copper", str(file))
    assert refused.exit_code == 1
    told = " ".join(refused.output.split())
    assert "line 4, value: 95 is far off" in told
    assert "line 5, date: Write a day" in told
    assert "Nothing was stored." in told
    missing = await members.shell("sedge", "keep", "cooper", str(file))
    assert "gradewright-client benchmarks" in missing.output
    new = " ".join((await members.shell("sedge", "keep", "zinc", str(file))).output.split())
    assert "write one that `gradewright-client benchmarks` lists" in new
    assert "A new one is made with --source (where its values are from) and --currency and --unit, or" in new
    for words in (["keep", "copper", str(file), "--name", "x"], ["benchmarks", "--format", "csv"],
                  ["benchmarks", "copper", "-o", "x"], ["benchmarks", "copper", "--format", "xml"],
                  ["keep", "copper", str(tmp_path / "none.csv")]):  # fmt: skip
        assert (await members.shell("sedge", *words)).exit_code == 2, words


async def test_the_shell_makes_what_is_meant(members: Members, tmp_path: Path) -> None:
    """In what its values are has to be said; where the file is faulty no benchmark is made, which is said
    once, and the same command with a mended file makes it, as it is called there."""
    file = tmp_path / "zinc.csv"
    make = ["keep", "zinc", str(file), "--source", "made up"]
    file.write_text("date,value\n2026-05-01,nine\n")
    for more in ([], ["--currency", "USD"], ["--unit", "t"], ["--index", "--currency", "USD", "--unit", "t"]):
        assert (await members.shell("sedge", *make, *more)).exit_code == 2, more
    measured = [*make, "--currency", "USD", "--unit", "t"]
    for text in ("date,value\n2026-05-01,nine\n", "Date;Close\n2026-05-01;2900\n"):
        file.write_text(text)
        refused = await members.shell("sedge", *measured, "--name", "n")
        told = " ".join(refused.output.split())
        assert refused.exit_code == 1
        assert "Nothing was stored, and no benchmark was made." in told
        assert "Made" not in told
    file.write_text("date,value\n2026-05-01,2900\n")
    dry = await members.shell("sedge", *measured, "--dry-run")
    assert dry.exit_code == 0, dry.output
    assert "Would make the benchmark zinc, in USD/t." in dry.output
    made = await members.shell("sedge", *measured, "--name", "Zinc, cash")
    assert made.exit_code == 0, made.output
    assert made.output.count("Made the benchmark zinc, in USD/t.") == 1
    again = " ".join((await members.shell("sedge", *measured, "--name", "Zinc")).output.split())
    assert (
        "The benchmark zinc was there already, in USD/t. It is called 'Zinc, cash' and stays so: what"
        in again
    )
    same = await members.shell("sedge", *measured)
    assert "The benchmark zinc was there already, in USD/t.\n" in same.output
    for other in (["--index"], ["--currency", "USD", "--unit", "lb"]):
        refused = await members.shell("sedge", *make, *other)
        assert refused.exit_code == 1
        assert "is there already, in USD/t, not in" in " ".join(refused.output.split())
    index = await members.shell("sedge", "keep", "tin", str(file), "--source", "made up", "--index")
    assert "Made the benchmark tin, in points." in index.output


async def test_the_shell_shows_a_backtest(members: Members) -> None:
    """A table for people; JSON as the service sent it; where nothing could be tested that is said."""
    await members.apart(lambda: members.client("sedge").benchmarks.create("copper", **MADE))
    await members.apart(lambda: members.client("sedge").benchmarks.add_values("copper", VALUES))
    span = ["--region", "XO-KEL", "--from", "2026-04-10", "--to", "2026-05-04"]
    late = await members.shell("wren", "backtest", *span)
    assert "No price could be tested" in late.output
    assert "--known-when seen" in late.output
    span += ["--known-when", "seen"]
    shown = await members.shell("wren", "backtest", *span)
    assert shown.exit_code == 0, shown.output
    assert "1 price, predicted by" in shown.output
    assert "3.85 %" in shown.output
    assert "100.0 % (21 to 100)" in shown.output  # of one case, 1 / (1 + 1.96^2) at least
    assert "Left out: 2 of which too little was known the day before, 0 that wait." in shown.output
    as_json = json.loads((await members.shell("wren", "backtest", *span, "--json")).output)
    assert as_json["overall"]["cases"] == 1
    nothing = await members.shell("wren", "backtest", "--region", "XO-KEL", "--to", "2026-04-10")
    assert "No price could be tested" in nothing.output
