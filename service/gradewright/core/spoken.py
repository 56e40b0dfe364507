"""What is claimed of a grade in a region, what members say of a claim, and why it waits: as values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import NamedTuple

from gradewright.core.decimals import EXACT, ROUNDING
from gradewright.core.rates import Rate
from gradewright.core.sightings import Entry, Sighting

OUTLIER, FAR_OFF, DISPUTED = "outlier", "far-off", "disputed"
PER = Decimal(1000)
LEVEL_PLACES = 12
WEIGHT_PLACES = 12


@dataclass(frozen=True, slots=True)
class Said:
    """What members have said of one price, the last word of each, and what was decided.

    `shown`: whether a ticket that its author has settled shows it.
    """

    confirmed_by: frozenset[str] = frozenset()
    disputed_by: frozenset[str] = frozenset()
    accepted: bool = False
    shown: bool = False


@dataclass(frozen=True, slots=True)
class Held:
    """Why a price waits: median and spread (MAD) of what others claim, per kilogram, and of how many yards.

    `because` is "outlier", "far-off" or "disputed"; `score` is the modified z-score. Where others speak of
    few yards, `median` is the nearest of what they claim, without spread and score. A disputed price is not
    counted against anything: it has none of these. `moved_with`: the benchmark that some of the others moved
    with. `seconded`: a second author or a ticket says the same there, and weighs too little; `shown`: a
    ticket that its author has settled shows it.
    """

    because: str
    median: Decimal | None = None
    spread: Decimal | None = None
    score: Decimal | None = None
    yards: int = 0
    moved_with: str | None = None
    seconded: bool = False
    shown: bool = False


NOTHING_SAID: Mapping[Entry, Said] = {}
SILENCE = Said()


class Voices(NamedTuple):
    """What authors weigh; `unknown`: who is not among them."""

    standing: Mapping[str, Decimal]
    unknown: Decimal

    def together(self, authors: Iterable[str]) -> Decimal:
        """What some weigh together."""
        return sum((self.standing.get(author, self.unknown) for author in sorted(authors)), Decimal(0))


class Claim(NamedTuple):
    """A claim as whole numbers, in order by level: what is compared is the same on every machine."""

    level: int
    entry: Entry
    weight: int
    seen: Sighting


@lru_cache(maxsize=32768)
def level(rate: Rate) -> int:
    """A rate per kilogram in units of 10^-12 of the currency, rounded half to even."""
    return int(ROUNDING.scaleb(rate.per(PER), LEVEL_PLACES).to_integral_value(context=ROUNDING))


def agree(one: int, other: int, within: Decimal) -> bool:
    """Whether two levels say the same: they differ by no more than the share of the larger one."""
    over, under = within.as_integer_ratio()
    return abs(one - other) * under <= over * max(abs(one), abs(other))


def agreeing(one: int, within: Decimal) -> tuple[int, int]:
    """The lowest and the highest level that agree with one above zero, where the share is less than all."""
    over, under = within.as_integer_ratio()
    least = under - over
    return -(-one * least // under), one * under // least


def whole(share: Decimal) -> int:
    """A weight as a whole number of 10^-12."""
    return int(EXACT.scaleb(share, WEIGHT_PLACES))
