"""Whether stripping a cable pays, as it is answered: amounts, or what is wanting for them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from gradewright.core.grading import Graded, Undecided
from gradewright.core.money import minor_per_unit
from gradewright.core.observations import Observed
from gradewright.core.pricelist import PriceList
from gradewright.core.recovery.cable import CopperShare
from gradewright.core.recovery.measured import Range, exactly, rounded, rounded_outwards
from gradewright.core.recovery.stripping import Band, NoPrice, PriceAt, Stripping, Work, stripping
from gradewright.core.spanning import Spanned, graded_between
from gradewright.core.units import mass_unit
from gradewright.recoveries.given import Strip
from gradewright.recoveries.shapes import at_most, figures, graded, minutes, money, one_amount
from gradewright.rulebooks.service import Version

BARE = {"form": "wire", "metal": "copper"}
OF_THE_WIRE = ("surface", "strand_diameter", "hair_thin")
WAITING_UNSAID = frozenset({"1", "2"})
"""The methods that told what was posted and waits as if nobody had posted it."""
NEAREST_HOUR = frozenset({"1", "2"})
"""The methods by which what stripping brings in an hour was rounded to the nearest."""
DISPOSAL_UNASKED = frozenset({"1", "2"})
"""The methods by which it was not asked what the insulation costs to be rid of, and nothing told."""
STRAND_PLACES = 3
THINNEST = Decimal("0.001")
A_GRAM = exactly(Fraction(1, 1000))  # in kilograms


@dataclass(frozen=True, slots=True)
class Case:
    """What the comparison looks at; `wire` is the grade at the likely share, if it is decided."""

    version: Version
    prices: PriceList
    observed: Observed
    copper: CopperShare
    spanned: Spanned
    share: Range
    wire: str | None


def compared(strip: Strip, work: Work, case: Case, method: str) -> dict[str, Any]:
    """The comparison; without amounts where a grade or a price is wanting, and then it says which."""
    bare, why = _bare(case)
    told: dict[str, Any] = {
        "lot_kg": figures(exactly(work.grams).times(A_GRAM), 3)["likely"],
        "minutes": minutes(work.minutes),
        "hour_rate": strip.hour_rate,
        "wire": case.wire,
        "bare": bare,
        **dict.fromkeys(("as_is", "stripped", "gain", "per_hour", "break_even_minutes", "copper_kg")),
        "break_even_minutes_per_kg": None,
        "pays": None,
        **_of_insulation(None, strip, case, method),
    }
    bands = _priced_bands(case)
    if case.wire is None or bands is None:
        left = graded(case.version.grader, case.spanned.outcome, None)["candidates"]
        named = ", ".join(each["name"] for each in left) or "nothing that the rulebook knows"
        why = f"Tell more of the cable: it can still be {named}."
    if why is not None or case.wire is None or bands is None or bare is None:
        return {**told, "unpriced": why, "says": why}
    currency = case.prices.currency
    minor = minor_per_unit(currency)
    work = replace(
        work,
        disposal=Fraction(strip.disposal) * minor / Fraction(mass_unit(strip.disposal_per).grams),
        once=Fraction(strip.disposal_once) * minor,
    )
    found = stripping(work, case.share, bands, case.wire, bare, _price_of(case.prices))
    if isinstance(found, NoPrice):
        why = case.prices.why_unpriced(found.grade, waiting=method not in WAITING_UNSAID)
        return {**told, "unpriced": why, "says": why}
    rate = Fraction(strip.hour_rate) * minor
    even = found.breaks_even(rate)
    per_kg = None if even is None else even.times(exactly(1000 / work.grams))
    return {
        **told,
        "as_is": money(found.as_is, currency),
        "stripped": money(found.stripped, currency),
        "gain": money(found.gain, currency),
        "copper_kg": figures(found.copper.times(A_GRAM), 3),
        "per_hour": _hourly(found, currency, method),
        "break_even_minutes": None if even is None else _times(even),
        "break_even_minutes_per_kg": None if per_kg is None else _times(per_kg),
        "pays": found.gain.likely > rate * work.minutes / 60,
        **_of_insulation(found, strip, case, method),
        "unpriced": None,
        "says": _says(found, even, strip, currency, method),
    }


def _of_insulation(found: Stripping | None, strip: Strip, case: Case, method: str) -> dict[str, Any]:
    """How much insulation there is, and what it costs to be rid of; by the methods that ask for it."""
    if method in DISPOSAL_UNASKED:
        return {}
    return {
        "disposal": None if found is None else money(found.disposal, case.prices.currency),
        "insulation_kg": None if found is None else figures(found.insulation.times(A_GRAM), 3),
    }


def _hourly(found: Stripping, currency: str, method: str) -> dict[str, str] | None:
    """What it brings by the hour, rounded down: at a rate that is told, or below, it pays."""
    if found.per_hour is None:
        return None
    return (money if method in NEAREST_HOUR else at_most)(found.per_hour, currency)


def _times(value: Range) -> dict[str, str]:
    return {"low": minutes(value.low), "likely": minutes(value.likely), "high": minutes(value.high)}


def _bare(case: Case) -> tuple[str | None, str | None]:
    """The grade of the copper once it is bare; or why it is not known."""
    grader = case.version.grader
    wire: Observed = {**{name: case.observed[name] for name in OF_THE_WIRE if name in case.observed}, **BARE}
    told = "strand_diameter" in wire or "hair_thin" in wire
    strand = case.copper.strand
    if not told and strand is not None and "strand_diameter" in grader.rulebook.attributes:
        low, _, high = rounded_outwards(strand, STRAND_PLACES)
        outcome = graded_between(grader, wire, "strand_diameter", max(low, THINNEST), high).outcome
    else:
        outcome = grader.grade(wire)
    if isinstance(outcome, Graded):
        return outcome.grade, None
    open_ones = [name for name in OF_THE_WIRE[:2] if name not in wire]
    left = outcome.candidates if isinstance(outcome, Undecided) else ()
    named = (
        ", ".join(grader.rulebook.grades[grade].name for grade in left) or "nothing that the rulebook knows"
    )
    ask = f" Tell {' and '.join(open_ones)}." if open_ones else ""
    return None, f"The bare copper can still be {named}.{ask}"


def _priced_bands(case: Case) -> tuple[Band, ...] | None:
    """The bands of the share; None where one of them is not decided."""
    bands = []
    for span in case.spanned.spans:
        if not isinstance(span.outcome, Graded):
            return None
        bands.append(Band(Fraction(span.low), Fraction(span.high), span.outcome.grade))
    return tuple(bands)


def _price_of(prices: PriceList) -> PriceAt:
    def price(grade: str, mass: Fraction) -> Range | None:
        found = prices.price(grade, rounded(mass, 6))
        if found is None:
            return None
        low, likely, high, under = found.scale
        return Range(Fraction(low, under), Fraction(likely, under), Fraction(high, under))

    return price


def _says(found: Stripping, even: Range | None, strip: Strip, currency: str, method: str) -> str:
    gain = one_amount(abs(found.gain.likely), currency)
    if found.gain.likely <= 0:
        return f"Stripped it brings {gain} {currency} less than as it is: sell it as it is."
    spent = f"for {minutes(found.minutes)} minutes" if found.minutes else "for no time"
    rate = _hourly(found, currency, method)
    hourly = "" if rate is None else f", {rate['likely']} an hour"
    off, uncounted = _rid_of(found, currency, method)
    told = f"Stripped it likely brings {gain} {currency} more {spent}{hourly}{off}."
    if even is None:
        return f"{told} Where an hour is worth nothing else, that pays.{uncounted}"
    return (
        f"{told} At {strip.hour_rate} {currency} an hour it pays up to {minutes(even.likely)} minutes."
        f"{uncounted}"
    )


def _rid_of(found: Stripping, currency: str, method: str) -> tuple[str, str]:
    """What was taken off for the insulation; or that nothing was, where nothing was given."""
    if method in DISPOSAL_UNASKED:
        return "", ""
    insulation = f"{figures(found.insulation.times(A_GRAM), 3)['likely']} kg of insulation"
    if not found.disposal.high:
        return "", f" Nothing is counted for getting rid of {insulation}: give disposal where it costs."
    return f", after {one_amount(found.disposal.likely, currency)} for getting rid of {insulation}", ""
