"""What a kind of device is usually made of: from what people found in such devices to shares and minutes.

A record is one device: its parts by grade, its weight, the minutes it took. Everybody has one vote, spread
evenly over the newest `NEWEST` of their records of the kind, so that nobody's diligence, or malice, drowns
the others'. Of every figure *likely* is the weighted median, by the averaged inverted distribution function
(Hyndman & Fan 1996, definition 2: of two middle values their mean), *low* and *high* are the weighted
quartiles by the same definition. The likely shares of all grades are then brought to the whole together, as
the parts of a whole are (closure; Aitchison 1986, from memory).

Quartiles of few say too much. Of n devices the next one lies between the j-th lightest and the j-th heaviest
in (n + 1 - 2j) of n + 1 cases (order statistics, whatever the distribution; David & Nagaraja 2003, from
memory). So with fewer than `ENOUGH` votes low and high are the extremes, and with fewer than `FEW` devices,
which hold the next one less than every other time, those are widened by one part in n + 1: our own, common
practice, no source.

What people sorted is one thing, what a publication says that a device is made of another: publications stand
in where nobody has a record.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

NEWEST = 8
"""How many of a person's records of a kind count: the newest."""
ENOUGH = 7
"""Votes from which on the quartiles are the second and the last but one, which hold half of what comes next;
and from which on nobody alone is below or above them."""
FEW = 4
ZERO, ONE, HALF = Fraction(0), Fraction(1), Fraction(1, 2)
QUARTER, THREE_QUARTERS = Fraction(1, 4), Fraction(3, 4)
TOLERATED = Fraction(102, 100)
"""Parts may weigh so much of the whole together: they were not all put on one scale."""


@dataclass(frozen=True, slots=True)
class Piece:
    """All of one grade in a device: its weight in grams, or its share of the whole; how many, where told."""

    grade: str
    grams: Decimal | None = None
    share: Decimal | None = None
    count: int | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """One device. `voice`: whose vote it is; `grams`, `minutes`: None where nobody told.

    Larger `order` is newer. `published`: what a publication says, from memory (`unsure`) or read.
    """

    name: str
    voice: str
    order: tuple[int, int]
    pieces: tuple[Piece, ...]
    grams: Decimal | None = None
    minutes: Decimal | None = None
    published: bool = False
    unsure: bool = False

    def weights(self) -> Mapping[str, Fraction] | None:
        """The grams of each grade; None where neither they nor the whole are known."""
        found: dict[str, Fraction] = {}
        for piece in self.pieces:
            if piece.grams is not None:
                grams = Fraction(piece.grams)
            elif piece.share is not None and self.grams is not None:
                grams = Fraction(piece.share) * Fraction(self.grams)
            else:
                return None
            found[piece.grade] = found.get(piece.grade, ZERO) + grams
        return found

    def shares(self) -> Mapping[str, Fraction] | None:
        """The share of each grade in the whole; None where the whole is not known."""
        found: dict[str, Fraction] = {}
        for piece in self.pieces:
            if piece.share is not None:
                share = Fraction(piece.share)
            elif piece.grams is not None and self.grams is not None:
                share = Fraction(piece.grams) / Fraction(self.grams)
            else:
                return None
            found[piece.grade] = found.get(piece.grade, ZERO) + share
        total = sum(found.values(), ZERO)
        # A hair more than the whole is the scale's: the parts are the whole then.
        return {grade: share / total for grade, share in found.items()} if total > 1 else found


@dataclass(frozen=True, slots=True)
class Spread:
    """Low, likely and high of one figure, exact."""

    low: Fraction
    likely: Fraction
    high: Fraction

    def times(self, factor: Fraction) -> Spread:
        """All three times a factor that is not below zero."""
        return Spread(self.low * factor, self.likely * factor, self.high * factor)


Votes = Sequence[tuple[Record, Fraction]]
"""The records that count, each with its part of its author's one vote."""


@dataclass(frozen=True, slots=True)
class TypicalPart:
    """One grade of a kind: its share of the whole, its weight in grams, and in how many records it is.

    `share` is None where no record that has it knows its whole, `grams` where none knows weights; `count`,
    how many pieces, where no record tells it.
    """

    grade: str
    share: Spread | None
    grams: Spread | None
    count: Spread | None
    found: int


@dataclass(frozen=True, slots=True)
class Typical:
    """What a kind of device usually consists of, with what that rests on.

    `parts`: heaviest first. `rest`: the share that nobody named. The likely shares and the likely rest add
    up to one. `minutes`: for a whole device. `votes`: what counted, for figures of one's own (`spread`).
    `shares_of`: of how many records, of how many voices, shares are: of those that tell the whole weight.
    """

    parts: tuple[TypicalPart, ...]
    rest: Spread | None
    grams: Spread | None
    minutes: Spread | None
    records: int
    voices: int
    published: bool
    says: tuple[str, ...]
    votes: Votes = field(repr=False, default=())
    shares_of: tuple[int, int] = (0, 0)

    @property
    def unshared(self) -> tuple[TypicalPart, ...]:
        """The parts of which no share is known, where one of others is."""
        return tuple(part for part in self.parts if part.share is None) if self.rest is not None else ()

    def spread(self, figure: Callable[[Mapping[str, Fraction]], Fraction]) -> Spread | None:
        """Low, likely and high of a figure that is made of the shares of one device, such as what all its
        parts pay: of each device first, then over the devices. The sum of all lows would say too little.
        """
        told = [(figure(shares), vote) for record, vote in self.votes if (shares := record.shares())]
        return spread_of(told, self.shares_of[1]) if told else None


def typical(records: Iterable[Record], *, every: bool = False) -> Typical | None:
    """What the records of one kind say together; None where there is none. They may come in any order.

    `every`: as it was once, all voices count for each figure, also those that do not tell it, and a grade is
    no part of the whole where only they have it.
    """
    known = list(records)
    sorted_by_hand = [record for record in known if not record.published]
    votes = voted(sorted_by_hand or known)
    if not votes:
        return None
    voices = len({record.voice for record, _ in votes})

    def among(told: Callable[[Record], object]) -> int:
        return voices if every else len({record.voice for record, _ in votes if told(record) is not None})

    shares = [(found, vote) for record, vote in votes if (found := record.shares()) is not None]
    weights = [(found, vote) for record, vote in votes if (found := record.weights()) is not None]
    grades = dict.fromkeys(piece.grade for record, _ in votes for piece in record.pieces)
    shared = grades if every else {grade: None for grade in grades if any(grade in of for of, _ in shares)}
    shares_of = len(shares), among(Record.shares)
    by_share, rest = _shares(shares, tuple(shared), shares_of[1])
    weighed = among(Record.weights)
    parts = [
        TypicalPart(
            grade,
            by_share.get(grade),
            spread_of([(found.get(grade, ZERO), vote) for found, vote in weights], weighed)
            if weights
            else None,
            _counts(votes, grade, voices),
            sum(any(piece.grade == grade for piece in record.pieces) for record, _ in votes),
        )
        for grade in grades
    ]
    parts.sort(key=_heaviest_first)
    published = not sorted_by_hand
    says = [*_says(votes, voices, published, bool(shares))]
    if not every and 0 < len(shares) < len(votes):
        says += _says_of_shares(*shares_of, len(grades) - len(shared))
    return Typical(
        tuple(parts),
        rest,
        _told(((record.grams, vote) for record, vote in votes), among(lambda record: record.grams)),
        _told(((record.minutes, vote) for record, vote in votes), among(lambda record: record.minutes)),
        len(votes),
        voices,
        published,
        tuple(says),
        votes,
        shares_of,
    )


def voted(records: Iterable[Record]) -> list[tuple[Record, Fraction]]:
    """The records that count, newest first, with their votes: each voice has one in all."""
    by_voice: dict[str, list[Record]] = {}
    for record in sorted(records, key=lambda record: record.order, reverse=True):
        theirs = by_voice.setdefault(record.voice, [])
        if len(theirs) < NEWEST:
            theirs.append(record)
    found = [(record, Fraction(1, len(theirs))) for theirs in by_voice.values() for record in theirs]
    return sorted(found, key=lambda pair: pair[0].order, reverse=True)


def spread_of(told: Sequence[tuple[Fraction, Fraction]], voices: int) -> Spread:
    """Low, likely and high of values with their votes, as the head of this module says."""
    ordered = sorted(told)
    likely = quantile(ordered, HALF)
    if voices >= ENOUGH:
        return Spread(quantile(ordered, QUARTER), likely, quantile(ordered, THREE_QUARTERS))
    low, high = ordered[0][0], ordered[-1][0]
    if len(ordered) < FEW:
        margin = Fraction(1, len(ordered) + 1)
        low, high = low - abs(low) * margin, high + abs(high) * margin
    return Spread(low, likely, high)


def quantile(ordered: Sequence[tuple[Fraction, Fraction]], share: Fraction) -> Fraction:
    """The value below which so much of the votes lies; where that is between two of them, their mean."""
    needed = share * sum((vote for _, vote in ordered), ZERO)
    reached = ZERO
    for place, (value, vote) in enumerate(ordered):
        reached += vote
        if reached > needed or place == len(ordered) - 1:
            return value
        if reached == needed:
            return (value + ordered[place + 1][0]) / 2
    raise ValueError("no votes to take a quantile of")


def _shares(
    told: Sequence[tuple[Mapping[str, Fraction], Fraction]], grades: Sequence[str], voices: int
) -> tuple[Mapping[str, Spread], Spread | None]:
    """The share of each grade and of what nobody named; the likely ones are brought to the whole."""
    if not told:
        return MappingProxyType({}), None
    rests = [(ONE - sum(found.values(), ZERO), vote) for found, vote in told]
    spreads = [
        spread_of([(found.get(grade, ZERO), vote) for found, vote in told], voices) for grade in grades
    ]
    spreads.append(spread_of(rests, voices))
    whole = sum((spread.likely for spread in spreads), ZERO)
    if whole:
        likely = [spread.likely / whole for spread in spreads]
    else:  # no grade is in half of them: the mean, which is a whole always
        votes = sum((vote for _, vote in told), ZERO)
        likely = [sum((f.get(g, ZERO) * vote for f, vote in told), ZERO) / votes for g in grades]
        likely.append(sum((rest * vote for rest, vote in rests), ZERO) / votes)
    closed = [
        Spread(min(spread.low, at), at, min(ONE, max(spread.high, at)))
        for spread, at in zip(spreads, likely, strict=True)
    ]
    return dict(zip(grades, closed[:-1], strict=True)), closed[-1]


def _told(told: Iterable[tuple[Decimal | None, Fraction]], voices: int) -> Spread | None:
    known = [(Fraction(value), vote) for value, vote in told if value is not None]
    return spread_of(known, voices) if known else None


def _counts(votes: Votes, grade: str, voices: int) -> Spread | None:
    """How many pieces of a grade there are, by the records that tell it of theirs."""
    known = []
    for record, vote in votes:
        pieces = [piece.count for piece in record.pieces if piece.grade == grade]
        if pieces and None not in pieces:
            known.append((Fraction(sum(filter(None, pieces))), vote))
    return spread_of(known, voices) if known else None


def _heaviest_first(part: TypicalPart) -> tuple[Fraction, Fraction, str]:
    share = part.share.likely if part.share else ZERO
    grams = part.grams.likely if part.grams else ZERO
    return -share, -grams, part.grade


def _says(votes: Votes, voices: int, published: bool, whole: bool) -> Iterable[str]:
    """What to know of it, a sentence each."""
    n = len(votes)
    devices = f"{n} device{'s' * (n > 1)}"
    if published:
        yield (
            f"Nobody has recorded one that was taken apart: from {voices} publication{'s' * (voices > 1)} on "
            "what such devices are made of, not on what was sorted."
        )
        if any(record.unsure for record, _ in votes):
            yield "Figures from memory are among these: whoever relies on them reads the publication first."
    elif voices == 1:
        yield f"From {devices} that one person has taken apart: nobody else has seen another."
    else:
        yield f"From {devices} that {voices} people have taken apart."
    if n < FEW:
        yield f"So few say little: low and high are the extremes, widened by one part in {n + 1}."
    elif voices < ENOUGH:
        yield "Low and high are the extremes of all: for quartiles there are too few voices."
    if not whole:
        yield "No record tells the whole weight, so what is here is weights, and no shares."


def _says_of_shares(records: int, voices: int, unshared: int) -> Iterable[str]:
    """What to know of shares where only some of the records tell the whole weight."""
    widened = ""
    if records < FEW:
        widened = f", and widened by one part in {records + 1}"
    elif voices < ENOUGH:
        widened = ", and extremes"
    yield f"Shares are by {records} of them, which alone tell{'s'[: records == 1]} the whole weight{widened}."
    if unshared:
        grades = f"{unshared} grade{'s'[: unshared != 1]}"
        yield f"Of {grades} that only others have no share is known: what they weigh is told."
