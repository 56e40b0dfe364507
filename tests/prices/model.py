"""The ledger of prices once more, small and in memory: what every read must come to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from gradewright.core.benchmarks import Reading
from gradewright.core.consensus import Quote, quote
from gradewright.core.holding import MOST_LOOKS, held_of, marked, sifted
from gradewright.core.movement import Movement
from gradewright.core.nobody_alone import quoted
from gradewright.core.rates import Rate
from gradewright.core.rulebook import Pricing
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import Said
from gradewright.core.standing import Record, standings
from gradewright.core.units import mass_unit, parse_mass

NO_LOT = Decimal(0)
MET: Counter[str] = Counter()
"""How often something that matters was so in what was asked: a read is held to little where nothing is."""


@dataclass(frozen=True)
class Line:
    """A posted price, as it stands in the history: never changed."""

    revision: int
    line: int
    posting: str
    recorded_on: date
    yard: str
    author: str
    observed_on: date
    evidence: str
    grade: str
    price: str
    per: str
    from_weight: str | None

    @property
    def entry(self) -> Entry:
        return self.revision, self.line

    def sighting(self) -> Sighting:
        rate = Rate(Decimal(self.price), mass_unit(self.per).grams)
        grams = parse_mass(self.from_weight).grams if self.from_weight else NO_LOT
        return Sighting(
            *self.entry,
            self.yard,
            self.author,
            self.observed_on,
            self.evidence,
            rate,
            grams,
            self.from_weight,
        )


@dataclass(frozen=True)
class Word:
    """A later word about one line."""

    revision: int
    entry: Entry
    kind: str
    author: str
    verdict: str | None


@dataclass(frozen=True)
class Value:
    """A benchmark's value of a day, as it was recorded at a revision."""

    revision: int
    day: date
    value: Decimal


@dataclass
class Model:
    """Everything that was ever said, and what it comes to."""

    pricing: Pricing
    recorded_on: dict[int, date] = field(default_factory=dict)
    lines: list[Line] = field(default_factory=list)
    words: list[Word] = field(default_factory=list)
    values: list[Value] = field(default_factory=list)
    share: Decimal = Decimal("0.8")
    follows: str = "copper-no2"

    def benchmark(self, day: date, revision: int, stale: int | None = None) -> Value | None:
        """What the benchmark stood at on a day: the newest day up to it, of which the last said by then."""
        if stale is None:
            stale = self.pricing.benchmarks.stale_after if self.pricing.benchmarks else 0
        known = [v for v in self.values if v.revision <= revision and 0 <= (day - v.day).days <= stale]
        return max(known, key=lambda v: (v.day, v.revision), default=None)

    def aged(self, s: Sighting, grade: str, on: date, revision: int) -> Sighting:
        """A price of some day as it counts on another."""
        before, after = self.benchmark(s.observed_on, revision), self.benchmark(on, revision, stale=9999)
        if grade != self.follows or before is None or after is None or before.day >= after.day:
            return s
        ratio = (after.value / before.value).quantize(Decimal("1E-12"))
        times = (1 + self.share * (ratio - 1)).quantize(Decimal("1E-12"))
        readings = (Reading(before.day, before.value), Reading(after.day, after.value))
        moved = Movement("copper", self.share, *readings, times, s.rate, s.observed_on)
        return s._replace(rate=Rate(s.rate.price * times, s.rate.per_grams), moved=moved)

    def status(self, entry: Entry, revision: int) -> str | None:
        """`withdrawn` or `rejected`; None where neither was said by then."""
        about = [word for word in self.words if word.entry == entry and word.revision <= revision]
        if any(word.kind == "withdrawal" for word in about):
            return "withdrawn"
        verdicts = [word.verdict for word in about if word.kind == "decision"]
        return "rejected" if verdicts and verdicts[-1] == "rejected" else None

    def said(self, entry: Entry, revision: int) -> Said:
        """Who stands behind an entry and who disputes it: the last word of each."""
        last: dict[str, str] = {}
        verdict = None
        for word in self.words:
            if word.entry == entry and word.revision <= revision:
                if word.kind == "decision":
                    verdict = word.verdict
                elif word.kind != "withdrawal":
                    last[word.author] = word.kind
        poster = next(line.author for line in self.lines if line.entry == entry)
        return Said(
            frozenset(who for who, kind in last.items() if kind == "confirmation"),
            frozenset(who for who, kind in last.items() if kind == "dispute"),
            verdict == "accepted",
            last.get(poster) == "confirmation",  # by a settled ticket, and in no other way
        )

    def quoted(
        self,
        yards: Iterable[str],
        region: Iterable[str],
        grade: str,
        on: date,
        revision: int,
        lot: Decimal = NO_LOT,
    ) -> Quote | None:
        """What a grade costs at some yards of a region, for a lot of so many grams."""
        seen = self._seen(region, grade, on, revision)
        weights = self.standing(region, revision)
        told = sifted(self._in_time(seen, on), on, self.pricing, weights, self._all_said(revision))
        here = marked([s for s in seen if s.yard in set(yards)], told.borne_out)
        asked = here, on, lot, self.pricing, weights, told.gone
        found = quoted(*asked, self._all_said(revision))
        if found is not None:
            plain = quote(*asked)
            MET["three yards"] += found.yards > 2
            MET["something waits"] += any(s.entry in told.gone for s in here)
            MET["moved with a benchmark"] += found.moves is not None
            MET["borne out"] += any(s.borne_out for s in here)
            MET["led back to what others say"] += plain is not None and plain.likely != found.likely
            day = self.recorded_on[revision]
            records = [self._record(who, region, revision, day) for who in {s.author for s in here}]
            MET["a rejection weighs"] += any(record.rejected for record in records)
        return found

    def waiting(self, region: Iterable[str], on: date, revision: int) -> set[Entry]:
        """What of a region waits on a day, of any grade."""
        waiting: set[Entry] = set()
        weights, said = self.standing(region, revision), self._all_said(revision)
        for grade in {line.grade for line in self.lines}:
            seen = self._in_time(self._seen(region, grade, on, revision), on)
            for _ in range(MOST_LOOKS):
                rest = [s for s in seen if s.entry not in waiting]
                waiting |= held_of(rest, on, self.pricing, weights, said).keys()
        return waiting

    def stands(self, line: Line, waiting: set[Entry], on: date, revision: int) -> str:
        """How a line stands on a day: taken back, rejected, waiting, overtaken by its author, seen too long
        ago, or counting."""
        gone = self.status(line.entry, revision)
        if gone is not None:
            return gone
        if line.entry in waiting:
            return "held"
        newer = [
            other
            for other in self._known([line.yard], revision)
            if (other.author, other.grade) == (line.author, line.grade)
            and (other.observed_on, other.revision) > (line.observed_on, line.revision)
            and other.sighting().from_grams <= line.sighting().from_grams
            and 0 <= (on - other.observed_on).days <= self.pricing.stale_after
            and other.entry not in waiting
        ]
        if newer:
            return "overtaken"
        return "counts" if (on - line.observed_on).days <= self.pricing.stale_after else "stale"

    def listed(
        self, yard: str, region: Iterable[str], on: date, revision: int
    ) -> set[tuple[str, str, str | None]]:
        """A yard's list: the newest price of each grade and from-weight, with the price as posted."""
        waiting = self.waiting(region, on, revision)
        newest: dict[tuple[str, Decimal], Line] = {}
        for line in sorted(self._known([yard], revision), key=lambda line: (line.observed_on, line.entry)):
            if 0 <= (on - line.observed_on).days <= self.pricing.stale_after and line.entry not in waiting:
                newest[line.grade, line.sighting().from_grams] = line
        return {(line.grade, line.price, line.from_weight) for line in newest.values()}

    def _seen(self, region: Iterable[str], grade: str, on: date, revision: int) -> list[Sighting]:
        known = [line for line in self._known(region, revision) if line.grade == grade]
        return [self.aged(line.sighting(), grade, on, revision) for line in known]

    def standing(self, region: Iterable[str], revision: int) -> dict[str, Decimal]:
        """The standing of everyone who has claims in a region on the day of a revision."""
        day = self.recorded_on[revision]
        by_grade: dict[str, list[Sighting]] = {}
        for line in self._known(region, revision):
            if 0 <= (day - line.observed_on).days <= self.pricing.stale_after:
                seen = self.aged(line.sighting(), line.grade, day, revision)
                by_grade.setdefault(line.grade, []).append(seen)
        authors = {s.author for seen in by_grade.values() for s in seen}
        if self.pricing.holding is not None and self.pricing.holding.words_weighed:
            authors |= self._speakers(region, revision, day)
        records = {author: self._record(author, region, revision, day) for author in authors}
        found = dict(standings(by_grade, day, records, self.pricing))
        if self.pricing.standing is not None and self.pricing.standing.by_record:
            # Who claims nothing on that day, by what they have posted alone.
            others = {
                author: replace(self._record(author, region, revision, day), rejected=0)
                for author in {line.author for line in self.lines} | {word.author for word in self.words}
                if author not in found
            }
            found |= standings({}, day, others, self.pricing)
        return found

    def _speakers(self, region: Iterable[str], revision: int, day: date) -> set[str]:
        """Who confirms or disputes a price of the region that can count on the day of a revision."""
        found: set[str] = set()
        for line in self._known(region, revision):
            if 0 <= (day - line.observed_on).days <= self.pricing.stale_after:
                said = self.said(line.entry, revision)
                found |= said.confirmed_by | said.disputed_by
        return found

    def _record(self, author: str, region: Iterable[str], revision: int, day: date) -> Record:
        theirs = [line for line in self.lines if line.author == author and line.revision <= revision]
        rejected = [
            line
            for line in theirs
            if line.yard in set(region)
            and 0 <= (day - line.observed_on).days <= self.pricing.stale_after
            and self._last_verdict(line.entry, revision) == "rejected"
        ]
        if not theirs:
            return Record(0, 0)
        first = min(line.recorded_on for line in theirs)
        return Record(len({line.revision for line in theirs}), (day - first).days, len(rejected))

    def _last_verdict(self, entry: Entry, revision: int) -> str | None:
        found = [
            word.verdict
            for word in self.words
            if word.entry == entry and word.kind == "decision" and word.revision <= revision
        ]
        return found[-1] if found else None

    def _known(self, yards: Iterable[str], revision: int) -> list[Line]:
        inside = set(yards)
        return [
            line
            for line in self.lines
            if line.yard in inside and line.revision <= revision and not self.status(line.entry, revision)
        ]

    def _in_time(self, seen: list[Sighting], on: date) -> list[Sighting]:
        return [s for s in seen if 0 <= (on - s.observed_on).days <= self.pricing.stale_after]

    def _all_said(self, revision: int) -> dict[Entry, Said]:
        return {word.entry: self.said(word.entry, revision) for word in self.words}
