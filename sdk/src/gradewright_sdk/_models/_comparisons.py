"""What a version of the rulebook changes, and what a draft would change about what people have kept."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from pydantic import Field

from ._common import Result, Whole


class ComparedEnd(Result):
    """What a version says of a part: `answered` is grade, no-grade, contradiction or not-described."""

    answered: str
    grade: str | None = None
    name: str | None = None


class ComparedWay(Result):
    """By which rules parts move (None: none decides), the smallest description of one, for each of its
    observations all values that do the same in words, and the whole in a sentence; `by`: the order of
    measures, or the entry of what is told of some things only, that alone makes the difference.
    """

    rule_before: str | None = None
    rule_after: str | None = None
    part: dict[str, str | bool | int]
    ranges: dict[str, str] = Field(default_factory=dict)
    says: str = ""
    by: str | None = None


class ComparedMove(Result):
    """Parts that are answered otherwise; `all_ways`: whether the ways that are told are all there are."""

    before: ComparedEnd
    after: ComparedEnd
    ways: tuple[ComparedWay, ...] = ()
    all_ways: bool = True


class ComparedTogether(Result):
    """Moves that are told in one sentence, by their places in `moves`, and the smallest part of any."""

    says: str
    part: dict[str, str | bool | int]
    moves: tuple[int, ...] = ()


class RenamedGrade(Result):
    """A grade that has another slug (`before`, `after`), another name, or both."""

    before: str
    after: str
    name_before: str = ""
    name_after: str = ""


class ComparedGrades(Result):
    """Grades that came, went or are called otherwise."""

    added: tuple[str, ...] = ()
    retired: tuple[str, ...] = ()
    renamed: tuple[RenamedGrade, ...] = ()


class MovedName(Result):
    """A slug, name or alias that people write, and the slugs of the grades as which it is read; None: it is
    not read.
    """

    name: str
    before: str | None = None
    after: str | None = None


class MovedLimit(Result):
    """A limit that has another value; None: there is no such limit."""

    name: str
    before: str | None = None
    after: str | None = None


class ChangedValue(Result):
    """One value of the document that stands otherwise; None: it does not stand there."""

    at: tuple[str, ...]
    before: Any = None
    after: Any = None


class ComparedBesides(Result):
    """What changes about a caution, a preparation, a test, a price factor or a grade's price, whatever the
    grades of parts: in a sentence, and value by value.
    """

    section: str
    entry: str
    says: str
    changed: tuple[ChangedValue, ...] = ()


class ComparedEnds(Result):
    """Between which answers parts move."""

    before: ComparedEnd
    after: ComparedEnd


class ComparedPlaces(Result):
    """Limits (several: together) of which some place's own value moves parts between these answers that by
    the versions' own do not move, or not so. `all_moves`: whether those are all.
    """

    limits: tuple[str, ...]
    moves: tuple[ComparedEnds, ...]
    all_moves: bool


class RulebookComparison(Whole):
    """What one version changes against another, by meaning.

    `kind` is same, wording (proved that every part is answered as before), beside (so is every part, but
    `besides` or `names` tell what else changes), adds (only what had no grade is answered otherwise, and all
    that could be told still can) or changes.
    `places`: what moves only where a place has its own value of some limits.
    `also`: the sections of `besides`; `together`: moves of which the summary has one sentence.
    `examples`: the `part` of each worked example that came, went or says something else, and what it said
    `before` and says `after`.
    """

    before: str
    after: str
    kind: str
    summary: tuple[str, ...] = ()
    moves: tuple[ComparedMove, ...] = ()
    places: tuple[ComparedPlaces, ...] = ()
    together: tuple[ComparedTogether, ...] = ()
    grades: ComparedGrades
    names: tuple[MovedName, ...] = ()
    limits: tuple[MovedLimit, ...] = ()
    also: tuple[str, ...] = ()
    besides: tuple[ComparedBesides, ...] = ()
    examples: tuple[dict[str, Any], ...] = ()
    texts: tuple[ChangedValue, ...] = ()
    others: tuple[ChangedValue, ...] = ()


class ImpactQuartiles(Result):
    """Of the totals that move: a quarter, half, three quarters of them change by so much or less."""

    low: Decimal
    middle: Decimal
    high: Decimal


class MovedTotal(Result):
    """A kept valuation whose likely total moves."""

    valuation: str
    region: str
    before: Decimal
    after: Decimal
    change: Decimal


class OneSidedTotal(Result):
    """A kept valuation with parts that have a price under one of the versions alone, and their amount."""

    valuation: str
    region: str
    parts: int
    amount: Decimal


class ImpactBeside(Result):
    """Parts that have a price under one of the versions alone: how many valuations have some, how many they
    are, and what they come to under it, which is in no total and no change.
    """

    valuations: int
    parts: int
    weight_kg: Decimal
    amount: Decimal


class ImpactPlace(Result):
    """The valuations of one region (None: of all), how many of them move, the sums of their totals; and
    beside these the parts that have a price no longer, or newly.
    """

    region: str | None = None
    valuations: int
    changed: int
    before: Decimal
    after: Decimal
    change: Decimal
    no_longer: ImpactBeside
    newly: ImpactBeside


class MovedParts(Result):
    """Parts that go from one grade, or answer, to another (None: to any). The amounts before and after, and
    their change, are of those that have a price both times; the others come to `amount_no_longer` or
    `amount_newly`.
    """

    before: str
    after: str | None = None
    parts: int
    weight_kg: Decimal
    amount_before: Decimal
    amount_after: Decimal
    change: Decimal
    amount_no_longer: Decimal
    amount_newly: Decimal
    unpriced_before: int = 0
    unpriced_after: int = 0


class CurrencyImpact(Result):
    """All that is paid in one currency: `lose` totals by `lost` together, `gain` by `gained`. Totals and
    changes are of parts that have a price under both versions; `lose_price` and `gain_price` are those who
    have most of the others.
    """

    currency: str
    all: ImpactPlace
    regions: tuple[ImpactPlace, ...] = ()
    quartiles: ImpactQuartiles | None = None
    lose: int = 0
    lost: Decimal
    gain: int = 0
    gained: Decimal
    losers: tuple[MovedTotal, ...] = ()
    gainers: tuple[MovedTotal, ...] = ()
    lose_price: tuple[OneSidedTotal, ...] = ()
    gain_price: tuple[OneSidedTotal, ...] = ()
    moves: tuple[MovedParts, ...] = ()
    grades: tuple[MovedParts, ...] = ()


class ImpactValued(Result):
    """What a version answers to a part, and its likely amount; None: no price."""

    answered: str
    grade: str | None = None
    amount: Decimal | None = None


class MovedPart(Result):
    """A part of a list that is answered or paid otherwise; `part` counts from 0."""

    part: int
    name: str
    before: ImpactValued
    after: ImpactValued


class DraftImpact(Whole):
    """What a draft would change about the valuations kept `from_` a day `to` another, or about the parts of a
    list (`each`), which has no such days.
    """

    draft: str
    version: str
    sha256: str
    against: str
    revision: int
    from_: date | None = Field(default=None, alias="from")
    to: date | None = None
    valuations: int
    parts: int
    parts_changed: int
    currencies: tuple[CurrencyImpact, ...] = ()
    each: tuple[MovedPart, ...] = ()
