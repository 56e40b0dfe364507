"""Which prices are other ones where a part weighs more or less: told beside what its weight would change."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from gradewright.core.teardown.margins import Edge, Margin
from gradewright.core.teardown.tree import Tiers, in_a_lot
from gradewright.teardowns.lots import in_milligrams
from gradewright.teardowns.pricing import Pricing
from gradewright.teardowns.worked import Worked

A_HAIR = Decimal("0.0000001")
"""Grams: a lot that is so much heavier or lighter is just beyond a step."""
MOST_NAMED = 2


class _Place(NamedTuple):
    """A part, or what is left over of it: its grade, if one is known; what it weighs now, and then."""

    name: str
    grade: str | None
    tiers: Tiers
    grams: Fraction
    then: Fraction


def otherwise_paid(worked: Worked, number: int, move: Margin) -> str:
    """A sentence with the prices that are other ones than now, or nothing."""
    told: dict[str, None] = {}
    for place in _places(worked, number, move.by):
        now, then = in_milligrams(place.grams), in_milligrams(place.then)
        if move.edge is Edge.BEYOND:
            then += A_HAIR * ((place.then > place.grams) - (place.then < place.grams))
        told |= dict.fromkeys(_told(worked.pricing, place, now, then))
    named, more = [*told][:MOST_NAMED], len(told) - MOST_NAMED
    if more > 0:
        named.append("other prices step as well")
    if not named:
        return ""
    *before, last = named
    return f" There {', '.join(before)}{' and ' if before else ''}{last}."


def _told(pricing: Pricing, place: _Place, now: Decimal, then: Decimal) -> Iterator[str]:
    if place.grade is None:
        before, after = (in_a_lot(place.tiers, None, Fraction(grams)) for grams in (now, then))
        if before is not after:
            yield f"what {place.name} can be is paid otherwise"
        return
    lots, prices = pricing.lots, pricing.prices
    was, is_paid = (prices.price(place.grade, lots.of(place.grade, grams)) for grams in (now, then))
    if was is is_paid:
        return
    name = pricing.version.rulebook.grades[place.grade].name
    if is_paid is None:
        yield f"nobody is known to pay for {name}"
    else:
        yield f"{name} is paid {is_paid.shown.likely} {prices.currency} per {is_paid.shown.per}"


def _places(worked: Worked, number: int, by: Fraction) -> Iterator[_Place]:
    """What has another weight where a part weighs so much more: itself and what is left over of it and around
    it; all of a device in which everything is a share of its weight.
    """
    offers, nodes = worked.pricing.offers, worked.tree.nodes
    left = worked.pricing.left_grams

    def left_of(one: int, then: Fraction) -> Iterator[_Place]:
        part, opening = offers[one].part, nodes[one].opening
        if part.left is not None and part.left.grade is not None and part.left.grams is None and opening:
            yield _Place(part.given.name, part.left.grade, opening.tiers, left[one], then)

    if worked.kind is not None and not number:
        times = 1 + by / nodes[0].grams.likely
        for offer, node in zip(offers, nodes, strict=True):
            grams, part = node.grams.likely, offer.part
            yield _Place(part.given.name, part.grade, node.tiers, grams, grams * times)
        yield from left_of(0, left[0] * times)
        return
    node, part = nodes[number], offers[number].part
    grams = node.grams.likely
    yield _Place(part.given.name, part.grade, node.tiers, grams, grams + by)
    yield from left_of(number, left[number] + by)
    if part.inside is not None:
        yield from left_of(part.inside, left[part.inside] - by)
