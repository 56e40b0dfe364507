"""Recoveries: the copper of a cable, the metals that a density leaves, the ends of precious metal."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from pydantic import Field

from ._common import Amount, ReadsCurrency, Result, Spread
from ._gradings import Candidate, HouseLimit
from ._kept import Kept
from ._rulebooks import Caution


class Figures(Result):
    """Low, likely and high of a measure."""

    low: Decimal
    likely: Decimal
    high: Decimal


class Ends(Result):
    """The two ends of what is possible. There is no likely one."""

    low: Decimal
    high: Decimal


class PaidEnds(Result):
    """The two ends of an amount. There is no likely one."""

    low: Amount
    high: Amount


class CopperShare(Result):
    """The copper share of a cable's weight as text with its per cent sign: values of the observation
    `attribute`, rounded outwards.

    `by_copper_number` is what cable tables would make of it, for invoices: the most that there can be.
    `grams_per_metre` and `strand_mm` are told where the build tells them.
    """

    low: str
    likely: str
    high: str
    attribute: str
    by_copper_number: str | None = None
    grams_per_metre: Figures | None = None
    strand_mm: Figures | None = None
    rests_on: tuple[str, ...] = ()
    says: str


class PublishedDensity(Result):
    """A material whose published density fits."""

    material: str
    low: str
    high: str
    source: str


class PossibleMetal(Result):
    """A metal that the rulebook does not rule out; nothing is `published` where only its margin allows it."""

    metal: str
    published: tuple[PublishedDensity, ...] = ()


class Density(Result):
    """A density as text with its unit, rounded outwards, and every metal that it leaves.

    `unlisted` are materials that fit as published and that the rulebook has no word for.
    """

    low: str
    likely: str
    high: str
    attribute: str
    metals: tuple[PossibleMetal, ...] = ()
    unlisted: tuple[PublishedDensity, ...] = ()
    rests_on: tuple[str, ...] = ()
    says: str


class GradeBand(Result):
    """The values from one to another that make one grade; None where more has to be known."""

    from_: str = Field(alias="from")
    to: str
    grade: str | None = None


class SpannedGrading(Result):
    """What the whole range is accepted as: one grade, or candidates with their local prices."""

    outcome: str
    grade: str | None = None
    because: str | None = None
    candidates: tuple[Candidate, ...] = ()
    may_be_ungraded: bool = False
    bands: tuple[GradeBand, ...] = ()
    house_limits: tuple[HouseLimit, ...] = ()


class Stripping(Result):
    """A lot of cable as it is, and stripped. Without amounts `unpriced` says what is wanting.

    `break_even_minutes` are those for the lot at which an hour of stripping adds just the hour's rate; None
    at a rate of zero. `disposal` is what it costs to be rid of the insulation, and off the `gain`. `pays`
    compares the likely figures.
    """

    lot_kg: Decimal
    minutes: Decimal
    hour_rate: Decimal
    wire: str | None = None
    bare: str | None = None
    copper_kg: Figures | None = None
    as_is: Spread | None = None
    stripped: Spread | None = None
    insulation_kg: Figures | None = None
    disposal: Spread | None = None
    gain: Spread | None = None
    per_hour: Spread | None = None
    break_even_minutes: Figures | None = None
    break_even_minutes_per_kg: Figures | None = None
    pays: bool | None = None
    unpriced: str | None = None
    says: str


class PreciousMetal(Result):
    """One metal of a lot: its content in g/t and where that is from, grams that are there and that are paid
    for, and what they come to less refining.
    """

    metal: str
    content_g_per_t: Ends
    source: str
    price: str
    there_g: Ends
    paid_for_g: Ends
    amount: PaidEnds


class PreciousMetals(Result):
    """What the precious metal of a lot may come to: an indication, not an assay. Never add it to totals."""

    lot_kg: Ends
    metals: tuple[PreciousMetal, ...]
    charges: PaidEnds
    amount: PaidEnds
    too_small: bool
    says: str


class Recovery(Kept, ReadsCurrency):
    """What of a thing is metal that pays. `kind` is cable, sample, displacement or assay; what its kind
    does not have is None.

    `id` is set when it was kept (or fetched by its id); it is not part of the body.
    """

    kind: str
    region: str | None = None
    yard: str | None = None
    on: date
    currency: str | None = None
    copper: CopperShare | None = None
    density: Density | None = None
    grading: SpannedGrading | None = None
    stripping: Stripping | None = None
    precious: PreciousMetals | None = None
    notes: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()
