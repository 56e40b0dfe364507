"""The lines of a group, each with the expected price of what it is, and what its difference is made of.

What a line is of is known where it stands for one bin. Of lines that stand for several, `core.filled` says
how much of each bin they have together; which of them has it nobody knows, and it makes no difference to
the whole, so that each has the average price of that. Of two bins, of which the one's line has some of the
other, each is by itself (`core.moved`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from gradewright.core.filled import Together
from gradewright.core.linked import Moved
from gradewright.core.ticket import TicketLine, exact, per_gram

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Sold:
    """What a line comes to, in grams and minor units for each; below zero what is told elsewhere. `price`:
    what was expected for it.
    """

    grade: str | None
    scale: Fraction
    deduction: Fraction
    paid: Fraction
    price: Fraction


def sold(line: TicketLine, currency: str, price: Fraction) -> Sold:
    """A line that is of what was expected at a price."""
    return Sold(line.grade, exact(line.scale), exact(line.deduction), per_gram(line.rate, currency), price)


def parts(worth: Fraction, of: Iterable[Sold], expected: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """The difference to what was expected, `worth`, by names of `core.effects`. `expected`: by grade."""
    found = dict.fromkeys(("weight", "deductions", "grade", "price", "grade_or_price"), ZERO)
    for each in of:
        net, accepted = each.scale - each.deduction, expected.get(each.grade or "")
        found["weight"] += each.scale * each.price
        found["deductions"] -= each.deduction * each.price
        if accepted is None:
            found["grade_or_price"] += net * (each.paid - each.price)
        else:
            found["grade"] += net * (accepted - each.price)
            found["price"] += net * (each.paid - accepted)
    return {**found, "weight": found["weight"] - worth}


def prices_of(
    together: Sequence[Together], lines: Mapping[int, TicketLine], price: Mapping[int, Fraction]
) -> dict[int, Fraction]:
    """The expected price of each line, by its place. `price`: that of each bin."""
    found = {}
    for each in together:
        left = sum((grams * price[place] for place, grams in each.scale.items()), ZERO)
        for line, place in each.own.items():
            found[line] = price[place]
            left -= exact(lines[line].scale) * price[place]
        if each.shared:
            average = left / sum(exact(lines[line].scale) for line in each.shared)
            found |= dict.fromkeys(each.shared, average)
    return found


def as_moved(at: Moved, lines: Mapping[int, TicketLine], currency: str, *price: Fraction) -> Iterator[Sold]:
    """Each of two bins by itself, at its price, so that what moved differs by its own two prices: it is added
    to the one and taken off the other, so that it makes no difference on which line it was nor what was paid
    there. Nothing of what was deducted is of it, of which nobody knows from which bin it was.
    """
    accepted = lines[at.lines[0]]
    for own, grams, each in zip((at.of_bin, at.of_into), (at.grams, -at.grams), price, strict=True):
        for line in own:
            yield sold(lines[line], currency, each)
        yield Sold(accepted.grade, grams, ZERO, per_gram(accepted.rate, currency), each)
