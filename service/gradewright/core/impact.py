"""What another rulebook makes of lists of parts: how many change their grade, and how the money moves.

Amounts are whole minor units of one currency: likely amounts of lines, rounded as on a ticket. Totals are
their sums over the parts that have a price under both versions, and changes are of these. What has a price
under one of them alone is counted beside, everywhere, with what it comes to and who has it.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple, TypeVar

from gradewright.core.decimals import EXACT
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.rates import Payer, Ratio

MOST_TOLD = 10  # of those who lose most, who gain most, and who lose or get a price for most
ZERO = Decimal(0)
T = TypeVar("T", "Moved", "OneSided")


class Piece(NamedTuple):
    """A part under one version: its grade, or in place of one what was answered; its weight."""

    answered: str
    grade: str | None
    grams: Decimal
    ratio: Ratio


class Valued(NamedTuple):
    """The same with its likely amount in minor units; None: no price."""

    answered: str
    grade: str | None
    amount: int | None


class Moved(NamedTuple):
    """A list whose total moves; `name` tells which."""

    change: int
    name: str
    region: str
    before: int
    after: int


class OneSided(NamedTuple):
    """A list with parts that have a price under one version alone, and what they come to under it."""

    amount: int
    name: str
    region: str
    parts: int


@dataclass(slots=True)
class Beside:
    """Parts that have a price under one version alone: lists that have some, how many, what they come to."""

    lists: int = 0
    parts: int = 0
    grams: Decimal = ZERO
    amount: int = 0

    def add(self, pieces: Sequence[tuple[Decimal, int]]) -> None:
        """Count those of one list: weight and amount of each."""
        self.lists += bool(pieces)
        self.parts += len(pieces)
        for grams, amount in pieces:
            self.grams = EXACT.add(self.grams, grams)
            self.amount += amount


@dataclass(slots=True)
class Sums:
    """Parts; the amounts before and after of those that have a price both times, in minor units; and what
    those come to that have one only before (`no_longer`) or only after (`newly`)."""

    parts: int = 0
    grams: Decimal = ZERO
    before: int = 0
    after: int = 0
    no_longer: int = 0
    newly: int = 0
    unpriced_before: int = 0
    unpriced_after: int = 0

    def add(self, grams: Decimal, before: int | None, after: int | None) -> None:
        """Count one part."""
        self.parts += 1
        self.grams = EXACT.add(self.grams, grams)
        if before is None or after is None:
            self.no_longer += before or 0
            self.newly += after or 0
        else:
            self.before += before
            self.after += after
        self.unpriced_before += before is None
        self.unpriced_after += after is None


@dataclass(slots=True)
class Place:
    """The lists of one region, or of all: how many, how many of them move, their totals; and beside these the
    parts that have a price before (`no_longer`), or after (`newly`), alone."""

    lists: int = 0
    changed: int = 0
    before: int = 0
    after: int = 0
    no_longer: Beside = field(default_factory=Beside)
    newly: Beside = field(default_factory=Beside)


@dataclass(slots=True)
class Currency:
    """All lists in one currency.

    `changes`: of the totals that move; losers and gainers: those that move most, the most first, of equal
    ones by name; `lose_price`, `gain_price`: in the same order those with most that is priced before, or
    after, alone.
    """

    all: Place = field(default_factory=Place)
    regions: dict[str, Place] = field(default_factory=dict)
    moves: dict[tuple[str, str], Sums] = field(default_factory=dict)
    grades: dict[str, Sums] = field(default_factory=dict)
    changes: list[int] = field(default_factory=list)
    losers: list[Moved] = field(default_factory=list)
    gainers: list[Moved] = field(default_factory=list)
    lose_price: list[OneSided] = field(default_factory=list)
    gain_price: list[OneSided] = field(default_factory=list)

    def quartiles(self) -> tuple[int, int, int] | None:
        """Of the changes that are not nothing: the smallest at or below which a quarter, half, and three
        quarters of them lie (inverted distribution function); None where nothing moves."""
        ordered = sorted(self.changes)
        count = len(ordered)
        if not count:
            return None
        low, middle, high = (ordered[-(-count * quarter // 4) - 1] for quarter in (1, 2, 3))
        return low, middle, high

    def lost(self) -> tuple[int, int]:
        """How many totals go down, and by how much together."""
        down = [change for change in self.changes if change < 0]
        return len(down), sum(down)

    def gained(self) -> tuple[int, int]:
        """How many totals go up, and by how much together."""
        up = [change for change in self.changes if change > 0]
        return len(up), sum(up)


class Impact:
    """Gathers what another version makes of lists, one after the other."""

    def __init__(self) -> None:
        self.lists = self.parts = self.parts_changed = 0
        self.currencies: dict[str, Currency] = {}

    def add(
        self,
        name: str,
        region: str,
        currency: str,
        grams: Sequence[Decimal],
        before: Sequence[Valued],
        after: Sequence[Valued],
    ) -> None:
        """Count one list: its parts under both versions, in the same order, and their weights."""
        kept = self.currencies.setdefault(currency, Currency())
        was = now = 0
        no_longer: list[tuple[Decimal, int]] = []
        newly: list[tuple[Decimal, int]] = []
        for weight, old, new in zip(grams, before, after, strict=True):
            if old.amount is not None and new.amount is not None:
                was += old.amount
                now += new.amount
            elif old.amount is not None:
                no_longer.append((weight, old.amount))
            elif new.amount is not None:
                newly.append((weight, new.amount))
            moved = (old.answered, old.grade) != (new.answered, new.grade)
            self.parts_changed += moved
            if moved:
                key = old.grade or old.answered, new.grade or new.answered
                kept.moves.setdefault(key, Sums()).add(weight, old.amount, new.amount)
            if moved or old.amount != new.amount:
                kept.grades.setdefault(old.grade or old.answered, Sums()).add(weight, old.amount, new.amount)
        self.lists += 1
        self.parts += len(grams)
        for place in (kept.all, kept.regions.setdefault(region, Place())):
            place.lists += 1
            place.changed += was != now
            place.before += was
            place.after += now
            place.no_longer.add(no_longer)
            place.newly.add(newly)
        for most, pieces in ((kept.lose_price, no_longer), (kept.gain_price, newly)):
            if pieces:
                amount = sum(each for _, each in pieces)
                _keep_most(most, OneSided(amount, name, region, len(pieces)))
        if was != now:
            kept.changes.append(now - was)
            _keep_most(kept.losers if now < was else kept.gainers, Moved(now - was, name, region, was, now))


def _keep_most(most: list[T], one: T) -> None:
    insort(most, one, key=_most_first)
    del most[MOST_TOLD:]


def _most_first(one: Moved | OneSided) -> tuple[int, str]:
    return -abs(one[0]), one.name


def valued(pieces: Sequence[Piece], prices: PriceList, payer: Payer) -> list[Valued]:
    """The likely amounts of a list's parts. Piles make the lots, as in a valuation."""
    piles: dict[str, Decimal] = {}
    for piece in pieces:
        if piece.grade is not None:
            piles[piece.grade] = EXACT.add(piles.get(piece.grade, ZERO), piece.grams)
    priced = {grade: prices.price(grade, grams) for grade, grams in piles.items()}
    return [_valued(piece, priced, payer) for piece in pieces]


def _valued(piece: Piece, priced: Mapping[str, Price | None], payer: Payer) -> Valued:
    price = priced.get(piece.grade) if piece.grade is not None else None
    amount = None if price is None else payer.amount(price.scale, piece.ratio).likely
    return Valued(piece.answered, piece.grade, amount)
