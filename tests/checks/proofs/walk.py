"""Goes through every part, alike ones as one, and tells which of an ordered list of cubes each meets first.

An attribute after the other is given each of its values, and parts that no cube still open can tell apart go
on as one: more parts of the shipped rulebook than could be counted are some hundreds at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from tests.checks.proofs.together import Group, Pair, groups, of_all_in_order

from gradewright.core.observations import Value

Cube = Mapping[str, frozenset[int]]
"""For some attributes the places of the values that a part may have."""


@dataclass(frozen=True)
class Never:
    """What cannot be: parts within some cubes, and those that have a pair of measures out of order."""

    cubes: Sequence[Cube] = ()
    pairs: Sequence[Pair] = ()

    def __add__(self, other: Never) -> Never:
        return Never((*self.cubes, *other.cubes), (*self.pairs, *other.pairs))


class Walk:
    """The parts within a cube that can be."""

    def __init__(
        self,
        never: Never,
        cubes: Sequence[Cube],
        within: Cube,
        values: Callable[[str], Sequence[Value]],
        lists: Sequence[int] = (~0,),
    ) -> None:
        """`values`: what is told apart of an attribute; `lists`: as bits, the cubes that each list has."""
        self._within, self._values, self._pairs = within, values, never.pairs
        self._found: dict[Group, set[int]] = {}
        self._shift, self._none = len(never.cubes), len(cubes)
        self._never = _ones(self._shift)
        self._lists = [(each & _ones(self._none) | 1 << self._none) << self._shift for each in lists]
        # The last is met by every part: it stands for none.
        self._asked = dict(self._asking([*never.cubes, *cubes, {}]))
        together = groups(never.pairs)
        names = {n: {together.get(name, (name,)) for name in cube} for n, cube in self._asked.items()}
        self._order = _order(names.values())
        self._by = [sum(1 << n for n, own in names.items() if group in own) for group in self._order]
        """The cubes that ask for each."""
        self._settled = [sum(1 << n for n in names)]
        """What has been asked all that it asks, by how many have values."""
        for asking in reversed(self._by):
            self._settled.insert(0, self._settled[0] & ~asking)
        self._apart: list[dict[int, list[int]]] = [{} for _ in self._order]
        self._empty = not all(within.values()) or not all(
            self._ruled_out(group) for group in {*together.values()} if {*group} & within.keys()
        )

    def ends(self, alike: Sequence[int] | None = None) -> Iterator[int | None]:
        """The numbers of the cubes that parts meet first, each once; None for parts that meet none.

        `alike`: for each cube, as bits, those that are of no interest when it has been told.
        """
        wanted = ~self._never

        def idle(counting: Sequence[int]) -> bool:
            return not counting[0] & wanted

        for (end,) in self._parts(idle):
            number = self._number(end)
            wanted &= ~end
            if alike is not None and number is not None:
                wanted &= ~(alike[number] << self._shift)
            yield number

    def ends_of_two(self) -> Iterator[tuple[int | None, int | None]]:
        """The same of two lists, of parts of which they have not the same to say; some more than once."""
        for one, other in self._parts(lambda counting: counting[0] == counting[1]):
            yield self._number(one), self._number(other)

    def _number(self, end: int) -> int | None:
        number = end.bit_length() - 1 - self._shift
        return None if number == self._none else number

    def _parts(self, idle: Callable[[Sequence[int]], bool]) -> Iterator[list[int]]:
        """What parts meet first, as a bit for each list; `idle`: told what they may still meet of each list,
        whether they are of no interest.
        """
        stack, seen = [] if self._empty else [(0, self._settled[-1])], set[tuple[int, int]]()
        while stack:
            level, still = stack.pop()
            sure = still & self._settled[level]
            if sure & self._never:
                continue
            ends = [_lowest(sure & each) for each in self._lists]
            # Of a list nothing counts behind what is met for certain.
            counting = [
                still & (each | self._never) & (end << 1) - 1
                for each, end in zip(self._lists, ends, strict=True)
            ]
            together = reduce(or_, counting)
            if idle(counting) or (level, together) in seen:
                continue
            if counting == ends:
                yield ends
            else:
                seen.add((level, together))
                stack += ((level + 1, together & ~each) for each in self._telling(level, together))

    def _telling(self, level: int, open_ones: int) -> list[int]:
        """What values of the next group rule out, the most at last: that is gone on with."""
        asking, known = open_ones & self._by[level], self._apart[level]
        if asking not in known:
            ruled_out = {asking & each for each in self._ruled_out(self._order[level])}
            known[asking] = sorted(ruled_out, key=int.bit_count)
        return known[asking]

    def _asking(self, cubes: Iterable[Cube]) -> Iterator[tuple[int, Cube]]:
        """What each cube still asks of parts within; up to where each list has one that asks nothing more."""
        left = self._lists
        for n, cube in enumerate(cubes):
            places = [(name, self._places(name), at) for name, at in cube.items()]
            asked = {name: own & at for name, own, at in places if not own <= at}
            if not all(asked.values()):
                continue
            yield n, asked
            if not asked:
                left = [each for each in left if not (each | self._never) >> n & 1]
            if not left:
                return

    def _places(self, name: str) -> frozenset[int]:
        return self._within[name] if name in self._within else frozenset(range(len(self._values(name))))

    def _ruled_out(self, group: Group) -> set[int]:
        """As bits, the cubes that parts do not meet for their values of a group: for each choice of these."""
        if group not in self._found:
            asking = {
                name: [(1 << n, cube[name]) for n, cube in self._asked.items() if name in cube]
                for name in group
            }
            bits = {
                name: {
                    place: sum(bit for bit, own in asking[name] if place not in own)
                    for place in self._places(name)
                }
                for name in group
            }
            values = {name: self._values(name) for name in group}
            self._found[group] = of_all_in_order(group, self._pairs, values, bits)
        return self._found[group]


def _order(asked: Iterable[set[Group]]) -> list[Group]:
    """Groups in an order in which cubes are soon settled: by what each does for those still open."""
    order, left = list[Group](), list(asked)
    while left := [names for names in left if names]:
        worth: dict[Group, float] = {}
        for names in left:
            for group in sorted(names):
                worth[group] = worth.get(group, 0) + 1 / len(names) ** 2
        order.append(max(worth, key=lambda group: worth[group]))
        left = [names - {order[-1]} for names in left]
    return order


def _ones(count: int) -> int:
    return (1 << count) - 1


def _lowest(bits: int) -> int:
    return bits & -bits
