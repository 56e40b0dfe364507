"""What is wrong with a small rulebook: as counted on its grid, and as the prover tells it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
from tests.checks.proofs.brute import At, Grid, Places, attributes_told, clauses_of, told_out_of_order

from gradewright.core.grading import Grader, Ungraded
from gradewright.core.observations import Value
from gradewright.core.rulebook import Preparation, Rulebook, When
from gradewright.rulebooks.proof import MOST_HOLES, Finding, Proof


@dataclass(frozen=True)
class Faults:
    """All faults but parts without an answer, each by its place; and whether there are such parts."""

    wrong: frozenset[int]
    dead: frozenset[int]
    unreached: frozenset[str]
    clauses: frozenset[At]
    """Clauses that no part can meet."""
    values: frozenset[tuple[At, Value]]
    """Values that a condition lists and no part can have with the rest of its clause."""
    nowhere: frozenset[str]
    untold: frozenset[At]
    """What can be told of no part, though some of the things that an entry names can be."""
    holes: bool

    def __bool__(self) -> bool:
        places = self.clauses | self.values | self.untold
        return bool(self.wrong | self.dead | self.unreached | places | self.nowhere or self.holes)


def counted(grid: Grid) -> Faults:
    """The faults as the grid shows them."""
    book = grid.book
    dead = frozenset(n for n, decides in enumerate(grid.decides) if not decides.any())
    given = {rule.grade for n, rule in enumerate(book.rules) if n not in dead}
    clauses, values = _unmet(grid)
    return Faults(
        wrong=frozenset(n for n, example in enumerate(book.examples) if grid.fails(example)),
        dead=dead,
        unreached=frozenset(s for s, g in book.grades.items() if s not in given and not g.by_name_only),
        clauses=clauses,
        values=values,
        nowhere=frozenset(_nowhere(grid)),
        untold=frozenset(_untold(grid)),
        holes=bool(grid.holes.any()),
    )


def told(book: Rulebook, proof: Proof) -> Faults:
    """The faults as the prover tells them."""
    by: dict[str, list[Finding]] = {}
    for finding in proof.findings:
        by.setdefault(finding.kind, []).append(finding)
    whens = {at: when for at, when, _ in clauses_of(book)}
    clauses, values, untold = set(), set(), set()
    for finding in by.get("never-holds", []):
        if finding.at[0] == "told_of" and finding.at[2] == "attributes":
            untold.add(finding.at)
            continue
        clause, name = finding.at[:-1], str(finding.at[-1])
        assert name in {c.attribute for c in whens[clause]}, f"{finding.at} is no condition"
        value = _value_told(book, whens[clause], name, finding.says)
        if value is None:
            clauses.add(clause)
        else:
            values.add((finding.at, value))
    return Faults(
        wrong=frozenset(int(f.at[1]) for f in by.get("wrong", [])),
        dead=frozenset(int(f.at[1]) for f in by.get("never-decides", [])),
        unreached=frozenset(str(f.at[1]) for f in by.get("never-reached", [])),
        clauses=frozenset(clauses),
        values=frozenset(values),
        nowhere=frozenset(str(f.at[1]) for f in by.get("leads-nowhere", [])),
        untold=frozenset(untold),
        holes="no-answer" in by,
    )


def _value_told(book: Rulebook, when: When, name: str, says: str) -> Value | None:
    """The one value of a list that a finding is about."""
    (condition,) = (each for each in when if each.attribute == name)
    if len(condition.values) > 1:
        for value in condition.values:
            if f"can have {name}: {book.attributes[name].show(value)} and" in says:
                return value
    return None


def _unmet(grid: Grid) -> tuple[frozenset[At], frozenset[tuple[At, Value]]]:
    clauses: set[At] = set()
    values: set[tuple[At, Value]] = set()
    for at, when, of_parts_that_can_be in clauses_of(grid.book):
        told = grid.told_of(condition.attribute for condition in when)
        among = grid.can_be & told if of_parts_that_can_be else ~grid.none()
        if not (grid.of(when) & among).any():
            clauses.add(at)
            continue
        for n, condition in enumerate(when):
            for value in condition.values:
                only = (*when[:n], replace(condition, values=(value,)), *when[n + 1 :])
                if not (grid.of(only) & among).any():
                    values.add(((*at, condition.attribute), value))
    return frozenset(clauses), frozenset(values)


def _untold(grid: Grid) -> Iterator[At]:
    for at, name, of in attributes_told(grid.book):
        things = (grid.can_be & grid.told_of(c.attribute for c in when) & grid.of(when) for when in of)
        if any(np.any(each) for each in things) and not np.any(grid.can_be & grid.told_of([name])):
            yield at


def _nowhere(grid: Grid) -> Iterator[str]:
    possible = ~grid.any_of(grid.cannot_be)
    for slug, preparation in grid.book.preparations.items():
        before = _done_to(grid, preparation)
        if before.any() and not (before & grid.after(possible, preparation.changes)).any():
            yield slug


def _done_to(grid: Grid, work: Preparation) -> Places:
    """The parts that a preparation is for."""
    return grid.can_be & grid.of(work.when) & ~grid.any_of(map(grid.of, work.unless))


def hold_holes(grid: Grid, proof: Proof) -> None:
    """The parts without an answer that are told are such, all of them are told, and as small as can be."""
    grader, left = Grader(grid.book), grid.holes.copy()
    findings = [f for f in proof.findings if f.kind == "no-answer"]
    for finding in findings:
        assert finding.part is not None
        part = read(grid.book, finding.part)
        assert len(part) == grid.smallest(left, grid.answered), finding.says
        cube = {name: [value, *_alike(grid.book, finding, name)] for name, value in part.items()}
        for one in (part, *({**part, name: value} for name in cube for value in cube[name])):
            assert isinstance(grader.grade(one), Ungraded), f"{one} is answered"
            assert np.any(grid.alike(one) & left), f"{one} is told twice"
        assert not np.any(grid.cube(cube) & grid.answered)
        left &= ~grid.cube(cube)
    assert proof.complete == (not left.any())
    assert proof.complete or len(findings) == MOST_HOLES


def _alike(book: Rulebook, finding: Finding, name: str) -> list[Value]:
    return [book.attributes[name].read(value) for value in (finding.alike or {}).get(name, ())]


def hold_dead(grid: Grid, proof: Proof) -> None:
    """What is said to hide or exclude a rule does, and the part that is shown is as small as can be."""
    rules = {rule.id: places for rule, places in zip(grid.book.rules, grid.meets, strict=True)}
    named = [entry.id for entry in (*grid.book.impossible, *grid.book.largest_first)]
    entries = dict(zip(named, grid.cannot_be, strict=True))
    for finding in (f for f in proof.findings if f.kind == "never-decides"):
        meets = grid.meets[int(finding.at[1])]
        if "before it" in finding.says:
            named = finding.says.split("whatever meets it meets ")[1].split(" before it")[0].split(" or ")
            _hold_enough(grid, meets & grid.can_be, [rules[each] for each in named], finding)
            size = grid.smallest(meets & grid.can_be, grid.can_be & ~meets)
        elif "`impossible` has it" in finding.says:
            named = finding.says.split("has it: ")[1].rstrip(".").split(", ")
            _hold_enough(grid, meets, [entries[each] for each in named], finding)
            size = grid.smallest(meets, ~meets)
        else:
            assert not meets.any()
            size = None
        assert size == (None if finding.part is None else len(finding.part)), finding.says


def hold_nowhere(grid: Grid, proof: Proof) -> None:
    """The part that is shown of work that leads nowhere is one that it is done to, as small as can be."""
    for finding in (f for f in proof.findings if f.kind == "leads-nowhere"):
        done = _done_to(grid, grid.book.preparations[str(finding.at[1])])
        assert finding.part is not None, finding.says
        part = read(grid.book, finding.part)
        assert np.any(grid.alike(part) & done), finding.part
        assert not np.any(grid.alike(part) & grid.can_be & ~done), finding.part
        assert len(part) == grid.smallest(done, grid.can_be & ~done), finding.part


def _hold_enough(grid: Grid, meets: Places, named: list[Places], finding: Finding) -> None:
    assert not np.any(meets & ~grid.any_of(named)), f"not enough: {finding.says}"
    for n in range(len(named)):
        fewer = named[:n] + named[n + 1 :]
        assert np.any(meets & ~grid.any_of(fewer)), f"more than needed: {finding.says}"


def hold_order(grid: Grid, proof: Proof) -> None:
    """The pairs whose order matters are listed, all and no other, each with a part that can spare nothing."""
    number = {rule.id: n for n, rule in enumerate(grid.book.rules)}
    assert [(number[each.first], number[each.second]) for each in proof.overlaps] == sorted(pairs(grid))
    for each in proof.overlaps:
        part = read(grid.book, each.part)
        assert not told_out_of_order(grid.book, part)
        both = grid.decides[number[each.first]] & grid.meets[number[each.second]]
        other = grid.can_be & ~both
        assert np.any(grid.alike(part) & both)
        assert not np.any(grid.alike(part) & other)
        for name in part:
            fewer = {other: value for other, value in part.items() if other != name}
            assert np.any(grid.alike(fewer) & other), f"{name} can be spared: {each}"


def pairs(grid: Grid) -> set[tuple[int, int]]:
    """The pairs of rules of different grades of which the first decides about a part that meets both."""
    rules = grid.book.rules
    return {
        (i, j)
        for i, j in itertools.combinations(range(len(rules)), 2)
        if rules[i].grade != rules[j].grade and np.any(grid.decides[i] & grid.meets[j])
    }


def read(book: Rulebook, part: Mapping[str, object]) -> dict[str, Value]:
    """A description as it is written, typed."""
    return {name: book.attributes[name].read(value) for name, value in part.items()}
