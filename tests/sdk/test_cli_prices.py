"""gradewright-client prices and history: what is listed, what is left out, and how it is laid out."""

from __future__ import annotations

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


def points(*likely: str | None) -> list[dict[str, Any]]:
    """A point a day from 2026-05-01 on."""
    days = (f"2026-05-{n:02}" for n in range(1, 32))
    return [
        {"on": day, "low": one, "likely": one, "high": one, "yards": 3 if one else 0, "newest": one and day}
        for day, one in zip(days, likely, strict=False)
    ]


@pytest.mark.parametrize(
    ("empty", "says"),
    [
        (2, "Prices exist from 2026-05-03; the 2 earlier days asked about have none."),
        (1, "Prices exist from 2026-05-02; the day asked about before it has none."),
        (0, None),
    ],
)
def test_history_begins_with_prices(fake: FakeGradewright, run: Run, empty: int, says: str | None) -> None:
    """Days before the first price have neither a row nor a bar; one line says from when prices exist."""
    fake.answer("GET", "/v1/prices/*", samples.series(points(*[None] * empty, "3.1", "3.2")))
    shown = lines(run("history", "copper-no2", "--region", "XO-KEL").stdout)
    assert shown[1] == "▁█  likely, 3.10 to 3.20"
    assert [line for line in shown if "Prices exist" in line] == ([says] if says else [])
    days = [line[:10] for line in shown if line.startswith("2026")]
    assert days == [f"2026-05-{empty + 1:02}", f"2026-05-{empty + 2:02}"]


def test_gaps_in_a_history(fake: FakeGradewright, run: Run) -> None:
    """Days in a row without a price share one row that says from when to when; their bars stay blank."""
    series = samples.series(points("3.1", None, None, None, "3.25", None, "3.1625"))
    fake.answer("GET", "/v1/prices/*", series)
    shown = lines(run("history", "copper-no2", "--region", "XO-KEL").stdout)
    assert shown[1].startswith("▁   █ ▄  likely")
    assert shown[2:-1] == [
        "Day                          Low  Likely    High  Yards  Newest",
        "2026-05-01                3.10    3.10    3.10        3  2026-05-01",
        "2026-05-02 to 2026-05-04  -       -       -           0  -",
        "2026-05-05                3.25    3.25    3.25        3  2026-05-05",
        "2026-05-06                -       -       -           0  -",
        "2026-05-07                3.1625  3.1625  3.1625      3  2026-05-07",
    ]  # fmt: skip


def test_bars_that_do_not_fit(fake: FakeGradewright, run: Run) -> None:
    """Of a long history the last bars are shown, between the prices that those have."""
    series = samples.series(points("9", *["1", "2"] * 15))
    fake.answer("GET", "/v1/prices/*", series)
    shown = lines(run("history", "copper-no2", "--region", "XO-KEL", columns=50).stdout)
    assert shown[1] == "▁█" * 10 + "  likely, 1.00 to 2.00"


def test_history_without_any_price(fake: FakeGradewright, run: Run) -> None:
    """A history of days that all have no price says so, without a table."""
    fake.answer("GET", "/v1/prices/*", samples.series(points(None, None)))
    shown = run("history", "copper-no2", "--region", "XO-KEL").stdout
    assert "No price was known on any of these days." in shown
    assert "Likely" not in shown
