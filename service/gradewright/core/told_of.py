"""What can be told of some things only: what kind of cable it is, of a cable.

Where such an observation is there, the thing is one of those, or the description contradicts itself; where it
is not, nothing follows. So what it rules out are clauses that count only where the attribute is known.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Condition, ToldOf, When

Outside = tuple[ToldOf, str, When]
"""An entry, one of its attributes, and a description of which that attribute cannot be told."""


def outside(entries: Iterable[ToldOf], attributes: Mapping[str, Attribute]) -> Iterator[Outside]:
    """What is none of the things that each entry asks for, for each attribute that is told of those only."""
    for entry in entries:
        for when in _none_of(entry.of, attributes):
            yield from ((entry, name, when) for name in entry.attributes)


def _none_of(of: Sequence[When], attributes: Mapping[str, Attribute]) -> Iterator[When]:
    """Clauses of which one holds for each thing that meets no alternative: each is missed in some way."""
    for missed in itertools.product(*of):
        left: dict[str, tuple[Value, ...]] = {}
        for condition in missed:
            name = condition.attribute
            among = left.get(name, _values(attributes[name]))
            left[name] = tuple(value for value in among if not condition.holds(value))
        if all(left.values()):
            yield tuple(Condition(name, values) for name, values in left.items())


def _values(attribute: Attribute) -> tuple[Value, ...]:
    return tuple(attribute.choices) if attribute.kind is Kind.CHOICE else (False, True)
