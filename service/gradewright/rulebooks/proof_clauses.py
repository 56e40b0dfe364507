"""Conditions that no part can meet where they stand, and values that none can have there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import z3

from gradewright.core.errors import Path
from gradewright.core.rulebook import Condition, Rulebook, When
from gradewright.core.told_of import outside
from gradewright.rulebooks.solving import Formula, Side

Tell = Callable[[int, int], None]
Told = tuple[str, Path]


def never_held(side: Side, tell: Tell) -> Iterator[Told]:
    """What is wrong, and where: of every condition, and of every value that a condition names, that no part
    can have together with the rest of its clause."""
    clauses = list(_clauses(side.rulebook))
    asking = _Asking(side)
    for number, (at, owner, when, can_be) in enumerate(clauses):
        tell(number, len(clauses))
        yield from _of_clause(side, partial(asking.some, can_be=can_be), at, owner, when)
    yield from _never_told(side.rulebook, asking)


def _never_told(rulebook: Rulebook, asking: _Asking) -> Iterator[Told]:
    """What can be told of no part: there are things as an entry names them, but by others it is not told of
    these."""
    for number, entry in enumerate(rulebook.told_of):
        if not any(asking.some(when, can_be=True) for when in entry.of):
            continue  # each of them is told by itself
        for place, name in enumerate(entry.attributes):
            if not asking.some((Condition(name),), can_be=True):
                others = (each for each in rulebook.told_of if each is not entry and name in each.attributes)
                by = " and ".join(f"told_of {each.id}" for each in others)
                yield (
                    f"told_of {entry.id}: {name} can be told of no part: by {by} of other things only.",
                    ("told_of", number, "attributes", place),
                )


class _Asking:
    """Asks whether some part meets all of some conditions. Many clauses share one: each has one letter."""

    def __init__(self, side: Side) -> None:
        self._side, self._solver = side, side.parts.solver()
        self._letters: dict[Condition, Formula] = {}
        self._cannot: dict[str, list[Formula]] = {}
        for _, name, when in outside(side.rulebook.told_of, side.rulebook.attributes):
            self._cannot.setdefault(name, []).append(z3.Not(side.parts.when(when)))

    def some(self, conditions: When, *, can_be: bool) -> bool:
        """`can_be`: of parts that can be, and of which that can be told."""
        assumed = [self._letter(condition) for condition in conditions]
        if can_be:
            assumed.append(self._side.can_be)
            assumed += (each for c in conditions for each in self._cannot.get(c.attribute, ()))
        return bool(self._solver.check(assumed) == z3.sat)

    def _letter(self, condition: Condition) -> Formula:
        if condition not in self._letters:
            letter = self._letters[condition] = self._side.parts.fresh(condition.attribute)
            self._solver.add(z3.Implies(letter, self._side.parts.condition(condition)))
        return self._letters[condition]


def _of_clause(side: Side, some: Callable[[When], bool], at: Path, owner: str, when: When) -> Iterator[Told]:
    if some(when):
        for place, condition in enumerate(when):
            for value in condition.values if len(condition.values) > 1 else ():
                only = (*when[:place], replace(condition, values=(value,)), *when[place + 1 :])
                if not some(only):
                    shown = side.rulebook.attributes[condition.attribute].show(value)
                    yield (
                        f"{owner}: no part can have {condition.attribute}: {shown} and meet the rest.",
                        (*at, condition.attribute),
                    )
        return
    alone = [condition for condition in when if not some((condition,))]
    blamed = alone or [_last_needed(when, some)]
    for condition in blamed:
        attribute = side.rulebook.attributes[condition.attribute]
        rest = "" if alone else " and meet the rest"
        yield (
            f"{owner}: no part can have {condition.attribute} {condition.asks(attribute)}{rest}.",
            (*at, condition.attribute),
        )


def _last_needed(when: When, some: Callable[[When], bool]) -> Condition:
    """The condition with which a clause becomes one that no part can meet."""
    for count in range(1, len(when) + 1):
        if not some(when[:count]):
            return when[count - 1]
    raise AssertionError("a part meets it")


def _clauses(rulebook: Rulebook) -> Iterator[tuple[Path, str, When, bool]]:
    """Every clause with its place and owner; and whether only parts that can be count."""
    for number, entry in enumerate(rulebook.impossible):
        yield ("impossible", number, "when"), f"impossible {entry.id}", entry.when, False
    for number, told in enumerate(rulebook.told_of):
        for place, when in enumerate(told.of):
            yield ("told_of", number, "of", place), f"told_of {told.id}, of ({place + 1})", when, True
    for number, rule in enumerate(rulebook.rules):
        yield ("rules", number, "when"), f"rule {rule.id}", rule.when, True
    for slug, preparation in rulebook.preparations.items():
        yield ("preparations", slug, "when"), f"preparation {slug}", preparation.when, True
        for number, when in enumerate(preparation.unless):
            at = ("preparations", slug, "unless", number)
            yield at, f"preparation {slug}, unless ({number + 1})", when, True
    for slug, caution in rulebook.cautions.items():
        for key, clauses in (("when", caution.when), ("unless", caution.unless)):
            for number, when in enumerate(clauses):
                yield ("cautions", slug, key, number), f"caution {slug}, {key} ({number + 1})", when, True
