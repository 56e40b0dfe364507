"""Price lists, what they rest on, and their history."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from pydantic import AliasChoices, Field

from ._common import Amount, InCurrency, Result, Whole
from ._files import File


class Kin(Result):
    """The grade whose price was taken instead, and the factor it was taken at."""

    grade: str
    factor: Decimal


class MovedLikely(Result):
    """The likely price as it was `seen` on a day, and what it was multiplied by: `times`, from its
    benchmark's value `before` (of the day `before_on`) to `after`.
    """

    seen: Decimal
    seen_on: date
    times: Decimal
    before: Decimal
    before_on: date
    after: Decimal
    after_on: date


class Moved(Result):
    """How many of the entries moved with a benchmark since they were seen, by which `share` of its own move.

    `likely` is None where the likely price itself did not.
    """

    benchmark: str
    share: str
    entries: int
    likely: MovedLikely | None = None


class Basis(Result):
    """What a price rests on.

    `kind` is yard, region, parent or kin, `place` the yard or region it comes from; `yards` and `entries`
    count what was posted, `newest` and `oldest` are the days it was seen; `thin` means too few yards to be
    sure; `moved` is what of it moved with a benchmark; `says` is all of it in one sentence.
    """

    kind: str
    place: str | None = Field(default=None, validation_alias=AliasChoices("place", "region"))
    yards: int = 0
    entries: int = 0
    newest: date | None = None
    oldest: date | None = None
    thin: bool = False
    kin: Kin | None = None
    says: str = ""
    moved: Moved | None = None


class Tier(Result):
    """What is paid from a weight on."""

    from_weight: str
    low: Amount
    likely: Amount
    high: Amount


class Price(Result):
    """What a grade is worth: money per mass unit `per`, from the weight `from_weight` on if only larger
    lots have it.
    """

    grade: str
    name: str
    family: str = ""
    low: Amount
    likely: Amount
    high: Amount
    per: str
    from_weight: str | None = None
    tiers: tuple[Tier, ...] = ()
    basis: Basis


class Unpriced(Result):
    """A grade without a price, and why."""

    grade: str
    because: str


class PriceList(Whole, InCurrency):
    """Every grade's price in a region or at a yard, on a day, as known at a revision.

    `refuses` are the grades that are not taken there.
    """

    region: str | None = None
    yard: str | None = None
    on: date
    known_at: int
    rulebook: str
    prices: tuple[Price, ...] = ()
    unpriced: tuple[Unpriced, ...] = ()
    refuses: tuple[str, ...] = ()

    def get(self, grade: str) -> Price | None:
        """The price of a grade, by its slug; None if it has none."""
        return next((price for price in self.prices if price.grade == grade), None)


class Point(Result):
    """A grade's price on one day; the amounts are None where there was none.

    `yards` and `entries` count what stands behind it, `newest` and `oldest` are the days it was seen, each
    with its age in days on this one; `thin` means too few yards to be sure; `rulebook` is the version of the
    day, None before the first.
    """

    on: date
    low: Amount | None = None
    likely: Amount | None = None
    high: Amount | None = None
    yards: int = 0
    entries: int = 0
    newest: date | None = None
    newest_age_days: int | None = None
    oldest: date | None = None
    oldest_age_days: int | None = None
    thin: bool = False
    rulebook: str | None = None


class Series(Whole, InCurrency):
    """A grade's price over time in a region, or at a `yard` of it, per mass unit `per`.

    `weight` is the lot that it is for, None for any; `rulebook` is the version of the last day.
    """

    region: str
    yard: str | None = None
    grade: str
    name: str = ""
    weight: str | None = None
    per: str
    known_at: int
    rulebook: str
    points: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class SeriesFile(File):
    """A grade's price over time as a CSV file or as a chart (SVG), and the revision that it is known at."""
