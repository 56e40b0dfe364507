"""What another rulebook makes of lists of parts: how many change their grade, and how the money moves.

Amounts are whole minor units of one currency: likely amounts of lines, rounded as on a ticket; totals are
their sums over the parts that have a price under both versions. What has a price under one of them alone is
no loss and no gain: it is counted beside the totals, with what it came to.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from gradewright.core.decimals import EXACT
from gradewright.core.pricelist import Price, PriceList
from gradewright.core.rates import Payer, Ratio

MOST_TOLD = 10  # of those who lose most, and of those who gain most
ZERO = Decimal(0)


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


@dataclass(slots=True)
class Sums:
    """Parts, and their amounts before and after, in minor units."""

    parts: int = 0
    grams: Decimal = ZERO
    before: int = 0
    after: int = 0
    unpriced_before: int = 0
    unpriced_after: int = 0

    def add(self, grams: Decimal, before: int | None, after: int | None) -> None:
        """Count one part."""
        self.parts += 1
        self.grams = EXACT.add(self.grams, grams)
        self.before += before or 0
        self.after += after or 0
        self.unpriced_before += before is None
        self.unpriced_after += after is None


@dataclass(slots=True)
class Place:
    """The lists of one region, or of all: how many, how many of them move, and their totals."""

    lists: int = 0
    changed: int = 0
    before: int = 0
    after: int = 0


@dataclass(slots=True)
class Currency:
    """All lists in one currency. `no_longer`, `newly`: parts that have a price before, or after, alone.

    `changes`: of the totals that move; losers and gainers: those that move most, the most first, of equal
    ones by name.
    """

    all: Place = field(default_factory=Place)
    regions: dict[str, Place] = field(default_factory=dict)
    no_longer: Sums = field(default_factory=Sums)
    newly: Sums = field(default_factory=Sums)
    moves: dict[tuple[str, str], Sums] = field(default_factory=dict)
    grades: dict[str, Sums] = field(default_factory=dict)
    changes: list[int] = field(default_factory=list)
    losers: list[Moved] = field(default_factory=list)
    gainers: list[Moved] = field(default_factory=list)

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
        for weight, old, new in zip(grams, before, after, strict=True):
            if old.amount is not None and new.amount is not None:
                was += old.amount
                now += new.amount
            elif old.amount is not None:
                kept.no_longer.add(weight, old.amount, None)
            elif new.amount is not None:
                kept.newly.add(weight, None, new.amount)
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
        if was != now:
            self._moved(kept, Moved(now - was, name, region, was, now))

    @staticmethod
    def _moved(kept: Currency, moved: Moved) -> None:
        kept.changes.append(moved.change)
        most = kept.losers if moved.change < 0 else kept.gainers
        insort(most, moved, key=_most_first)
        del most[MOST_TOLD:]


def _most_first(moved: Moved) -> tuple[int, str]:
    return -abs(moved.change), moved.name


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
