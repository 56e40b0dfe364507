"""How often and by how much a yard marks down, from tickets of its sellers, told so that none is given away.

The share of tickets on which a grade was marked down has Wilson's interval of 95 % (E. B. Wilson 1927,
"Probable Inference, the Law of Succession, and Statistical Inference", J. Am. Stat. Assoc. 22). By how
much: the median of those that were, with the interval between two order statistics that holds a median in
95 of 100 cases, whatever the distribution (H. A. David & H. N. Nagaraja, "Order Statistics", 2003, 7.1;
from memory); fewer than six have none. Tickets of one seller may well be alike, so that both intervals are
rather too narrow.

What is told, and when, so that no seller is given away:

- Tickets come in by lots, in the order in which they were settled: a lot is closed as soon as three sellers
  are in it. So whoever looks before and after sees what at least three sellers' tickets did together.
- A ticket that does not tell how a bin was accepted is in no share of its grade; how many there are is told
  beside it. No lot is closed by them, nor is any grade told for their sake.
- A grade is told from three sellers on, and how much it was marked down by from three sellers on who were;
  all figures are over the grades that are told, so that none that is not can be worked out from the rest.
  Where a grade is left out there is no figure of all together: it would be of some, and read as of all.
- Shares are told in whole percent.

A ticket that was settled again, under another number or by another seller, counts once, as long as its lines
weigh and come to the same on that day; no figure is better than those who settle. Two sellers who put their
own figures together can still work out those of a third in a lot of three, and who takes a settlement back
changes the figures at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import comb

from gradewright.core.decimals import ROUNDING

ENOUGH_SELLERS = 3
NORMAL = Decimal("1.959963984540054")
"""The quantile of the normal distribution at 97.5 %."""
ONE_IN = 20
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Sold:
    """One bin on a ticket, and the share that it was marked down by: 0 where it was not, None where the
    ticket does not tell.
    """

    ticket: str
    seller: str
    grade: str
    share: Decimal | None


@dataclass(frozen=True, slots=True)
class Often:
    """How many of how many, as a share with its interval: all between 0 and 1."""

    count: int
    of: int
    share: Decimal
    low: Decimal
    high: Decimal


@dataclass(frozen=True, slots=True)
class Much:
    """The median, and its interval where there are enough for one."""

    count: int
    median: Decimal
    low: Decimal | None
    high: Decimal | None


@dataclass(frozen=True, slots=True)
class Told:
    """Of one grade, or of all that are told together: how often it was marked down, and by how much.

    `unclear`: so many tickets do not tell, and are in no other figure.
    """

    grade: str | None
    often: Often
    much: Much | None
    unclear: int


@dataclass(frozen=True, slots=True)
class Markdowns:
    """Of a yard: over so many tickets that tell how a bin was accepted; `overall` is of all grades, None
    where one is left out, or all.
    """

    tickets: int
    overall: Told | None
    grades: tuple[Told, ...]


def markdowns(sold: Sequence[Sold]) -> Markdowns:
    """The figures of one yard from what was sold there, in the order in which the tickets were settled."""
    told = list(_closed(sold))
    by_grade: dict[str, list[Sold]] = {}
    for one in told:
        by_grade.setdefault(one.grade, []).append(one)
    shown = {grade: rows for grade, rows in sorted(by_grade.items()) if _enough(rows)}
    rows = [one for of_grade in shown.values() for one in of_grade]
    overall = _told(None, rows) if rows and len(shown) == len(by_grade) and _enough(_whole(rows)) else None
    grades = tuple(_told(grade, of_grade) for grade, of_grade in shown.items())
    return Markdowns(len({one.ticket for one in rows if one.share is not None}), overall, grades)


def wilson(count: int, of: int) -> tuple[Decimal, Decimal]:
    """Wilson's interval for a share, to 100 digits; `of` is above zero."""
    k, n, z = Decimal(count), Decimal(of), NORMAL
    square = ROUNDING.multiply(z, z)
    under = ROUNDING.add(n, square)
    centre = ROUNDING.divide(ROUNDING.add(k, ROUNDING.divide(square, Decimal(2))), under)
    inner = ROUNDING.divide(ROUNDING.multiply(k, ROUNDING.subtract(n, k)), n)
    root = ROUNDING.sqrt(ROUNDING.add(inner, ROUNDING.divide(square, Decimal(4))))
    half = ROUNDING.divide(ROUNDING.multiply(z, root), under)
    low, high = ROUNDING.subtract(centre, half), ROUNDING.add(centre, half)
    # At the ends it is exact; digits that were cut off are not to say otherwise.
    return (Decimal(0) if not count else low, Decimal(1) if count == of else high)


def around_the_median(count: int) -> tuple[int, int] | None:
    """The places (from 1) of the order statistics around a sample's median; None where it is too small."""
    tail = place = 0
    while True:
        tail += comb(count, place)
        if 2 * ONE_IN * tail > 2**count:
            break
        place += 1
    return (place, count + 1 - place) if place else None


def _closed(sold: Sequence[Sold]) -> Iterator[Sold]:
    """What is in the lots that are closed: each with so many sellers."""
    lot: list[Sold] = []
    for number, one in enumerate(sold):
        lot.append(one)
        ends = number + 1 == len(sold) or sold[number + 1].ticket != one.ticket
        if ends and _enough(lot):
            yield from lot
            lot = []


def _enough(sold: Iterable[Sold]) -> bool:
    return len({one.seller for one in sold if one.share is not None}) >= ENOUGH_SELLERS


def _whole(rows: Sequence[Sold]) -> list[Sold]:
    """The rows of tickets that tell whether anything was marked down: of one that was marked down somewhere
    it is told, whatever else is unclear, and of one that was not only where nothing is.
    """
    down = {one.ticket for one in rows if one.share}
    unclear = {one.ticket for one in rows if one.share is None} - down
    return [one for one in rows if one.share is not None and one.ticket not in unclear]


def _told(grade: str | None, rows: Sequence[Sold]) -> Told:
    whole = _whole(rows)
    tickets, down = {one.ticket for one in whole}, [one for one in whole if one.share]
    count, of = len({one.ticket for one in down}), len(tickets)
    low, high = wilson(count, of)
    share = ROUNDING.divide(Decimal(count), Decimal(of))
    often = Often(count, of, *(_whole_percent(each) for each in (share, low, high)))
    much = _much([one.share for one in down if one.share is not None]) if _enough(down) else None
    return Told(grade, often, much, len({one.ticket for one in rows} - tickets))


def _much(shares: Sequence[Decimal]) -> Much:
    in_order = sorted(shares)
    middle = len(in_order) // 2
    median = in_order[middle]
    if len(in_order) % 2 == 0:
        median = ROUNDING.divide(ROUNDING.add(median, in_order[middle - 1]), Decimal(2))
    places = around_the_median(len(in_order))
    ends = (None, None) if places is None else tuple(_whole_percent(in_order[place - 1]) for place in places)
    return Much(len(in_order), _whole_percent(median), *ends)


def _whole_percent(share: Decimal) -> Decimal:
    return share.quantize(HUNDREDTH, context=ROUNDING)
