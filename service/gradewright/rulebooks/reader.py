"""From a document's shape to a rulebook: names resolved, values typed, every fault kept with its place."""

from __future__ import annotations

import difflib
import re
from collections import Counter
from collections.abc import Collection, Mapping
from decimal import Decimal
from typing import Any

from pydantic import ValidationError

from gradewright.core.errors import Fault, ObservationError, Path, RulebookError
from gradewright.core.observations import DOMAIN, Attribute, Kind, Value
from gradewright.core.rulebook import (
    Benchmarked,
    Bound,
    Caution,
    Condition,
    Example,
    Few,
    Follows,
    Grade,
    Holding,
    Impossible,
    LargestFirst,
    Limit,
    Preparation,
    Pricing,
    Rule,
    Rulebook,
    Shed,
    Spread,
    Standing,
    ToldOf,
    When,
    fold_names,
)
from gradewright.core.units import parse_share
from gradewright.rulebooks.limit_kinds import ENDS, LimitKinds
from gradewright.rulebooks.places import place
from gradewright.rulebooks.shape import BoundsShape, DocumentShape, PreparationShape, WhenShape
from gradewright.rulebooks.shape_fields import NAME, Given
from gradewright.rulebooks.wording import fault_of_shape


def shape_of(document: Mapping[str, Any]) -> DocumentShape:
    """The document checked for shape alone; `RulebookError` carries every misplaced key and value."""
    try:
        return DocumentShape.model_validate(document)
    except ValidationError as error:
        faults = tuple(fault_of_shape(document, item) for item in error.errors(include_url=False))
        told = "; ".join(fault.detail for fault in faults[:3])
        raise RulebookError(
            f"{len(faults)} fault(s) in the rulebook's shape: {told}", faults=faults
        ) from error


class Reader:
    """Reads one document; after `rulebook()`, `faults` has all that was wrong in it."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self._document = document
        self.shape = shape_of(document)
        self.faults: list[Fault] = []
        self.attributes = {
            name: Attribute(name, Kind(a.kind), a.asks, a.test, a.minutes, a.beware, a.choices)
            for name, a in self.shape.attributes.items()
        }
        self.limits = self._limits(LimitKinds(self.shape, self.attributes))

    def rulebook(self, sha256: str) -> Rulebook:
        """The rulebook; only to be used if `faults` is empty afterwards."""
        shape = self.shape
        grades = self._grades()
        rulebook = Rulebook(
            version=shape.version,
            effective_from=shape.effective_from,
            title=shape.title,
            summary=shape.summary,
            families={slug: family.name for slug, family in shape.families.items()},
            limits=self.limits,
            attributes=self.attributes,
            grades=grades,
            impossible=tuple(
                Impossible(e.id, self._when(e.when, ("impossible", n, "when")), e.because, e.source)
                for n, e in enumerate(shape.impossible)
            ),
            largest_first=self._largest_first(),
            told_of=self._told_of(),
            rules=self._rules(),
            preparations=self._preparations(),
            cautions=self._cautions(),
            pricing=self._pricing(),
            examples=self._examples(),
            instead_of=shape.instead_of,
            sha256=sha256,
            names=fold_names(grades),
        )
        self._unique()
        return rulebook

    def _limits(self, kinds: LimitKinds) -> dict[str, Limit]:
        limits: dict[str, Limit] = {}
        for problem, at in kinds.otherwise(self._document):
            self._fault(problem, at)
        for name, limit in self.shape.limits.items():
            attribute = kinds.of(name)
            if attribute is None:
                self._fault("no condition uses this limit: use it or take it out", ("limits", name))
                continue
            value = self._value(attribute, limit.value, ("limits", name, "value"))
            if value is not None:
                limits[name] = Limit(name, value, str(limit.value), limit.means, limit.source)
        return limits

    def _grades(self) -> dict[str, Grade]:
        grades: dict[str, Grade] = {}
        for slug, g in self.shape.grades.items():
            self._known(g.family, self.shape.families, "family", ("grades", slug, "family"))
            if g.priced_as is not None:
                self._known(g.priced_as.grade, self.shape.grades, "grade", ("grades", slug, "priced_as"))
            kin, followed = g.priced_as, g.follows
            if followed is not None and self.shape.pricing.benchmarks is None:
                missing = "`pricing` has no `benchmarks`: say there how old a value may be, or take this out"
                self._fault(missing, ("grades", slug, "follows"))
            grades[slug] = Grade(
                slug, g.name, g.family, g.describes, g.aliases,
                kin.grade if kin else None, kin.factor if kin else None, g.by_name_only,
                Follows(followed.benchmark, parse_share(followed.share)) if followed else None,
            )  # fmt: skip
        return grades

    def _largest_first(self) -> tuple[LargestFirst, ...]:
        orders, in_one = [], dict[str, str]()
        for n, order in enumerate(self.shape.largest_first):
            at: Path = ("largest_first", n, "measures")
            kinds = dict[Kind, str]()
            for name in order.measures:
                attribute = self._attribute(name, at)
                if attribute is None:
                    continue
                if attribute.kind not in DOMAIN:
                    self._fault(f"{name} is no measure: name lengths, or others that are measured", at)
                kinds.setdefault(attribute.kind, name)
                if name in in_one:
                    self._fault(f"{name} stands in {in_one[name]} already: a measure is in one order", at)
                in_one[name] = order.id
            if len(kinds) > 1:
                told = " and ".join(kinds.values())
                self._fault(f"{told} are of two kinds: only what is measured alike can be compared", at)
            orders.append(LargestFirst(order.id, tuple(order.measures), order.because, order.source))
        return tuple(orders)

    def _told_of(self) -> tuple[ToldOf, ...]:
        found = []
        for n, entry in enumerate(self.shape.told_of):
            at: Path = ("told_of", n)
            names = tuple(name for name in entry.attributes if self._attribute(name, (*at, "attributes")))
            of = tuple(self._when(when, (*at, "of", m)) for m, when in enumerate(entry.of))
            for m, when in enumerate(of):
                for condition in when:
                    name = condition.attribute
                    if not condition.values or self.attributes[name].kind not in (Kind.CHOICE, Kind.YES_NO):
                        told = "name the values of a choice: a measure tells nobody what a thing is"
                        self._fault(told, (*at, "of", m, name))
                    if name in names:
                        self._fault(f"{name} cannot say of what it is told itself", (*at, "of", m, name))
            found.append(ToldOf(entry.id, names, of, entry.because, entry.source))
        return tuple(found)

    def _rules(self) -> tuple[Rule, ...]:
        rules = []
        for n, r in enumerate(self.shape.rules):
            self._known(r.grade, self.shape.grades, "grade", ("rules", n, "grade"))
            when = self._when(r.when, ("rules", n, "when"))
            rules.append(Rule(r.id, r.grade, when, r.because, r.source, r.confidence, r.settled_by))
        return tuple(rules)

    def _preparations(self) -> dict[str, Preparation]:
        preparations: dict[str, Preparation] = {}
        for slug, p in self.shape.preparations.items():
            at: Path = ("preparations", slug)
            changes: dict[str, Value | None] = {}
            for name, given in p.changes.items():
                attribute = self._attribute(name, (*at, "changes", name))
                if attribute is not None:
                    changes[name] = (
                        None if given is None else self._value(attribute, given, (*at, "changes", name))
                    )
            for caution in p.cautions:
                self._known(caution, self.shape.cautions, "caution", (*at, "cautions"))
            unless = tuple(self._when(w, (*at, "unless", n)) for n, w in enumerate(p.unless))
            preparations[slug] = Preparation(
                slug, p.name, self._when(p.when, (*at, "when")), changes, p.minutes, p.per, p.how,
                self._sheds(p, (*at, "sheds")), p.cautions, unless, p.source,
            )  # fmt: skip
        return preparations

    def _sheds(self, work: PreparationShape, at: Path) -> tuple[Shed, ...]:
        found = []
        for n, shed in enumerate(work.each_shed):
            here = (*at, n) if isinstance(work.sheds, list) else at
            if shed.grade is not None:
                self._known(shed.grade, self.shape.grades, "grade", (*here, "grade"))
            if isinstance(shed.share, str):
                found.append(Shed(shed.grade, parse_share(shed.share)))
                continue
            measure = shed.share.measure
            attribute = self._attribute(measure, (*here, "share", shed.share.key))
            if attribute is not None and attribute.kind is not Kind.SHARE:
                self._fault(f"{measure} is no share: name an attribute that is", (*here, "share"))
            rest = shed.share.all_but is not None
            found.append(Shed(shed.grade, parse_share(shed.share.otherwise), measure, rest))
        return tuple(found)

    def _cautions(self) -> dict[str, Caution]:
        cautions: dict[str, Caution] = {}
        for slug, c in self.shape.cautions.items():
            at: Path = ("cautions", slug)
            for grade in c.grades:
                self._known(grade, self.shape.grades, "grade", (*at, "grades"))
            when = tuple(self._when(w, (*at, "when", n)) for n, w in enumerate(c.when))
            unless = tuple(self._when(w, (*at, "unless", n)) for n, w in enumerate(c.unless))
            cautions[slug] = Caution(slug, c.name, c.says, c.source, when, unless, frozenset(c.grades))
        return cautions

    def _pricing(self) -> Pricing:
        p, holding, standing = self.shape.pricing, None, None
        if p.held is not None:
            h = p.held
            floor, agrees = parse_share(h.spread_floor), parse_share(h.agrees_within)
            few = Few(h.few.yards, h.few.factor) if h.few is not None else None
            holding = Holding(
                h.enough_yards, h.outlier, floor, h.factor, agrees, h.contradicted_within, few,
                without_any_one=h.without_any_one, words_weighed=h.words_weighed,
                borne_out_at_most=None if h.borne_out_at_most is None else parse_share(h.borne_out_at_most),
                heavier_of_two=h.heavier_of_two, within_others=h.within_others,
            )  # fmt: skip
        if p.standing is not None:
            s = p.standing
            standing = Standing(
                s.newcomer, s.settled_postings, s.settled_days, s.rejected, s.least,
                one_voice=s.one_voice, least_by_settled=s.least_by_settled, by_record=s.by_record,
            )  # fmt: skip
        margin = Decimal(0) if p.thin_margin is None else parse_share(p.thin_margin)
        aging = Benchmarked(p.benchmarks.stale_after) if p.benchmarks is not None else None
        spread = None
        if p.spread is not None:
            spread = Spread(*map(parse_share, (p.spread.off_by, p.spread.per_day, p.spread.at_most)))
        own = (holding, standing, aging, spread, p.most_yards_above)
        return Pricing(p.stale_after, p.half_life, p.evidence, p.thin_below, margin, *own)

    def _examples(self) -> tuple[Example, ...]:
        examples = []
        for n, e in enumerate(self.shape.examples):
            part: dict[str, Value] = {}
            written = {name: given for name, given in e.part.items() if isinstance(given, str)}
            for name, given in e.part.items():
                attribute = self._attribute(name, ("examples", n, "part", name))
                value = (
                    None
                    if attribute is None
                    else self._value(attribute, given, ("examples", n, "part", name))
                )
                if value is not None:
                    part[name] = value
            for grade in (*e.candidates, *([e.grade] if e.grade else [])):
                self._known(grade, self.shape.grades, "grade", ("examples", n))
            if e.contradiction is not None:
                ids = [entry.id for entry in self.shape.impossible]
                ids += [order.id for order in self.shape.largest_first]
                ids += [entry.id for entry in self.shape.told_of]
                self._known(e.contradiction, ids, "contradiction", ("examples", n))
            examples.append(
                Example(part, e.note, e.grade, e.candidates, e.contradiction, e.ungraded, written)
            )
        return tuple(examples)

    def _when(self, when: WhenShape, at: Path) -> When:
        conditions = []
        for name, asked in when.items():
            attribute = self._attribute(name, (*at, name))
            if attribute is None:
                continue
            if isinstance(asked, BoundsShape):
                ends = (self._bound(attribute, getattr(asked, end), (*at, name, end)) for end in ENDS)
                if attribute.kind in (Kind.CHOICE, Kind.YES_NO):
                    self._fault(f"{name} has no order: name the values it may have", (*at, name))
                conditions.append(Condition(name, (), *ends))
            else:
                given = asked if isinstance(asked, list) else [asked]
                values = [self._value(attribute, item, (*at, name)) for item in given]
                conditions.append(Condition(name, tuple(value for value in values if value is not None)))
        if not when:
            self._fault("no conditions: such a clause would hold for everything", at)
        return tuple(conditions)

    def _bound(self, attribute: Attribute, given: Given | None, at: Path) -> Bound | None:
        if given is None:
            return None
        if isinstance(given, str) and given in self.limits:
            limit = self.limits[given]
            return Bound(limit.value, limit.given, given)
        if isinstance(given, str) and re.fullmatch(NAME, given):  # where its value is at fault, that is told
            self._known(given, self.shape.limits, "limit", at)
            return None
        value = self._value(attribute, given, at)
        return None if value is None else Bound(value, str(given))

    def _attribute(self, name: str, at: Path) -> Attribute | None:
        self._known(name, self.attributes, "attribute", at)
        return self.attributes.get(name)

    def _value(self, attribute: Attribute, given: Given, at: Path) -> Value | None:
        try:
            return attribute.read(given)
        except ObservationError as error:
            told = error.detail  # begins with the attribute, which most places name already
            self._fault(told.removeprefix(f"{attribute.name}: ") if attribute.name in at else told, at)
            return None

    def _known(self, name: str, among: Collection[str], what: str, at: Path) -> None:
        if name not in among:
            near = difflib.get_close_matches(name, among, n=3, cutoff=0.5)
            meant = f"did you mean {' or '.join(near)}?" if near else "define it, or write one that is"
            article = "an" if what.startswith("a") else "a"
            self._fault(f"{name!r} is not {article} {what} of this document; {meant}", at, tuple(near))

    def _unique(self) -> None:
        """Ids that stand twice, and names that two grades share, would make an answer ambiguous."""
        for section in ("rules", "impossible", "largest_first", "told_of"):
            entries = getattr(self.shape, section)
            ids = Counter(entry.id for entry in entries)
            for number, entry in enumerate(entries):
                if ids[entry.id] > 1:
                    self._fault(f"this id stands {ids[entry.id]} times: give each its own", (section, number))
        named = {each.id: "impossible" for each in self.shape.impossible}
        for section in ("largest_first", "told_of"):
            entries = getattr(self.shape, section)
            for number, id in enumerate(entry.id for entry in entries):
                other = named.setdefault(id, section)
                if other != section:
                    told = f"`{other}` has {id} too: contradictions are named by it, so give each its own"
                    self._fault(told, (section, number))
        owner: dict[str, str] = {}
        for slug, grade in self.shape.grades.items():
            for name in dict.fromkeys(text.casefold() for text in (slug, grade.name, *grade.aliases)):
                other = owner.setdefault(name, slug)
                if other != slug:
                    self._fault(f"{name!r} also names {other}: a name belongs to one grade", ("grades", slug))

    def _fault(self, problem: str, at: Path, suggestions: tuple[str, ...] = ()) -> None:
        self.faults.append(Fault(f"{place(self._document, at)}: {problem}", at, suggestions))
