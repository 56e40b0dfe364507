"""Scale tickets through the client and its command line, spoken to the real service in this process."""

from __future__ import annotations

import json
import re
from collections.abc import AsyncIterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from tests.api import empty_world, price
from tests.prices.test_histories import HELD, rulebook
from tests.sdk.conftest import Run
from tests.sdk.test_readme import InProcess
from tests.sdk.test_words_served import Members
from tests.settlements.tickets import BINS, as_expected, line, open_yard, ticket

import gradewright_sdk as gw
from gradewright.accounts.service import Role
from gradewright_sdk.cli._files import FileFaults
from gradewright_sdk.cli._ticket import TEMPLATE, read_ticket
from gradewright_sdk.testing import FakeGradewright, samples

MARKED_DOWN = """what,label,grade,net,price,amount,bin
line,#2 Cu,,9 lb,3.10,27.90,copper-no1
,shred,light-iron,50 lb,0.08,4.10,
,#1 Copper,,1 lb,1.00,1.00,
charge,gate,,,,1.50,
total,,,,,31.50,
"""
SETTLE = ("settle", "--yard", "low-quay", "--on", "2026-05-04")
BIN = ("--bin", "copper-no1 10 lb", "--bin", "light-iron 50 lb")


@pytest.fixture
async def members(request: pytest.FixtureRequest) -> AsyncIterator[Members]:
    """Clients of the members of the small district, with prices at one yard."""
    async with empty_world(request, "sqlite") as world:
        await open_yard(world, furnish=True)
        for who in ("wren", "heron", "kite"):
            await world.key(who)
        await world.key("sedge", Role.MAINTAINER)
        yield Members(world, InProcess(world.client, {}))


@pytest.fixture
async def held(request: pytest.FixtureRequest) -> AsyncIterator[Members]:
    """The same where prices that are far off wait."""
    document = rulebook()
    document["pricing"]["held"] = {**HELD, "enough_yards": 2}
    async with empty_world(request, "sqlite") as world:
        await world.publish(document)
        await open_yard(world, furnish=True)
        for who in ("wren", "heron", "kite"):
            await world.key(who)
        yield Members(world, InProcess(world.client, {}))


async def test_a_ticket_is_settled_read_and_taken_back(members: Members) -> None:
    """Typed results of each call: money as money, the bytes as they were sent, and what stands beside."""

    def work() -> None:
        wren, heron = members.client("wren"), members.client("heron")
        sold: Any = ticket(line("#2 Cu", "9", "3.10", "27.90"), total="27.90")
        match = {"line": 1, "bin": "copper-no1"}
        found = wren.settlements.settle(
            "low-quay", sold, bins=BINS[:1], matches=[match], post_prices=True, keep=True
        )
        assert str(found.difference) == "-7.10 USD"
        assert (str(found.effects.weight), str(found.effects.grade)) == ("-3.50 USD", "-3.60 USD")
        assert found.effects.rounding.amount == 0
        assert found.lines[0].net.kg == Decimal("4.08233133")
        assert found.intact
        assert found.posting is not None
        assert wren.postings.get(found.posting).evidence == "ticket"
        assert found.id is not None
        assert wren.settlements.get(found.id).raw == wren.settlements.replay(found.id).raw == found.raw
        with pytest.raises(gw.NotFound):
            heron.settlements.get(found.id)
        with pytest.raises(gw.Conflict):
            wren.settlements.settle("low-quay", sold, bins=BINS, keep=True)
        twice = wren.settlements.settle("low-quay", {**sold, "number": "T-0"}, bins=BINS, keep=True)
        assert (twice.looks_like, wren.settlements.get(found.id).looks_like) == (found.id, twice.id)
        gone = wren.settlements.withdraw(found.id, reason="another's ticket")
        assert twice.id is not None
        assert wren.settlements.get(twice.id).looks_like is None
        wren.settlements.withdraw(twice.id, reason="another's ticket")
        assert (gone.posting, gone.lines) == (found.posting, (1,))
        assert wren.settlements.get(found.id).withdrawn_at == gone.recorded_at
        with pytest.raises(gw.UnknownYard):
            wren.settlements.markdowns("high-quay")
        for number, who in enumerate(("wren", "heron", "kite")):
            mine: Any = as_expected()
            mine["lines"][0]["amount"] = f"35.0{number}"  # or it would be one ticket, settled by three
            members.client(who).settlements.settle("low-quay", mine, bins=BINS, keep=True)
        told = wren.settlements.markdowns("low-quay")
        assert told.tickets == 3
        assert "Grades with fewer than three sellers are left out" in told.says
        assert [(one.grade, one.often.tickets) for one in told.grades] == [
            ("copper-no1", 0),
            ("light-iron", 0),
        ]

    await members.apart(work)


async def test_what_is_meant_is_given_as_it_stands(members: Members) -> None:
    """No. 1 that is there as No. 2, and a part whose grade nobody knew: what the answer suggests is given to
    the next call, and leaves nothing unclear.
    """

    def work() -> None:
        wren = members.client("wren")
        lump = {"name": "odd lump", "weight": "1 lb", "observed": {"metal": "copper"}}
        pipe = {"name": "pipe", "weight": "10 lb", "grade": "copper-no1"}
        of = wren.valuations.value([lump, pipe], yard="low-quay", keep=True)
        sold: Any = ticket(
            line("#2 Cu", "10", "3.10", "31.00"), line("?", "1", "2.00", "2.00"), total="33.00"
        )
        found = wren.settlements.settle("low-quay", sold, valuation=of.id)
        meant = [one.meant[0] for one in found.unmatched.lines]
        assert [each.name for each in meant] == ["copper-no1", "odd lump"]
        told = wren.settlements.settle("low-quay", sold, valuation=of.id, matches=meant)
        assert (told.unmatched.lines, str(told.effects.grade)) == ((), "-4.00 USD")
        mixed = [meant[0], {"line": 2, "part": "odd lump"}]
        assert wren.settlements.settle("low-quay", sold, valuation=of.id, matches=mixed).groups == told.groups

    await members.apart(work)


async def test_the_asynchronous_client_settles_the_same(members: Members) -> None:
    """Both clients have the same calls."""
    async with members.async_client("wren") as client:
        sold: Any = as_expected()
        found = await client.settlements.settle("low-quay", sold, bins=BINS, keep=True)
        assert found.id is not None
        assert (await client.settlements.get(found.id)).raw == found.raw
        assert (await client.settlements.markdowns("low-quay")).tickets == 0


async def test_the_command_line(members: Members, tmp_path: Path) -> None:
    """A file is settled, told in tables or as JSON, kept, shown, and taken back."""
    file = tmp_path / "ticket.csv"
    file.write_text(MARKED_DOWN)
    told = await members.shell(
        "wren", *SETTLE, str(file), *BIN, "--number", "T-7", "--post-prices", "--keep-unclear"
    )
    assert told.exit_code == 0, told.output
    for expected in (
        "low-quay, 2026-05-04, ticket T-7, money in USD",
        "line 1 (#2 Cu): -3.50 weight, -3.60 grade",
        "The ticket does not add up",
        "net times price is 4.00, and the ticket says 4.10",
        "'#1 Copper' stands for no grade",
        "Prices posted as p-",
    ):
        assert expected in told.output
    settlement = told.output.partition("Kept as ")[2].split()[0]
    shown = await members.shell("wren", "settlement", settlement)
    assert "ticket T-7" in shown.output
    as_json = await members.shell("wren", "settlement", settlement, "--json")
    assert json.loads(as_json.stdout)["difference"] == "-7.50"
    assert (await members.shell("heron", "settlement", settlement)).exit_code == 1
    twice = await members.shell("wren", *SETTLE, str(file), *BIN, "--number", "T-8", "--keep-unclear")
    assert f"It looks like the ticket of {settlement}: the same weights" in " ".join(twice.output.split())
    back = await members.shell("wren", "settlement", settlement, "--withdraw", "another's")
    assert "2 prices went with it" in " ".join(back.output.split())  # of the unknown label none was posted
    assert "counts in no figure" in (await members.shell("wren", "settlement", settlement)).output
    strict = await members.shell("wren", *SETTLE, str(file), *BIN, "--strict", "--json")
    assert strict.exit_code == 3
    assert "too few" in (await members.shell("wren", "markdowns", "low-quay")).output.casefold()


async def test_faults_stand_at_the_lines_of_the_file(members: Members, tmp_path: Path) -> None:
    """What the service refuses is told with the file's own line and column, or with the option."""
    file = tmp_path / "ticket.csv"
    file.write_text(MARKED_DOWN.replace("50 lb", "50").replace("31.50", "31.505"))
    told = await members.shell("wren", *SETTLE, str(file), *BIN, "--bin", "tin 0 lb", "--match", "3=screws")
    assert told.exit_code == 1
    output = " ".join(told.output.split())
    assert "line 3, net: '50' has no unit" in output
    assert "line 6, amount: 31.505 cannot be paid" in output
    assert "--bin number 3: '0 lb' is no weight" in output
    assert "--match number 1: Nothing of screws was expected" in output
    assert "Nothing was settled." in output
    file.write_text(MARKED_DOWN)
    for code in (0, 1):
        told = await members.shell("wren", *SETTLE, str(file), *BIN, "--number", "T-9", "--keep-unclear")
        assert told.exit_code == code
    assert "--number: This ticket is settled already, as s-" in told.output
    assert re.search(r"gradewright-client settlement s-[0-9a-f]+ --withdraw REASON", told.output)
    for code in (0, 1):
        told = await members.shell("wren", *SETTLE, str(file), *BIN, "--keep-unclear")
        assert told.exit_code == code
    assert f"{file}: This ticket is settled already" in told.output
    assert "--number:" not in told.output


TWO = "what,label,grade,net,price,amount,bin\n,#2 Cu,,60 lb,0.40,24.00,{}\ntotal,,,,,24.00,\n"


WAITS = (
    " A settled ticket shows it, but those who dispute it or lately said otherwise there weigh more than "
    "those behind it. It counts once those behind it, with others who confirm it or say the same of that "
    "yard, weigh no less; or once a maintainer accepts it."
)


def sold(path: Path, price: str, amount: str, total: str) -> Path:
    """A ticket of one lot of iron and one of copper."""
    rows = ["what,label,grade,net,price,amount", f",shred,light-iron,50 lb,{price},{amount}"]
    path.write_text("\n".join([*rows, ",#1 Cu,,10 lb,3.50,35.00", f"total,,,,,{total}", ""]))
    return path


async def market(members: Members) -> None:
    """Three yards of whose iron two members speak each."""
    for who, yard, paid in (
        *(("heron", "low-quay", "0.081"), ("kite", "low-quay", "0.079")),
        *(("heron", "tern-row", "0.08"), ("kite", "tern-row", "0.082")),
        *(("heron", "cinder-lane", "0.078"), ("kite", "cinder-lane", "0.08")),
    ):
        await members.world.post(price("light-iron", paid), who=who, yard=yard)


async def test_posted_prices_that_wait_are_told(held: Members, tmp_path: Path) -> None:
    """Of a ticket's prices it is told which wait, and why the ticket is not enough, in words and beside the
    JSON; the posting says the same, and no more that a ticket would do."""
    await market(held)
    file = sold(tmp_path / "ticket.csv", "0.20", "10.00", "45.00")
    post = (*SETTLE, str(file), *BIN, "--post-prices", "--number")
    told = await held.shell("wren", *post, "T-1")
    assert told.exit_code == 0, told.output
    output = " ".join(told.output.split())
    id = output.partition("Prices posted as ")[2].split()[0].rstrip(".:")
    first = (
        "1 price waits and does not count yet: line 1 of it, light-iron 0.20 USD/lb: At 3 yards others are"
    )
    assert first in output
    assert WAITS in output
    shown = " ".join((await held.shell("wren", "show", id)).output.split())
    assert WAITS in shown
    assert "or a settled ticket shows it" not in shown
    as_json = await held.shell("wren", *post, "T-2", "--json")
    assert json.loads(as_json.stdout)["total"] == "45.00"
    beside = " ".join(as_json.stderr.split())
    assert "Prices posted as p-" in beside
    assert first in beside


async def test_a_ticket_that_does_not_add_up_bears_nothing_out(held: Members, tmp_path: Path) -> None:
    """It is told that its prices wait for that reason too."""
    await market(held)
    file = sold(tmp_path / "ticket.csv", "0.20", "10.00", "46.00")
    told = await held.shell("wren", *SETTLE, str(file), *BIN, "--post-prices")
    output = " ".join(told.output.split())
    assert "1 price waits and does not count yet" in output
    assert "As the ticket does not add up, it bears none of its prices out." in output


async def test_posted_prices_that_count_are_told(held: Members, tmp_path: Path) -> None:
    """So is it where all of them do, and where one does though the point stands in the wrong place."""
    file = sold(tmp_path / "ticket.csv", "0.08", "4.00", "39.00")
    told = await held.shell("wren", *SETTLE, str(file), *BIN, "--post-prices")
    assert "All of them count." in told.output
    file = sold(tmp_path / "ticket.csv", "0.80", "40.00", "75.00")
    told = await held.shell("wren", *SETTLE, str(file), *BIN, "--post-prices")
    output = " ".join(told.output.split())
    assert "line 1, light-iron 0.80 USD/lb: it counts, and is 10 times what was paid there before" in output


@pytest.mark.parametrize("column", [True, False])
async def test_several_bins_may_be_on_one_line(members: Members, tmp_path: Path, column: bool) -> None:
    """No. 1 and the iron thrown together and weighed as No. 2: with + between them, in the file or as an
    option; what is wrong with one of them is told at that column, or at that option.
    """
    file = tmp_path / "ticket.csv"
    both = "copper-no1 + light-iron"
    file.write_text(TWO.format(both if column else ""))
    more = () if column else ("--match", f"1={both}")
    told = await members.shell("wren", *SETTLE, str(file), *BIN, *more, "--json")
    assert told.exit_code == 0, told.output
    (group,) = json.loads(told.stdout)["groups"]
    assert ([one["bin"] for one in group["bins"]], group["lines"]) == (["copper-no1", "light-iron"], [1])
    file.write_text(TWO.format("copper-no1+screws" if column else ""))
    more = () if column else ("--match", "1=copper-no1", "--match", "1=light-iron+screws+copper-no2")
    told = await members.shell("wren", *SETTLE, str(file), *BIN, *more)
    assert told.exit_code == 1
    output = " ".join(told.output.split())
    at = "line 2, bin" if column else "--match number 2"
    assert f"{at}: Nothing of screws was expected: name a bin that was." in output
    assert output.count("--match number 2") == (0 if column else 2)


async def test_a_part_of_no_known_grade_can_be_matched(members: Members, tmp_path: Path) -> None:
    """What is printed under Unclear can be typed as it stands, also where it names a part of a valuation."""
    lump = {"name": "odd lump", "weight": "1 lb", "observed": {"metal": "copper"}}

    def value() -> str | None:
        return members.client("wren").valuations.value([lump], yard="low-quay", keep=True).id

    of = await members.apart(value)
    file = tmp_path / "ticket.csv"
    file.write_text(TWO.format("").replace("#2 Cu", "?"))
    asked = (*SETTLE, str(file), "--valuation", str(of))
    told = await members.shell("wren", *asked)
    (option,) = re.findall(r'--match "([^"]*)"', " ".join(told.output.split()))
    assert option == "1=part:odd lump"
    again = await members.shell("wren", *asked, "--match", option, "--json")
    assert json.loads(again.stdout)["unmatched"] == {"bins": [], "lines": []}


@pytest.mark.parametrize("keeps", ["--keep", "--post-prices", "--id-to"])
def test_what_is_unclear_is_not_kept(fake: FakeGradewright, run: Run, tmp_path: Path, keeps: str) -> None:
    """While a line or bin is unclear the ticket is told and not kept, with what to do, until told to."""
    unclear = {"lines": [], "bins": [{"bin": "copper-no1", "part": None}]}
    fake.answer("POST", "/v1/settlements", samples.settlement(unmatched=unclear), headers={})
    more = (keeps, str(tmp_path / "id")) if keeps == "--id-to" else (keeps,)
    told = run(*SETTLE, "-", *BIN, *more, input=TEMPLATE)
    assert told.exit_code == 3
    assert "copper-no1 is not on the ticket." in told.output
    assert "Not kept: what is unclear stands under Unclear." in told.output
    assert [one.json["keep"] for one in fake.requests] == [False]
    as_json = run(*SETTLE, "-", *BIN, *more, "--json", input=TEMPLATE)
    assert json.loads(as_json.stderr)["type"] == "unclear"
    answer = samples.settlement(unmatched=unclear)
    fake.answer("POST", "/v1/settlements", answer, status=201, headers={"Settlement-Id": "s-1"})
    kept = run(*SETTLE, "-", *BIN, *more, "--keep-unclear", input=TEMPLATE)
    assert (kept.exit_code, fake.requests[-1].json["keep"]) == (0, True)


def test_what_may_be_marked_down_is_unclear(fake: FakeGradewright, run: Run) -> None:
    """It is told with what to add if it was and if not, and the ticket is not kept until that is said; what
    was marked down for certain is told by itself.
    """
    own, other = ({"line": 1, "bin": name, "part": None} for name in ("copper-no2", "copper-no1"))
    doubt = {
        "bins": ["copper-no1"],
        "accepted_as": "copper-no2",
        "lines": [1],
        "because": "Line 1 weighs more.",
        "meant": [own, other],
        "not_so": [own],
    }
    down = {
        "bin": "brass-yellow",
        "accepted_as": "brass-plated",
        "lines": [2],
        "weight": {"kg": "1.3", "shown": "1.3 kg (2 lb 14 oz)"},
        "says": "Some of it was taken as plated.",
    }
    answer = samples.settlement(may_be_marked_down=[doubt], marked_down=[down])
    fake.answer("POST", "/v1/settlements", answer, headers={})
    told = run(*SETTLE, "-", *BIN, "--keep", input=TEMPLATE)
    assert (told.exit_code, [one.json["keep"] for one in fake.requests]) == (3, [False])
    output = " ".join(told.output.split())
    assert 'If so: --match "1=copper-no2+copper-no1". If not: --match "1=copper-no2".' in output
    assert "Marked down - Some of it was taken as plated." in output


def test_a_valuation_of_elsewhere_is_told(fake: FakeGradewright, run: Run) -> None:
    """That what was expected are prices of another day or place stands above the figures."""
    says = "It was valued for XO-FEN: prices from there are expected, and not of low-quay, in XO-KEL."
    against = {"valuation": "v-1", "on": "2026-05-04", "region": "XO-FEN", "yard": None, "says": says}
    fake.answer("POST", "/v1/settlements", samples.settlement(against=against))
    told = " ".join(
        run("settle", "-", "--yard", "low-quay", "--valuation", "v-1", input=TEMPLATE).output.split()
    )
    assert told.index(f"Against v-1. {says}") < told.index("What was brought")


def test_bins_that_may_be_on_a_line_together_are_one_option(fake: FakeGradewright, run: Run) -> None:
    """What is told is what to add for both, and not for the one or the other."""
    both = [{"line": 1, "bin": name, "part": None} for name in ("copper-no1", "copper-bright")]
    line_ = {"line": 1, "because": "It may be both.", "meant": both, "meant_together": both}
    fake.answer("POST", "/v1/settlements", samples.settlement(unmatched={"bins": [], "lines": [line_]}))
    output = " ".join(run(*SETTLE, "-", *BIN, input=TEMPLATE).output.split())
    assert 'line 1: It may be both. Perhaps --match "1=copper-no1+copper-bright".' in output
    assert output.count("--match") == 1


def test_the_template_is_a_ticket(run: Run) -> None:
    """What --template prints is read, adds up, and has every kind of row but cash."""
    printed = run("settle", "--template")
    assert printed.output == TEMPLATE
    found = read_ticket(TEMPLATE.encode())
    paid = sum(Decimal(row["amount"]) for row in found.lines) - Decimal(found.charges[0]["amount"])
    assert Decimal(found.sums["total"]) == paid


@pytest.mark.parametrize(
    ("file", "says"),
    [
        ("what,label,net,price,amount\n", "no line of a ticket"),
        ("label,net,price\nx,1 lb,1\n", "missing columns: amount"),
        ("label,net,price,amount,wieght\n", "'wieght' is no column"),
        ("label,net,price,amount\nx,1 lb,1,1\n", "no row total"),
        ("label,net,price,amount\nx,1 lb,,1\n", "a line needs it"),
        ("label,grade,net,price,amount\n,tin,1 lb,1,1\n", "the yard's own word, beside a grade too"),
        ("what,label,net,price,amount\nfee,x,,,1\n", "a row is line, charge, total, cash, not 'fee'"),
        ("what,label,net,price,amount\ncharge,x,1 lb,,1\n", "a charge has none"),
        ("label,net,price,amount,bin\nx,1 lb,1,1,tin+\n", "bin: write a bin, copper-no2, or several"),
        ("what,label,net,price,amount\ntotal,,,,1\ntotal,,,,2\n", "a row total already"),
    ],
)
def test_what_is_no_ticket_is_told(file: str, says: str) -> None:
    """Before the service is asked, with the line of the file."""
    with pytest.raises(FileFaults) as refusal:
        read_ticket(file.encode())
    assert says in "; ".join(str(fault) for fault in refusal.value.faults)


@pytest.mark.parametrize(
    "words",
    [
        ("settle",),
        ("settle", "ticket.csv", "--yard", "x", "--on", "2026-05-04"),
        ("settle", "t", "--yard", "x", "--on", "2026-05-04", "--valuation", "v-1", "--bin", "a 1 lb"),
        ("settle", "t", "--yard", "x", "--on", "2026-05-04", "--bin", "copper"),
        *(
            ("settle", "t", "--yard", "x", "--on", "2026-05-04", "--bin", "a 1 lb", "--match", match)
            for match in ("x", "1=", "=tin", "x=tin", "0=tin", "1=tin+", "1=+tin", "1=tin++copper", "1=part:")
        ),
        ("settle", "not-there.csv", "--yard", "x", "--on", "2026-05-04", "--bin", "a 1 lb"),
    ],
)
def test_wrong_usage(run: Run, words: tuple[str, ...]) -> None:
    """What cannot be meant ends with 2, and nothing is asked; of a match it is told what to write."""
    told = run(*words)
    assert told.exit_code == 2
    if "--match" in words:
        output = " ".join(told.output.replace("│", "").split())
        assert f"{words[-1]!r} is no match; write a line and its bin, 2=copper-no2, or the bins" in output
        assert "2=copper-no1+copper-no2" in output


def test_the_table_adds_up(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Charges, and what the ticket's own sums are off by, have rows: all rows together are the last one."""
    charges = [{"label": "gate", "amount": "1.50"}]
    fake.answer("GET", "/v1/settlements/s-1", samples.settlement(charges=charges, paid="26.45"))
    told = [" ".join(row.split()) for row in run("settlement", "s-1").output.splitlines()]
    assert "charge: gate -1.50 -1.50" in told
    assert "the ticket's own sums 0.05 0.05" in told


def test_no_price_is_not_nothing(fake: FakeGradewright, run: Run) -> None:
    """In the row of a bin of which no price was expected there is no figure of what was, nor a difference."""
    answer = samples.settlement()
    answer["bins"][0] |= {"price": None, "amount": None, "unpriced": "Nobody has posted a price."}
    answer["groups"][0] |= {"expected": "0.00", "difference": "27.90"}
    fake.answer("GET", "/v1/settlements/s-1", answer)
    told = [" ".join(row.split()) for row in run("settlement", "s-1").output.splitlines()]
    assert "copper-no1 no price 27.90 -" in told


def test_figures_of_a_yard_for_people(fake: FakeGradewright, run: Run) -> None:
    """A table of grades with counts and intervals."""
    much = {"median": "18 %", "low": "10 %", "high": "31 %"}
    (often,) = {one["grade"]: one["often"] for one in samples.markdowns()["grades"]}.values()
    grades = [{"grade": "copper-no1", "often": often, "much": much, "unclear": 0}]
    fake.answer("GET", "/v1/yards/low-quay/settlements", samples.markdowns(grades=grades))
    told = " ".join(run("markdowns", "low-quay").output.split())
    assert "copper-no1 2 of 3 tickets 67 % (21 % to 94 %) 18 % (10 % to 31 %)" in told
    assert "any of these 2 of 3 tickets" in told
    grades = [{"grade": "copper-no1", "often": often, "much": much, "unclear": 4}]
    fake.answer("GET", "/v1/yards/low-quay/settlements", samples.markdowns(grades=grades))
    told = " ".join(run("markdowns", "low-quay").output.split())
    assert "By (95 %) Unclear copper-no1 2 of 3 tickets 67 % (21 % to 94 %) 18 % (10 % to 31 %) 4 any" in told
    withheld = samples.markdowns(grades=grades, overall=None)
    fake.answer("GET", "/v1/yards/low-quay/settlements", withheld)
    told = " ".join(run("markdowns", "low-quay").output.split())
    assert "copper-no1 2 of 3 tickets" in told
    assert "any of these" not in told


def test_against_a_valuation_today(fake: FakeGradewright, run: Run, tmp_path: Path) -> None:
    """Without --on the ticket is of today; --valuation names what it is held against."""
    fake.answer("POST", "/v1/settlements", samples.settlement())
    file = tmp_path / "ticket.csv"
    file.write_text(TEMPLATE)
    told = run("settle", str(file), "--yard", "low-quay", "--valuation", "v-1")
    assert told.exit_code == 0, told.output
    sent = fake.requests[-1].json
    assert (sent["against"], sent["keep"]) == ({"valuation": "v-1"}, False)
    assert date.fromisoformat(sent["ticket"]["on"]) >= date(2026, 1, 1)
    assert sent["ticket"]["charges"] == [{"label": "gate", "amount": "1.50"}]
    assert "copper-no1" in told.output


def test_against_one_thing(fake: FakeGradewright) -> None:
    """A ticket is held against a valuation or against bins: the client says so before it asks."""
    with fake.client() as client, pytest.raises(ValueError, match="one of them"):
        client.settlements.settle("low-quay", {}, keep=True)
    assert fake.requests == []
