"""Conditions turned around and put together, for people: what is outside of one, what meets two."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from gradewright.core.observations import Attribute, Kind
from gradewright.core.rulebook import Bound, Condition


def outside(condition: Condition, attribute: Attribute) -> Iterator[Condition]:
    """Conditions that together hold for exactly the values that do not meet this one.

    None where it asks for single values of a measure: nobody could say what else that is.
    """
    name = condition.attribute
    if condition.values:
        if attribute.kind in (Kind.CHOICE, Kind.YES_NO):
            every = tuple(attribute.choices) if attribute.kind is Kind.CHOICE else (True, False)
            left = tuple(value for value in every if value not in condition.values)
            if left:
                yield Condition(name, left)
        return
    if condition.at_least is not None:
        yield Condition(name, below=condition.at_least)
    if condition.above is not None:
        yield Condition(name, at_most=condition.above)
    if condition.at_most is not None:
        yield Condition(name, above=condition.at_most)
    if condition.below is not None:
        yield Condition(name, at_least=condition.below)


def both(one: Condition, other: Condition) -> Condition:
    """The condition that holds where both do. The two are of one attribute, and some value meets both."""
    if one.values or other.values:
        values = tuple(v for v in one.values or other.values if one.holds(v) and other.holds(v))
        return Condition(one.attribute, values)
    return Condition(
        one.attribute,
        at_least=_tighter(one.at_least, other.at_least, max),
        above=_tighter(one.above, other.above, max),
        at_most=_tighter(one.at_most, other.at_most, min),
        below=_tighter(one.below, other.below, min),
    )


def _tighter(one: Bound | None, other: Bound | None, of: Callable[..., Bound]) -> Bound | None:
    bounds = [bound for bound in (one, other) if bound is not None]
    return of(bounds, key=lambda bound: bound.value) if bounds else None
