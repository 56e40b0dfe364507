"""The wire form in which a haul is asked for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StrictInt, model_validator
from pydantic_core import PydanticCustomError

from gradewright.db.knowing import KnownAt
from gradewright.hauls.bins import MOST_LOTS
from gradewright.hauls.buyers import MOST_YARDS
from gradewright.hauls.given import BinGiven, CostsGiven, Request
from gradewright.hauls.question import MOST_TRIPS
from gradewright.prices.schemas import Weight
from gradewright.regions.schemas import RegionCode
from gradewright.rulebooks.fields import RulebookVersion
from gradewright.web.fields import Day, In, Instant, Name, OneOf, TextForm
from gradewright.yards.schemas import YardSlug

LONGEST = 20

Cost = Annotated[
    str,
    TextForm(
        r"^(0|[1-9][0-9]{0,8})(\.[0-9]{1,4})?$",
        says="an amount of zero or more as a string of plain digits",
        example="12.50",
        longest=14,
    ),
]
ValuationId = Annotated[
    str, TextForm(r"^v-[0-9a-f]+$", says="the id of a kept valuation", example="v-1f2e3d4c5b6a79880f1e")
]


class BinIn(In):
    """A bin of one grade."""

    name: Name
    grade: Annotated[Name, Field(description="Slug, name or alias.")]
    weight: Weight
    lots: Annotated[
        int,
        Field(
            ge=1,
            le=MOST_LOTS,
            description="Into how many equal lots it may be taken apart; 1: it goes together or stays.",
        ),
    ] = 1
    lower_to: Annotated[
        list[Name] | None,
        Field(
            max_length=30,
            description="The cheaper grades as which it may be sold instead of its own; an empty list: none. "
            "One that is above its own, or that every yard asked about that buys both pays more for, is "
            "refused. Default: those whose buyers commonly take it as what they buy; common practice, no "
            "source.",
        ),
    ] = None


class CostsIn(In):
    """What a haul costs, in the yards' currency."""

    trip: Annotated[Cost, Field(description="Each trip.")] = "0"
    stop: Annotated[Cost, Field(description="Each yard on a trip.")] = "0"
    stop_at: Annotated[
        dict[YardSlug, Cost],
        Field(
            max_length=MOST_YARDS,
            description="Of yards at which a stop costs more or less than `stop`: what it costs there.",
            json_schema_extra={"additionalProperties": False},
        ),
    ] = Field(default_factory=dict)
    pile: Annotated[Cost, Field(description="Each pile at a stop beyond the first.")] = "0"


class HaulIn(In):
    """Bins, the yards that they may go to, and what that costs."""

    bins: Annotated[list[BinIn] | None, Field(min_length=1, max_length=MOST_LOTS)] = None
    valuation: Annotated[
        ValuationId | None, Field(description="Instead of `bins`: the piles of a kept valuation.")
    ] = None
    region: Annotated[
        RegionCode | None,
        Field(description="All of its yards are looked at. Default with `valuation`: the region of that."),
    ] = None
    yards: Annotated[
        list[YardSlug] | None,
        Field(min_length=1, max_length=MOST_YARDS, description="Instead of `region`: these yards."),
    ] = None
    on: Annotated[Day | None, Field(description="The day of the prices; default today (UTC).")] = None
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
        Field(description="Default: that of the valuation, or in force on the day."),
    ] = None
    keep: Annotated[bool, Field(description="Keep the answer, to be read and replayed later.")] = False
    costs: CostsIn = CostsIn()
    load: Annotated[
        Weight | None, Field(description="What one trip can carry. Default: everything at once.")
    ] = None
    trips: Annotated[
        int | None,
        Field(
            ge=1,
            le=MOST_TRIPS,
            description="The most trips. Default: one, or with `load` as many as that can call for, up to 6.",
        ),
    ] = None
    hold_back: Annotated[
        bool, Field(description="Keep what is not worth this trip. Default: all goes that has a price.")
    ] = False
    lower: Annotated[
        bool, Field(description="Whether bins that do not say so themselves may be sold as a cheaper grade.")
    ] = True
    estimates: Annotated[
        bool,
        Field(
            description="Where a yard has posted no price of its own, take the region's or the kin's, as a "
            "price list does. Default: what a yard has not posted, it does not buy."
        ),
    ] = False
    seconds: Annotated[
        int,
        Field(
            ge=1,
            le=LONGEST,
            description="How much may be searched, then the best found is told: as much work as a busy "
            "machine does in so many seconds, so that the same is found again, and no longer by the clock.",
        ),
    ] = 5

    @model_validator(mode="after")
    def _one_of_each(self) -> HaulIn:
        if (self.bins is None) == (self.valuation is None):
            raise PydanticCustomError("one_of", "give either bins or the id of a kept valuation")
        if self.region is not None and self.yards is not None:
            raise PydanticCustomError("one_of", "give either a region or yards")
        if self.bins is not None and self.region is None and self.yards is None:
            raise PydanticCustomError("one_of", "give either a region or yards")
        if self.yards is not None and len(set(self.yards)) < len(self.yards):
            raise PydanticCustomError("twice", "name each yard once")
        return self

    def request(self) -> Request:
        """What the service takes."""
        known_at: KnownAt = self.known_at
        return Request(
            bins=tuple(
                BinGiven(
                    each.name,
                    each.grade,
                    each.weight,
                    each.lots,
                    None if each.lower_to is None else tuple(each.lower_to),
                )
                for each in self.bins or ()
            ),
            valuation=self.valuation,
            region=self.region,
            yards=tuple(self.yards or ()),
            on=self.on,
            known_at=known_at,
            rulebook=self.rulebook,
            costs=CostsGiven(self.costs.trip, self.costs.stop, self.costs.pile, dict(self.costs.stop_at)),
            load=self.load,
            trips=self.trips,
            hold_back=self.hold_back,
            lower=self.lower,
            estimates=self.estimates,
            seconds=self.seconds,
        )
