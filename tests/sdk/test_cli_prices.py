"""gradewright-client prices: what is listed, what is left out, and how it is laid out."""

from __future__ import annotations

from typing import Any

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
