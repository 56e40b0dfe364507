"""A valuation: every part graded and priced, the totals, what is missing, and what would raise it.

A pure function of the parts, one rulebook version and one price list. Lots are piles: the weight that decides
on a from-weight is that of all parts of the same grade. Amounts are worked out exactly and rounded once per
line; totals are the sums of the rounded lines, as on a scale ticket. What has no price is never counted as
nothing: it is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.grading import Grader
from gradewright.core.methods import METHOD, METHODS
from gradewright.core.pricelist import PriceList
from gradewright.core.valued import Part, Pile, Terms, Valuation
from gradewright.core.working import Several, Work, as_told
from gradewright.core.working_before import Work1, Work2, Work3, Work4, Work5, Work6, Work7


def value(
    parts: Sequence[Part],
    grader: Grader,
    prices: PriceList,
    terms: Terms,
    method: str = METHOD,
    hour_rate: Decimal | None = None,
    several: Several = as_told,
) -> Valuation:
    """The valuation of `parts` by a method; every amount in the price list's currency.

    `hour_rate`: what an hour of work is worth, from method 3 on. Finding out more about a part is then held
    against what it adds to that part's amount, instead of against a share of the price. `several`: as how
    many pieces a part counts that no one piece is as heavy as; None where it may be as many as was told.
    """
    piles: dict[str, Pile] = {}
    for part in parts:
        grade = part.grade
        if grade in piles:
            pile = piles[grade]
            pile.grams = EXACT.add(pile.grams, part.grams)
        elif grade is not None:
            piles[grade] = Pile(grade, part.grams)
    for grade, pile in piles.items():
        pile.price = prices.price(grade, pile.grams)
    work = _WORK[method](grader, prices, terms, piles, hour_rate, several)
    lines = work.lines(parts)
    sorted_piles = tuple(sorted(piles.values(), key=_dearest_first))
    return Valuation(prices.currency, lines, sorted_piles, work.totals(lines), work.cautions(lines))


_WORK = dict(zip(METHODS, (Work1, Work2, Work3, Work4, Work5, Work6, Work7, Work), strict=True))


def _dearest_first(pile: Pile) -> tuple[bool, int, str]:
    return pile.price is None, -pile.likely, pile.grade
