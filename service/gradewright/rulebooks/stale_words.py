"""Words about a limit that still tell the value that it had."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.errors import GradewrightError
from gradewright.core.observations import Attribute
from gradewright.core.rulebook import Bound, Limit, Rulebook, When

MEASURE = re.compile(r"(?<![\w./])\d+(?: \d+/\d+|/\d+|\.\d+)? ?(?:[A-Za-z]+[0-9]?(?:/[A-Za-z]+[0-9]?)?|%)")
ROUNDED = Decimal("0.01")
"""By so much of the value a text may be off and still mean it: 0.015 in is 0.38 mm."""


def stale_words(base: Rulebook, rulebook: Rulebook) -> Iterator[str]:
    """For each limit that has another value than in `base`, and whose `means` or `source` has the old one."""
    measured = dict(_measured(rulebook))
    for name, limit in rulebook.limits.items():
        was = base.limits.get(name)
        if was is None or was.value == limit.value or name not in measured:
            continue
        for key in ("means", "source"):
            for text in _tells(was, limit, getattr(limit, key), measured[name]):
                yield (
                    f"The limit {name} is {limit.given} here and {was.given} in {base.version}, and its "
                    f"`{key}` still says {text}: write there what holds now, if that is what it tells."
                )


def _measured(rulebook: Rulebook) -> Iterator[tuple[str, Attribute]]:
    """The limits that clauses ask for, each with an attribute that is held against it."""
    for condition in (condition for when in _whens(rulebook) for condition in when):
        bounds: list[Bound | None] = [condition.at_least, condition.above, condition.at_most, condition.below]
        for bound in bounds:
            if bound is not None and bound.limit is not None:
                yield bound.limit, rulebook.attributes[condition.attribute]


def _whens(rulebook: Rulebook) -> Iterator[When]:
    yield from (entry.when for entry in rulebook.impossible)
    yield from (rule.when for rule in rulebook.rules)
    for work in rulebook.preparations.values():
        yield from (work.when, *work.unless)
    for caution in rulebook.cautions.values():
        yield from (*caution.when, *caution.unless)


def _tells(was: Limit, limit: Limit, text: str, attribute: Attribute) -> Iterator[str]:
    """The measures in a text that are the value before rather than the one now."""
    before, now = was.value, limit.value
    if not isinstance(before, Decimal) or not isinstance(now, Decimal):
        return
    for found in dict.fromkeys(MEASURE.findall(text)):
        with suppress(GradewrightError):  # what is no measure of this kind tells no value
            value = attribute.read(found)
            if isinstance(value, Decimal):
                off = abs(EXACT.subtract(value, before))
                near = off <= EXACT.multiply(abs(before), ROUNDED)
                if near and off < abs(EXACT.subtract(value, now)):
                    yield found
