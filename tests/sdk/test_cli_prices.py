"""gradewright-client prices: what is listed, what is left out, and how it is laid out."""

from __future__ import annotations

import json
from typing import Any

import pytest
from tests.sdk.conftest import Run

from gradewright_sdk.testing import FakeGradewright, samples

KIN = samples.basis(kind="kin", kin={"grade": "copper-no2", "factor": "0.9"})


def words(text: str) -> str:
    return " ".join(text.split())


def lines(text: str) -> list[str]:
    return [line.rstrip() for line in text.splitlines()]


def listed() -> dict[str, Any]:
    """Five grades: three that somebody posted, two that a related grade prices."""
    thin = samples.basis(yards=2, thin=True)
    return samples.price_list(
        samples.price(low="3.2", likely="3.3512", high="3.50"),
        samples.price(grade="light-iron", name="Light iron", family="ferrous", basis=thin),
        samples.price(grade="copper-burnt", name="Burnt copper", basis=KIN),
        samples.price(grade="copper-no1", name="Copper No. 1", low="13.2", likely="14", high="15.1234"),
        samples.price(grade="wood", name="Wood", family="none-such", basis=KIN),
    )


def test_prices(fake: FakeGradewright, run: Run) -> None:
    """The price list shows low, likely, high, tiers, how sure, what has no price, and the pins."""
    tier = {"from_weight": "100 lb", **samples.spread("3.30", "3.45", "3.60")}
    unpriced = [
        {"grade": "boards-high", "because": "nobody posted it"},
        {"grade": "chips", "because": "nobody posted it"},
    ]
    fake.answer("GET", "/v1/prices", samples.price_list(samples.price(tiers=[tier]), unpriced=unpriced))
    options = ["--on", "2026-05-04", "--known-at", "312", "--grade", "copper-no2", "--weight", "150 lb"]
    result = run("prices", "--region", "XO-KEL", *options)
    shown = words(result.stdout)
    assert "XO-KEL, 2026-05-04, in USD per lb Copper Low Likely High" in shown
    assert "Copper No. 2 3.20 3.35 3.50 copper-no2 · 3 yards, 2 days ago" in shown
    assert "· from 100 lb 3.30 – 3.45 – 3.60" in shown
    assert "Without a price: 2 boards-high: nobody posted it chips: nobody posted it" in shown
    assert "ledger revision 312, by rulebook 2018.1" in shown
    assert fake.requests[0].query == {
        "region": "XO-KEL",
        "on": "2026-05-04",
        "known_at": "312",
        "weight": "150 lb",
        "grade": "copper-no2",
    }
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_many_grades_without_a_price(fake: FakeGradewright, run: Run) -> None:
    """Where many grades have no price they are named in a row, without a reason each."""
    unpriced = [{"grade": f"grade-{n}", "because": f"nobody posted {n}"} for n in range(30)]
    fake.answer("GET", "/v1/prices", samples.price_list(unpriced=unpriced))
    shown = words(run("prices", "--region", "XO-KEL").stdout)
    assert "Without a price: 30 grade-0, grade-1," in shown
    assert "grade-29. With --grade it says why." in shown
    assert "nobody posted" not in shown


@pytest.mark.parametrize(
    "command", [["prices", "--region", "XO-KEL"], ["history", "copper-no2", "--region", "XO-KEL"]]
)
def test_json_is_what_the_service_sent(fake: FakeGradewright, run: Run, command: list[str]) -> None:
    """--json prints the answer's own bytes."""
    body = samples.price_list() if command[0] == "prices" else samples.series()
    sent = json.dumps(body, indent=2).encode()
    fake.answer("GET", "/v1/prices*", sent)
    assert run(*command, "--json").stdout_bytes == sent + b"\n"


def test_grades_that_somebody_posted(fake: FakeGradewright, run: Run) -> None:
    """Only grades that somebody posted are listed, each in two lines under its family's name, the decimal
    points under each other; a line at the end counts the others.
    """
    fake.answer("GET", "/v1/prices", listed())
    assert lines(run("prices", "--region", "XO-KEL", columns=60).stdout) == [
        "XO-KEL, 2026-05-04, in USD per lb",
        "",
        "Copper                                 Low   Likely     High",
        "Copper No. 2                          3.20   3.3512   3.50",
        "  copper-no2 · 3 yards, 2 days ago",
        "Copper No. 1                         13.20  14.00    15.1234",
        "  copper-no1 · 3 yards, 2 days ago",
        "",
        "Ferrous                                Low   Likely     High",
        "Light iron                            3.20   3.35     3.50",
        "  light-iron · 2 yards only, 2 days ago",
        "",
        "2 more are priced by a related grade: --all",
        "Known at ledger revision 312, by rulebook 2018.1.",
    ]


def test_all_grades(fake: FakeGradewright, run: Run) -> None:
    """--all lists what a related grade prices too, with which one; a family that the rulebook does not know
    goes by its slug.
    """
    fake.answer("GET", "/v1/prices", listed())
    shown = words(run("prices", "--region", "XO-KEL", "--all").stdout)
    assert "copper-burnt · 0.9 of copper-no2: 3 yards, 2 days ago" in shown
    assert "none-such Low Likely High Wood 3.20" in shown
    assert "more" not in shown


def test_one_grade_is_always_shown(fake: FakeGradewright, run: Run) -> None:
    """A grade that was asked for by name is shown, also if only a related grade prices it."""
    fake.answer("GET", "/v1/prices", samples.price_list(samples.price(grade="wood", name="Wood", basis=KIN)))
    shown = run("prices", "--region", "XO-KEL", "--grade", "wood").stdout
    assert "Wood" in shown
    assert "more" not in shown


def test_one_more(fake: FakeGradewright, run: Run) -> None:
    """A single grade that is left out is told in the singular, also if nothing else is listed."""
    fake.answer("GET", "/v1/prices", samples.price_list(samples.price(basis=KIN)))
    assert "1 more is priced by a related grade: --all" in run("prices", "--region", "XO-KEL").stdout


def test_different_units(fake: FakeGradewright, run: Run) -> None:
    """Where the prices are not all per the same weight, each says per which."""
    iron = samples.price(grade="light-iron", name="Light iron", per="gross ton")
    fake.answer("GET", "/v1/prices", samples.price_list(samples.price(), iron))
    shown = words(run("prices", "--region", "XO-KEL").stdout)
    assert "XO-KEL, 2026-05-04, in USD Copper Low Likely High Per" in shown
    assert "Copper No. 2 3.20 3.35 3.50 lb" in shown
    assert "Light iron 3.20 3.35 3.50 gross ton" in shown


def test_the_tier_that_was_asked_for(fake: FakeGradewright, run: Run) -> None:
    """A price for a larger lot says from which weight, and does not repeat itself as one of the tiers."""
    tiers = [{"from_weight": f"{n} lb", **samples.spread("3.3", "3.4", "3.5")} for n in (100, 500)]
    price = samples.price(from_weight="100 lb", tiers=tiers)
    fake.answer("GET", "/v1/prices", samples.price_list(price))
    shown = words(run("prices", "--region", "XO-KEL", "--weight", "150 lb").stdout)
    assert "copper-no2 from 100 lb · 3 yards, 2 days ago · from 500 lb 3.30 – 3.40 – 3.50" in shown
    assert shown.count("from 100 lb") == 1
