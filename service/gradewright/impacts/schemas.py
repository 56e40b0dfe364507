"""The wire forms of what a draft would change."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Self

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from gradewright.core.decimals import EXACT, plain
from gradewright.core.impact import Beside, Currency, Moved, OneSided, Place, Sums, Valued
from gradewright.impacts.service import Looked, PartMoved
from gradewright.rulebooks.fields import RulebookVersion
from gradewright.valuations.amounts import Cents, cents_of, spelled
from gradewright.valuations.kept import KeptRequest
from gradewright.valuations.parts import PartGiven
from gradewright.valuations.schemas import MOST_PARTS, PartIn, PlacedIn
from gradewright.valuations.weights import KILOGRAM
from gradewright.web.fields import Day, In, Out


class ListedAt(PlacedIn):
    """Where and when a list is valued."""

    on: Annotated[Day | None, Field(description="The day of the prices; default today (UTC).")] = None

    @model_validator(mode="after")
    def _one_place(self) -> Self:
        if (self.region is None) == (self.yard is None):
            raise PydanticCustomError("one_of", "give either a region or a yard")
        return self


class ListIn(ListedAt):
    """Parts to be valued under both versions instead of what was kept. An observation that only the draft has
    words for counts under the draft alone.
    """

    parts: Annotated[list[PartIn], Field(min_length=1, max_length=MOST_PARTS)]

    def given(self, today: date) -> KeptRequest:
        """What the service takes."""
        parts = tuple(
            PartGiven(p.name, p.count, p.weight, p.weight_each, p.observed, p.grade) for p in self.parts
        )
        return KeptRequest("list", self.region, self.yard, self.on or today, parts)


class ImpactIn(In):
    """What to hold the draft against: what was kept in a span of days, or a list."""

    from_: Annotated[Day | None, Field(alias="from", description="Default: 90 days before `to`.")] = None
    to: Annotated[Day | None, Field(description="The last day; default today (UTC).")] = None
    against: Annotated[
        RulebookVersion | None, Field(description="Default: the version that it would supersede.")
    ] = None
    list: ListIn | None = None

    @model_validator(mode="after")
    def _span_or_list(self) -> ImpactIn:
        if self.list is not None and (self.from_ is not None or self.to is not None):
            raise PydanticCustomError("one_of", "give either a span of days or a list")
        return self


class QuartilesOut(Out):
    """Of the totals that move: a quarter, half, three quarters of them change by so much or less."""

    low: str
    middle: str
    high: str


class MovedOut(Out):
    """A kept valuation whose total moves."""

    valuation: str
    region: str
    before: str
    after: str
    change: str

    @classmethod
    def of(cls, moved: Moved, cents: Cents) -> MovedOut:
        """The wire form."""
        before, after, change = (spelled(each, cents) for each in (moved.before, moved.after, moved.change))
        return cls(valuation=moved.name, region=moved.region, before=before, after=after, change=change)


class OneSidedOut(Out):
    """A kept valuation with parts that have a price under one of the versions alone, and their amount under
    it."""

    valuation: str
    region: str
    parts: int
    amount: str

    @classmethod
    def of(cls, one: OneSided, cents: Cents) -> OneSidedOut:
        """The wire form."""
        amount = spelled(one.amount, cents)
        return cls(valuation=one.name, region=one.region, parts=one.parts, amount=amount)


class BesideOut(Out):
    """Parts that have a price under one of the versions alone: how many valuations have some, how many they
    are, and what they come to under it, which is in no total and no change."""

    valuations: int
    parts: int
    weight_kg: str
    amount: str

    @classmethod
    def of(cls, beside: Beside, cents: Cents) -> BesideOut:
        """The wire form."""
        weight, amount = plain(EXACT.divide(beside.grams, KILOGRAM)), spelled(beside.amount, cents)
        return cls(valuations=beside.lists, parts=beside.parts, weight_kg=weight, amount=amount)


class PlaceOut(Out):
    """The valuations of one region: how many, how many of them move, the sums of their totals; beside these
    the parts that have a price no longer, or newly."""

    region: str | None
    valuations: int
    changed: int
    before: str
    after: str
    change: str
    no_longer: BesideOut
    newly: BesideOut

    @classmethod
    def of(cls, region: str | None, place: Place, cents: Cents) -> PlaceOut:
        """The wire form."""
        return cls(
            region=region,
            valuations=place.lists,
            changed=place.changed,
            before=spelled(place.before, cents),
            after=spelled(place.after, cents),
            change=spelled(place.after - place.before, cents),
            no_longer=BesideOut.of(place.no_longer, cents),
            newly=BesideOut.of(place.newly, cents),
        )


class SumsOut(Out):
    """Parts that go from one answer to another (a grade, or `undecided`, `ungraded`, `contradiction`,
    `unreadable`), and their weight; `after` is null where all that move from it are meant. The amounts before
    and after, and their change, are of those that have a price both times; what the others come to is
    `amount_no_longer` or `amount_newly`."""

    before: str
    after: str | None
    parts: int
    weight_kg: str
    amount_before: str
    amount_after: str
    change: str
    amount_no_longer: str
    amount_newly: str
    unpriced_before: int
    unpriced_after: int

    @classmethod
    def of(cls, before: str, after: str | None, sums: Sums, cents: Cents) -> SumsOut:
        """The wire form."""
        return cls(
            before=before,
            after=after,
            parts=sums.parts,
            weight_kg=plain(EXACT.divide(sums.grams, KILOGRAM)),
            amount_before=spelled(sums.before, cents),
            amount_after=spelled(sums.after, cents),
            change=spelled(sums.after - sums.before, cents),
            amount_no_longer=spelled(sums.no_longer, cents),
            amount_newly=spelled(sums.newly, cents),
            unpriced_before=sums.unpriced_before,
            unpriced_after=sums.unpriced_after,
        )


class CurrencyOut(Out):
    """All that is paid in one currency; nothing is converted. Totals and changes are of parts that have a
    price under both versions; `lose_price` and `gain_price` name who has most of the others."""

    currency: str
    all: PlaceOut
    regions: list[PlaceOut]
    quartiles: QuartilesOut | None
    lose: int
    lost: str
    gain: int
    gained: str
    losers: list[MovedOut]
    gainers: list[MovedOut]
    lose_price: list[OneSidedOut]
    gain_price: list[OneSidedOut]
    moves: list[SumsOut]
    grades: list[SumsOut]

    @classmethod
    def of(cls, currency: str, found: Currency) -> CurrencyOut:
        """The wire form; what moves most money stands first."""
        cents, quartiles = cents_of(currency), found.quartiles()
        (lose, lost), (gain, gained) = found.lost(), found.gained()
        low_middle_high = [spelled(each, cents) for each in quartiles or ()]
        moves = sorted(found.moves.items(), key=lambda each: (-_moved(each[1]), each[0]))
        grades = sorted(found.grades.items(), key=lambda each: (-_moved(each[1]), each[0]))
        return cls(
            currency=currency,
            all=PlaceOut.of(None, found.all, cents),
            regions=[PlaceOut.of(code, place, cents) for code, place in sorted(found.regions.items())],
            quartiles=QuartilesOut(**dict(zip(("low", "middle", "high"), low_middle_high, strict=True)))
            if quartiles
            else None,
            lose=lose,
            lost=spelled(lost, cents),
            gain=gain,
            gained=spelled(gained, cents),
            losers=[MovedOut.of(each, cents) for each in found.losers],
            gainers=[MovedOut.of(each, cents) for each in found.gainers],
            lose_price=[OneSidedOut.of(each, cents) for each in found.lose_price],
            gain_price=[OneSidedOut.of(each, cents) for each in found.gain_price],
            moves=[SumsOut.of(before, after, sums, cents) for (before, after), sums in moves],
            grades=[SumsOut.of(before, None, sums, cents) for before, sums in grades],
        )


def _moved(sums: Sums) -> int:
    """How much money it is about, whichever way."""
    return abs(sums.after - sums.before) + sums.no_longer + sums.newly


class ValuedOut(Out):
    """What a version answers to a part: how, which grade, and the likely amount."""

    answered: str
    grade: str | None
    amount: str | None

    @classmethod
    def of(cls, valued: Valued, cents: Cents) -> ValuedOut:
        """The wire form."""
        amount = None if valued.amount is None else spelled(valued.amount, cents)
        return cls(answered=valued.answered, grade=valued.grade, amount=amount)


class PartMovedOut(Out):
    """A part of the list that is answered or paid otherwise; `part` counts from 0."""

    part: int
    name: str
    before: ValuedOut
    after: ValuedOut

    @classmethod
    def of(cls, moved: PartMoved) -> PartMovedOut:
        """The wire form."""
        cents = cents_of(moved.currency)
        before, after = ValuedOut.of(moved.before, cents), ValuedOut.of(moved.after, cents)
        return cls(part=moved.number, name=moved.name, before=before, after=after)


class ImpactOut(Out):
    """What the draft changes about valuations. Each was valued under both versions, at the prices of its day
    and place as they are known at `revision`; the amounts are the likely ones.

    `from`, `to`: of the valuations that were kept from one day to the other; null of a list that was given,
    of which `each` has the parts that move.
    """

    draft: str
    version: str
    sha256: str
    against: str
    revision: int
    since: Annotated[Day | None, Field(alias="from")]
    to: Day | None
    valuations: int
    parts: int
    parts_changed: int
    currencies: list[CurrencyOut]
    each: list[PartMovedOut]

    @classmethod
    def of(cls, draft: str, looked: Looked) -> ImpactOut:
        """The wire form. Raises ValueError before the end."""
        if looked.impact is None:
            raise ValueError("it is not at its end yet")
        found = looked.impact
        since, to = looked.span or (None, None)
        told = {
            "draft": draft,
            "version": looked.version,
            "sha256": looked.sha256,
            "against": looked.against,
            "revision": looked.revision,
            "from": since,
            "to": to,
            "valuations": found.lists,
            "parts": found.parts,
            "parts_changed": found.parts_changed,
            "currencies": [CurrencyOut.of(code, each) for code, each in sorted(found.currencies.items())],
            "each": [PartMovedOut.of(moved) for moved in looked.each],
        }
        return cls.model_validate(told)
