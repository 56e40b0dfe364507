"""The wire forms of requests about scale tickets."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated

from pydantic import Field, StrictInt, model_validator
from pydantic_core import PydanticCustomError

from gradewright.core.decimals import plain
from gradewright.prices.later_schemas import Reason
from gradewright.prices.posting_schemas import Price
from gradewright.prices.schemas import Weight
from gradewright.regions.schemas import UnitText
from gradewright.rulebooks.fields import RulebookVersion
from gradewright.settlements.given import (
    BinGiven,
    ChargeGiven,
    LineGiven,
    MatchGiven,
    Request,
    TicketGiven,
)
from gradewright.web.fields import Day, In, Instant, Name, OneOf, TextForm
from gradewright.yards.schemas import YardSlug

MOST_LINES = 200
MOST_CHARGES = 50

Money = Annotated[
    Decimal,
    TextForm(
        r"^-?(0|[1-9][0-9]{0,11})(\.[0-9]{1,4})?$",
        read=Decimal,
        write=plain,
        says="an amount of money as a string of plain digits, in the yard's currency",
        example="38.40",
    ),
]
ValuationName = Annotated[
    str,
    TextForm(r"^v-[0-9a-f]{20}$", says="the id of a kept valuation", example="v-1f2e3d4c5b6a79880102"),
]


class TicketLineIn(In):
    """One line of a ticket, as it is printed."""

    label: Annotated[Name, Field(description="The yard's own word.")]
    grade: Annotated[
        Name | None,
        Field(description="What it was accepted as (slug, name or alias), where the label does not say it."),
    ] = None
    gross: Weight | None = None
    tare: Annotated[Weight | None, Field(description="Of what was weighed with it; needs gross.")] = None
    deduction: Annotated[Weight | None, Field(description="Taken off for dirt, moisture and the like.")] = (
        None
    )
    net: Weight
    price: Price
    per: Annotated[UnitText | None, Field(description="Default: the yard's unit.")] = None
    amount: Money


class ChargeIn(In):
    """A fee that was taken off; something that was added has a minus sign."""

    label: Name
    amount: Money


class TicketIn(In):
    """A scale ticket, in the yard's currency."""

    number: Annotated[Name | None, Field(description="Shown to nobody but you and maintainers.")] = None
    on: Annotated[Day, Field(description="The day on it: labels and prices are those of that day.")]
    lines: Annotated[list[TicketLineIn], Field(min_length=1, max_length=MOST_LINES)]
    charges: Annotated[list[ChargeIn], Field(default_factory=list, max_length=MOST_CHARGES)]
    total: Money
    cash: Annotated[Money | None, Field(description="What was paid in coins and notes.")] = None

    def given(self) -> TicketGiven:
        """What the service takes."""
        return TicketGiven(
            on=self.on,
            lines=tuple(
                LineGiven(
                    label=line.label,
                    net=line.net,
                    price=line.price,
                    amount=line.amount,
                    per=line.per,
                    grade=line.grade,
                    gross=line.gross,
                    tare=line.tare,
                    deduction=line.deduction,
                )
                for line in self.lines
            ),
            total=self.total,
            number=self.number,
            charges=tuple(ChargeGiven(charge.label, charge.amount) for charge in self.charges),
            cash=self.cash,
        )


class BinIn(In):
    """What was brought, and the price that was expected for it: by default that of the day's price list."""

    grade: Name
    weight: Weight
    price: Price | None = None
    per: Annotated[UnitText | None, Field(description="Default: the yard's unit.")] = None


class AgainstIn(In):
    """What the ticket is held against."""

    valuation: ValuationName | None = None
    bins: Annotated[list[BinIn] | None, Field(min_length=1, max_length=MOST_LINES)] = None

    @model_validator(mode="after")
    def _one_of_both(self) -> AgainstIn:
        if (self.valuation is None) == (self.bins is None):
            raise PydanticCustomError("one_of", "give either the id of a kept valuation or bins")
        return self


class MatchIn(In):
    """That a line of the ticket stands for a bin, or for the bin that a part of the valuation is in.

    What is matched by hand goes before labels. A line may be named several times, with several bins.
    """

    line: Annotated[int, Field(ge=1, le=MOST_LINES)]
    bin: Annotated[Name | None, Field(description="Its grade: slug, name or alias.")] = None
    part: Annotated[
        Name | None,
        Field(
            description="The name of a part of the valuation. Where parts of that name are in several bins, "
            "the one that has no grade."
        ),
    ] = None

    @model_validator(mode="after")
    def _one_of_both(self) -> MatchIn:
        if (self.bin is None) == (self.part is None):
            raise PydanticCustomError("one_of", "give either a bin or a part")
        return self


class SettlementIn(In):
    """A scale ticket to be held against what was expected."""

    yard: YardSlug
    ticket: TicketIn
    against: AgainstIn
    matches: Annotated[list[MatchIn], Field(default_factory=list, max_length=MOST_LINES)]
    known_at: Annotated[
        Annotated[
            Annotated[StrictInt, Field(ge=0, le=10**15)] | Instant,
            OneOf(
                "write a revision of the ledger as a whole number, or an instant with its zone as in "
                'RFC 3339, such as "2026-05-04T09:12:00Z"'
            ),
        ]
        | None,
        Field(description="A revision of the ledger or an instant; default now."),
    ] = None
    rulebook: Annotated[
        RulebookVersion | None,
        Field(description="Default: in force on the ticket's day. A valuation brings its own."),
    ] = None
    keep: Annotated[
        bool, Field(description="Keep the answer, to be read and replayed later; it counts in figures.")
    ] = False
    post_prices: Annotated[
        bool,
        Field(description="Your consent to post the ticket's prices, under your name; needs keep."),
    ] = False

    @model_validator(mode="after")
    def _together(self) -> SettlementIn:
        if self.post_prices and not self.keep:
            raise PydanticCustomError("one_of", "prices are posted of settlements that are kept: add keep")
        if self.rulebook is not None and self.against.valuation is not None:
            raise PydanticCustomError("one_of", "a valuation brings its own rulebook: leave rulebook out")
        return self

    def request(self) -> Request:
        """What the service takes."""
        against = self.against
        return Request(
            yard=self.yard,
            ticket=self.ticket.given(),
            valuation=against.valuation,
            bins=tuple(
                BinGiven(each.grade, each.weight, each.price, each.per) for each in against.bins or ()
            ),
            matches=tuple(MatchGiven(match.line, match.bin, match.part) for match in self.matches),
            known_at=self.known_at,
            rulebook=self.rulebook,
        )


class TakingBackIn(In):
    """Why a settlement is taken back."""

    reason: Reason
