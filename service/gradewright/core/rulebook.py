"""The grading rulebook as a value: one version, one document, nothing that can change under an answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from gradewright.core.decimals import EXACT
from gradewright.core.observations import Attribute, Observed, Value

WHOLE = Decimal(1)


@dataclass(frozen=True, slots=True)
class Limit:
    """A named threshold that conditions use; `given` is how the document writes its value."""

    name: str
    value: Value
    given: str
    means: str
    source: str


@dataclass(frozen=True, slots=True)
class Bound:
    """One end of a range; `limit` is the name of the limit that set it, if one did."""

    value: Value
    given: str
    limit: str | None = None

    def __str__(self) -> str:
        return f"{self.given} ({self.limit})" if self.limit else self.given


@dataclass(frozen=True, slots=True)
class Condition:
    """What a clause asks of one attribute: one of some values, or a range."""

    attribute: str
    values: tuple[Value, ...] = ()
    at_least: Bound | None = None
    above: Bound | None = None
    at_most: Bound | None = None
    below: Bound | None = None

    def holds(self, value: Value) -> bool:
        """Whether a known value meets the condition."""
        if self.values:
            return value in self.values
        # One kind of value per attribute, so the comparisons are between equals.
        return (
            (self.at_least is None or value >= self.at_least.value)  # type: ignore[operator]
            and (self.above is None or value > self.above.value)  # type: ignore[operator]
            and (self.at_most is None or value <= self.at_most.value)  # type: ignore[operator]
            and (self.below is None or value < self.below.value)  # type: ignore[operator]
        )

    def cuts(self) -> tuple[Value, ...]:
        """The values at which the answer of a range can change."""
        bounds = (self.at_least, self.above, self.at_most, self.below)
        return tuple(bound.value for bound in bounds if bound is not None)

    def asks(self, attribute: Attribute) -> str:
        """The condition in words: "at least 6.35 mm (heavy_steel_thickness)"."""
        if self.values:
            return " or ".join(attribute.show(value) for value in self.values)
        words = (
            ("at least", self.at_least),
            ("above", self.above),
            ("at most", self.at_most),
            ("below", self.below),
        )
        return " and ".join(f"{word} {bound}" for word, bound in words if bound is not None)


When = tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Follows:
    """The benchmark with which a grade's prices move, and the share of its moves that yards pass on."""

    benchmark: str
    share: Decimal


@dataclass(frozen=True, slots=True)
class Grade:
    """What a buyer pays for. `kin` and `kin_factor` price it where nobody posted a price."""

    slug: str
    name: str
    family: str
    describes: str
    aliases: tuple[str, ...] = ()
    kin: str | None = None
    kin_factor: Decimal | None = None
    by_name_only: bool = False
    follows: Follows | None = None


@dataclass(frozen=True, slots=True)
class Rule:
    """If every condition holds, the part is of this grade; the first rule that holds wins.

    `settled_by` says of a disputed rule what would settle it; versions up to 2026.2 do not say.
    """

    id: str
    grade: str
    when: When
    because: str
    source: str
    confidence: str
    settled_by: str | None = None


@dataclass(frozen=True, slots=True)
class Impossible:
    """A description that no part can have: seen together, one of the observations is wrong."""

    id: str
    when: When
    because: str
    source: str


@dataclass(frozen=True, slots=True)
class LargestFirst:
    """Measures of one thing, the largest first: no part has more of one than of the one before."""

    id: str
    measures: tuple[str, ...]
    because: str
    source: str

    @property
    def impossible(self) -> Impossible:
        """What a part out of this order is named as."""
        return Impossible(self.id, (), self.because, self.source)


@dataclass(frozen=True, slots=True)
class ToldOf:
    """Attributes that can be told of some things only: of what meets one of the alternatives `of`."""

    id: str
    attributes: tuple[str, ...]
    of: tuple[When, ...]
    because: str
    source: str

    @property
    def impossible(self) -> Impossible:
        """What another thing is named as of which one of them is told."""
        return Impossible(self.id, (), self.because, self.source)


@dataclass(frozen=True, slots=True)
class Shed:
    """What comes off in work: the grade in which it lies afterwards (None: nobody takes it), and how much.

    `share` of the weight before the work; where the share `measured` is known, as much as that says instead
    (`rest`: all but that).
    """

    grade: str | None
    share: Decimal
    measured: str | None = None
    rest: bool = False

    def of(self, observed: Observed) -> Decimal:
        """The share of the weight that comes off a part that is described so."""
        found = observed.get(self.measured) if self.measured is not None else None
        if not isinstance(found, Decimal):
            return self.share
        return EXACT.subtract(WHOLE, found) if self.rest else found


@dataclass(frozen=True, slots=True)
class Preparation:
    """Work that changes what can be observed, and so perhaps the grade.

    Done where `when` is known to hold, and none of `unless` is. `source` is that of its minutes and shares;
    versions up to 2027.2 do not say.
    """

    id: str
    name: str
    when: When
    changes: Mapping[str, Value | None]
    minutes: Decimal
    per: str
    how: str
    sheds: tuple[Shed, ...] = ()
    cautions: tuple[str, ...] = ()
    unless: tuple[When, ...] = ()
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Caution:
    """What can hurt someone or is governed by law; shown where an alternative holds and no exception does."""

    id: str
    name: str
    says: str
    source: str
    when: tuple[When, ...] = ()
    unless: tuple[When, ...] = ()
    grades: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Holding:
    """When a price waits instead of counting: see `core.holding`.

    `outlier` is a modified z-score, `spread_floor` the least spread as a share of the median, `factor` how
    many times the median is beyond belief. `agrees_within`: two prices that differ by less say the same.
    `few`: what is done where others speak of fewer yards than `enough_yards`; nothing in versions without it.
    `without_any_one`: a price waits only if it would also wait without any one of the other authors.
    `words_weighed`: whoever confirms or disputes weighs by a record of their own, also without a claim, and
    as a newcomer where nothing is known; else whoever has no claim has a full voice there.
    `borne_out_at_most`: what would wait, but is borne out, weighs no more than this share of all in the
    region's price; without limit in versions that tell none.
    `heavier_of_two`: where the likely price is what one author alone says, and only one other says otherwise,
    it stays unless more members whose prices wait agree with that other, or as many and that other weighs
    more, or as much and alone of the two speaks of `enough_yards`; in versions without, the other's stands
    in its place.
    `within_others`: the likely price stays within what counts of others' prices where any one of the authors
    had said nothing: see `core.nobody_alone`.
    """

    enough_yards: int
    outlier: Decimal
    spread_floor: Decimal
    factor: Decimal
    agrees_within: Decimal
    contradicted_within: int
    few: Few | None = None
    without_any_one: bool = False
    words_weighed: bool = False
    borne_out_at_most: Decimal | None = None
    heavier_of_two: bool = False
    within_others: bool = False


@dataclass(frozen=True, slots=True)
class Few:
    """Where others speak of `yards` at least, and none of their prices is more than `factor` times another,
    what is more than that times all of them waits, and what is less than all of them divided by it.

    With it all claims of an author judge others with one voice, wherever there are few or many, and of a
    grade never all wait.
    """

    yards: int
    factor: Decimal


@dataclass(frozen=True, slots=True)
class Standing:
    """How much an author's word weighs: see `core.standing`.

    `newcomer` is the weight of a first posting and `least` the smallest there is; `settled_postings` over
    `settled_days` make a full voice; each rejected price multiplies it by `rejected`.
    `one_voice`: all that an author says of a grade judges others with one voice.
    `least_by_settled`: `least` is that of a full voice, of others as much less as they are less settled.
    `by_record`: who claims nothing by now has the standing of their record on days on which they did; without
    it such an author has a full voice there, as new as they may be.
    """

    newcomer: Decimal
    settled_postings: int
    settled_days: int
    rejected: Decimal
    least: Decimal
    one_voice: bool = False
    least_by_settled: bool = False
    by_record: bool = False


@dataclass(frozen=True, slots=True)
class Benchmarked:
    """How old a benchmark's value may be on the day on which a price was seen, in days: see `core.aging`."""

    stale_after: int


@dataclass(frozen=True, slots=True)
class Spread:
    """How far off a price may be by now, as shares of it, to either side: see `core.spread`."""

    off_by: Decimal
    per_day: Decimal
    at_most: Decimal


@dataclass(frozen=True, slots=True)
class Pricing:
    """The parameters of the likely price; one rulebook version pins them all.

    Versions without `holding` and `standing` count every price, and every author alike; without `benchmarks`
    a price stands as it was seen. Those without `spread` take low and high from the yards' prices as they
    are, and widen them by `thin_margin` where yards are few. `most_yards_above`: how many yards of a region
    above speak for a grade where it stands in; see `core.drawn`.
    """

    stale_after: int
    half_life: int
    evidence: Mapping[str, Decimal]
    thin_below: int
    thin_margin: Decimal
    holding: Holding | None = None
    standing: Standing | None = None
    benchmarks: Benchmarked | None = None
    spread: Spread | None = None
    most_yards_above: int | None = None


@dataclass(frozen=True, slots=True)
class Example:
    """A worked example: a part and the answer that the version must give.

    `written`: the values of the part in their author's words and units, where it was read.
    """

    part: Mapping[str, Value]
    note: str | None = None
    grade: str | None = None
    candidates: tuple[str, ...] = ()
    contradiction: str | None = None
    ungraded: bool = False
    written: Mapping[str, str] = field(default_factory=dict, compare=False)


@dataclass(frozen=True, slots=True)
class Rulebook:
    """One version. Mappings keep the document's order; `sha256` is that of the canonical document.

    `instead_of`: versions that begin on its first day or later, and never are in force, as this one is.
    """

    version: str
    effective_from: date
    title: str
    summary: str
    families: Mapping[str, str]
    limits: Mapping[str, Limit]
    attributes: Mapping[str, Attribute]
    grades: Mapping[str, Grade]
    impossible: tuple[Impossible, ...]
    rules: tuple[Rule, ...]
    preparations: Mapping[str, Preparation]
    cautions: Mapping[str, Caution]
    pricing: Pricing
    examples: tuple[Example, ...]
    sha256: str
    names: Mapping[str, str] = field(default_factory=dict)
    largest_first: tuple[LargestFirst, ...] = ()
    told_of: tuple[ToldOf, ...] = ()
    instead_of: tuple[str, ...] = ()

    def grade_named(self, text: str) -> str | None:
        """The slug of the grade of this slug, name or trade alias, in any case; None if there is none."""
        return text if text in self.grades else self.names.get(text.casefold().strip())


def fold_names(grades: Mapping[str, Grade]) -> dict[str, str]:
    """Every slug, name and alias, case-folded, to its slug. (That no two share one is checked elsewhere.)"""
    return {
        name.casefold(): grade.slug
        for grade in grades.values()
        for name in (*grade.aliases, grade.name, grade.slug)
    }
