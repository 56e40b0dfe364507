"""What the commands share in how they show things: figures, what a price rests on, widths, parts."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sdk.conftest import Run

from gradewright_sdk import Money
from gradewright_sdk._models import Basis, Spread
from gradewright_sdk.cli._basis import Asked
from gradewright_sdk.cli._show import rate, rates, spreads
from gradewright_sdk.testing import FakeGradewright, samples

ON = date(2026, 5, 4)


def usd(amount: str | Decimal) -> Money:
    return Money(Decimal(amount), "USD")


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        ("0.090", "0.09"),
        ("0.830", "0.83"),
        ("1.2160", "1.216"),
        ("0.7212", "0.7212"),
        ("-0.0350", "-0.035"),
        ("195", "195.00"),
        ("3.4", "3.40"),
        ("0", "0.00"),
        ("0.57910012452864", "0.5791"),
        ("9.99996", "10.00"),
        ("0.00004321", "0.000043"),
        ("-0.00001", "-0.00001"),
        ("12345678901234567890.123456", "12345678901234567890.1235"),
    ],
)
def test_prices_have_two_to_four_places(amount: str, shown: str) -> None:
    """A price has two places at least and four at most, and no zeros after the second; it is never shown as
    nothing.
    """
    assert rate(usd(amount)) == shown


@given(st.lists(st.none() | st.decimals(-10_000, 10_000, places=6), min_size=1))
def test_decimal_points_of_a_column(amounts: list[Decimal | None]) -> None:
    """In a column all prices are as wide as each other and have the point at the same place."""
    prices = [None if amount is None else usd(amount) for amount in amounts]
    column = rates(prices)
    assert [text.strip() for text in column] == [rate(price) for price in prices]
    assert len(set(map(len, column))) == 1
    assert len({text.index(".") for text in column if "." in text}) <= 1


def test_spreads_of_a_column() -> None:
    """Low, likely and high stand under those above them; what has none is a dash."""
    one = Spread(low=usd("0.28"), likely=usd("0.29"), high=usd("12.31"))
    other = Spread(low=usd("-1.00"), likely=usd("10.20"), high=usd("0.30"))
    assert spreads([one, None, other]) == [
        " 0.28 –  0.29 – 12.31",
        "-",
        "-1.00 – 10.20 –  0.30",
    ]
    assert spreads([None]) == ["-"]


@pytest.mark.parametrize(
    ("asked", "fields", "says", "style"),
    [
        (Asked("XO-KEL", ON), {}, "3 yards, 2 days ago", "dim"),
        (Asked("XO-KEL", ON), {"newest": "2026-05-03"}, "3 yards, yesterday", "dim"),
        (Asked("XO-KEL", ON), {"newest": "2026-05-04"}, "3 yards, today", "dim"),
        (Asked("XO-KEL", ON), {"newest": "2026-05-05"}, "3 yards, 2026-05-05", "dim"),
        (Asked("XO-KEL", ON), {"yards": 1, "thin": True}, "1 yard only, 2 days ago", "yellow"),
        (Asked("XO-KEL", ON), {"yards": 2, "thin": True}, "2 yards only, 2 days ago", "yellow"),
        (Asked("XO-KEL", ON), {"kind": "parent", "place": "XO"}, "3 yards in XO, 2 days ago", "dim"),
        (Asked("low-quay", ON, True), {}, "3 yards in XO-KEL, 2 days ago", "dim"),
        (
            Asked("low-quay", ON, True),
            {"kind": "yard", "place": "low-quay", "yards": 1, "thin": True},
            "its own price, 2 days ago",
            "dim",
        ),
        (
            Asked("XO-KEL", ON, name=str.title),
            {"kind": "kin", "kin": {"grade": "wire-40", "factor": "0.72"}},
            "0.72 of Wire-40: 3 yards, 2 days ago",
            "dim",
        ),
        (Asked("XO-KEL", ON), {"kind": "forecast", "says": "by the moon"}, "by the moon", "dim"),
        (Asked("XO-KEL", ON), {"newest": None, "says": "long ago"}, "long ago", "dim"),
    ],
)  # fmt: skip
def test_what_a_price_rests_on(asked: Asked, fields: dict[str, Any], says: str, style: str) -> None:
    """It names the place only if it is another than the one asked about, says how few yards there are, and
    falls back to the service's own words.
    """
    told = asked.rests_on(Basis.model_validate(samples.basis(**fields)))
    assert (told.plain, told.style) == (says, style)


@pytest.mark.parametrize(("columns", "width"), [({}, 100), ({"COLUMNS": "72"}, 72), ({"COLUMNS": ""}, 100)])
def test_width_in_a_pipe(columns: dict[str, str], width: int) -> None:
    """Where there is no terminal answers are 100 columns wide, unless COLUMNS says otherwise."""
    kept = {name: value for name, value in os.environ.items() if name != "COLUMNS"}
    done = subprocess.run(
        [sys.executable, "-c", "from gradewright_sdk.cli._common import out; print(out().width)"],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=True,
        env={**kept, **columns},
    )
    assert done.stdout.strip() == str(width)


@pytest.fixture
def treadmill(fake: FakeGradewright, tmp_path: Path) -> str:
    """A file of parts, and the answer to it: a long grade at a thin price, one by its kin, one undecided, one
    without a price.
    """
    thin = samples.basis(yards=2, thin=True, newest="2026-05-03")
    kin = samples.basis(kind="kin", kin={"grade": "light-iron", "factor": "0.95"})
    price = {**samples.spread("0.6", "0.7212", "0.8"), "per": "lb", "from_weight": None}
    candidates = [
        {"grade": "a", "name": "Transformers, copper", "amount": samples.spread("0.90", "0.98", "1.00")},
        {"grade": "b", "name": "Transformers, aluminium", "amount": None},
    ]
    unpriced = {"price": None, "amount": None, "unpriced": "nobody posted it"}
    parts = (
        samples.valued_part(
            name="side rails", count=2, outcome="named", grade_name="Aluminium extrusion, painted",
            weight={"given": "x", "kg": "2.551", "shown": "2.551 kg (5 lb 10 oz)"},
            price={**price, "basis": thin}, amount=samples.spread("3.49", "4.06", "14.46"),
        ),
        samples.valued_part(name="harness", grade_name="Harness", price={**price, "basis": kin}),
        samples.valued_part(
            name="choke", outcome="undecided", grade=None, grade_name=None, candidates=candidates, **unpriced
        ),
        samples.valued_part(name="covers", confidence="disputed", grade_name="Plastics", **unpriced),
    )  # fmt: skip
    fake.answer("POST", "/v1/valuations", samples.valuation(*parts, piles=[], complete=False))
    file = tmp_path / "parts.csv"
    file.write_text("name,weight,grade\na,1 kg,copper-no2\n")
    return str(file)


def shown_parts(run: Run, file: str, columns: int) -> list[str]:
    shown = run("value", file, "--region", "XO-KEL", columns=columns).stdout
    return [line.rstrip() for line in shown.partition("\nTotal")[0].splitlines()[1:]]


def test_parts_at_80_columns(run: Run, treadmill: str) -> None:
    """Below 100 columns a part has its name and amounts in one line, and below it weight, grade, price and
    what that rests on across the whole width.
    """
    assert shown_parts(run, treadmill, 80) == [
        "Part                                                         Low – likely – high",
        "side rails ×2                                                3.49 – 4.06 – 14.46",
        "  2.551 kg (5 lb 10 oz) · Aluminium extrusion, painted, as named at 0.7212 per",
        "  lb (2 yards only, yesterday)",
        "harness                                                      6.40 – 6.70 –  7.00",
        "  0.907 kg (2 lb) · Harness at 0.7212 per lb (0.95 of Light iron: 3 yards, 2",
        "  days ago)",
        "choke                                                                not counted",
        "  0.907 kg (2 lb) · undecided: Transformers, copper; Transformers, aluminium?",
        "  0.98? 1 unpriced",
        "covers                                                               not counted",
        "  0.907 kg (2 lb) · Plastics, disputed, no price",
    ]


@pytest.mark.parametrize("columns", [100, 120])
def test_parts_in_a_table(run: Run, treadmill: str, columns: int) -> None:
    """From 100 columns on the parts are a table, in which what a price rests on is not broken."""
    shown = shown_parts(run, treadmill, columns)
    assert [title in shown[0] for title in ("Part", "Grade", "what it rests on")] == [True] * 3
    told = next(line for line in shown if "2 yards only" in line)
    assert "2 yards only, yesterday" in told
    assert max(map(len, shown)) <= columns


def test_whole_sentences_fit_at_120_columns(fake: FakeGradewright, run: Run, treadmill: str) -> None:
    """At 120 columns the service's own sentence has room too, where the client has no words of its own."""
    says = "3 yards in Kelder Bay, newest yesterday"
    price = {**samples.spread("3", "3", "3"), "per": "lb", "basis": samples.basis(kind="new", says=says)}
    fake.answer("POST", "/v1/valuations", samples.valuation(samples.valued_part(price=price)))
    assert any(says in line for line in shown_parts(run, treadmill, 120))


def test_steps_that_wrap(fake: FakeGradewright, run: Run, treadmill: str) -> None:
    """Numbered steps and what is missing go on to the right of their number or dash."""
    part = samples.valued_part(
        name="bar", grade=None, amount=None, price=None, outcome="undecided",
        next_test=samples.next_test(asks="look " * 30),
    )  # fmt: skip
    fake.answer("POST", "/v1/valuations", samples.valuation(part, missing=["why " * 30]))
    shown = run("value", treadmill, "--region", "XO-KEL").stdout
    assert "\n  - why why" in shown
    assert "\n    why why" in shown
    assert "\n  1. bar: look" in shown
    assert "\n     look look" in shown


def test_piles_of_several_parts(fake: FakeGradewright, run: Run, treadmill: str) -> None:
    """A pile of more than one part says of how many."""
    piles = [{**samples.valuation()["piles"][0], "lines": lines} for lines in (1, 3)]
    fake.answer("POST", "/v1/valuations", samples.valuation(piles=piles))
    shown = " ".join(run("value", treadmill, "--region", "XO-KEL").stdout.split())
    assert "Piles Copper No. 2 0.907 kg (2 lb) 6.40" in shown
    assert "Copper No. 2 (3 parts) 0.907 kg (2 lb) 6.40" in shown


def test_what_would_settle_disputed_parts(fake: FakeGradewright, run: Run, treadmill: str) -> None:
    """Below the parts stands once, for all parts of a disputed rule, what would settle it."""
    one = samples.valued_part(name="chip", confidence="disputed", settled_by="Assay it.")
    parts = (one, {**one, "name": "other chip"}, samples.valued_part(name="plate"))
    fake.answer("POST", "/v1/valuations", samples.valuation(*parts))
    lines = run("value", treadmill, "--region", "XO-KEL").stdout.splitlines()
    told = lines.index("Disputed")
    assert lines[told + 1].strip() == "- chip; other chip. To settle it: Assay it."
    assert "plate" not in " ".join(lines[told:])


def test_one_long_line_does_not_break_the_others(fake: FakeGradewright, run: Run) -> None:
    """Of a list with one price per gross ton every other line stays a line: the long one has its figures
    below its name; what has to wrap is set in."""
    fake.answer("GET", "/v1/prices", samples.price_list())
    grades = [
        "aluminium-extrusion-painted",
        "aluminium-wire-insulated",
        "stainless-attached",
        "tin",
        "residue",
    ]
    changes = [
        samples.list_change(line=n, label=None, grade=grade) for n, grade in enumerate(grades, start=2)
    ]
    before = {**samples.list_change()["before"], "price": "197.60", "per": "gross ton"}
    long = samples.list_change(line=9, label=None, grade="steel-heavy", price="201", per="gross ton")
    changes.append({**long, "before": before, "by": "3.40", "percent": "1.7"})
    labelled = "A label of many words that has no room beside its figures, of light copper"
    changes.append(samples.list_change(line=10, label=labelled, grade="copper-light"))
    compared = samples.list_compared(*changes)
    fake.answer("POST", "/v1/yards/low-quay/lists", compared)
    fake.answer("GET", "/v1/rulebooks/in-force", samples.rulebook())
    command = ["upload", "-", "--yard", "low-quay", "--observed-on", "2026-05-04", "--dry-run"]
    shown = run(*command, input="grade,price\ntin,1\n", columns=80).stdout.splitlines()
    for number, grade in enumerate(grades, start=2):
        (line,) = [one for one in shown if grade in one]
        assert line.startswith(f"{number:>5}  raised   {grade}")
        assert line.rstrip().endswith("%)")
    (at,) = [number for number, one in enumerate(shown) if "steel-heavy" in one]
    assert shown[at].rstrip() == "    9  raised   steel-heavy"
    assert shown[at + 1].split() == ["201/gross", "ton", "197.60/gross", "ton", "+3.40", "(+1.7", "%)"]
    begins = next(number for number, one in enumerate(shown) if "A label of many" in one)
    assert shown[begins + 1].startswith("    ")
    assert max(len(one.rstrip()) for one in shown) <= 80
