"""The wire form of the answer on a haul."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from gradewright.prices.schemas import ShownOut
from gradewright.regions.schemas import RegionCode
from gradewright.rulebooks.fields import ConcernOut
from gradewright.valuations.schemas import AmountOut, PinsOut
from gradewright.web.fields import Day, Out, Slug
from gradewright.yards.schemas import YardSlug


class HeavyOut(Out):
    """A weight in kilograms, to the milligram where it has no end, and in both notations for people."""

    weight_kg: str
    shown: str


class BinWeightOut(HeavyOut):
    """The same, as it was given too."""

    given: str


class BinOut(Out):
    """A bin, as which cheaper grades it may be sold, as asked or by common practice (no source: the yard says
    whether it takes it so), and where its own grade has a price or is refused.
    """

    name: str
    grade: Slug
    grade_name: str
    weight: BinWeightOut
    lots: int
    lower_to: list[Slug]
    priced_at: list[YardSlug]
    refused_at: list[YardSlug]


class PiledOut(HeavyOut):
    """What of a bin is in a pile: so many of its lots. `bin`: its place among the bins, from 0."""

    bin: int
    name: str
    lots: int
    lowered: Annotated[bool, Field(description="Whether it is sold as a cheaper grade than its own.")]
    amount: AmountOut


class HaulPileOut(HeavyOut):
    """What a yard weighs together: its weight decides on the price. `labels`: its own words for the grade."""

    grade: Slug
    grade_name: str
    labels: list[str]
    price: ShownOut
    amount: AmountOut
    bins: list[PiledOut]
    ask: Annotated[
        str | None, Field(description="What to ask the yard before, where a bin is sold as a cheaper grade.")
    ]


class StopOut(Out):
    """A yard on a trip. What it pays in cash may be rounded by its own step: that is not reckoned here.

    `cost`: of the stop, with its further piles; methods 1 and 2 did not tell it.
    """

    yard: YardSlug
    name: str
    paid: AmountOut
    cost: str | None = None
    piles: list[HaulPileOut]


class TripOut(HeavyOut):
    """A trip with its stops, by yard, and what it carries in all. In which order to drive is not said.

    `loss`: how much less it brings than it costs, where nothing was to be held back.
    """

    trip: int
    stops: list[StopOut]
    loss: str | None
    says: str | None


class GoesFromOut(HeavyOut):
    """From which weight on what is kept of a bin would go, beside what goes of its grade already, all else
    being planned anew; in whole grams. `proved`: it goes at no less.
    """

    more: str
    proved: bool


class KeptOut(HeavyOut):
    """What stays of a bin, and why; "no-trip-left": on a further trip it would be worth it."""

    bin: int
    name: str
    lots: int
    why: Literal["not-worth", "no-price", "too-light", "too-heavy", "no-trip-left"]
    says: str
    goes_from: GoesFromOut | None


class HaulCostsOut(Out):
    """What the plan costs."""

    trips: str
    stops: str
    piles: str
    total: str


class ProofOut(Out):
    """What no plan, or none with another choice of yards, leaves more than (`bound`), and how far the plan is
    from it (`gap`), likely amounts.

    Where `proved` is false, plan and bound are as far as the time went: the same request may be answered with
    others, and so with another `sha256`; or the solver contradicts itself: `says` which. A kept answer is
    repeated from its plan and bound, byte for byte.
    """

    proved: bool
    bound: str
    gap: str
    says: str


class SecondOut(Out):
    """The best plan found with another choice of yards, and how much `less` it leaves.

    Where its `proof` is not `proved`, another such plan may leave up to its `gap` more. All but `says` are
    null where there is no other choice, or no plan of one was found: `says` which.
    """

    yards: list[YardSlug] | None
    left: str | None
    less: str | None
    proof: ProofOut | None
    says: str


class HaulOut(Out):
    """What to take where. `left` is what is paid less the costs; the plan is the best by the likely amounts,
    of those with at most `most_trips` trips.

    Each lot is a line, rounded once by the rule of the yard. Of plans that leave the same, the one with the
    fewest trips is told, then stops, then lots that are sold as a cheaper grade, then piles, where the time
    was enough to look. For what it was not enough for, the second choice too, asking again may find another.
    """

    region: RegionCode | None
    yards: list[YardSlug]
    on: Day
    currency: str
    bins: list[BinOut]
    left_out: Annotated[list[str], Field(description="Parts of the valuation that have no grade.")]
    most_trips: int
    trips: list[TripOut]
    kept: list[KeptOut]
    paid: AmountOut
    costs: HaulCostsOut
    left: AmountOut
    proof: ProofOut
    second: SecondOut
    cautions: list[ConcernOut]
    pins: PinsOut
