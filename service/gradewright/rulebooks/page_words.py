"""A rulebook's conditions, work and pricing in words, in pieces that a page sets: limits are linked to."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby

from gradewright.core.observations import Attribute
from gradewright.core.rulebook import Bound, Condition, LargestFirst, Preparation, ToldOf, When
from gradewright.core.units import trimmed
from gradewright.rulebooks.page_otherwise import Otherwise

ENDS = (("at least", "at_least"), ("above", "above"), ("at most", "at_most"), ("below", "below"))
MANY, FEW = 8, 3
"""More choices than many are told by what they leave out, where that is few."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A few words; with the limit that sets what they say, where one does."""

    text: str
    limit: str | None = None


@dataclass(frozen=True, slots=True)
class Phrase:
    """What is asked of one observation: its name, and the pieces of what it has to be.

    `is_value`: it has to be one of some values, not to lie within bounds.
    """

    attribute: str
    name: str
    is_value: bool
    pieces: tuple[Piece, ...]


def first_sentence(text: str) -> tuple[str, str]:
    """The first sentence of a text, and the rest of it."""
    first, *more = re.split(r"(?<=[.!?])\s+", text.strip(), maxsplit=1)
    return first, "".join(more)


def spaced(name: str) -> str:
    """The name of an attribute or a limit as words."""
    return name.replace("_", " ")


def listed(words: Iterable[str], last: str = "or") -> str:
    """Words in a row: "iron, plastic or other"."""
    *before, end = words
    return f"{', '.join(before)} {last} {end}" if before else end


def phrases(when: When, attributes: Mapping[str, Attribute]) -> tuple[Phrase, ...]:
    """The conditions of a clause, each in words."""
    return tuple(
        Phrase(c.attribute, spaced(c.attribute), bool(c.values), _pieces(c, attributes[c.attribute]))
        for c in when
    )


def _pieces(condition: Condition, attribute: Attribute) -> tuple[Piece, ...]:
    if condition.values:
        others = [choice for choice in attribute.choices if choice not in condition.values]
        if len(condition.values) > MANY and 0 < len(others) <= FEW:
            return (Piece(f"any but {listed(others)}"),)
        return (Piece(listed(attribute.show(value) for value in condition.values)),)
    bounds = [(words, bound) for words, end in ENDS if (bound := getattr(condition, end)) is not None]
    if len(bounds) == 2 and _same(bounds[0][1], bounds[1][1]):
        return (_piece("exactly", bounds[0][1]),)
    return tuple(
        _piece(f"and {words}" if number else words, bound) for number, (words, bound) in enumerate(bounds)
    )


def _same(one: Bound, other: Bound) -> bool:
    return one.value == other.value


def _piece(words: str, bound: Bound) -> Piece:
    return Piece(f"{words} {bound.given}", bound.limit)


def in_a_row(others: Iterable[Otherwise]) -> list[tuple[str, list[Otherwise]]]:
    """What makes a part another grade, in its order; lines for one grade that follow each other together."""
    return [(grade, list(lines)) for grade, lines in groupby(others, lambda other: other.rule.grade)]


def changes(preparation: Preparation, attributes: Mapping[str, Attribute]) -> tuple[str, ...]:
    """What work does to each observation that it changes."""
    return tuple(
        f"{spaced(name)}: to be looked at again"
        if value is None
        else f"{spaced(name)}: {attributes[name].show(value)}"
        for name, value in preparation.changes.items()
    )


def out_of_order(order: LargestFirst) -> str:
    """Measures that are not in their order, in words: "width above the largest dimension"."""
    return listed(
        f"{spaced(smaller)} above the {spaced(larger)}"
        for larger, smaller in itertools.pairwise(order.measures)
    )


def alternatives(of: Iterable[When], attributes: Mapping[str, Attribute]) -> str:
    """What a thing has to be, in words: "form is cable, or assembly is whole-device"."""
    return ", or ".join(
        " and ".join(
            f"{phrase.name} is {' '.join(piece.text for piece in phrase.pieces)}"
            for phrase in phrases(when, attributes)
        )
        for when in of
    )


def told_of(entry: ToldOf, attributes: Mapping[str, Attribute]) -> str:
    """What cannot be told of other things, in words: "cable kind, told of anything but: form is cable"."""
    named = listed(map(spaced, entry.attributes))
    return f"{named}, told of anything but: {alternatives(entry.of, attributes)}"


def takes(preparation: Preparation) -> str:
    """How long work takes: "3 minutes a piece"."""
    unit = "minute" if preparation.minutes == 1 else "minutes"
    per = {"piece": "a piece", "kg": "a kilogram"}[preparation.per]
    return f"{trimmed(preparation.minutes)} {unit} {per}"
