"""What would pay beside a valuation: taking apart, and holding for a better price."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.rulebooks import rulebook

from gradewright.core.better import FromWeight, Offer, Step, steps_of
from gradewright.core.composition import Piece, Record, typical
from gradewright.core.consensus import Quote
from gradewright.core.pointers import MOST, Hold, Opened, TakeApart, Whole, pointers
from gradewright.core.pricelist import Level, PriceList, Tier
from gradewright.core.rates import Rate
from gradewright.core.units import mass_unit

DAY = date(2026, 5, 4)
KG = Decimal(1000)
BOOK = rulebook([], [((), grade) for grade in ("iron", "copper", "motors", "plastic", "brass")])


def rate(price: str) -> Rate:
    """So much for a kilogram."""
    return Rate(Decimal(price), KG)


def price_list(better: dict[str, tuple[Step, ...]] | None = None, **prices: str) -> PriceList:
    """A list of prices for a kilogram, in US dollars, the same for any lot."""
    tiers = {
        grade: (Tier(Decimal(0), None, Quote(rate(p), rate(p), rate(p), 3, 3, DAY, DAY, thin=False)),)
        for grade, p in prices.items()
    }
    level = Level("region", "XO-KEL", "Kelder Bay", tiers)
    return PriceList(BOOK, [level], on=DAY, currency="USD", unit=mass_unit("kg"), better=better or {})


def opened(minutes: str | None = "9", **shares: str) -> Opened:
    """A kind of which seven people have recorded the same, in shares of a kilogram."""
    pieces = tuple(Piece(grade, share=Decimal(share)) for grade, share in shares.items())
    told = None if minutes is None else Decimal(minutes)
    found = typical(Record(f"c-{n}", f"v{n}", (n, 1), pieces, KG, told) for n in range(7))
    assert found is not None
    return Opened("motor", found)


def whole(kind: Opened, kg: str = "10", pays: int = 500, pieces: int = 1) -> Whole:
    """A part of so many kilograms that pays so many cents."""
    return Whole(0, "drive motor", pieces, (Decimal(kg) * KG).as_integer_ratio(), pays, kind)


def steps(*tiers: tuple[str, str | None, str], **others: str) -> tuple[Step, ...]:
    """The steps of Cinder Lane, from weights in kilograms and prices for one, among `others` that pay one
    price for any weight.
    """
    flat = [Offer(yard, yard, [FromWeight(Decimal(0), None, rate(price))]) for yard, price in others.items()]
    priced = [FromWeight(Decimal(kg) * KG, written, rate(price)) for kg, written, price in tiers]
    return steps_of([Offer("cinder-lane", "Cinder Lane", priced), *flat])


def test_a_motor_that_pays_more_apart() -> None:
    """Ten kilograms, a fifth of it copper at 3.00 and the rest iron at 0.20, pay 7.60 apart and 5.00 whole:
    2.60 more for nine minutes, 17.33 an hour.
    """
    prices = price_list(iron="0.20", copper="3.00")
    (found,) = pointers([whole(opened(iron="0.8", copper="0.2"))], {}, prices)
    assert isinstance(found, TakeApart)
    assert (found.gain, found.minutes, found.an_hour, found.unpriced) == (260, 9, 1733, ())


def test_pieces_take_their_time_each() -> None:
    """Two motors of five kilograms take twice as long as one, and gain as much as ten kilograms do: 866 2/3
    cents an hour, told as no more than it is; earlier methods told the nearest cent.
    """
    prices = price_list(iron="0.20", copper="3.00")
    (found,) = pointers([whole(opened(iron="0.8", copper="0.2"), pieces=2)], {}, prices)
    assert isinstance(found, TakeApart)
    assert (found.gain, found.minutes, found.an_hour) == (260, 18, 866)
    (before,) = pointers([whole(opened(iron="0.8", copper="0.2"), pieces=2)], {}, prices, nearest=True)
    assert isinstance(before, TakeApart)
    assert before.an_hour == 867


def test_what_has_no_price_is_named() -> None:
    """A grade without a price is counted as nothing, and told; so is one that the rulebook does not know."""
    prices = price_list(iron="0.20", copper="3.00")
    kind = opened(iron="0.5", copper="0.2", plastic="0.2", unheard="0.1")
    (found,) = pointers([whole(kind, pays=100)], {}, prices)
    assert isinstance(found, TakeApart)
    assert (found.gain, found.unpriced) == (600, ("plastic", "unheard"))


def test_what_comes_out_joins_the_pile_that_is_there() -> None:
    """2 kg of copper out of a motor come to 3 kg with the kilogram that is there, which pays 4.00 and not
    3.00: 4.60 more, where alone it is 2.60.
    """
    prices = price_list(iron="0.20", copper="3.00")
    better = Quote(rate("4.00"), rate("4.00"), rate("4.00"), 3, 3, DAY, DAY, thin=False)
    tiers = {**prices.place.tiers}
    tiers["copper"] = (*tiers["copper"], Tier(3 * KG, "3 kg", better))
    prices = PriceList(
        BOOK, [Level("region", "XO-KEL", "Kelder Bay", tiers)], on=DAY, currency="USD", unit=mass_unit("kg")
    )
    motor = whole(opened(iron="0.8", copper="0.2"))
    gains = [pointers([motor], piles, prices)[0].gain for piles in ({"copper": KG}, {})]
    assert gains == [460, 260]


def test_a_charge_is_taken_off() -> None:
    """What costs to be rid of makes taking apart worth less."""
    prices = price_list(iron="0.20", copper="3.00", plastic="-0.50")
    (found,) = pointers([whole(opened(iron="0.6", copper="0.2", plastic="0.2"))], {}, prices)
    assert isinstance(found, TakeApart)
    assert found.gain == 120 + 600 - 100 - 500


@pytest.mark.parametrize("changed", [{"pays": 760}, {"kind": opened(None, iron="0.8", copper="0.2")}])
def test_no_pointer_without_a_gain_and_its_time(changed: dict[str, Any]) -> None:
    """What pays as much whole, or takes nobody knows how long, is not pointed at."""
    prices = price_list(iron="0.20", copper="3.00")
    assert pointers([whole(**{"kind": opened(iron="0.8", copper="0.2"), **changed})], {}, prices) == ()


def test_a_pile_that_is_short_of_a_better_price() -> None:
    """98 lb at 3.00, where 100 lb pay 3.10: two pounds more bring 98 lb times the difference."""
    pound = Decimal("453.59237")
    step = Step("cinder-lane", "Cinder Lane", 100 * pound, "100 lb", Rate(Decimal("3.00"), pound),
                Rate(Decimal("3.10"), pound))  # fmt: skip
    prices = price_list({"copper": (step,)}, copper="6.60")
    (found,) = pointers([], {"copper": 98 * pound}, prices)
    assert found == Hold("copper", 2 * pound, 980, step)


def test_what_is_too_far_off_is_not_held() -> None:
    """A pile is held for half as much again, and for nothing that it has reached already."""
    prices = price_list({"copper": steps(("0", None, "3"), ("15", "15 kg", "3.1"))}, copper="3")
    held = [kg for kg in ("9.9", "10", "12", "14.9", "15", "20")
            if pointers([], {"copper": Decimal(kg) * KG}, prices)]  # fmt: skip
    assert held == ["10", "12", "14.9"]


def test_of_several_steps_the_best_is_told() -> None:
    """Of one grade one step is pointed at: the furthest within reach, against what is paid now."""
    both = steps(("0", None, "3"), ("11", "11 kg", "3.2"), ("14", "14 kg", "3.3"), ("16", "16 kg", "9"))
    (found,) = pointers([], {"copper": Decimal(10) * KG}, price_list({"copper": both}, copper="3"))
    assert isinstance(found, Hold)
    assert (found.step.written, found.short, found.gain) == ("14 kg", 4 * KG, 300)


def test_a_better_price_is_one_that_no_other_yard_pays_already() -> None:
    """A yard that pays as much for any weight leaves nothing to wait for; one that pays less, the rest."""
    tiers = ("0", None, "3"), ("11", "11 kg", "3.2")
    assert steps(*tiers, tern="3.2") == ()
    (found,) = pointers(
        [], {"copper": Decimal(10) * KG}, price_list({"copper": steps(*tiers, tern="3.1")}, copper="3")
    )
    assert (found.gain, found.step.before) == (100, rate("3.1"))


def test_a_step_pays_more_than_anything_below_it() -> None:
    """A from-weight that pays the same or less is no step, nor is the only price, nor one after a fall."""
    found = steps(
        ("0", None, "3"),
        ("10", "10 kg", "3"),
        ("20", "20 kg", "3.5"),
        ("30", "30 kg", "2"),
        ("40", "40 kg", "3.4"),
    )
    assert [(step.written, step.before, step.after) for step in found] == [("20 kg", rate("3"), rate("3.5"))]
    assert steps(("10", "10 kg", "3")) == ()


def test_the_largest_gains_come_first_and_not_too_many() -> None:
    """No more than `MOST`, by their gains, of either kind."""
    prices = price_list({"copper": steps(("0", None, "3"), ("11", "11 kg", "5"))}, iron="0.20", copper="3.00")
    kind = opened(iron="0.8", copper="0.2")
    wholes = [Whole(n, f"m{n}", 1, ((n + 8) * 1000, 1), 100, kind) for n in range(8)]
    found = pointers(wholes, {"copper": Decimal(10) * KG}, prices)
    assert len(found) == MOST
    assert [each.gain for each in found] == sorted((each.gain for each in found), reverse=True)
    assert isinstance(found[0], Hold)


def test_no_work_that_brings_less_than_an_hour_is_worth() -> None:
    """2.60 for nine minutes are 17.33 an hour: who has 17.34 for one is not sent to it, who has 17.33 is."""
    prices = price_list(iron="0.20", copper="3.00")
    motor = whole(opened(iron="0.8", copper="0.2"))
    found = [len(pointers([motor], {}, prices, hour_rate=Decimal(rate))) for rate in ("0", "17.33", "17.34")]
    assert found == [1, 1, 0]


@given(
    st.dictionaries(st.sampled_from(["iron", "copper", "brass"]), st.integers(1, 30), min_size=1),
    st.integers(1, 50_000),
    st.integers(0, 20_000),
)
@settings(max_examples=40)
def test_the_gain_is_what_the_shares_pay(shares: dict[str, int], grams: int, pays: int) -> None:
    """The gain is the sum over the shares, worked out apart in whole numbers, less what the whole pays."""
    hundred = {grade: Decimal(share) / 100 for grade, share in shares.items()}
    prices = price_list(iron="0.20", copper="3.01", brass="2.5")
    cents = {"iron": 20, "copper": 301, "brass": 250}
    found = pointers(
        [whole(opened(**{g: str(s) for g, s in hundred.items()}), str(Decimal(grams) / 1000), pays)],
        {},
        prices,
    )
    exact = sum(Fraction(shares[g], 100) * grams * cents[g] / 1000 for g in shares) - pays
    assert [each.gain for each in found] == ([round(exact)] if round(exact) > 0 else [])
