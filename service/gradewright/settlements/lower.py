"""Which grades are below which, where a yard may have accepted the one as the other.

What buyers of a cheaper grade take too is what hauls go by (`hauls.lower_kin`). A yard marks down to others
as well: to any of the family that is paid less, and, where the weights speak for it, to any at all.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache, partial

from gradewright.core.lower import Lower
from gradewright.core.ticket import Ticket, per_gram
from gradewright.hauls.lower_kin import steps_down
from gradewright.settlements.expected import Expected

BROUGHT_ALONE = frozenset({"1", "2", "3"})
"""The methods by which only what is the next cheaper grade, and was brought too, was looked at."""


def lower_grades(ticket: Ticket, expected: Expected, method: str) -> Lower:
    """What is below each grade on a ticket, or among the bins: by expected prices, or those of the ticket."""
    grades, currency = expected.version.rulebook.grades, ticket.currency
    kin = cache(partial(steps_down, grades))
    if method in BROUGHT_ALONE:
        return Lower(kin)
    paid: dict[str, Fraction] = {}
    for line in ticket.lines:
        if line.grade is not None:
            price = expected.prices.price(line.grade, line.right_net)
            rate = line.rate if price is None else price.likely
            paid.setdefault(line.grade, per_gram(rate, currency))
    for each in expected.bins:
        if each.bin.grade is not None and each.bin.rate is not None:
            paid[each.bin.grade] = per_gram(each.bin.rate, currency)

    def cheaper(grade: str, lower: str) -> bool:
        return grade in paid and lower in paid and paid[lower] < paid[grade]

    def family(grade: str, lower: str) -> bool:
        return cheaper(grade, lower) and grades[grade].family == grades[lower].family

    return Lower(kin, family, cheaper)
