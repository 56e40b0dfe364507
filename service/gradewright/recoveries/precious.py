"""The answer for a lot with precious metal: two ends for everything, and never one figure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Any

from gradewright.benchmarks.kept import Benchmark, Benchmarks, UnknownBenchmark
from gradewright.core.errors import CurrencyError, Fault
from gradewright.core.money import currency as checked_currency
from gradewright.core.money import minor_per_unit
from gradewright.core.quantities import parse_share
from gradewright.core.recovery.assay import (
    INDICATION,
    Charges,
    Content,
    Recoverable,
    Recovered,
    Terms,
    parse_content,
    published,
    recoverable,
)
from gradewright.core.recovery.cable import grams
from gradewright.core.recovery.measured import Faults, Range, rounded
from gradewright.core.units import mass_unit, plain, trimmed
from gradewright.recoveries import cautions
from gradewright.recoveries.cable import Found
from gradewright.recoveries.given import Assay, Metal
from gradewright.recoveries.shapes import ends, ends_of_money, one_amount
from gradewright.rulebooks.service import Version

NOTES = [
    "Never part of a valuation's totals: what a lot of this kind held elsewhere is no price for this one.",
    "Of what is shredded first, much less is recovered: in one plant 25.6 % of gold and palladium and 11.5 % "
    "of silver was not lost (Chancerel et al. 2009). Take boards out by hand first.",
    "What is paid for is the assay less the deduction, or its payable share, whichever is less (common "
    "practice, no source). Ask the buyer for their terms.",
]
TERMS_UNSAID = frozenset({"1"})
"""The methods by which it was not told what was taken to be paid for where no terms were given."""


@dataclass(frozen=True, slots=True)
class Market:
    """The benchmarks as known at a revision, and the day."""

    benchmarks: Benchmarks
    revision: int
    on: date


@dataclass(frozen=True, slots=True)
class _Quoted:
    """A metal's price: minor units for each gram, and how it is told."""

    per_gram: Fraction
    says: str


def answer(what: Assay, version: Version, market: Market, method: str) -> tuple[Found, str]:
    """The members of the answer, and the currency. Raises Refused or CurrencyError with every fault."""
    faults = Faults()
    currency = _currency(what, market, faults)
    lot = faults.reading(what.lot, grams, "lot", what.scale)
    if lot is not None and lot.low <= 0:
        faults.add(f"{what.lot!r} is no more than the scale's step: weigh a larger lot", "lot")
    minor = minor_per_unit(currency)
    found = [_content(number, what, market, minor, faults) for number in range(len(what.metals))]
    seen = [metal.metal for metal in what.metals]
    for number, metal in enumerate(seen):
        if metal in seen[:number]:
            faults.add(f"{metal} is there already: name each metal once", "metals", number, "metal")
    smallest = Fraction(0)
    if what.smallest_lot is not None:
        smallest = faults.value(what.smallest_lot, grams, "smallest_lot") or smallest
    per = faults.value(f"1 {what.treatment_per}", grams, "treatment_per")
    if faults.found or lot is None or per is None:
        raise faults.refused()
    contents = [content for content, _ in filter(None, found)]
    quoted = [price for _, price in filter(None, found)]
    treatment = Fraction(what.treatment or 0) * minor / per
    result = recoverable(lot, contents, Charges(treatment, Fraction(what.charge or 0) * minor, smallest))
    shown: dict[str, Any] = {
        "precious": {
            "lot_kg": ends_of_lot(lot),
            "metals": [
                _metal(metal, price, currency) for metal, price in zip(result.metals, quoted, strict=True)
            ],
            "charges": ends_of_money(result.charges, currency),
            "amount": ends_of_money(result.amount, currency),
            "too_small": result.too_small,
            "says": _says(what, result, currency, method),
        },
        "notes": NOTES,
    }
    told = cautions.of_kind(version.grader, what.like)
    return Found(
        shown, cautions.together(cautions.of_work(version.grader, cautions.REFINING), told)
    ), currency


def ends_of_lot(lot: Range) -> dict[str, str]:
    """The lot in kilograms, as far as the scale tells."""
    low, high = (trimmed(rounded(end / 1000, 6)) for end in (lot.low, lot.high))
    return {"low": low, "high": high}


def _currency(what: Assay, market: Market, faults: Faults) -> str:
    """The one currency of all prices; the benchmarks' where none is named."""
    named = {benchmark.currency for benchmark in _benchmarks(what, market) if benchmark.currency is not None}
    if what.currency is not None:
        named.add(checked_currency(what.currency))
    if len(named) > 1:
        detail = (
            f"prices in {' and '.join(sorted(named))} together: nothing is converted, so use one currency"
        )
        raise CurrencyError(detail, faults=(Fault(detail, ("currency",)),))
    if not named:
        faults.add("name the currency of the prices, such as 'USD'", "currency")
    return next(iter(named), "USD")


def _benchmarks(what: Assay, market: Market) -> list[Benchmark]:
    found = []
    for metal in what.metals:
        if metal.benchmark is not None:
            known = market.benchmarks.by_slug.get(metal.benchmark)
            if known is not None:
                found.append(known)
    return found


def _content(
    number: int, what: Assay, market: Market, minor: int, faults: Faults
) -> tuple[Content, _Quoted] | None:
    """One metal's ends and terms; its faults are added under its place in the list."""
    metal = what.metals[number]
    own = Faults()
    content = _ends(metal, what.like, own)
    per = own.value(f"1 {metal.per}", grams, "per")
    price = None if per is None else _price(metal, per, market, minor, own)
    payable = Fraction(1)
    if metal.payable is not None:
        payable = own.value(metal.payable, parse_share, "payable") or Fraction(0)
    deduction = Fraction(0)
    if metal.deduction is not None:
        deduction = own.value(metal.deduction, parse_content, "deduction") or Fraction(0)
    faults.found += [fault.under("metals", number) for fault in own.found]
    if own.found or content is None or price is None or per is None:
        return None
    refining = Fraction(metal.refining or 0) * minor / per
    low, high, source = content
    terms = Terms(price.per_gram, payable, deduction, refining)
    return Content(metal.metal, low, high, source, terms), price


def _ends(metal: Metal, like: str | None, faults: Faults) -> tuple[Fraction, Fraction, str] | None:
    if metal.low is None or metal.high is None:
        if (metal.low is None) != (metal.high is None):
            faults.add("give both ends of the assay range", "low" if metal.low is None else "high")
            return None
        found = published(like or "", metal.metal)
        if found is None:
            of = f"for {like}" if like else "without a kind of thing in `like`"
            faults.add(f"no publication is at hand {of}: give low and high of {metal.metal}", "low")
        return found
    low, high = faults.value(metal.low, parse_content, "low"), faults.value(metal.high, parse_content, "high")
    if low is None or high is None:
        return None
    if low > high:
        faults.add("the low end is above the high one", "low")
    return low, high, f"as given: {metal.low} to {metal.high}"


def _price(metal: Metal, per: Fraction, market: Market, minor: int, faults: Faults) -> _Quoted | None:
    if (metal.price is None) == (metal.benchmark is None):
        faults.add("give either a price or a benchmark", "price")
        return None
    if metal.price is not None:
        says = f"{metal.price} per {mass_unit(metal.per).symbol}, as given"
        return _Quoted(Fraction(metal.price) * minor / per, says)
    try:
        benchmark = market.benchmarks.get(metal.benchmark or "", market.revision)
    except UnknownBenchmark as error:
        faults.found += error.faults
        return None
    if benchmark.unit is None:
        faults.add(f"{benchmark.slug} is an index and no price: give a price", "benchmark")
        return None
    reading = market.benchmarks.curve(benchmark.slug, market.revision).at(market.on)
    if reading is None:
        detail = f"{benchmark.slug} has no value on {market.on.isoformat()} or before: give a price"
        faults.add(detail, "benchmark")
        return None
    unit = mass_unit(benchmark.unit)
    says = (
        f"{plain(reading.value)} {benchmark.currency} per {unit.symbol} on {reading.on.isoformat()}: "
        f"{benchmark.name} ({benchmark.source})"
    )
    return _Quoted(Fraction(reading.value) * minor / Fraction(unit.grams), says)


def _metal(found: Recovered, price: _Quoted, currency: str) -> dict[str, Any]:
    content = found.content
    return {
        "metal": content.metal,
        "content_g_per_t": ends_of_content(content),
        "source": content.source,
        "price": price.says,
        "there_g": ends(found.there, 3),
        "paid_for_g": ends(found.paid_for, 3),
        "amount": ends_of_money(found.amount, currency),
    }


def ends_of_content(content: Content) -> dict[str, str]:
    """The ends of what is there, in grams for each tonne."""
    low, high = (trimmed(rounded(end, 3)) for end in (content.low, content.high))
    return {"low": low, "high": high}


def _says(what: Assay, found: Recoverable, currency: str, method: str) -> str:
    low, high = (one_amount(end, currency) for end in (found.amount.low, found.amount.high))
    charged = "after the charges." if method in TERMS_UNSAID else _on_what_terms(what)
    told = f"{INDICATION} Between {low} and {high} {currency} {charged}"
    if found.amount.high <= 0:
        told += " The charges outweigh the metal: sell it as it is."
    elif found.amount.low <= 0:
        told += " The charges may outweigh the metal."
    if found.too_small:
        told += f" The buyer takes lots of {what.smallest_lot} or more: gather until then."
    return told


def _on_what_terms(what: Assay) -> str:
    """On which terms that is, and which were not given."""
    whole = [each.metal for each in what.metals if each.payable is None and each.deduction is None]
    costs = [what.treatment, what.charge, *(each.refining for each in what.metals)]
    free = all(cost is None for cost in costs)
    if not whole and not free:
        return "after the charges."
    of = "it" if len(whole) == len(what.metals) else f"the {' and '.join(whole)}"
    counted = [f"with all of {of} counted as paid for"] if whole else []
    counted.append("without charges" if free else "after the charges")
    missing = ["what share is payable or what is deducted"] if whole else []
    missing += ["what refining and treatment cost"] if free else []
    return f"{', '.join(counted)}: a refiner pays less. Give the terms: {', and '.join(missing)}."
