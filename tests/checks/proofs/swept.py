"""What is wrong with a rulebook of any size, as the sweep counts it, and whether the prover tells it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import fields, replace

from tests.checks.proofs.brute import At, attributes_told, clauses_of, told_out_of_order
from tests.checks.proofs.faults import Faults, read, told
from tests.checks.proofs.sweep import Sweep, both
from tests.checks.proofs.walk import Cube, Never

from gradewright.core.grading import Grader, Ungraded
from gradewright.core.observations import Value
from gradewright.core.rulebook import Preparation, When
from gradewright.rulebooks.proof import MOST_HOLES, Finding, Proof
from gradewright.rulebooks.proof_order import Overlap


def counted(sweep: Sweep) -> Faults:
    """The faults as the sweep shows them."""
    book = sweep.book
    ends = sweep.first_met([*sweep.meets, *sweep.meant], {})
    dead = frozenset(range(len(sweep.meets))) - ends
    given = {rule.grade for n, rule in enumerate(book.rules) if n not in dead}
    clauses, values = _unmet(sweep)
    return Faults(
        wrong=frozenset(n for n, example in enumerate(book.examples) if sweep.fails(example)),
        dead=dead,
        unreached=frozenset(s for s, g in book.grades.items() if s not in given and not g.by_name_only),
        clauses=clauses,
        values=values,
        nowhere=frozenset(slug for slug, work in book.preparations.items() if _nowhere(sweep, work)),
        untold=frozenset(_untold(sweep)),
        holes=None in ends,
    )


def _unmet(sweep: Sweep) -> tuple[frozenset[At], frozenset[tuple[At, Value]]]:
    clauses: set[At] = set()
    values: set[tuple[At, Value]] = set()
    for at, when, of_parts_that_can_be in clauses_of(sweep.book):

        def met(when: When, can_be: bool = of_parts_that_can_be) -> bool:
            cube = sweep.cube(when)
            return any(map(sweep.some, sweep.told_of(cube))) if can_be else sweep.some(cube, Never())

        if not met(when):
            clauses.add(at)
            continue
        for n, condition in enumerate(when):
            for value in condition.values if len(condition.values) > 1 else ():
                only = (*when[:n], replace(condition, values=(value,)), *when[n + 1 :])
                if not met(only):
                    values.add(((*at, condition.attribute), value))
    return frozenset(clauses), frozenset(values)


def _untold(sweep: Sweep) -> Iterator[At]:
    """What can be told of no part, though some of the things that an entry names can be."""

    def told(cube: Cube) -> bool:
        return any(map(sweep.some, sweep.told_of(cube)))

    for at, name, of in attributes_told(sweep.book):
        anything = frozenset(range(len(sweep.values[name])))
        if any(told(sweep.cube(when)) for when in of) and not told({name: anything}):
            yield at


def _nowhere(sweep: Sweep, work: Preparation) -> bool:
    """Whether there are parts that the work is done to, and none of them can be as it is left."""
    before = sweep.cube(work.when)
    never = sweep.cannot_be + Never([sweep.cube(when) for when in work.unless])
    return sweep.some(before, never) and not sweep.some(before, never + sweep.after(work.changes))


def missed_and_wrong(sweep: Sweep, truth: Faults, proof: Proof) -> tuple[list[str], list[str]]:
    """What the prover does not tell of a rulebook's faults, and what of that which it tells is not so."""
    tells = told(sweep.book, proof)
    missed: list[str] = []
    wrong = [*_wrong_reasons(sweep, proof), *_wrong_nowhere(sweep, proof)]
    for field in fields(Faults):
        so, said = getattr(truth, field.name), getattr(tells, field.name)
        if isinstance(so, bool):
            so, said = {"some"} if so else set(), {"some"} if said else set()
        missed += [f"{field.name}: {each}" for each in so - said]
        wrong += [f"{field.name}: {each}" for each in said - so]
    return missed, [*wrong, *(_wrong_holes(sweep, proof) if truth.holes and tells.holes else ())]


def missed_and_wrong_pairs(
    sweep: Sweep, proof: Proof, usual: Collection[Overlap]
) -> tuple[list[str], list[str]]:
    """The same of the pairs of rules whose order decides. That the part which is shown can spare nothing is
    looked at where the pair is not a usual one."""
    pairs = {(sweep.book.rules[i].id, sweep.book.rules[j].id) for i, j in sweep.overlaps()}
    listed = {(each.first, each.second) for each in proof.overlaps}
    wrong = [f"order: {each}" for each in listed - pairs]
    return [f"order: {each}" for each in pairs - listed], [*wrong, *_wrong_pairs(sweep, proof, usual)]


def _wrong_holes(sweep: Sweep, proof: Proof) -> Iterator[str]:
    """Parts said to have no answer that have one, that were told before, or that can be told in less."""
    book, grader = sweep.book, Grader(sweep.book)
    earlier: list[Cube] = []
    holes = [finding for finding in proof.findings if finding.kind == "no-answer"]
    for finding in holes:
        part = read(book, finding.part or {})
        cube = {name: [value, *_others(sweep, finding, name)] for name, value in part.items()}
        for one in (part, *({**part, name: value} for name in cube for value in cube[name])):
            ends = sweep.first_met([*sweep.meets, *sweep.meant, *earlier], sweep.alike(one))
            if not isinstance(grader.grade(one), Ungraded) or sweep.ends(one) != {None}:
                yield f"{one} has an answer"
            if None not in ends:
                yield f"{one} is told twice"
        if not sweep.first_met(sweep.meets, sweep.one_of(cube)) <= {None}:
            yield f"{cube} has parts with an answer"
        earlier.append(sweep.one_of(cube))
    left = None in sweep.first_met([*sweep.meets, *sweep.meant, *earlier], {})
    if proof.complete == left or (left and len(holes) != MOST_HOLES):
        yield f"{len(holes)} are told, and there {'are more' if left else 'is no other'}"
    first = read(book, holes[0].part or {})
    if len(first) > 1:
        single = ({name: value} for name, values in sweep.values.items() for value in values)
        smaller = [one for one in single if isinstance(grader.grade(one), Ungraded) and _open(sweep, one)]
        if smaller:
            yield f"{first} is not the smallest: {smaller}"
    for name in first:
        fewer = {other: value for other, value in first.items() if other != name}
        if _open(sweep, fewer):
            yield f"{name} can be spared in {first}"


def _others(sweep: Sweep, finding: Finding, name: str) -> list[Value]:
    attribute = sweep.book.attributes[name]
    return [attribute.read(value) for value in (finding.alike or {}).get(name, ())]


def _open(sweep: Sweep, part: Mapping[str, Value]) -> bool:
    """Whether there are parts that a description fits, and none has an answer or is meant to have none."""
    return sweep.first_met([*sweep.meets, *sweep.meant], sweep.alike(part)) == {None}


def _wrong_reasons(sweep: Sweep, proof: Proof) -> Iterator[str]:
    """Rules and entries that are said to leave a rule nothing, and do not, or of which one can be spared."""
    rules = {rule.id: Never([cube]) for rule, cube in zip(sweep.book.rules, sweep.meets, strict=True)}
    entries = dict(sweep.entries)
    for finding in proof.findings:
        if finding.kind != "never-decides":
            continue
        meets = sweep.meets[int(finding.at[1])]
        if "before it" in finding.says:
            named = finding.says.split("whatever meets it meets ")[1].split(" before it")[0].split(" or ")
            blamed, always = [rules[each] for each in named], sweep.cannot_be
        elif "`impossible` has it" in finding.says:
            named = finding.says.split("has it: ")[1].rstrip(".").split(", ")
            blamed, always = [entries[each] for each in named], Never()
        else:
            blamed, always = [], Never()
        if sweep.some(meets, sum(blamed, always)):
            yield f"not enough: {finding.says}"
        without = (sum((*blamed[:n], *blamed[n + 1 :]), always) for n in range(len(blamed)))
        if any(not sweep.some(meets, others) for others in without):
            yield f"more than needed: {finding.says}"


def _wrong_nowhere(sweep: Sweep, proof: Proof) -> Iterator[str]:
    """Parts shown of work that leads nowhere that it is not for, or that tell more than is needed."""
    for finding in (each for each in proof.findings if each.kind == "leads-nowhere"):
        work, part = sweep.book.preparations[str(finding.at[1])], read(sweep.book, finding.part or {})

        def shows(part: Mapping[str, Value], work: Preparation = work) -> bool:
            fits, unless = sweep.alike(part), [sweep.cube(when) for when in work.unless]
            excepted = any(sweep.some(shared) for each in unless if (shared := both(fits, each)) is not None)
            others = sweep.some(fits, sweep.cannot_be + Never([sweep.cube(work.when)]))
            return sweep.some(fits) and not excepted and not others

        if not shows(part):
            yield f"{part} is none that {work.id} is for"
        for name in part:
            if shows({other: value for other, value in part.items() if other != name}):
                yield f"{name} can be spared in {part}"


def _wrong_pairs(sweep: Sweep, proof: Proof, usual: Collection[Overlap]) -> Iterator[str]:
    """Parts that are shown for two rules and do not show them, or that tell more than is needed."""
    number = {rule.id: n for n, rule in enumerate(sweep.book.rules)}
    for each in proof.overlaps:
        first, second = number[each.first], number[each.second]
        part = read(sweep.book, each.part)

        def shows(part: Mapping[str, Value], first: int = first, second: int = second) -> bool:
            fits = sweep.alike(part)
            return (
                not told_out_of_order(sweep.book, part)
                and sweep.first_met(sweep.meets[: first + 1], fits) == {first}
                and not sweep.some(fits, sweep.cannot_be + Never([sweep.meets[second]]))
            )

        if not shows(part):
            yield f"{part} does not show {each.first} before {each.second}"
        if each not in usual and any(shows({n: v for n, v in part.items() if n != name}) for name in part):
            yield f"{part} tells more than {each.first} before {each.second} needs"
