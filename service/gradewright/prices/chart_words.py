"""What a chart says in words: above the drawing, below it, and to those who hear it instead."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Context, Decimal
from itertools import pairwise

from gradewright.prices.chart_days import spelt
from gradewright.prices.series_schemas import PointOut, SeriesOut

WIDE, SHORT = Context(prec=60), Context(prec=2)
NOTHING = "No price was known on any of these days."
AGES = "Days old: newest (line: oldest)"
CHARGE = "Below zero: what it costs to be rid of it."


@dataclass(frozen=True, slots=True)
class Charted:
    """A series with what a chart of it has to say: the place's name, and how many yards are not few, where
    that is the same on all its days.
    """

    told: SeriesOut
    called: str
    thin_below: int | None

    @property
    def at_yard(self) -> bool:
        """Whether it is one yard's: then the number of its prices says more than that of its yards."""
        return self.told.yard is not None

    @property
    def priced(self) -> list[PointOut]:
        """The points that have a price."""
        return [point for point in self.told.points if point.likely is not None]

    @property
    def thin(self) -> list[PointOut]:
        """The points of a region that rest on few yards."""
        return [] if self.at_yard else [point for point in self.priced if point.thin]

    @property
    def terms(self) -> str:
        """Where, and what the figures are."""
        lot = f", for {self.told.weight}" if self.told.weight else ""
        return f"{self.called}, {self.told.currency} per {self.told.per}{lot}"

    @property
    def newest(self) -> str:
        """The last price, and what it rests on."""
        if not self.priced:
            return NOTHING
        last = self.priced[-1]
        low, likely, high = alike((last.low, last.likely, last.high))
        spread, rests_on = _kept(f"{low} to {high}"), _kept(behind(last, self.at_yard))
        return f"{likely} on {_kept(spelt(last.on))} ({spread}), {rests_on}"

    @property
    def turns(self) -> list[tuple[PointOut, PointOut]]:
        """The points with a price that are next to each other and by different versions of the rulebook."""
        pairs = pairwise(self.told.points)
        return [(a, b) for a, b in pairs if a.likely and b.likely and a.rulebook != b.rulebook]

    @property
    def charge(self) -> str | None:
        """What a price below zero means, where there is one."""
        return CHARGE if any(Decimal(point.low or 0) < 0 for point in self.priced) else None

    @property
    def pins(self) -> str:
        """What the figures were computed from."""
        by = list(dict.fromkeys(point.rulebook for point in self.told.points if point.rulebook))
        rulebooks = f"rulebook {by[0]}" if len(by) == 1 else f"rulebooks {by[0]} to {by[-1]}"
        return f"Ledger revision {self.told.known_at}, {rulebooks}"

    @property
    def few(self) -> str:
        """How many yards are few."""
        return "too few yards" if self.thin_below is None else f"fewer than {self.thin_below} yards"

    @property
    def title(self) -> str:
        """In one line."""
        return f"{self.told.name}: {self.terms}"

    @property
    def description(self) -> str:
        """All that the drawing shows."""
        return " ".join(self._sentences())

    def _sentences(self) -> Iterator[str]:
        points, priced = self.told.points, self.priced
        many = "1 point" if len(points) == 1 else f"{len(points)} points"
        span = f"{spelt(points[0].on)} to {spelt(points[-1].on)}"
        yield f"The likely price, with low and high, from {span}: {many}."
        yield f"{_free(self.newest)}." if priced else NOTHING
        if len(priced) > 1:
            lowest = min(priced, key=lambda point: Decimal(point.likely or 0))
            highest = max(priced, key=lambda point: Decimal(point.likely or 0))
            yield f"Lowest {shown(lowest.likely)} on {spelt(lowest.on)}."
            yield f"Highest {shown(highest.likely)} on {spelt(highest.on)}."
        if priced and len(priced) < len(points):
            yield f"{len(points) - len(priced)} without a price."
        if priced:
            newest = _days(max(point.newest_age_days or 0 for point in priced))
            oldest = _days(max(point.oldest_age_days or 0 for point in priced))
            yield f"Behind a point the newest price is up to {newest} old, the oldest up to {oldest}."
        if self.thin:
            yield f"{len(self.thin)} by {self.few}."
        for _, after in self.turns:
            yield f"From {spelt(after.on)} by rulebook {after.rulebook}."
        if self.charge:
            yield self.charge
        yield f"{self.pins}."


def behind(point: PointOut, at_yard: bool) -> str:
    """What a price rests on: how many, and how old."""
    count, what = (point.entries, "price") if at_yard else (point.yards, "yard")
    age = point.newest_age_days or 0
    old = {0: "that day", 1: "the day before"}.get(age, f"{age} days before")
    return f"{count} {what}{'' if count == 1 else 's'}, newest {old}"


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"


def shown(figure: str | None) -> str:
    """A price for people: two places or more where they say something; a tiny one keeps two digits."""
    exact = Decimal(figure or 0)
    places = 2 if abs(exact) >= 10 else 3 if abs(exact) >= 1 else 4
    amount = exact.quantize(Decimal(1).scaleb(-places), context=WIDE)
    if not amount and exact:
        return f"{SHORT.plus(exact).normalize():f}".replace("-", "\u2212")
    whole, _, rest = f"{amount:f}".partition(".")
    return f"{whole}.{rest.rstrip('0').ljust(2, '0')}".replace("-", "\u2212")


def alike(figures: Iterable[str | None]) -> list[str]:
    """Prices for people that stand side by side: all with as many places as the longest."""
    each = [shown(figure) for figure in figures]
    most = max(len(one.partition(".")[2]) for one in each)
    return [one + "0" * (most - len(one.partition(".")[2])) for one in each]


def _kept(words: str) -> str:
    """The words on one line."""
    return words.replace(" ", "\u00a0")


def _free(words: str) -> str:
    return words.replace("\u00a0", " ")
