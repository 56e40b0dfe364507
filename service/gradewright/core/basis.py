"""What a price rests on, as it is answered: how many yards and entries, how old, and what moved since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from gradewright.core.decimals import EXACT, ROUNDING, plain, trimmed
from gradewright.core.movement import Moves
from gradewright.core.rates import Rate
from gradewright.core.units import MassUnit

SHOWN_PLACES = 6
SHOWN_STEP = Decimal("0.000001")  # a shown price has six places; amounts are computed from the exact rate
TENTH = Decimal("0.1")


@dataclass(frozen=True, slots=True)
class Kin:
    """The grade whose price stood in, and what it was multiplied by."""

    grade: str
    factor: str


@dataclass(frozen=True, slots=True)
class Basis:
    """What a price rests on; `place` is a region's code or a yard's slug, `says` is for people."""

    kind: str
    place: str
    yards: int
    entries: int
    newest: date
    oldest: date
    thin: bool
    kin: Kin | None
    says: str


@dataclass(frozen=True, slots=True)
class MovedLikely:
    """The likely price as it was `seen`, per one of the list's unit, and what it was multiplied by: `times`,
    from its benchmark's value `before` (of the day `before_on`) to `after`."""

    seen: str
    seen_on: date
    times: str
    before: str
    before_on: date
    after: str
    after_on: date


@dataclass(frozen=True, slots=True)
class Moved:
    """Of how many entries the price moved with a benchmark, by which `share` of the benchmark's own move."""

    benchmark: str
    share: str
    entries: int
    likely: MovedLikely | None


@dataclass(frozen=True, slots=True)
class MovedBasis(Basis):
    """What a price rests on that moved with a benchmark.

    Others do not have the member at all: answers of versions without benchmarks stay as they were, byte for
    byte.
    """

    moved: Moved


def moved(moves: Moves, unit: MassUnit) -> Moved:
    """What moved, as it is answered."""
    likely = moves.likely
    told = None
    if likely is not None:
        told = MovedLikely(
            seen=shown_rate(likely.seen, unit),
            seen_on=likely.seen_on,
            times=trimmed(likely.times),
            before=plain(likely.before.value),
            before_on=likely.before.on,
            after=plain(likely.after.value),
            after_on=likely.after.on,
        )
    return Moved(moves.benchmark, _percent(moves.share), moves.entries, told)


def in_words(moves: Moves) -> str:
    """What moved, for people: "moved +2.4 % with copper since 2026-04-03"."""
    if moves.likely is None:
        entries = "1 price" if moves.entries == 1 else f"{moves.entries} prices"
        return f"{entries} moved with {moves.benchmark}"
    change = EXACT.subtract(moves.likely.times, Decimal(1))
    return f"moved {_percent(change, '+')} with {moves.benchmark} since {moves.likely.seen_on.isoformat()}"


def _percent(share: Decimal, sign: str = "") -> str:
    """A share in percent, to one place where it has more."""
    percent = EXACT.scaleb(share, 2)
    tenths = percent.quantize(TENTH, context=ROUNDING)
    return f"{sign if tenths >= 0 else ''}{trimmed(tenths)} %"


def without_spare(shown: str) -> str:
    """A shown price without zeros beyond its six places: low and high have as many places as a likely price
    that moved, which can be twelve and more. Kept answers have these zeros, and stay as they are."""
    return trimmed(Decimal(shown)) if len(shown.partition(".")[2]) > SHOWN_PLACES else shown


def shown_rate(rate: Rate, unit: MassUnit) -> str:
    """A rate per one of a unit: as it was posted where the unit is the same, else to six places."""
    exact = rate.per(unit.grams)
    rounded = exact.quantize(SHOWN_STEP, context=ROUNDING)
    return plain(exact if exact == rounded and rate.per_grams == unit.grams else rounded)
