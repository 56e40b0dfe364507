"""What would pay beside a valuation, from kinds of device that people have taken apart, as known then."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from gradewright.compositions.describing import ASSEMBLY, DEVICE_KIND, WHOLE, cautions_of
from gradewright.compositions.kept import Compositions
from gradewright.core.concerns import Concerning
from gradewright.core.pointers import Opened, Pointer, TakeApart, Whole, Worths, pointers
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Caution
from gradewright.core.valuation import Part, Valuation
from gradewright.rulebooks.service import Version

FINDERS_KEPT = 64
LISTS_KEPT = 32


@dataclass(frozen=True, slots=True)
class Pointed:
    """What would pay, and the cautions of opening what is pointed at, each once."""

    pointers: tuple[Pointer, ...]
    cautions: tuple[Caution, ...]


NOTHING = Pointed((), ())


@dataclass(frozen=True, slots=True)
class Finder:
    """The kinds that count under a version on a day as known at a revision: by what a part is observed to
    be, or by the grade in which only one kind is sold whole.
    """

    by_name: Mapping[str, Opened]
    by_grade: Mapping[str, Opened]
    _worths: OrderedDict[int, tuple[PriceList, Worths]] = field(default_factory=OrderedDict)

    def find(self, valuation: Valuation, prices: PriceList, hour_rate: Decimal | None = None) -> Pointed:
        """What would pay beside a valuation at the prices of its place, for who values an hour so much."""
        if not self.by_name and not prices.better:
            return NOTHING
        piles = {pile.grade: pile.grams for pile in valuation.piles}
        found = pointers(self._wholes(valuation), piles, prices, self._known(prices), hour_rate)
        met: dict[str, Caution] = {}
        for pointer in found:
            if isinstance(pointer, TakeApart):
                met.update((caution.id, caution) for caution in pointer.whole.kind.cautions)
        return Pointed(found, tuple(met.values()))

    def _known(self, prices: PriceList) -> Worths:
        """What was worked out of a price list before; the list is kept too, so that no other has its id."""
        found = self._worths.get(id(prices))
        if found is None:
            found = self._worths[id(prices)] = prices, {}
            while len(self._worths) > LISTS_KEPT:
                self._worths.popitem(last=False)
        return found[1]

    def _wholes(self, valuation: Valuation) -> Iterator[Whole]:
        if not self.by_name:
            return
        for number, line in enumerate(valuation.lines):
            part, amount = line.part, line.amount
            if amount is None or part.grade is None:
                continue
            kind = self._kind(part, part.grade)
            if kind is not None:
                yield Whole(number, part.name, part.pieces, part.grams, part.grade, amount.likely, kind)

    def _kind(self, part: Part, grade: str) -> Opened | None:
        """A part that is told as something other than a whole device is that, wherever it came from."""
        if part.description is not None:
            observed = part.description.observed
            assembly = observed.get(ASSEMBLY)
            if assembly is not None and assembly != WHOLE:
                named: object = assembly
            else:
                named = observed.get(DEVICE_KIND)
            if isinstance(named, str) and named in self.by_name:
                return self.by_name[named]
        return self.by_grade.get(grade)


class Finders:
    """Makes finders, and keeps those that were made last."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[int, int, date, int], tuple[Compositions, Version, Finder]] = (
            OrderedDict()
        )

    def get(self, known: Compositions, version: Version, on: date, revision: int) -> Finder:
        """The finder for a version, a day and a revision."""
        # Between two records nothing changes; what is kept holds its objects, so that no other has their id.
        revision = min(revision, known.changed)
        key = (id(known), id(version), on, revision)
        found = self._kept.get(key)
        if found is None:
            found = self._kept[key] = (known, version, make(known, version, on, revision))
            while len(self._kept) > FINDERS_KEPT:
                self._kept.popitem(last=False)
        return found[2]


NO_FINDER = Finder({}, {})


def make(known: Compositions, version: Version, on: date, revision: int) -> Finder:
    """The kinds that people have taken apart; what publications say of one is no work of anybody's."""
    by_name: dict[str, Opened] = {}
    by_grade: dict[str, list[Opened]] = {}
    for kind in known.kinds(revision):
        typical = known.typical(kind.slug, on, revision)
        if typical is None or typical.published or typical.minutes is None:
            continue
        opened = Opened(kind.slug, typical, cautions_of(kind, typical, version))
        by_name[kind.slug] = opened
        if kind.grade is not None:
            by_grade.setdefault(kind.grade, []).append(opened)
    alone = {grade: kinds[0] for grade, kinds in by_grade.items() if len(kinds) == 1}
    return Finder(by_name, alone)


def with_those_of(cautions: Concerning, pointed: Pointed) -> Concerning:
    """The cautions of a valuation with those of opening what is pointed at, which is work like any other."""
    known = {caution.id for caution in cautions.certain}
    more = tuple(caution for caution in pointed.cautions if caution.id not in known)
    new = {caution.id for caution in more}
    possible = tuple(caution for caution in cautions.possible if caution.id not in new)
    return Concerning((*cautions.certain, *more), possible)
