"""What the results are: frozen, exact, in a currency, tolerant of newer services."""

from __future__ import annotations

import hashlib
import json
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

import pydantic
import pytest

import gradewright_sdk as gw
from gradewright_sdk import Client, Money, Part
from gradewright_sdk.testing import FakeGradewright, samples


def usd(text: str) -> Money:
    return Money(Decimal(text), "USD")


def valued(fake: FakeGradewright, client: Client, body: object, **headers: str) -> gw.Valuation:
    fake.answer("POST", "/v1/valuations", body, headers=headers)
    return client.valuations.value([Part("a", weight="1 kg", grade="x")], region="XO-KEL")


def test_valuation_keeps_the_bytes(fake: FakeGradewright, client: Client) -> None:
    """A valuation's raw is byte for byte what was sent, odd spacing and signs included."""
    sent = json.dumps(samples.valuation(), indent=3).replace("winding", "W\\u00fcrfel ü").encode()
    valuation = valued(fake, client, sent)
    assert valuation.raw == sent
    assert valuation.parts[0].name == "Würfel ü"


def test_valuation_pins_and_id(fake: FakeGradewright, client: Client) -> None:
    """A valuation says its pins, and its id where the service kept it."""
    valuation = valued(fake, client, samples.valuation(), **{"Valuation-Id": "v-9"})
    pins = valuation.pins
    assert (pins.rulebook, pins.revision, pins.method, pins.sha256) == ("2018.1", 312, "1", samples.SHA)
    assert valuation.id == "v-9"
    assert valued(fake, client, samples.valuation()).id is None


def canonical(document: dict[str, Any]) -> bytes:
    return json.dumps(document, sort_keys=True, ensure_ascii=False, separators=(",", ":")).encode()


def test_valuation_is_intact(fake: FakeGradewright, client: Client) -> None:
    """A valuation is intact if its bytes without the SHA-256 have that SHA-256; one changed digit and it
    is not.
    """
    document = samples.valuation(samples.valued_part(name='odd ","sha256":"' + "0" * 64))
    del document["pins"]["sha256"]
    document["pins"]["sha256"] = hashlib.sha256(canonical(document)).hexdigest()
    assert valued(fake, client, canonical(document)).intact
    assert not valued(fake, client, canonical(document).replace(b"6.70", b"6.71")).intact
    assert not valued(fake, client, samples.valuation()).intact


def test_amounts_are_money(fake: FakeGradewright, client: Client) -> None:
    """Every amount of a valuation is Money in its currency, with the digits as sent."""
    better = {
        "preparation": "p",
        "name": "P",
        "minutes": "20",
        "gain": "4.10",
        "per_hour": "12.30",
        "grade": "x",
    }
    candidate = {"grade": "x", "name": "X", "amount": samples.spread("1.00", "2.00", "3.00")}
    part = samples.valued_part(raises=[better], candidates=[candidate])
    totals = {**samples.spread("6.40", "6.70", "7.00"), "cash": "6.70", "priced": 1, "unpriced": 0}
    valuation = valued(fake, client, samples.valuation(part, totals=totals))
    one = valuation.parts[0]
    assert one.amount is not None
    assert one.price is not None
    assert one.candidates[0].amount is not None
    found = [
        one.amount.low,
        one.price.likely,
        one.candidates[0].amount.high,
        one.raises[0].gain,
        one.raises[0].per_hour,
        valuation.totals.likely,
        valuation.totals.cash,
        valuation.piles[0].amount.high if valuation.piles[0].amount else None,
    ]
    assert found == [*map(usd, ["6.40", "3.35", "3.00", "4.10", "12.30", "6.70", "6.70", "7.00"])]
    assert str(found[0]) == "6.40 USD"
    assert one.weight.kg == Decimal("0.90718474")


def test_choices_named_low_and_high_stay_words(fake: FakeGradewright, client: Client) -> None:
    """A question whose choices are called low and high is not mistaken for amounts."""
    test = samples.next_test(kind="choice", choices={"low": "few chips", "high": "gold edge"})
    part = samples.valued_part(outcome="undecided", next_test=test, amount=None, price=None)
    found = valued(fake, client, samples.valuation(part)).parts[0].next_test
    assert found is not None
    assert found.choices == {"low": "few chips", "high": "gold edge"}


def test_candidates_of_a_grading_have_their_own_currency(fake: FakeGradewright, client: Client) -> None:
    """The prices of a grading's candidates are Money in the currency that each names."""
    fake.answer("POST", "/v1/gradings", samples.undecided())
    grading = client.gradings.grade({"metal": "copper"}, region="XO-KEL")
    assert grading.outcome == "undecided"
    assert grading.candidates[0].price is None
    price = grading.candidates[1].price
    assert price is not None
    assert (price.likely, price.per) == (usd("3.35"), "lb")
    assert grading.next_test is not None
    assert grading.next_test.minutes == Decimal("0.2")


def test_price_list(fake: FakeGradewright, client: Client) -> None:
    """A price list finds a grade's price, its tiers, what it rests on, and what has none."""
    kin = samples.basis(kind="kin", kin={"grade": "copper-no1", "factor": "0.93"}, newest=None, oldest=None)
    one = samples.price(
        tiers=[{"from_weight": "100 lb", **samples.spread("3.30", "3.45", "3.60")}], basis=kin
    )
    body = samples.price_list(one, unpriced=[{"grade": "x", "because": "nobody posted it"}])
    fake.answer("GET", "/v1/prices", body)
    found = client.prices.list(region="XO-KEL")
    price = found.get("copper-no2")
    assert price is not None
    assert price.tiers[0].likely == usd("3.45")
    assert price.basis.kin is not None
    assert price.basis.kin.factor == Decimal("0.93")
    assert found.get("x") is None
    assert found.unpriced[0].because == "nobody posted it"
    assert (found.on, found.known_at) == (date(2026, 5, 4), 312)
    assert json.loads(found.raw) == body


def test_series_with_a_gap(fake: FakeGradewright, client: Client) -> None:
    """A day without a price is a point without amounts, not a zero."""
    gap = {"on": "2026-04-20", "low": None, "likely": None, "high": None, "yards": 0, "newest": None}
    fake.answer("GET", "/v1/prices/*", samples.series([gap]))
    point = client.prices.series("copper-no2", region="XO-KEL").points[0]
    assert (point.on, point.likely, point.newest) == (date(2026, 4, 20), None, None)


def test_posting(fake: FakeGradewright, client: Client) -> None:
    """A posting has its day as a date, its instant with zone, and prices in the currency each names."""
    fake.answer("GET", "/v1/postings/p-1", samples.posting())
    posting = client.postings.get("p-1")
    assert posting.recorded_at == datetime(2026, 5, 4, 9, 12, tzinfo=UTC)
    assert posting.recorded_at.utcoffset() == timedelta(0)
    assert posting.observed_on == date(2026, 5, 3)
    assert posting.prices[0].price == usd("3.35")


def test_instant_without_zone_is_unexpected(fake: FakeGradewright, client: Client) -> None:
    """An instant without a zone is no instant: the answer is not as promised."""
    fake.answer("GET", "/v1/postings/p-1", samples.posting(recorded_at="2026-05-04T09:12:00"))
    with pytest.raises(gw.UnexpectedAnswer, match="recorded_at"):
        client.postings.get("p-1")


def test_rulebook_finds_grades(fake: FakeGradewright, client: Client) -> None:
    """A rulebook finds a grade by slug, name or alias, however it is capitalised."""
    fake.answer("GET", "/v1/rulebooks/2018.1", samples.rulebook())
    book = client.rulebooks.get("2018.1")
    assert [book.find_grade(text) for text in ("copper-no2", " COPPER NO. 2", "no. 2", "No. 1", "gold")] == [
        "copper-no2",
        "copper-no2",
        "copper-no2",
        "copper-no1",
        None,
    ]
    assert book.attributes["metal"].choices == {"copper": "red when filed", "steel": "a magnet sticks"}
    assert book.attributes["metal"].minutes == Decimal("0.5")


def newer(value: Any) -> Any:
    """The same answer from a service that has learnt to say more, everywhere."""
    if isinstance(value, dict):
        return {
            **{name: newer(one) for name, one in value.items()},
            "of_next_year": {"low": [1.5], "x": None},
        }
    return [newer(one) for one in value] if isinstance(value, list) else value


def test_newer_service(fake: FakeGradewright, client: Client) -> None:
    """Fields that a newer service adds, anywhere, are left out and break nothing."""
    test = samples.next_test()
    part = samples.valued_part(next_test=test)
    plain = valued(fake, client, samples.valuation(part))
    more = valued(fake, client, newer(samples.valuation(part)))
    assert more.model_dump() == plain.model_dump()
    fake.answer("GET", "/v1/prices", newer(samples.price_list()))
    assert client.prices.list(region="XO-KEL").get("copper-no2") is not None


def test_outcome_of_a_newer_service(fake: FakeGradewright, client: Client) -> None:
    """An outcome that this version does not know is passed on as it is."""
    fake.answer("POST", "/v1/gradings", samples.grading(outcome="referred"))
    assert client.gradings.grade({}).outcome == "referred"


@pytest.mark.parametrize(
    "change", [lambda v: setattr(v, "complete", False), lambda v: setattr(v.totals, "low", 1)]
)
def test_results_cannot_be_changed(fake: FakeGradewright, client: Client, change: Any) -> None:
    """Results are frozen."""
    valuation = valued(fake, client, samples.valuation())
    with pytest.raises(pydantic.ValidationError, match="frozen"):
        change(valuation)


@pytest.mark.parametrize("amount", ["3,35", "", "NaN", "1e400000000000000000000", True, [], 3.35])
def test_amount_that_is_none(fake: FakeGradewright, client: Client, amount: object) -> None:
    """An amount that is no exact number is an UnexpectedAnswer that says where, never a wrong amount."""
    totals = {**samples.spread("6.40", "6.70", "7.00"), "likely": amount, "priced": 1, "unpriced": 0}
    if amount == 3.35:
        # A JSON number with a point is read as its digits, so even this one is exact.
        assert valued(fake, client, samples.valuation(totals=totals)).totals.likely == usd("3.35")
        return
    with pytest.raises(gw.UnexpectedAnswer, match=r"totals\.likely"):
        valued(fake, client, samples.valuation(totals=totals))


def test_long_amounts_stay_exact(fake: FakeGradewright, client: Client) -> None:
    """An amount of many digits comes through digit by digit."""
    long = "12345678901234567890.12345678901234567890"
    totals = {**samples.spread(long, long, long), "priced": 1, "unpriced": 0}
    assert str(valued(fake, client, samples.valuation(totals=totals)).totals.low) == f"{long} USD"


def test_yard_labels(fake: FakeGradewright, client: Client) -> None:
    """A yard's labels say from which day on they are its words."""
    fake.answer("GET", "/v1/yards/low-quay", samples.yard(cash_increment="0.05"))
    yard = client.yards.get("low-quay")
    assert (yard.labels[0].label, yard.labels[0].from_) == ("#2 Cu", date(2026, 1, 1))
    assert yard.cash_increment == Decimal("0.05")
