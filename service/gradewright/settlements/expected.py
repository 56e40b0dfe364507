"""What a ticket is held against: the piles of a kept valuation, or bins at the prices of the day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from gradewright.core.decimals import EXACT, plain
from gradewright.core.linked import Bin
from gradewright.core.money import Rounding, minor_per_unit
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.rates import Amount, Payer, Rate, scale
from gradewright.core.units import mass_unit
from gradewright.rulebooks.service import Version, resolve_grade
from gradewright.settlements.given import BinGiven
from gradewright.settlements.reading import Faults, weight

KILOGRAM = Decimal(1000)
WAITING_UNSAID = frozenset({"1", "2"})
"""The methods that told what was posted and waits as if nobody had posted it."""
OF_WHERE_UNTOLD = frozenset({"1", "2", "3", "4"})
"""The methods that did not tell for where a valuation was made, nor that it was for elsewhere."""
NO_GRADE = "Its grade was not known when it was valued."


@dataclass(frozen=True, slots=True)
class Quoted:
    """The price that a bin was expected to have, as it is shown."""

    likely: str
    per: str
    from_weight: str | None
    says: str


@dataclass(frozen=True, slots=True)
class ExpectedBin:
    """A bin with what is told of it; exactly one of `quoted` and `unpriced` is there."""

    bin: Bin
    amount: Amount | None
    quoted: Quoted | None
    unpriced: str | None


@dataclass(frozen=True, slots=True)
class Expected:
    """All that was expected, by one version and one price list. Of a valuation `parts`, with their bins, and
    `weighed`, by bins: the weights of its parts as they are written, and of how many pieces each is one.
    """

    version: Version
    prices: PriceList
    bins: tuple[ExpectedBin, ...]
    against: Mapping[str, Any]
    parts: Mapping[str, frozenset[int]] = field(default_factory=dict)
    weighed: Mapping[int, Sequence[tuple[int, str]]] = field(default_factory=dict)

    @property
    def amount(self) -> Amount:
        """The sum of the bins that have a price."""
        priced = [each.amount for each in self.bins if each.amount is not None]
        return Amount(*(sum(column) for column in zip(*priced, strict=True))) if priced else Amount(0, 0, 0)


def of_valuation(
    body: Mapping[str, Any], against: str, version: Version, prices: PriceList, method: str
) -> Expected:
    """The piles of a valuation and its parts without a grade, by its answer, at the prices that it used."""
    piles = [_pile(pile, prices, method) for pile in body["piles"]]
    of_grade = {each.bin.grade: place for place, each in enumerate(piles)}
    vague: dict[str, Decimal] = {}
    for part in body["parts"]:
        if part["grade"] is None:
            kg = Decimal(part["weight"]["kg"])
            vague[part["name"]] = EXACT.add(vague.get(part["name"], Decimal(0)), EXACT.multiply(kg, KILOGRAM))
    of_name = {name: len(piles) + number for number, name in enumerate(vague)}
    parts: dict[str, set[int]] = {}
    weighed: dict[int, list[tuple[int, str]]] = {}
    for part in body["parts"]:
        place = of_name[part["name"]] if part["grade"] is None else of_grade[part["grade"]]
        parts.setdefault(part["name"], set()).add(place)
        weighed.setdefault(place, []).append(_as_weighed(part["weight"]["given"], part["count"]))
    unknown = [
        ExpectedBin(Bin(name, None, grams, None, None), None, None, NO_GRADE) for name, grams in vague.items()
    ]
    pins = body["pins"]
    told = {
        "valuation": against,
        "on": body["on"],
        "rulebook": pins["rulebook"],
        "revision": pins["revision"],
        "sha256": pins["sha256"],
    }
    by_name = {name: frozenset(found) for name, found in parts.items()}
    return Expected(version, prices, (*piles, *unknown), told, by_name, weighed)


def _as_weighed(given: str, count: int) -> tuple[int, str]:
    """A part's weight as it is written, and of how many pieces it is one: "3 x 2.5 lb" is 3 times 2.5 lb."""
    each = given.removeprefix(f"{count} x ")
    return (1 if each == given else count), each


def for_where(
    body: Mapping[str, Any], yard: str, lineage: Sequence[str], on: str, method: str
) -> dict[str, str | None]:
    """For where a valuation was made, and what is said where that is not the yard, or not the day, of the
    ticket: its prices are expected all the same. `lineage`: the regions that the yard is in, nearest first.
    """
    if method in OF_WHERE_UNTOLD:
        return {}
    says = []
    here = body["yard"] == yard if body["yard"] is not None else body["region"] in lineage
    if not here:
        place = body["yard"] or body["region"]
        expected = f"prices from there are expected, and not of {yard}, in {lineage[0]}"
        says.append(f"It was valued for {place}: {expected}.")
    if body["on"] != on:
        says.append(f"It was valued for {body['on']}: prices of that day are expected, and not of {on}.")
    return {"region": body["region"], "yard": body["yard"], "says": " ".join(says) or None}


def of_bins(
    given: Sequence[BinGiven],
    version: Version,
    prices: PriceList,
    rounding: Rounding,
    faults: Faults,
    method: str,
) -> Expected:
    """Bins as given, each at its own price or that of the list; what is faulty is left out and told."""
    bins: list[ExpectedBin] = []
    seen: dict[str, int] = {}
    for number, each in enumerate(given):
        at = ("against", "bins", number)
        grade = faults.take(lambda: resolve_grade(version.rulebook, each.grade, ("grade",)), *at)  # noqa: B023 - called at once
        grams = faults.take(lambda: weight(each.weight), *at, "weight")  # noqa: B023 - called at once
        unit = faults.take(lambda: mass_unit(each.per or prices.unit.symbol), *at, "per")  # noqa: B023 - called at once
        if each.per is not None and each.price is None:
            faults.add("A unit without a price says nothing: give the price, or leave it out.", *at, "per")
        if grade is None or grams is None or unit is None:
            continue
        if (first := seen.setdefault(grade, number)) != number:
            faults.add(f"{grade} is bin {first + 1} already: put all of a grade into one bin.", *at, "grade")
            continue
        if each.price is None:
            bins.append(_listed(grade, grams, prices, rounding, method))
            continue
        own = Rate(each.price, unit.grams)
        amount = Payer(rounding).amount(scale(own, own, own, prices.currency), grams.as_integer_ratio())
        quoted = Quoted(plain(each.price), unit.symbol, None, "as it was given")
        bins.append(ExpectedBin(Bin(grade, grade, grams, own, amount.likely, own=True), amount, quoted, None))
    return Expected(version, prices, tuple(bins), {"valuation": None})


def _listed(grade: str, grams: Decimal, prices: PriceList, rounding: Rounding, method: str) -> ExpectedBin:
    price = prices.price(grade, grams)
    if price is None:
        return _unpriced(grade, grams, prices, method)
    amount = Payer(rounding).amount(price.scale, grams.as_integer_ratio())
    return ExpectedBin(Bin(grade, grade, grams, price.likely, amount.likely), amount, _quoted(price), None)


def _pile(pile: Mapping[str, Any], prices: PriceList, method: str) -> ExpectedBin:
    """A pile as it was valued; its price exactly, where the answer has it to six places."""
    grade, grams = pile["grade"], EXACT.multiply(Decimal(pile["weight_kg"]), KILOGRAM)
    price = prices.price(grade, grams)
    if price is None or pile["amount"] is None:
        return _unpriced(grade, grams, prices, method)
    minor = Decimal(minor_per_unit(prices.currency))
    low, likely, high = (int(EXACT.multiply(Decimal(pile["amount"][name]), minor)) for name in Amount._fields)
    found = Bin(grade, grade, grams, price.likely, likely)
    return ExpectedBin(found, Amount(low, likely, high), _quoted(price), None)


def _unpriced(grade: str, grams: Decimal, prices: PriceList, method: str) -> ExpectedBin:
    why = prices.why_unpriced(grade, waiting=method not in WAITING_UNSAID)
    return ExpectedBin(Bin(grade, grade, grams, None, None), None, None, why)


def _quoted(price: Price) -> Quoted:
    shown = price.shown
    return Quoted(shown.likely, shown.per, shown.from_weight, shown.basis.says)
