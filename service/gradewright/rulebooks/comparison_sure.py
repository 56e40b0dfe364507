"""How sure answers are that stay the same: parts whose grade another rule decides now, which is disputed, or
less of a published matter. A rule that says so of itself under the id that it had is told beside the grades.
"""

from __future__ import annotations

from collections.abc import Iterator

import z3

from gradewright.core.rulebook import Rule
from gradewright.rulebooks.beside_words import Changed
from gradewright.rulebooks.besides import Besides, how_sure
from gradewright.rulebooks.comparer import Comparer

Sure = tuple[str, str | None]


def otherwise_sure(comparer: Comparer) -> list[Besides]:
    """One for each rule that decides now about parts which keep their grade, and is not as sure as the one
    that did before, under another id; in the order of the rules."""
    order = [rule.id for rule in comparer.new_book.rules]
    return sorted(_found(comparer), key=lambda each: order.index(each.entry))


def _found(comparer: Comparer) -> Iterator[Besides]:
    old, new, parts = comparer.old, comparer.new, comparer.parts
    before, after = comparer.old_book.rules, comparer.new_book.rules
    decides = []
    for rule, decided in zip(after, new.decides, strict=True):
        others = [
            by
            for was, by in zip(before, old.decides, strict=True)
            if was.id != rule.id and _sure(was) != _sure(rule)
        ]
        if others:
            decides.append(z3.And(decided, parts.any_of(others)))
    solver = parts.solver(comparer.same, parts.any_of(decides))
    while solver.check() == z3.sat:
        model = solver.model()
        came, goes = old.deciding(model), new.deciding(model)
        if came is None or goes is None:
            raise AssertionError("a part without a rule")
        was, now = before[came], after[goes]
        grade = comparer.new_book.grades[now.grade].name
        says = f"{how_sure(grade, was, now)} (before: by rule {was.id})."
        changed = [
            Changed(("rules", now.id, name), getattr(was, name), getattr(now, name))
            for name in ("confidence", "settled_by")
            if getattr(was, name) != getattr(now, name)
        ]
        yield Besides("rules", now.id, says, changed)
        solver.add(z3.Not(new.decides[goes]))


def _sure(rule: Rule) -> Sure:
    """What an answer by a rule says of how sure it is."""
    return rule.confidence, rule.settled_by
