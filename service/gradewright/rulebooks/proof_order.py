"""Rules against each other: which never decide, and which pairs give different grades by their order."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import z3

from gradewright.rulebooks.advice import MOVE_IT_UP
from gradewright.rulebooks.boxes import Answers
from gradewright.rulebooks.given import Writing
from gradewright.rulebooks.smallest import Smallest
from gradewright.rulebooks.solving import Formula, Side, Written

Tell = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two rules of different grades that a part can meet both, where the earlier decides; and such a part,
    none of whose observations can be spared."""

    first: str
    second: str
    first_grade: str
    second_grade: str
    part: Mapping[str, Written]


Dead = tuple[int, str, Mapping[str, Written] | None]


def never_decides(side: Side, smallest: Smallest, answers: Answers, tell: Tell) -> Iterator[Dead]:
    """The numbers of rules that decide about no part, why, and a part that meets the rule if one can."""
    rules, writing = side.rulebook.rules, Writing(side.parts, side.rulebook)
    solver = side.parts.solver()
    for number, rule in enumerate(rules):
        tell(number, len(rules))
        if solver.check(side.decides[number]) == z3.sat:
            continue
        meets = side.meets[number]
        if solver.check(side.can_be, meets) == z3.unsat:
            impossible = _impossible(side, number)
            around = partial(answers.missing, rule=number, can_be=False)
            part = smallest.showing(meets, z3.Not(meets), around) if impossible else None
            why = f"`impossible` has it: {', '.join(impossible)}" if impossible else "its conditions clash"
            says = f"rule {rule.id}: no part can meet it: {why}."
        else:
            hiding = _enough(solver, [side.can_be, meets], side.meets[:number])
            ids = [rules[earlier].id for earlier in hiding]
            around = partial(answers.missing, rule=number, can_be=True)
            counter = z3.And(side.can_be, z3.Not(meets))
            part = smallest.showing(z3.And(side.can_be, meets), counter, around)
            says = (
                f"rule {rule.id}: it never decides: whatever meets it meets {' or '.join(ids)} before it."
                f"{MOVE_IT_UP}"
            )
        yield number, says, None if part is None else writing.part(part)


def overlaps(side: Side, smallest: Smallest, tell: Tell) -> list[Overlap]:
    """All pairs of rules of different grades of which a part meets both, in the order of the rules."""
    rules, solver, found = side.rulebook.rules, side.parts.solver(), []
    writing = Writing(side.parts, side.rulebook)
    for first, rule in enumerate(rules):
        tell(first, len(rules))
        left = [n for n in range(first + 1, len(rules)) if rules[n].grade != rule.grade]
        while left:
            some = side.parts.define(side.parts.any_of(side.meets[n] for n in left), "some later rule")
            solver.add(side.parts.definitions[-1])
            if solver.check(side.decides[first], some) == z3.unsat:
                break
            model = solver.model()
            met = [n for n in left if z3.is_true(model.eval(side.meets[n], model_completion=True))]
            for second in met:
                both = z3.And(side.decides[first], side.meets[second])
                part = smallest.within(model, z3.And(side.can_be, z3.Not(both)))
                found.append((first, second, part))
            left = [n for n in left if n not in met]
    return [
        Overlap(
            rules[first].id, rules[second].id, rules[first].grade, rules[second].grade,
            writing.part(part),
        )
        for first, second, part in sorted(found, key=lambda pair: pair[:2])
    ]  # fmt: skip


def _impossible(side: Side, number: int) -> list[str]:
    """The ids of entries that leave a rule no part; none where its own conditions do."""
    solver = side.parts.solver(side.meets[number])
    if solver.check() == z3.unsat:
        return []
    return [side.impossible_ids[n] for n in _enough(solver, [], side.impossible)]


def _enough(solver: Formula, always: Sequence[Formula], letters: Sequence[Formula]) -> list[int]:
    """The numbers of letters that no part can be without all at once; none of them can be spared."""
    # Kept for as long as they are told apart by number: the solver gives the number of what is gone again.
    without = [z3.Not(letter) for letter in letters]
    places = {each.get_id(): place for place, each in enumerate(without)}

    def clashing(numbers: Iterable[int]) -> list[int] | None:
        if solver.check(*always, *(without[n] for n in numbers)) != z3.unsat:
            return None
        return sorted(places[e.get_id()] for e in solver.unsat_core() if e.get_id() in places)

    needed = clashing(range(len(letters)))
    if needed is None:
        raise AssertionError("a part is without all of them")
    for number in list(needed):
        if number in needed:
            fewer = clashing(other for other in needed if other != number)
            needed = needed if fewer is None else fewer
    return needed
