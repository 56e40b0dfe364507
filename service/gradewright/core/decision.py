"""The decision index: a rulebook's conditions as bitsets, so that a part is matched by one AND per
observation.

Every condition list of a rulebook (what is impossible, rules, cautions, preparations) is a *clause* with
a bit of its own; so has what the order of measures rules out (`core.in_order`), and what an observation
cannot be told of (`core.told_of`), which counts only where that is known. For each attribute, each
distinguishable value (a choice; an interval between cut points; a cut point itself) has the bitset of the
clauses that it does not rule out. A value also rules out what is impossible together with it: those
consequences are worked out once, here, so that they cost nothing when a part is graded.
"""

from __future__ import annotations

import itertools
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.in_order import in_order, out_of_order
from gradewright.core.observations import DOMAIN, EARLIEST_YEAR, LATEST_YEAR, Attribute, Kind, Observed, Value
from gradewright.core.rulebook import Condition, Impossible, Rulebook, When
from gradewright.core.told_of import outside

ONE, HALF = Decimal(1), Decimal("0.5")
SETTLED_KEPT = 4096  # distinct sets of known attributes remembered; a part list rarely shows fifty


class Axis:
    """One attribute's distinguishable values ("cells"), and for each the clauses that it leaves possible."""

    __slots__ = ("attribute", "bit", "by_value", "cells", "counts", "cuts", "masks", "place", "told")

    def __init__(self, attribute: Attribute, bit: int, conditions: Iterable[Condition]) -> None:
        self.attribute = attribute
        self.bit = bit
        self.counts = 0  # the clauses that count only where the attribute is known
        self.by_value: dict[Value, int] | None = None
        self.cuts: list[Value] = []
        self.place: list[int | None] = []
        if attribute.kind is Kind.CHOICE:
            self.cells: list[Value] = list(attribute.choices)
        elif attribute.kind is Kind.YES_NO:
            self.cells = [False, True]
        else:
            marks = {cut for condition in conditions for cut in (*condition.cuts(), *condition.values)}
            self.cuts = sorted(marks)
            spans = _spans(attribute.kind, self.cuts)
            self.cells = [cell for cell in spans if cell is not None]
            rank = iter(range(len(self.cells)))
            self.place = [None if cell is None else next(rank) for cell in spans]
        self.masks: list[int] = []
        self.told: list[int] = []  # the same where the value was observed, and not only tried

    def seal(self, masks: list[int], told: list[int]) -> None:
        """Take the finished bitsets, one per cell."""
        self.masks, self.told = masks, told
        if self.attribute.kind in (Kind.CHOICE, Kind.YES_NO):
            self.by_value = dict(zip(self.cells, told, strict=True))

    def cell_of(self, value: Value) -> int:
        """The number of the cell in which a value lies."""
        if self.by_value is not None:
            return self.cells.index(value)
        at = bisect_left(self.cuts, value)
        span = 2 * at + 1 if at < len(self.cuts) and self.cuts[at] == value else 2 * at
        place = self.place[span]
        if place is None:
            raise ValueError(f"{self.attribute.name} cannot be {value}")
        return place


class DecisionIndex:
    """A rulebook compiled for matching. Clauses: what is impossible, then rules, then `extra`, in order.

    Behind them what the order of measures rules out, and what attributes cannot be told of: `anyway` has all
    but these. `unordered_bits` are of two known measures that are not in their order: no single value tells
    that, so `match` does.
    """

    def __init__(self, rulebook: Rulebook, extra: Sequence[When] = ()) -> None:
        written = [
            *(entry.when for entry in rulebook.impossible),
            *(rule.when for rule in rulebook.rules),
            *extra,
        ]
        ordered = in_order(rulebook.largest_first, written)
        told_of = list(outside(rulebook.told_of, rulebook.attributes))
        clauses = [
            *written,
            *(when for _, when in ordered),
            *((Condition(name), *when) for _, name, when in told_of),
        ]
        self.first_rule = len(rulebook.impossible)
        self.first_extra = self.first_rule + len(rulebook.rules)
        self.all_bits = (1 << len(clauses)) - 1
        plain = (1 << self.first_rule) - 1
        self.rule_bits = ((1 << self.first_extra) - 1) ^ plain
        self.impossible_bits = plain | (self.all_bits >> len(written) << len(written))
        pairs = [
            (entry, larger, smaller)
            for entry in rulebook.largest_first
            for larger, smaller in itertools.combinations(entry.measures, 2)
        ]
        self._pairs = [
            (larger, smaller, 1 << len(clauses) + n) for n, (_, larger, smaller) in enumerate(pairs)
        ]
        self.unordered_bits = sum(bit for _, _, bit in self._pairs)
        behind = [
            *(entry.impossible for entry, _ in ordered),
            *(entry.impossible for entry, _, _ in told_of),
            *(entry.impossible for entry, _, _ in pairs),
        ]
        self._entries = {
            **dict(enumerate(rulebook.impossible)),
            **dict(enumerate(behind, start=len(written))),
        }
        self.clauses: list[When] = [
            *clauses, *((Condition(larger), Condition(smaller)) for _, larger, smaller in pairs)
        ]  # fmt: skip
        self.anyway = (1 << len(clauses) - len(told_of)) - 1
        counts: dict[str, int] = {}
        for n, (_, name, _) in enumerate(told_of, start=len(clauses) - len(told_of)):
            counts[name] = counts.get(name, 0) | 1 << n
        self.axes = self._axes(rulebook, clauses, counts)
        self._needs = {axis.bit: 0 for axis in self.axes.values()}
        for n, when in enumerate(self.clauses):
            for condition in when:
                self._needs[self.axes[condition.attribute].bit] |= 1 << n
        self._settled: dict[int, int] = {}

    def entries(self, bits: int) -> tuple[Impossible, ...]:
        """What is impossible, of the clauses in a bitset: each entry once."""
        found = (entry for n, entry in self._entries.items() if bits >> n & 1)
        return tuple({entry.id: entry for entry in found}.values())

    def bits_of(self, entry: Impossible) -> int:
        """The clauses of what is impossible."""
        return _bits(n for n, each in self._entries.items() if each == entry)

    def match(self, observed: Observed, asked: str | None = None) -> tuple[int, int]:
        """The clauses that the observations leave possible, and the set of attributes that are known.

        `asked`: an attribute that is told too, of which nobody knows as what.
        """
        possible, known, counts, axes = self.all_bits, 0, self.anyway, self.axes
        if asked is not None:
            axis = axes[asked]
            known, counts = axis.bit, counts & ~self._needs[axis.bit] | axis.counts
        for name, value in observed.items():
            axis = axes[name]
            known |= axis.bit
            counts |= axis.counts
            by_value = axis.by_value
            possible &= axis.told[axis.cell_of(value)] if by_value is None else by_value[value]
        possible &= counts
        for larger, smaller, bit in self._pairs:
            if out_of_order(larger, smaller, observed):
                possible |= bit
        return possible, known

    def counting(self, names: Iterable[str]) -> int:
        """The clauses that count where these attributes are told."""
        found = self.anyway
        for name in names:
            found |= self.axes[name].counts
        return found

    def settled(self, known: int) -> int:
        """The clauses that ask for known attributes only: one that is possible and settled is certain."""
        found = self._settled.get(known)
        if found is None:
            if len(self._settled) >= SETTLED_KEPT:
                self._settled.clear()
            found = self.all_bits | self.unordered_bits
            for bit, needs in self._needs.items():
                if not known & bit:
                    found &= ~needs
            self._settled[known] = found
        return found

    def _axes(self, rulebook: Rulebook, clauses: list[When], counts: Mapping[str, int]) -> dict[str, Axis]:
        by_attribute: dict[str, list[tuple[int, Condition]]] = {name: [] for name in rulebook.attributes}
        for number, when in enumerate(clauses):
            for condition in when:
                by_attribute[condition.attribute].append((number, condition))
        axes = {
            name: Axis(attribute, 1 << place, (condition for _, condition in by_attribute[name]))
            for place, (name, attribute) in enumerate(rulebook.attributes.items())
        }
        consequences = Consequences(axes, clauses, self.impossible_bits, self.anyway)
        for name, axis in axes.items():
            axis.counts = counts.get(name, 0)
            masks = []
            for number, cell in enumerate(axis.cells):
                ruled_out = _bits(n for n, condition in by_attribute[name] if not condition.holds(cell))
                masks.append(self.all_bits & ~ruled_out & ~consequences.of(name, number))
            told = masks
            if axis.counts:
                # Of rules alone: what hurts is told also of a thing that is described as what it cannot be.
                out = [consequences.of(name, n, told=True) & self.rule_bits for n in range(len(masks))]
                told = [mask & ~gone for mask, gone in zip(masks, out, strict=True)]
            axis.seal(masks, told)
        return axes


Cells = list[tuple[str, int]]
"""A clause: for each attribute that it asks for, the bitset of the cells that meet it."""


class Consequences:
    """What one observed value rules out about the attributes that were not looked at."""

    def __init__(self, axes: dict[str, Axis], clauses: list[When], impossible: int, anyway: int) -> None:
        self._whole = {name: (1 << len(axis.cells)) - 1 for name, axis in axes.items()}
        as_cells = [
            [
                (c.attribute, _bits(n for n, cell in enumerate(axes[c.attribute].cells) if c.holds(cell)))
                for c in when
            ]
            for when in clauses
        ]
        self._impossible = [cells for n, cells in enumerate(as_cells) if impossible & anyway & 1 << n]
        self._counting: dict[str, list[Cells]] = {}
        for n, cells in enumerate(as_cells):
            if not anyway >> n & 1:
                self._counting.setdefault(cells[0][0], []).append(cells)
        self._never = 0
        self._asking: dict[str, dict[int, int]] = {name: {} for name in axes}
        for n, when in enumerate(as_cells):
            for attribute, met in () if impossible >> n & 1 else when:
                if not met:
                    self._never |= 1 << n
                alike = self._asking[attribute]
                alike[met] = alike.get(met, 0) | 1 << n

    def of(self, name: str, cell: int, *, told: bool = False) -> int:
        """The bitset of rules and further clauses that cannot hold once attribute `name` is in `cell`.

        `told`: and that was observed.
        """
        left = self._left_by(name, cell, self._counting.get(name, ()) if told else ())
        bits = self._never
        for attribute, cells_left in left.items():
            if cells_left != self._whole[attribute]:
                for met, clauses in self._asking[attribute].items():
                    if not cells_left & met:
                        bits |= clauses
        return bits

    def _left_by(self, name: str, cell: int, counting: Sequence[Cells]) -> dict[str, int]:
        """The cells left to every attribute: where all but one condition of an entry hold, it may not."""
        left, impossible = {**self._whole, name: 1 << cell}, [*self._impossible, *counting]
        changed = True
        while changed:
            changed = False
            for when in impossible:
                open_one = None
                for condition in when:
                    if left[condition[0]] & ~condition[1]:
                        if open_one is not None:
                            break
                        open_one = condition
                else:
                    if open_one is not None and left[open_one[0]] & open_one[1]:
                        left[open_one[0]] &= ~open_one[1]
                        changed = True
        return left


def _bits(numbers: Iterable[int]) -> int:
    bits = 0
    for number in numbers:
        bits |= 1 << number
    return bits


def _spans(kind: Kind, cuts: list[Value]) -> list[Value | None]:
    """A value from each interval and cut point in ascending order; None where the kind has no such value."""
    if kind in DOMAIN:
        return _measure_spans(kind, [cut for cut in cuts if isinstance(cut, Decimal)])
    lowest, highest = (
        (EARLIEST_YEAR, LATEST_YEAR) if kind is Kind.YEAR else (date.min.toordinal(), date.max.toordinal())
    )
    days = [cut.toordinal() if isinstance(cut, date) else int(cut) for cut in cuts]
    spans: list[int | None] = []
    for before, after in zip([lowest - 1, *days], [*days, highest + 1], strict=True):
        spans.append(before + 1 if after - before > 1 else None)
        spans.append(after if lowest <= after <= highest else None)
    spans.pop()
    if kind is Kind.YEAR:
        return list(spans)
    return [None if span is None else date.min + timedelta(days=span - 1) for span in spans]


def _measure_spans(kind: Kind, cuts: list[Decimal]) -> list[Value | None]:
    lowest, inclusive, highest = DOMAIN[kind]
    if not cuts:
        return [_between(lowest, highest) if highest is not None else EXACT.add(lowest, ONE)]
    spans: list[Value | None] = []
    for number, cut in enumerate(cuts):
        before = max(cuts[number - 1], lowest) if number else lowest
        # Where the lowest value itself is possible and is no cut, the span below the first cut holds it.
        spans.append(_between(before, cut) if cut > before else None)
        inside = cut > lowest or (cut == lowest and inclusive)
        spans.append(cut if inside and (highest is None or cut <= highest) else None)
    last = max(cuts[-1], lowest)
    if highest is None:
        spans.append(EXACT.add(last, ONE))
    else:
        spans.append(_between(last, highest) if last < highest else None)
    return spans


def _between(lower: Decimal, upper: Decimal) -> Decimal:
    return EXACT.multiply(EXACT.add(lower, upper), HALF)
