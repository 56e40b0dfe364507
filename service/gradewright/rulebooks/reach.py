"""What in a rulebook can never matter: rules that no part reaches, clauses that none meets, idle attributes.

A part reaches a rule if it meets it, can be (nothing in `impossible` describes it), and meets no rule before
it. That is searched exactly, over every distinguishable value of every attribute: what is told here is so,
and what is not told is reached by some part.
"""

from __future__ import annotations

from collections.abc import Iterator

from gradewright.core.decision import DecisionIndex
from gradewright.core.errors import Fault, Path
from gradewright.core.rulebook import Rulebook, When


def unreached(rulebook: Rulebook, index: DecisionIndex) -> Iterator[Fault]:
    """Rules that never decide, with what hides or excludes them, and other clauses that no part can meet."""
    search = Search(index)
    for number, rule in enumerate(rulebook.rules):
        at: Path = ("rules", number)
        earlier = ((1 << number) - 1) << index.first_rule
        if search.some_part(rule.when, index.impossible_bits | earlier):
            continue
        if why := _cannot_be(rulebook, search, rule.when):
            yield Fault(f"rule {rule.id}: no part can meet it: {why}", at)
            continue
        ids = [rulebook.rules[n].id for n in _hiding(search, rule.when, earlier)]
        hiding = f"rule {ids[0]}" if len(ids) == 1 else f"one of the rules {', '.join(ids)}"
        yield Fault(
            f"rule {rule.id}: it can never decide: whatever meets it meets {hiding} before it; "
            "move it up, let the other take less, or take it out",
            at,
        )
    for at, owner, when in _other_clauses(rulebook):
        if why := _cannot_be(rulebook, search, when):
            yield Fault(f"{owner}: no part can meet this: {why}", at)


def idle(rulebook: Rulebook, index: DecisionIndex) -> Iterator[Fault]:
    """Attributes that nothing asks for and no work changes."""
    asked = {condition.attribute for when in index.clauses for condition in when}
    asked.update(name for preparation in rulebook.preparations.values() for name in preparation.changes)
    for name in rulebook.attributes:
        if name not in asked:
            yield Fault(
                f"attribute {name}: no rule, impossible description, preparation or caution uses it: "
                "use it or take it out",
                ("attributes", name),
            )


class Search:
    """Looks for parts that meet one clause and none of some others."""

    def __init__(self, index: DecisionIndex) -> None:
        self.index = index
        self._axes = [[index.axes[c.attribute] for c in when] for when in index.clauses]
        self._asked = [sum({axis.bit for axis in axes}) for axes in self._axes]

    def _tightest(self, left: int, known: int) -> int:
        """The number of the clause that is the nearest to being met: what avoids it is decided first."""
        tightest, fewest = 0, len(self.index.axes) + 1
        while left:
            number = (left & -left).bit_length() - 1
            open_ = (self._asked[number] & ~known).bit_count()
            if open_ == 1:
                return number
            if open_ < fewest:
                tightest, fewest = number, open_
            left &= left - 1
        return tightest

    def some_part(self, when: When, avoiding: int) -> bool:
        """Whether a part can meet all of `when` and none of the clauses in the bitset `avoiding`.

        An attribute may stand in `when` more than once. What others cannot be told of does not count.
        """
        index = self.index
        avoiding &= index.counting({condition.attribute for condition in when})
        cells: dict[str, set[int]] = {}
        for condition in when:
            own = {n for n, c in enumerate(index.axes[condition.attribute].cells) if condition.holds(c)}
            cells[condition.attribute] = own & cells.get(condition.attribute, own)
        asked = {name: [index.axes[name].masks[n] for n in sorted(left)] for name, left in cells.items()}
        seen: set[tuple[int, int]] = set()

        def found(left: int, known: int) -> bool:
            if not left:
                return True
            if left & index.settled(known) or (left, known) in seen:
                return False
            seen.add((left, known))
            axis = next(axis for axis in self._axes[self._tightest(left, known)] if not known & axis.bit)
            branches = {left & mask for mask in asked.get(axis.attribute.name, axis.masks)}
            return any(found(branch, known | axis.bit) for branch in sorted(branches, key=int.bit_count))

        return all(asked.values()) and found(avoiding, 0)


def _cannot_be(rulebook: Rulebook, search: Search, when: When) -> str | None:
    """Why no part can meet a clause: its own bounds, or what is impossible; None if one can."""
    index = search.index
    if search.some_part(when, index.impossible_bits):
        return None
    for condition in when:
        if not search.some_part((condition,), 0):
            attribute = rulebook.attributes[condition.attribute]
            return f"no {attribute.name} is {condition.asks(attribute)}"
    enough = _enough(search, when, index.impossible_bits, 0)
    ids = [entry.id for entry in index.entries(sum(1 << n for n in enough))]
    return f"`impossible` has it: {', '.join(ids)}"


def _hiding(search: Search, when: When, earlier: int) -> list[int]:
    """The numbers of the rules that hide a clause: a single one where one is enough."""
    index = search.index
    for number in _numbers(earlier):
        if not search.some_part(when, index.impossible_bits | 1 << number):
            return [number - index.first_rule]
    return [n - index.first_rule for n in _enough(search, when, earlier, index.impossible_bits)]


def _enough(search: Search, when: When, clauses: int, always: int) -> list[int]:
    """Of clauses that together leave a clause no part, some that do so and of which none can be spared."""
    for number in _numbers(clauses):
        fewer = clauses & ~(1 << number)
        if not search.some_part(when, always | fewer):
            clauses = fewer
    return list(_numbers(clauses))


def _numbers(bits: int) -> Iterator[int]:
    return (number for number in range(bits.bit_length()) if bits >> number & 1)


def _other_clauses(rulebook: Rulebook) -> Iterator[tuple[Path, str, When]]:
    for preparation in rulebook.preparations.values():
        yield (
            ("preparations", preparation.id, "when"),
            f"preparation {preparation.id}, when",
            preparation.when,
        )
        for n, when in enumerate(preparation.unless):
            at = ("preparations", preparation.id, "unless", n)
            yield at, f"preparation {preparation.id}, unless ({n + 1})", when
    for caution in rulebook.cautions.values():
        for name, clauses in (("when", caution.when), ("unless", caution.unless)):
            for n, when in enumerate(clauses):
                yield ("cautions", caution.id, name, n), f"caution {caution.id}, {name} ({n + 1})", when
