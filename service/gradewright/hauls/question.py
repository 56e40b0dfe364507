"""A haul as it is asked, with all that it depends on; and what was found of it, as it is kept beside it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cached_property
from math import ceil
from typing import Any

from gradewright.core.decimals import EXACT
from gradewright.core.errors import Fault, GradewrightError, Refused
from gradewright.core.grading import Grader
from gradewright.core.haul.found import Best, GoesFrom, Told
from gradewright.core.haul.plan import Costs, Haul, Place, Plan, reckon
from gradewright.core.money import minor_per_unit
from gradewright.hauls.bins import Bin
from gradewright.hauls.buyers import Offers
from gradewright.hauls.given import Request
from gradewright.valuations.weights import weigh
from gradewright.yards.service import Yard

MOST_TRIPS = 6
METHODS = ("1", "2", "3", "4", "5")
"""By method 2 the bound of the second choice is told as one, a bin goes down into no grade that is not
cheaper, and those that came after the table of cheaper ones go down by the rulebook's own prices. By
method 3 what no yard has a price for is not said to be posted by none: it may wait. It also tells where
something stays for want of a trip, and what each stop costs. By method 4 the solver is not taken at its word
where it contradicts what is known, and from which weight on something goes may be told not to be found. By
method 5 a proof is one in whole numbers where amounts are too large for the solver's, and so is that of from
which weight on something goes where amounts are, or where a yard pays less from a weight on."""
METHOD = METHODS[-1]


@dataclass(frozen=True)
class Question:
    """The bins and the yards, and the haul that is made of them; the method by which it is told."""

    bins: Sequence[Bin]
    offers: Sequence[Offers]
    region: str | None
    on: date
    currency: str
    grader: Grader
    costs: Costs
    load: Fraction | None
    trips: int
    hold_back: bool
    left_out: Sequence[str] = ()
    method: str = METHOD
    stops: Mapping[str, int] = field(default_factory=dict)
    """By yard, what a stop there costs in minor units, where that is not the cost of others."""

    @cached_property
    def haul(self) -> Haul:
        """What the plan is made of."""
        lots = tuple(each.lot(number) for number, each in enumerate(self.bins) for _ in range(each.lots))
        buyers = tuple(
            replace(offers.buyer(), stop=self.stops.get(offers.yard.slug)) for offers in self.offers
        )
        return Haul(lots, buyers, self.costs, self.load, self.trips, self.hold_back)

    def plain(self, told: Told) -> dict[str, Any]:
        """What was found, as it is kept: numbers, and names of yards."""
        return {
            "best": self._plain(told.best),
            "second": self._plain(told.second) if told.second is not None else None,
            "looked": told.looked,
            "by_clock": told.by_clock,
            "goes_from": {
                str(number): None if goes is None else [goes.grams, goes.proved]
                for number, goes in told.goes_from.items()
            },
        }

    def read(self, kept: Mapping[str, Any]) -> Told:
        """What was found, from what is kept, reckoned anew. Raises `NoSuchPlan` where that cannot be."""
        second = kept["second"]
        goes_from = {
            int(number): None if goes is None else GoesFrom(*goes)
            for number, goes in kept["goes_from"].items()
        }
        second = self._read(second) if second is not None else None
        by_clock = kept.get("by_clock", True)  # as it was of all that were kept before work was counted
        return Told(self._read(kept["best"]), second, kept["looked"], goes_from, by_clock)

    def _plain(self, best: Best) -> dict[str, Any]:
        plan = [
            None if at is None else [at.trip, self.offers[at.buyer].yard.slug, at.grade] for at in best.plan
        ]
        return {"plan": plan, "bound": best.bound, **({"doubted": True} if best.doubted else {})}

    def _read(self, kept: Mapping[str, Any]) -> Best:
        numbers = {offers.yard.slug: number for number, offers in enumerate(self.offers)}
        plan: Plan = tuple(
            None if at is None else Place(at[0], numbers.get(at[1], len(numbers)), at[2])
            for at in kept["plan"]
        )
        return Best(plan, reckon(self.haul, plan).worth, kept["bound"], kept.get("doubted", False))


def costs_of(request: Request, yards: Sequence[Yard]) -> tuple[Costs, dict[str, int]]:
    """The costs in minor units, and those of a stop at yards that have their own. Raises `Refused` for what
    cannot be paid in their currency, and for yards that are not asked about, all at once.
    """
    currency, slugs = yards[0].currency, [yard.slug for yard in yards]
    minor, faults = minor_per_unit(currency), []

    def units(written: str, *at: str) -> int:
        amount = EXACT.multiply(Decimal(written), Decimal(minor))
        if amount != int(amount):
            step = EXACT.divide(Decimal(1), Decimal(minor))
            detail = f"{written} {currency} cannot be paid: the smallest step is {step} {currency}."
            faults.append(Fault(detail, ("costs", *at)))
        return int(amount)

    found = Costs(**{name: units(getattr(request.costs, name), name) for name in Costs.__slots__})
    stops = {slug: units(written, "stop_at", slug) for slug, written in request.costs.stop_at.items()}
    for slug in (slug for slug in stops if slug not in slugs):
        detail = f"{slug} is none of the yards that are asked about: leave its cost out, or name the yard."
        faults.append(Fault(detail, ("costs", "stop_at", slug), tuple(slugs)))
    if faults:
        raise Refused(faults[0].detail, faults=tuple(faults))
    return found, stops


def load_of(request: Request) -> Fraction | None:
    """The grams that a trip may carry; None: as much as there is."""
    if request.load is None:
        return None
    try:
        return Fraction(weigh(request.load, 1).grams)
    except GradewrightError as error:
        suggestions = error.faults[0].suggestions if error.faults else ()
        raise Refused(error.detail, faults=(Fault(error.detail, ("load",), suggestions),)) from error


def trips_of(request: Request, bins: Sequence[Bin], load: Fraction | None) -> int:
    """The most trips: as asked, else one, or with a load as many as it can call for, up to six.

    Where no price falls with the weight, and a further pile costs no more than a stop, two trips that one
    could carry are never better than one. So of a best plan any two carry more than one may, and from that
    follows that there are fewer than twice the whole weight in loads.
    """
    if request.trips is not None:
        return request.trips
    if load is None:
        return 1
    whole = sum((Fraction(each.grams) for each in bins), Fraction(0))
    return min(MOST_TRIPS, max(1, ceil(2 * whole / load) - 1))
