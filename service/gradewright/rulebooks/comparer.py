"""Two versions over one set of parts: between which answers a part moves, and by which rules."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

import z3

from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Rulebook, When
from gradewright.rulebooks.boxes import Answers, Box
from gradewright.rulebooks.comparison_words import limits_between, ranges, sentence
from gradewright.rulebooks.given import Writing
from gradewright.rulebooks.sides import together, with_every_order
from gradewright.rulebooks.smallest import Smallest
from gradewright.rulebooks.solving import Formula, Parts, Side, Written, every_when

MOST_WAYS = 6  # that are told of one move

Answered = Literal["grade", "no-grade", "contradiction", "not-described"]
Progress = Callable[[str, int, int], None]


@dataclass(frozen=True, slots=True)
class End:
    """What a version says of a part: its grade, that no rule takes it, that no part can be so, or that the
    version has no word for what was observed."""

    answered: Answered
    grade: str | None = None


CANNOT_BE = End("contradiction")
MOST_LOOKED_FOR = 12
"""Of more pairs of ends one of which is that no part can be so, any part is shown instead of the smallest: a
limit on which such an entry rests moves parts of nearly every grade, and to find each smallest takes seconds.
"""


@dataclass(frozen=True, slots=True)
class Way:
    """Parts that one rule decided about before and one decides about now (None: no rule): the smallest
    description of one, as an example writes it; of what an order of measures alone moves, or what is told of
    some things only, one of which nothing can be spared.

    `ranges`: for each of its attributes all values that do the same with the others as they are, in words.
    `says`: it in a sentence, for people who sell. `by`: the order of measures, or the entry of what is told
    of some things only, that alone makes the difference; None: the rules, or what else is impossible.
    """

    rule_before: str | None
    rule_after: str | None
    part: Mapping[str, Written]
    ranges: Mapping[str, str]
    says: str
    by: str | None = None


@dataclass(frozen=True, slots=True)
class Shown:
    """A part that shows a move, as `Way` has it."""

    part: Mapping[str, Written]
    ranges: Mapping[str, str]
    says: str


@dataclass(frozen=True, slots=True)
class Move:
    """Parts that go from one end to another, and by which rules: the way with the smallest part first.

    `all_ways`: whether those are all that there are.
    """

    before: End
    after: End
    ways: Sequence[Way]
    all_ways: bool


class Comparer:
    """Both versions over one set of parts."""

    parts_of = Parts
    """How parts are told apart."""

    def __init__(self, old: Rulebook, new: Rulebook, renamed: Mapping[str, str]) -> None:
        """`renamed`: slugs of grades that are others now."""
        self._renamed = renamed
        self.attributes, self.old_book, self.new_book = together(old, new)
        parted = with_every_order(self.old_book, self.new_book)
        self.parts = self.made(self.attributes, every_when(*parted))
        self.writing = Writing(self.parts, *parted)
        self.old = Side(self.parts, self.old_book, self._describable(self.old_book))
        self.new = Side(self.parts, self.new_book, self._describable(self.new_book))
        self.smallest = Smallest(self.parts)
        self._old_answers, self._new_answers = Answers(self.old), Answers(self.new)
        self._learned: dict[tuple[int, tuple[str, str | None]], list[Formula]] = {}
        self.ends = {
            id(side): {**self._graded(side), **self._ungraded(side)} for side in (self.old, self.new)
        }

    def made(self, attributes: Mapping[str, Attribute], whens: Iterable[When]) -> Parts:
        """The parts that clauses tell apart."""
        return self.parts_of(attributes, whens)

    def moves(self, tell: Progress, among: Formula | None = None) -> Iterator[Move]:
        """Every pair of ends between which some part moves; of those `among` which one is looked for."""
        before, after = self.ends[id(self.old)], self.ends[id(self.new)]
        among = self.parts.all_of([]) if among is None else among
        moved = z3.And(z3.Not(self.same), among)
        cannot_be = z3.Xor(before[CANNOT_BE], after[CANNOT_BE])
        count = 0
        for came, goes, both, _ in self.pairs_of_ends(z3.And(moved, z3.Not(cannot_be))):
            tell("moves", count, 0)
            count += 1
            yield self._move(came, goes, z3.And(both, among))
        impossible = list(self.pairs_of_ends(z3.And(moved, cannot_be)))
        for n, (came, goes, both, model) in enumerate(impossible, count):
            tell("moves", n, count + len(impossible))
            few, claim = len(impossible) <= MOST_LOOKED_FOR, z3.And(both, among)
            yield self._move(came, goes, claim) if few else self.shown(came, goes, claim, model)

    @property
    def same(self) -> Formula:
        """That a part has the same end in both, be it under another slug."""
        return self.ends_alike(self.ends[id(self.old)], self.ends[id(self.new)])

    def ends_alike(self, before: Mapping[End, Formula], after: Mapping[End, Formula]) -> Formula:
        """That a part has the same of these ends before and after, be it under another slug."""
        return self.parts.any_of(
            z3.And(formula, after[now])
            for end, formula in before.items()
            if (now := End(end.answered, self._renamed.get(end.grade or "", end.grade))) in after
        )

    @property
    def in_order(self) -> Formula:
        """That of a part no measure is more than one before it, by any order of either version."""
        sides = (self.old, self.new)
        orders = (each for side in sides for each in side.impossible[len(side.rulebook.impossible) :])
        return z3.Not(self.parts.any_of(orders))

    def pairs_of_ends(self, where: Formula) -> Iterator[tuple[End, End, Formula, Formula]]:
        """The pairs of ends between which parts move that are so, each with one of them."""
        solver = self.parts.solver(where)
        while solver.check() == z3.sat:
            model = solver.model()
            came, goes, both = self.moved_in(model)
            solver.add(z3.Not(both))
            yield came, goes, both, model

    def moved_in(self, model: Formula) -> tuple[End, End, Formula]:
        """The ends between which the part that a model is moves, and that a part moves so."""
        before, after = self.ends[id(self.old)], self.ends[id(self.new)]
        came, goes = self.end_of(before, model), self.end_of(after, model)
        return came, goes, z3.And(before[came], after[goes])

    def shown(self, came: End, goes: End, both: Formula, model: Formula) -> Move:
        """A move with one part that shows it, of which nothing can be spared."""
        part = self.smallest.within(model, self.counter(came, goes))
        words = ranges(
            self.parts.axes, self.attributes, {name: [v] for name, v in part.items()}, self.writing.given
        )
        says = sentence(self.old_book, self.new_book, came, goes, words)
        return self.one_way(came, goes, both, model, Shown(self.writing.part(part), words, says))

    def one_way(self, came: End, goes: End, both: Formula, model: Formula, shown: Shown) -> Move:
        """A move by the rules that decide about the part that a model is."""
        old, new = self.old.deciding(model), self.new.deciding(model)
        way = Way(_id(self.old, old), _id(self.new, new), shown.part, shown.ranges, shown.says)
        others = z3.And(both, z3.Not(z3.And(self.old.by(old), self.new.by(new))))
        return Move(came, goes, [way], self.parts.solver(others).check() == z3.unsat)

    def _move(self, came: End, goes: End, both: Formula) -> Move:
        counter = self.counter(came, goes)
        ways = [self._way(came, goes, both, counter, *pair) for pair in self._pairs(both)]
        told = ways[:MOST_WAYS]
        told.sort(key=lambda way: len(way.part))
        return Move(came, goes, told, len(ways) <= MOST_WAYS)

    def counter(self, came: End, goes: End) -> Formula:
        """What speaks against a description: it shows a move if whatever completes it, and can be, is
        answered so by both."""
        return z3.Or(
            z3.And(self._considered(self.old, came), z3.Not(self.ends[id(self.old)][came])),
            z3.And(self._considered(self.new, goes), z3.Not(self.ends[id(self.new)][goes])),
        )

    def _way(
        self, came: End, goes: End, both: Formula, counter: Formula, old: int | None, new: int | None
    ) -> Way:
        """One way of a move. Its description is of parts that these two rules decide about, whatever else
        they may be: another rule that gives the same grade is no reason to ask for more."""
        by_rules = [
            side.decides[number] for side, number in ((self.old, old), (self.new, new)) if number is not None
        ]
        claim = z3.And(both, *by_rules)
        around = partial(self._around, came, goes)
        asked = self._asked(old, new) | (self.ruled_out() if CANNOT_BE in (came, goes) else set())
        part = self.smallest.showing(claim, counter, around, rather=asked, known=self._known(came, goes))
        if part is None:
            solver = self.parts.solver(claim)
            solver.check()
            part = self.smallest.within(solver.model(), counter)
        box = self.smallest.widened(part, claim, counter)
        along = {name: sorted(box[name], key=self.parts.axes[name].cells.index) for name in part}
        words = ranges(self.parts.axes, self.attributes, along, self.writing.given)
        told = self._by_limit(came, goes, old, new, along)
        says = told or sentence(self.old_book, self.new_book, came, goes, words)
        written = self.writing.part(part)
        return Way(_id(self.old, old), _id(self.new, new), written, words, says)

    def _asked(self, old: int | None, new: int | None) -> set[str]:
        """The attributes that the two rules ask for."""
        sides = ((self.old, old), (self.new, new))
        whens = (side.rulebook.rules[number].when for side, number in sides if number is not None)
        return {condition.attribute for when in whens for condition in when}

    def ruled_out(self) -> set[str]:
        """The attributes of what one version alone holds for impossible."""
        old, new = ({entry.when for entry in book.impossible} for book in (self.old_book, self.new_book))
        return {condition.attribute for when in old ^ new for condition in when}

    def _around(self, came: End, goes: End, cells: Mapping[str, int]) -> Box:
        """The parts that speak against a description for the same reason as one that does."""
        for answers, end in ((self._old_answers, came), (self._new_answers, goes)):
            if end.answered == "not-described":
                if answers.described(cells):
                    return answers.describable
            elif answers.can_be(cells) and answers.end(cells) != (end.answered, end.grade):
                box = answers.alike(cells)
                self._learned.setdefault((id(answers), answers.end(cells)), []).append(
                    self.smallest.outside(box)
                )
                return box
        raise AssertionError("the part speaks against nothing")

    def _known(self, came: End, goes: End) -> Iterator[Formula]:
        """What has been learned of parts that are answered otherwise than so, by the one or by the other."""
        for answers, end in ((self._old_answers, came), (self._new_answers, goes)):
            if end.answered in ("grade", "no-grade"):
                for (whose, other), lessons in self._learned.items():
                    if whose == id(answers) and other != (end.answered, end.grade):
                        yield from lessons

    def _by_limit(
        self, came: End, goes: End, old: int | None, new: int | None, along: Mapping[str, Sequence[Value]]
    ) -> str | None:
        """The move by the limit that moved, where that is all there is to it: what is described is just what
        lies between the two values, and whatever of that had the grade before has the grade after."""
        if old is None or new is None or came.grade is None or goes.grade is None:
            return None
        rules = (self.old_book.rules[old], self.new_book.rules[new])
        for name, lies_between, says in limits_between(self.old_book, self.new_book, rules, came, goes):
            axis = self.parts.axes[name]
            parted = {*lies_between.cuts()} <= {*axis.cuts}
            if parted and {*along.get(name, ())} == set(filter(lies_between.holds, axis.cells)):
                between = self.parts.one_of({name: along[name]})
                others = z3.And(self.ends[id(self.old)][came], between, z3.Not(self.ends[id(self.new)][goes]))
                if self.parts.solver(others).check() == z3.unsat:
                    return says
        return None

    def _pairs(self, both: Formula) -> Iterator[tuple[int | None, int | None]]:
        """The pairs of rules that decide about parts that move so; one more than is told."""
        solver = self.parts.solver(both)
        for _ in range(MOST_WAYS + 1):
            if solver.check() == z3.unsat:
                return
            model = solver.model()
            old, new = self.old.deciding(model), self.new.deciding(model)
            solver.add(z3.Not(z3.And(self.old.by(old), self.new.by(new))))
            yield old, new

    def _describable(self, book: Rulebook) -> Formula:
        """That a version has words for what a part is; what it does not ask for it need not have."""
        return self.parts.all_of(
            self.parts.any_of(self.parts.has(name, choice) for choice in attribute.choices)
            for name, attribute in book.attributes.items()
            if attribute.kind is Kind.CHOICE and len(attribute.choices) < len(self.attributes[name].choices)
        )

    def _considered(self, side: Side, end: End) -> Formula:
        """The parts that speak against a description whose answer is to be that end."""
        return side.describable if end.answered == "not-described" else side.can_be

    def _graded(self, side: Side) -> dict[End, Formula]:
        rules: dict[str, list[Formula]] = {}
        for rule, decides in zip(side.rulebook.rules, side.decides, strict=True):
            rules.setdefault(rule.grade, []).append(decides)
        return {
            End("grade", grade): self.parts.define(self.parts.any_of(formulas), grade)
            for grade, formulas in rules.items()
        }

    def _ungraded(self, side: Side) -> dict[End, Formula]:
        contradicts = z3.And(side.describable, z3.Not(side.can_be))
        return {
            End("no-grade"): side.none_decides,
            End("contradiction"): self.parts.define(contradicts, "contradicts"),
            End("not-described"): self.parts.define(z3.Not(side.describable), "not described"),
        }

    @staticmethod
    def end_of(ends: Mapping[End, Formula], model: Formula) -> End:
        """The end that the part which a model is has."""
        for end, formula in ends.items():
            if z3.is_true(model.eval(formula, model_completion=True)):
                return end
        raise AssertionError("a part without an end")


def _id(side: Side, number: int | None) -> str | None:
    return None if number is None else side.rulebook.rules[number].id
