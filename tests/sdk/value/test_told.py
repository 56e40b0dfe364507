"""gradewright-client value: the table for people."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.sdk.conftest import Run
from tests.sdk.value.valued import incomplete

from gradewright_sdk.cli._show import weight
from gradewright_sdk.testing import FakeGradewright, samples


def test_table_for_people(fake: FakeGradewright, run: Run, parts: str) -> None:
    """The table tells parts, prices and how sure, piles, totals, what is missing, raises, cautions, steps
    and pins.
    """
    fake.answer("POST", "/v1/valuations", incomplete(), headers={"Valuation-Id": "v-7"})
    result = run("value", parts, "--region", "XO-KEL", "--keep", columns=120)
    shown = " ".join(result.stdout.split())
    for text in (
        "XO-KEL, 2026-05-04, prices in USD",
        "winding Copper No. 2 3.35 per lb 6.40 – 6.70 – 7.00",
        "0.907 kg (2 lb)",
        "3 yards, 2 days ago",
        "motor ×2",
        "odd [red] bar undecided - not counted",
        "6.70 to 8.40?",
        "frame Light iron no price not counted",
        "Piles Copper No. 2 0.907 kg (2 lb) 6.40 – 6.70 – 7.00",
        "Total 12.80 – 13.40 – 14.00 USD (2 of 4 parts counted)",
        "In cash, likely 13.40 USD",
        "INCOMPLETE: 2 parts have no amount and are not in the total.",
        "Missing - odd [red] bar: too little is known - frame: no yard posted it",
        "Open the motor: motor 20 min 4.10 12.30",
        "becomes Copper No. 2. Cut the windings out.",
        "! Stored charge (motor) Discharge and verify.",
        "! Mains lead (motor) Unplug and wait.",
        "1. odd [red] bar: Is there solder on it? (by eye, 0.2 min) Decides between 6.70 and 8.40. "
        "Beware: tinned ends count as solder",
        "2. Open the motor (motor): adds 4.10 in 20 min, 12.30 USD an hour.",
        "3. Ask a yard what it pays for light-iron",
        "Rests on rulebook 2018.1, ledger revision 312, method 1.",
        f"SHA-256 {samples.SHA}",
        "The same again: --on 2026-05-04 --known-at 312 --rulebook 2018.1",
        "Kept as v-7",
    ):
        assert text in shown


def doubtful(number: int) -> dict[str, Any]:
    """A valuation of a motor that has one caution, and of a lump that may have it, and others."""
    names = [f"danger-{n}" for n in range(number)]
    motor = samples.valued_part(name="motor", cautions=["charge"])
    lump = samples.valued_part(
        name="lump", outcome="undecided", cautions=["charge", *names], possible_cautions=["charge", *names]
    )
    charge = {"id": "charge", "name": "Charge", "says": "Wait.", "source": "x", "certain": True}
    others = [
        {"id": name, "name": name.title(), "says": f"Mind {name}.", "source": "x", "certain": False}
        for name in names
    ]
    return samples.valuation(motor, lump, cautions=[charge, *others])


def test_cautions_that_may_apply(fake: FakeGradewright, run: Run, parts: str) -> None:
    """By each caution stand the parts that it concerns, and those that it may; many that may are named."""
    fake.answer("POST", "/v1/valuations", doubtful(2))
    shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
    assert "! Charge (motor; may apply to lump: act as if so until you know more) Wait." in shown
    assert "? Danger-1 (may apply to lump: act as if so until you know more) Mind danger-1." in shown
    both = doubtful(0)
    both["parts"][1]["name"] = "motor"
    fake.answer("POST", "/v1/valuations", both)
    assert "! Charge (motor) Wait." in " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
    fake.answer("POST", "/v1/valuations", doubtful(9))
    shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
    assert "Wait. ? May apply to lump: act as if so until you know more Danger-0; Danger-1;" in shown
    assert "Mind danger" not in shown


@pytest.mark.parametrize("columns", [60, 80, 132])
def test_table_fits_and_is_plain_in_a_pipe(fake: FakeGradewright, run: Run, parts: str, columns: int) -> None:
    """In a pipe the table has no colours, is no wider than asked, and cuts no amount short."""
    fake.answer("POST", "/v1/valuations", incomplete())
    result = run("value", parts, "--region", "XO-KEL", columns=columns)
    assert "\x1b" not in result.stdout
    # The SHA-256 is one word of 64 and cannot be broken usefully below 72 columns.
    lines = [line for line in result.stdout.splitlines() if samples.SHA[:40] not in line]
    assert max(map(len, lines)) <= columns
    assert "6.40 – 6.70 – 7.00" in result.stdout
    assert "…" not in result.stdout


def test_complete_valuation_does_not_cry_wolf(fake: FakeGradewright, run: Run, parts: str) -> None:
    """A complete valuation is not called incomplete, and has no empty sections."""
    fake.answer("POST", "/v1/valuations", samples.valuation())
    shown = run("value", parts, "--region", "XO-KEL").stdout
    assert "1 of 1 parts counted" in shown
    for title in (
        "INCOMPLETE",
        "Missing",
        "What would raise it",
        "Cautions",
        "What to try next",
        "In cash",
        "Kept",
    ):
        assert title not in shown


@pytest.mark.parametrize(
    ("many", "told"), [(3, "g0; g1; g2"), (12, "g0; g1; g10 and 9 more (--json names them all)")]
)
def test_what_nobody_pays_for_is_named_in_short(
    fake: FakeGradewright, run: Run, parts: str, many: int, told: str
) -> None:
    """Of many grades without a price the first are named, and how many more there are."""
    unpriced = {"outcome": "named", "price": None, "amount": None, "unpriced": "no yard posted it"}
    lacking = [samples.valued_part(grade=f"g{n}", **unpriced) for n in range(many)]
    fake.answer("POST", "/v1/valuations", samples.valuation(*lacking))
    shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
    assert f"Ask a yard what it pays for {told}, and post it" in shown


def test_a_day_that_has_not_come_is_said_to_be_one(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Of a day to come it is told that it is one, as no price can have been seen there."""
    told = "has not come yet: these are prices seen until now."
    for on, yet in (("2999-01-01", True), ("2026-05-04", False)):
        fake.answer("POST", "/v1/valuations", {**samples.valuation(), "on": on})
        shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
        assert (f"{on} {told}" in shown) is yet
        assert "too old by then" not in shown


def test_a_day_on_which_todays_prices_are_too_old(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Where nothing is counted since a day that has not come either, all that is posted now is too old then,
    and that is said.
    """
    for since, old in (("2998-10-03", True), ("2026-02-01", False)):
        nobody = (
            f"Nobody has posted a price for Brass in Kelder Bay or above it since {since}, nor for anything."
        )
        lacking = samples.valued_part(outcome="named", price=None, amount=None, unpriced=nobody)
        fake.answer("POST", "/v1/valuations", {**samples.valuation(lacking), "on": "2999-01-01"})
        shown = " ".join(run("value", parts, "--region", "XO-KEL").stdout.split())
        assert ("until now. Unless others are posted, all of today will be too old by then." in shown) is old


@pytest.mark.parametrize("who", ["Low Quay does", "Yards in Kelder Bay do"])
def test_no_yard_is_asked_for_what_is_not_taken(
    fake: FakeGradewright, run: Run, parts: str, who: str
) -> None:
    """Of a grade that the place does not take nobody is sent to ask what it pays."""
    says = f"{who} not take Light iron, since 2026-01-01: no room. Try another yard, or the whole region."
    one = samples.valued_part(outcome="named", price=None, amount=None, unpriced=says)
    fake.answer("POST", "/v1/valuations", samples.valuation({**one, "grade_name": "Light iron"}))
    shown = " ".join(run("value", parts, "--yard", "low-quay").stdout.split())
    assert "no price" in shown
    assert "Ask a yard what it pays" not in shown


def test_whose_minutes_they_are(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Work that would raise a part is told to go by the rulebook, as members can have other figures."""
    fake.answer("POST", "/v1/valuations", incomplete())
    shown = run("value", parts, "--region", "XO-KEL").stdout
    assert "Minutes, and how much comes off, as rulebook 2018.1 has them." in shown


def test_text_from_elsewhere_cannot_steer_the_terminal(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Control and direction characters in names are shown as blanks."""
    fake.answer("POST", "/v1/valuations", samples.valuation(samples.valued_part(name="a\x1b[2Jb\u202ec")))
    shown = run("value", parts, "--region", "XO-KEL").stdout
    assert "\x1b" not in shown
    assert "\u202e" not in shown
    assert "a [2Jb c" in shown


def test_many_raises_are_cut_to_the_best(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Of many ways to raise it the ten best per hour are shown, and how many more there are."""

    def better(n: int) -> dict[str, Any]:
        hourly = None if n == 11 else f"{n}.00"
        minutes = "0" if n == 11 else "1"
        work = {"preparation": f"p{n}", "name": f"Work {n}", "minutes": minutes, "grade": "x"}
        return {**work, "gain": "1.00", "per_hour": hourly}

    part = samples.valued_part(raises=[better(n) for n in range(12)])
    fake.answer("POST", "/v1/valuations", samples.valuation(part))
    shown = run("value", parts, "--region", "XO-KEL").stdout
    order = [line.split(":")[0].strip() for line in shown.splitlines() if line.strip().startswith("Work ")]
    assert order == [f"Work {n}" for n in (11, 10, 9, 8, 7, 6, 5, 4, 3, 2)]
    assert "and 2 more" in shown


def test_a_sequence_of_work_is_told_step_by_step(fake: FakeGradewright, run: Run, parts: str) -> None:
    """Several steps stand in one line with what they add; below it what is left, taken off and lost, and how
    each step is done.
    """
    plug = {
        "preparation": "cut-plug-off",
        "name": "Cut the plug off",
        "how": "At both ends.",
        "minutes": "0.5",
    }
    strip = {"preparation": "strip-cord", "name": "Strip the cord", "how": "By machine.", "minutes": "1.5"}
    both = {
        "preparation": None,
        "how": None,
        "name": "Cut the plug off, then strip the cord",
        "steps": [plug, strip],
        "minutes": "2",
        "grade": "copper-no2",
        "grade_name": "Copper No. 2",
        "kept_kg": "0.4675",
        "shed": [
            {"grade": "plug-ends", "grade_name": "Plug ends", "weight_kg": "0.15", "amount": "0.20"},
            {"grade": "screws", "grade_name": "Screws", "weight_kg": "0.01", "amount": None},
        ],
        "lost_kg": "0.3725",
        "gain": "3.10",
        "per_hour": "93.00",
        "best": ["in all"],
        "about_pieces": 4,
    }
    fake.answer("POST", "/v1/valuations", samples.valuation(samples.valued_part(name="cord", raises=[both])))
    shown = " ".join(run("value", parts, "--region", "XO-KEL", columns=120).stdout.split())
    for text in (
        "Cut the plug off, then strip the cord: cord 2 min 3.10 93.00",
        "adds the most in all. takes the time of some 4, as no one weighs that: give their count. becomes",
        "Copper No. 2 (0.468 kg (1 lb)).",
        "Beside it Plug ends (0.150 kg (5.3 oz), 0.20).",
        "Beside it Screws (0.010 kg (0.4 oz), which has no price).",
        "0.372 kg (13.1 oz) is lost. 1. At both ends. (0.5 min) 2. By machine. (1.5 min)",
        "Cut the plug off, then strip the cord (cord): adds 3.10 in 2 min, 93.00 USD an hour.",
    ):
        assert text in shown, shown


@given(st.decimals(0, 100_000, places=9))
def test_weights_for_people(kg: Decimal) -> None:
    """A weight in both notations is right to half an ounce, or to a twentieth of one below a pound."""
    shown = weight(kg)
    metric, _, imperial = shown.partition(" kg (")
    assert abs(Decimal(metric) - kg) <= Decimal("0.005")
    words = imperial.rstrip(")").split()
    numbers = {unit: Decimal(number) for number, unit in zip(words[::2], words[1::2], strict=True)}
    ounces = numbers.get("lb", Decimal(0)) * 16 + numbers.get("oz", Decimal(0))
    assert abs(ounces * Decimal("0.028349523125") - kg) <= Decimal("0.0156")
    assert numbers.get("oz", Decimal(0)) < 16
