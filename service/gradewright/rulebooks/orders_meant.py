"""What orders of measures mean, however they are written: which measure is never more than which."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

from gradewright.core.rulebook import LargestFirst, Rulebook
from gradewright.rulebooks.page_words import listed, spaced

Pair = tuple[str, str]
"""The larger measure, and one that is never more."""


def every_pair(book: Rulebook) -> set[Pair]:
    """Those of all orders. A measure is in one order alone, so nothing follows from two of them together."""
    return {pair for order in book.largest_first for pair in combinations(order.measures, 2)}


def in_order(old: Rulebook, new: Rulebook, entry: str) -> str:
    """What becomes of parts whose measures are not in an order that one version alone has, or has so."""
    was, now = _order(old, entry), _order(new, entry)
    came = _pairs(now) - every_pair(old)
    gone = _pairs(was) - every_pair(new)
    order = now or was
    if order is None:
        raise AssertionError("a version has it")
    says = f"Of {', '.join(map(spaced, order.measures))} none is more than the one before it"
    if now is None and gone == _pairs(was):
        return f"Measures are not held against each other any more ({entry})"
    if came and came == _pairs(now) and not gone:
        return f"{says}: what has more is now taken for a contradiction"
    if now is None:
        says = f"Measures are held against each other otherwise ({entry})"
    if not came and not gone:
        return f"{says}, as before"
    told = [f"now taken for a contradiction: {_more(came)}"] if came else []
    told += [f"no contradiction any more: {_more(gone)}"] if gone else []
    return f"{says}; {'; '.join(told)}"


def _order(book: Rulebook, entry: str) -> LargestFirst | None:
    return next((order for order in book.largest_first if order.id == entry), None)


def _pairs(order: LargestFirst | None) -> set[Pair]:
    return set(combinations(order.measures, 2)) if order is not None else set()


def _more(pairs: Iterable[Pair]) -> str:
    return listed(f"{spaced(smaller)} above the {spaced(larger)}" for larger, smaller in sorted(pairs))
