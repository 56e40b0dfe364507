"""The wire forms of settlements: what a ticket comes to."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from gradewright.regions.schemas import RegionCode
from gradewright.rulebooks.fields import ConcernOut, RulebookVersion
from gradewright.settlements.service import TakenBack
from gradewright.valuations.schemas import AmountOut, PinsOut
from gradewright.web.fields import Day, Instant, Out, Slug
from gradewright.yards.schemas import YardSlug


class EffectsOut(Out):
    """Parts of a difference, which they add up to: above zero is more money than was expected.

    `grade_or_price`: where a line's grade, or that grade's price, is not known. `missing`: bins that are not
    on the ticket; `unexpected`: lines that stand for no bin; `unpriced`: bins that had no price.
    `arithmetic`: what the ticket says less what it should say by its own figures.
    """

    weight: str
    deductions: str
    grade: str
    price: str
    grade_or_price: str
    missing: str
    unexpected: str
    unpriced: str
    rounding: str
    arithmetic: str


class AgainstOut(Out):
    """What the ticket was held against: a valuation with its pins, or bins at prices of the ticket's day.

    By method 5 and later ones `region` and `yard` are for where it was valued; `says` is there where that, or
    its day, is another than the ticket's: its prices are expected all the same.
    """

    valuation: str | None
    on: Day | None = None
    rulebook: RulebookVersion | None = None
    revision: int | None = None
    sha256: str | None = None
    region: RegionCode | None = None
    yard: YardSlug | None = None
    says: str | None = None


class BinName(Out):
    """A bin by its grade, or a part without one by its name."""

    bin: Slug | None
    part: str | None


class MassOut(Out):
    """A weight, exactly in kilograms, and in both notations for people."""

    kg: str
    shown: str


class QuotedOut(Out):
    """The likely price that a bin was expected to have, per one of the unit."""

    likely: str
    per: str
    from_weight: str | None
    says: str


class BinOut(BinName):
    """What was expected to be sold as one."""

    weight: MassOut
    price: QuotedOut | None
    amount: AmountOut | None
    unpriced: str | None


class TicketLineOut(Out):
    """A line of the ticket: what it was accepted as, and how it was matched."""

    line: int
    label: str
    grade: Slug | None
    grade_name: str | None
    net: MassOut
    price: str
    per: str
    amount: str
    matched_by: Literal["grade", "hand"] | None
    not_postable: Annotated[
        str | None, Field(description="Why this line's price is not among those that can be posted.")
    ]


class ChargeOut(Out):
    """A fee that was taken off; something that was added has a minus sign."""

    label: str
    amount: str


class GroupOut(Out):
    """Bins and lines that belong together, and what became of the one in the other."""

    bins: list[BinName]
    lines: list[int]
    expected: str
    paid: str
    difference: str
    effects: EffectsOut
    says: str


class FlawOut(Out):
    """Where the ticket does not add up: net weights in kilograms, the rest in money."""

    about: Literal["net", "amount", "total", "cash"]
    line: int | None
    stated: str
    right: str
    says: str


class MeantOut(BinName):
    """What may be written under `matches`."""

    line: int


class UnclearOut(Out):
    """A line that stands for no bin, and what it may be, each by itself: bins that are short and may have
    been marked down to it, then those on no line that come nearest to its weight. `meant_together`: bins that
    may be on it together.
    """

    line: int
    because: str
    meant: list[MeantOut]
    meant_together: Annotated[
        list[MeantOut], Field(default_factory=list, description="Not told by methods 1 to 3.")
    ]


class UnmatchedOut(Out):
    """What is on one side only."""

    bins: list[BinName]
    lines: list[UnclearOut]


class BinMarkedDownOut(Out):
    """So much of a bin was accepted as a cheaper grade: on lines of a bin of the next cheaper one, where both
    together weigh what was brought, or, by method 5 and later ones, on lines that stand for the bin by hand.
    It is told under `effects` as grade.

    By method 6 and later ones it can be from `least` to `most` where lines stand for several bins: `weight`
    is then as if these were off alike. Where `least` is nothing, it may be that none of the bin was.
    """

    bin: Slug
    accepted_as: Slug
    lines: list[int]
    weight: MassOut
    least: MassOut | None = None
    most: MassOut | None = None
    says: str


class MayBeMarkedDownOut(Out):
    """Lines that weigh more than the bin of their grade, while bins of dearer ones are short, and the weights
    do not tell how much of these was accepted as that, or the one is no grade as which buyers take the other;
    by method 6 and later ones also where nothing is short of these, and as much was deducted of them.
    Under `matches`: `meant` if so, of the bins those that it was; `not_so` if not.
    """

    bins: list[Slug]
    accepted_as: Slug
    lines: list[int]
    because: str
    meant: list[MeantOut]
    not_so: list[MeantOut]


class SettlementOut(Out):
    """A ticket held against what was expected; money in `currency`. `difference` is `paid` less what was
    likely.

    `adds_up`: whether the ticket is right by its own figures. `complete`: whether every line and bin is
    matched, every bin had a price, and nothing may be marked down of which the weights do not tell.
    """

    yard: YardSlug
    region: RegionCode
    on: Day
    number: str | None
    currency: str
    against: AgainstOut
    bins: list[BinOut]
    lines: list[TicketLineOut]
    charges: list[ChargeOut]
    total: str
    cash: str | None
    paid: str
    expected: AmountOut
    difference: str
    effects: EffectsOut
    says: str
    groups: list[GroupOut]
    flaws: list[FlawOut]
    adds_up: bool
    complete: bool
    unmatched: UnmatchedOut
    marked_down: Annotated[
        list[BinMarkedDownOut], Field(default_factory=list, description="Not told by methods 1 and 2.")
    ]
    may_be_marked_down: Annotated[
        list[MayBeMarkedDownOut], Field(default_factory=list, description="Not told by methods 1 and 2.")
    ]
    cautions: list[ConcernOut]
    pins: PinsOut


class TakenBackOut(Out):
    """That a settlement was taken back, and the lines of its posting that went with it."""

    settlement: str
    author: str
    reason: str
    recorded_at: Instant
    posting: str | None
    lines: list[int]

    @classmethod
    def of(cls, back: TakenBack) -> TakenBackOut:
        """The wire form."""
        row = back.row
        return cls(
            settlement=row.settlement,
            author=row.author,
            reason=row.reason,
            recorded_at=row.recorded_at,
            posting=back.posting,
            lines=list(back.lines),
        )
