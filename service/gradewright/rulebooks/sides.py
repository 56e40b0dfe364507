"""Two versions brought over one set of attributes, so that one part can be described to both."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from gradewright.core.observations import Attribute
from gradewright.core.rulebook import Rulebook, When

OTHERWISE = "_before"
"""Ends the name of an attribute of the earlier version that the later one has under that name, but of
another kind."""


def together(old: Rulebook, new: Rulebook) -> tuple[dict[str, Attribute], Rulebook, Rulebook]:
    """The attributes of both, and both versions in terms of them.

    An attribute of one name and kind is one: with the choices of both. One whose kind has changed is two.
    """
    other = {
        name: f"{name}{OTHERWISE}"
        for name, attribute in old.attributes.items()
        if name in new.attributes and new.attributes[name].kind is not attribute.kind
    }
    old = _renamed(old, other) if other else old
    attributes = dict(old.attributes)
    for name, attribute in new.attributes.items():
        before = old.attributes.get(name)
        choices = {**(before.choices if before else {}), **attribute.choices}
        attributes[name] = replace(attribute, choices=choices)
    return attributes, old, new


def with_every_order(old: Rulebook, new: Rulebook) -> tuple[Rulebook, Rulebook]:
    """Both with the orders of measures of both: what either holds against each other is parted alike in both.

    Only the clauses of these are of use: no part of one version has to be in an order of the other.
    """
    orders = {order.measures: order for order in (*old.largest_first, *new.largest_first)}
    both = tuple(orders.values())
    return replace(old, largest_first=both), replace(new, largest_first=both)


def _renamed(book: Rulebook, names: Mapping[str, str]) -> Rulebook:
    def when(conditions: When) -> When:
        return tuple(
            replace(each, attribute=names.get(each.attribute, each.attribute)) for each in conditions
        )

    def renamed(name: str, attribute: Attribute) -> tuple[str, Attribute]:
        return names.get(name, name), replace(attribute, name=names.get(name, name))

    return replace(
        book,
        attributes=dict(renamed(name, attribute) for name, attribute in book.attributes.items()),
        impossible=tuple(replace(entry, when=when(entry.when)) for entry in book.impossible),
        largest_first=tuple(
            replace(entry, measures=tuple(names.get(name, name) for name in entry.measures))
            for entry in book.largest_first
        ),
        told_of=tuple(
            replace(
                entry,
                attributes=tuple(names.get(name, name) for name in entry.attributes),
                of=tuple(when(each) for each in entry.of),
            )
            for entry in book.told_of
        ),
        rules=tuple(replace(rule, when=when(rule.when)) for rule in book.rules),
        preparations={},
        cautions={},
    )
