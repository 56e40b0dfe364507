"""What would pay beside a valuation, from kinds of device that people have taken apart, as known then."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from gradewright.compositions.describing import (
    ASSEMBLY,
    DEVICE_KIND,
    LICENSED,
    WHOLE,
    cautions_of,
    concerning_kind,
)
from gradewright.compositions.kept import Compositions, as_called
from gradewright.core.concerns import Concerning
from gradewright.core.methods import (
    ALL_FOR_SHARES,
    ALL_RECORDS,
    ANY_WEIGHT,
    BY_FAR,
    LICENCE_UNSAID,
    NAMES_UNREAD,
    NEAREST_HOUR,
    UP_TO_7,
)
from gradewright.core.observations import Observed
from gradewright.core.pointers import Opened, Pointer, TakeApart, Whole, Worths, pointers
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Caution
from gradewright.core.unusual import recorded
from gradewright.core.valued import Part, Valuation
from gradewright.rulebooks.service import Version

FINDERS_KEPT = 64
LISTS_KEPT = 32


@dataclass(frozen=True, slots=True)
class Pointed:
    """What would pay, and the cautions of opening what is pointed at, each once."""

    pointers: tuple[Pointer, ...]
    cautions: tuple[Caution, ...]


NOTHING = Pointed((), ())


@dataclass(frozen=True, slots=True, eq=False)
class Finder:
    """The kinds that count under a version on a day as known at a revision: by what a part is observed to
    be, what it is called, or the grade in which only one kind is sold whole. Each is worked out when a part
    is of it. `method`: by which it is valued.
    """

    known: Compositions
    version: Version
    on: date
    revision: int
    method: str
    _opened: dict[str, Opened | None] = field(default_factory=dict)
    _alone: dict[str, Opened | None] = field(default_factory=dict)
    _called: dict[str, str] = field(default_factory=dict)
    _worths: OrderedDict[int, tuple[PriceList, Worths]] = field(default_factory=OrderedDict)

    def __post_init__(self) -> None:
        """What kinds are called."""
        if self.method not in NAMES_UNREAD:
            self._called.update(self.known.called(self.revision))

    def find(self, valuation: Valuation, prices: PriceList, hour_rate: Decimal | None = None) -> Pointed:
        """What would pay beside a valuation at the prices of its place, for who values an hour so much."""
        if not self.known.by_slug and not prices.better:
            return NOTHING
        piles = {pile.grade: pile.grams for pile in valuation.piles}
        nearest = self.method in NEAREST_HOUR
        found = pointers(
            self._wholes(valuation), piles, prices, self._priced(prices), hour_rate, nearest=nearest
        )
        met: dict[str, Caution] = {}
        for pointer in found:
            if isinstance(pointer, TakeApart):
                met.update((caution.id, caution) for caution in pointer.whole.kind.cautions)
        return Pointed(found, tuple(met.values()))

    def several(self, part: Part) -> int | None:
        """As how many pieces a part counts that weighs far more than one device of its kind; None where it
        may be as many as was told.
        """
        kind = self._kind(part, part.grade) if part.grade is not None and self.known.by_slug else None
        pieces = None if kind is None else kind.pieces(part.ratio, part.pieces, each=part.each)
        return None if pieces == part.pieces else pieces

    def _priced(self, prices: PriceList) -> Worths:
        """What was worked out of a price list before; the list is kept too, so that no other has its id."""
        found = self._worths.get(id(prices))
        if found is None:
            found = self._worths[id(prices)] = prices, {}
            while len(self._worths) > LISTS_KEPT:
                self._worths.popitem(last=False)
        return found[1]

    def _wholes(self, valuation: Valuation) -> Iterator[Whole]:
        if not self.known.by_slug:
            return
        for number, line in enumerate(valuation.lines):
            part, amount = line.part, line.amount
            if amount is None or part.grade is None:
                continue
            kind = self._kind(part, part.grade)
            if kind is not None:
                if kind.licensed and part.description is not None:
                    # A compressor that is drained is for everybody, whatever others are.
                    concerns = {one.id for one in part.description.concerning.all}
                    kind = kind if concerns & LICENSED else replace(kind, licensed=False)
                yield Whole(number, part.name, part.pieces, part.ratio, amount.likely, kind, part.each)

    def _kind(self, part: Part, grade: str) -> Opened | None:
        """A part that is told as something other than a whole device is that, wherever it came from."""
        observed: Observed = {} if part.description is None else part.description.observed
        assembly, named = observed.get(ASSEMBLY), observed.get(DEVICE_KIND)
        if isinstance(assembly, str) and assembly != WHOLE:
            return self._open(assembly)
        if isinstance(named, str) and self.known.at(named, self.revision) is not None:
            return self._open(named)
        called = self._called.get(as_called(part.name)) if self._called else None
        if called is not None and (part.description is None or assembly or named or self._is(called, grade)):
            return self._open(called)
        if isinstance(named, str):  # nobody's record of another kind stands for it
            return None
        if part.description is not None and self.method not in UP_TO_7:
            return None  # it is what it was told to be
        if grade not in self._alone:  # worked out in threads too, where a list is long: twice is no harm
            kinds = self.known.sold_as(grade, self.revision) if self._built(grade) else ()
            there = [kind for kind in (self._open(kind.slug) for kind in kinds) if kind is not None]
            self._alone[grade] = there[0] if len(there) == 1 else None
        return self._alone[grade]

    def _built(self, grade: str) -> bool:
        """Whether only built things are of a grade: each of its rules asks what assembly or device it is. Any
        grade could once be that of a kind.
        """
        if self.method in UP_TO_7:
            return True
        rules = [rule for rule in self.version.rulebook.rules if rule.grade == grade]
        asked = ({condition.attribute for condition in rule.when} for rule in rules)
        return bool(rules) and all(attributes & {ASSEMBLY, DEVICE_KIND} for attributes in asked)

    def _is(self, slug: str, grade: str) -> bool:
        """Whether a kind is usually sold whole in a grade: steel that came off a treadmill is none."""
        kind = self.known.at(slug, self.revision)
        return kind is not None and kind.grade == grade

    def _open(self, slug: str) -> Opened | None:
        """The kind of that name, where people have taken it apart: publications stand for nobody's work."""
        if slug not in self._opened:
            kind = self.known.at(slug, self.revision)
            typical = None
            if kind is not None:
                judged = self.method not in ALL_RECORDS
                every = self.method in ALL_FOR_SHARES
                typical = self.known.typical(slug, self.on, self.revision, judged=judged, every=every)
            if kind is None or typical is None or typical.published or typical.minutes is None:
                self._opened[slug] = None
            else:
                weighs = None
                if self.method not in ANY_WEIGHT:
                    by_far, near = self.method in BY_FAR, self.method not in UP_TO_7
                    weighs = recorded((record for record, _ in typical.votes), by_far=by_far, near=near)
                cautions, licensed = cautions_of(kind, typical, self.version), False
                if self.method not in LICENCE_UNSAID:
                    concerns = concerning_kind(kind, typical, self.version, by_grade=self.method in UP_TO_7)
                    cautions = concerns.all
                    licensed = any(one.id in LICENSED for one in concerns.certain)
                by_each = self.method not in UP_TO_7
                self._opened[slug] = Opened(slug, typical, cautions, weighs, licensed, by_each)
        return self._opened[slug]


class Finders:
    """Makes finders, and keeps those that were made last."""

    def __init__(self) -> None:
        self._kept: OrderedDict[tuple[int, int, date, int, str], Finder] = OrderedDict()

    def get(self, known: Compositions, version: Version, on: date, revision: int, method: str) -> Finder:
        """The finder for a version, a day, a revision and a method."""
        # Between two records nothing changes. A finder holds both, so that no others have their ids.
        revision = min(revision, known.changed)
        key = (id(known), id(version), on, revision, method)
        found = self._kept.get(key)
        if found is None:
            found = self._kept[key] = Finder(known, version, on, revision, method)
            while len(self._kept) > FINDERS_KEPT:
                self._kept.popitem(last=False)
        return found


def with_those_of(cautions: Concerning, pointed: Pointed) -> Concerning:
    """The cautions of a valuation with those of opening what is pointed at, which is work like any other."""
    known = {caution.id for caution in cautions.certain}
    more = tuple(caution for caution in pointed.cautions if caution.id not in known)
    new = {caution.id for caution in more}
    possible = tuple(caution for caution in cautions.possible if caution.id not in new)
    return Concerning((*cautions.certain, *more), possible)
