"""Hauls: which bins go to which yard, what stays, and the second choice."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from ._common import Amount, InCurrency, Result, Spread
from ._kept import Kept
from ._rulebooks import Caution
from ._valuations import PartPrice


class BinWeight(Result):
    """A weight as it was given, in kilograms, and in both notations for people."""

    given: str
    weight_kg: Decimal
    shown: str


class HaulBin(Result):
    """A bin: as which grades it may be sold beside its own, and where its own has a price or is refused."""

    name: str
    grade: str
    grade_name: str
    weight: BinWeight
    lots: int
    lower_to: tuple[str, ...] = ()
    priced_at: tuple[str, ...] = ()
    refused_at: tuple[str, ...] = ()


class PiledBin(Result):
    """What of a bin is in a pile: so many of its lots. `bin` counts from 0; `lowered`: as a cheaper grade."""

    bin: int
    name: str
    lots: int
    lowered: bool
    weight_kg: Decimal
    shown: str
    amount: Spread


class HaulPile(Result):
    """What a yard weighs together. `labels`: its own words for the grade; `ask`: what to ask it before."""

    grade: str
    grade_name: str
    labels: tuple[str, ...] = ()
    weight_kg: Decimal
    shown: str
    price: PartPrice
    amount: Spread
    bins: tuple[PiledBin, ...]
    ask: str | None = None


class HaulStop(Result):
    """A yard on a trip; `cost`: of the stop, with its further piles."""

    yard: str
    name: str
    paid: Spread
    cost: Amount | None = None
    piles: tuple[HaulPile, ...]


class HaulTrip(Result):
    """A trip, from 1, with its stops by yard, and what it carries; `loss`: how much less it brings than it
    costs, where nothing was to be held back.
    """

    trip: int
    weight_kg: Decimal
    shown: str
    stops: tuple[HaulStop, ...]
    loss: Amount | None = None
    says: str | None = None


class GoesFrom(Result):
    """From which weight on what is kept would go, and how much `more` that is; `proved`: at no less."""

    weight_kg: Decimal
    shown: str
    more: str
    proved: bool


class KeptBin(Result):
    """What stays of a bin; `why`: "not-worth", "no-price", "too-light", "too-heavy", "no-trip-left"."""

    bin: int
    name: str
    lots: int
    weight_kg: Decimal
    shown: str
    why: str
    says: str
    goes_from: GoesFrom | None = None


class HaulCosts(Result):
    """What a plan costs."""

    trips: Amount
    stops: Amount
    piles: Amount
    total: Amount


class HaulProof(Result):
    """What no plan, or none with another choice of yards, leaves more than, and how far the plan is off."""

    proved: bool
    bound: Amount
    gap: Amount
    says: str


class SecondChoice(Result):
    """The best plan found with another choice of yards, and how much `less` it leaves; where its `proof` is
    not `proved`, another such plan may leave up to its `gap` more. All None where there is none, or none was
    found: `says` which.
    """

    yards: tuple[str, ...] | None = None
    left: Amount | None = None
    less: Amount | None = None
    proof: HaulProof | None = None
    says: str


class Haul(InCurrency, Kept):
    """What to take where; `left` is what is `paid` less the `costs`, the plan is the best by likely amounts.

    `left_out`: parts of the valuation without a grade.
    """

    region: str | None = None
    yards: tuple[str, ...]
    on: date
    bins: tuple[HaulBin, ...]
    left_out: tuple[str, ...] = ()
    most_trips: int
    trips: tuple[HaulTrip, ...]
    kept: tuple[KeptBin, ...]
    paid: Spread
    costs: HaulCosts
    left: Spread
    proof: HaulProof
    second: SecondChoice
    cautions: tuple[Caution, ...] = ()
