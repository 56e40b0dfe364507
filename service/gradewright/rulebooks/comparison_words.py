"""A comparison in sentences, for people who sell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING, Any, cast

from gradewright.core.decimals import EXACT
from gradewright.core.decision import Axis
from gradewright.core.house_limits import measured_by
from gradewright.core.observations import Attribute, Kind, Value
from gradewright.core.rulebook import Bound, Condition, Rule, Rulebook
from gradewright.rulebooks.given import Given
from gradewright.rulebooks.page_words import listed, spaced
from gradewright.rulebooks.solving import ENDS

if TYPE_CHECKING:
    from gradewright.rulebooks.comparer import End
    from gradewright.rulebooks.comparison_class import Class
    from gradewright.rulebooks.comparison_places import AtPlaces
    from gradewright.rulebooks.differences import Differences

MOST_VALUES = 6
MOST_SENTENCES = 40
PRICES = ("pricing", "grades")
"""The sections of what changes prices, whatever the grades of parts: told first, as everybody has them."""
NEVER_LEFT_OUT = ("cautions", "largest_first")
"""The sections of which each entry has its sentence, however many: who may be hurt, and what moves parts."""


def ranges(
    axes: Mapping[str, Axis],
    attributes: Mapping[str, Attribute],
    along: Mapping[str, Sequence[Value]],
    given: Given,
) -> dict[str, str]:
    """For each attribute its values in words: "above 5 % and at most 10 %", "tin or zinc"."""
    found = {}
    for name, values in along.items():
        attribute = attributes[name]
        if attribute.kind in (Kind.CHOICE, Kind.YES_NO):
            shown = [attribute.show(value) for value in values]
            more = len(shown) - MOST_VALUES
            found[name] = f"{', '.join(shown[:MOST_VALUES])} or {more} others" if more > 1 else _either(shown)
        else:
            found[name] = " or ".join(_spans(axes[name], attribute, values, given))
    return found


def sentence(old: Rulebook, new: Rulebook, came: End, goes: End, words: Mapping[str, str]) -> str:
    """One move in a sentence, by what is described."""
    described = ", ".join(f"{_name(name)} {_plainly(new, old, name, said)}" for name, said in words.items())
    return f"{described[:1].upper()}{described[1:]}: {moved(old, new, came, goes)}."


def moved(old: Rulebook, new: Rulebook, came: End, goes: End) -> str:
    """Between which answers a part moves, in words."""
    before = {
        "grade": f"was {_grade(old, came)}",
        "no-grade": "had no grade",
        "contradiction": "was taken for a contradiction",
        "not-described": "could not be described",
    }[came.answered]
    after = {
        "grade": f"is now {_marked(old, new, came, goes)}",
        "no-grade": "has no grade any more" if came.grade else "has no grade now",
        "contradiction": "is now taken for a contradiction",
        "not-described": "cannot be described any more",
    }[goes.answered]
    return f"{before}, {after}"


def moved_at_places(old: Rulebook, new: Rulebook, places: Sequence[AtPlaces]) -> Iterator[str]:
    """Sentences on what moves only where a place has its own value of some limits."""
    for each in places:
        where = f"Where a place has its own value of {listed(map(spaced, each.limits), 'and')}"
        told = [moved(old, new, came, goes) for came, goes in each.moves]
        more = "" if each.complete else "; and more"
        yield f"{where}, parts move that do not elsewhere: {'; '.join(told)}{more}."


def summary(
    old: Rulebook,
    new: Rulebook,
    classed: tuple[Class, str],
    moves: Sequence[str],
    places: Sequence[str],
    found: Differences,
    shown: Mapping[str, str],
) -> list[str]:
    """The comparison in sentences, the most important first.

    `classed`: its class, and the sentence that says so. `places`: what moves only where a place has its own
    value of some limits. `shown`: what an order of measures moves, or what is
    told of some things only makes a contradiction, by the id of the entry.
    """
    kind, first = classed
    names = list(_names(old, new, found))
    if kind == "beside":
        count = len(found.besides) + len(names)
        first = f"{first} {f'{count} other changes.' if count > 1 else 'One other change.'}"
    lines = [first]
    lines += [each.says for each in found.besides if each.section in PRICES]
    for limit in found.limits:
        means = (new.limits.get(limit.name) or old.limits[limit.name]).means
        if limit.before is None or limit.after is None:
            came = "is new" if limit.before is None else "is gone"
            line = f"The limit {_name(limit.name)} {came} ({limit.after or limit.before})"
        else:
            line = f"The limit {_name(limit.name)} is {limit.after} ({limit.before} before)"
        gone = " A place's own value of it counts no more." if limit.after is None else ""
        lines.append(f"{line}: {means.rstrip('.')}.{gone}")
    lines += dict.fromkeys(moves)
    lines += places
    for slug in found.grades_added:
        lines.append(f"New grade: {new.grades[slug].name}.")
    lines += [f"Retired grade: {old.grades[slug].name}." for slug in found.grades_retired]
    lines += names
    others = [each for each in found.besides if each.section not in PRICES]
    first_of = sum(each.section in NEVER_LEFT_OUT for each in others)  # they stand before all others
    most = max(first_of, MOST_SENTENCES)
    lines += [f"{each.says} {shown.get(each.entry, '')}".rstrip() for each in others[:most]]
    if len(others) > most:
        lines.append(f"And {len(others) - most} more beside the grades of parts, all under `besides`.")
    lines += [f"{_name(name)} can be told now." for name in found.attributes_added]
    lines += [
        f"{_name(name)} is not asked any more: who still tells it is refused."
        for name in found.attributes_removed
    ]
    return lines


def _names(old: Rulebook, new: Rulebook, found: Differences) -> Iterator[str]:
    """Grades under other words, and names that mean another grade, are read no more, or newly."""
    for each in found.called:
        if each.before == each.after:
            yield f"{each.name_before} is called {each.name_after} now."
        elif each.name_before == each.name_after:
            yield f"{each.before} is called {each.after} now."
        else:
            yield f"{each.before} ({each.name_before}) is called {each.after} ({each.name_after}) now."
    gone: dict[str, list[str]] = {}
    came: dict[str, list[str]] = {}
    for name in found.names:
        if name.before is not None and name.after is not None:
            was, now = old.grades[name.before].name, new.grades[name.after].name
            yield f"The name {name.name} means {now} now ({was} before)."
        elif name.before is not None and name.before not in found.grades_retired:
            slug = found.grades_renamed.get(name.before, name.before)
            gone.setdefault(new.grades[slug].name, []).append(name.name)
        elif name.after is not None:
            came.setdefault(new.grades[name.after].name, []).append(name.name)
    for grade, names in gone.items():
        yield f"{grade} is not read any more where people write {_either(names)}: they are asked again."
    for grade, names in came.items():
        yield f"{grade} is read now where people write {_either(names)}."


def limits_between(
    old: Rulebook, new: Rulebook, rules: tuple[Rule, Rule], came: End, goes: End
) -> Iterator[tuple[str, Condition, str]]:
    """Limits that moved and that the two deciding rules ask for: each with its attribute, what lies between
    the two values, and the move in a sentence:
    "Shredded motors: a part with aluminium wound share above 5 % is now marked down (was 10 %)."
    """
    kinds = [measured_by(book) for book in (old, new)]
    for condition in (condition for rule in rules for condition in rule.when):
        for end in ENDS:
            bound: Bound | None = getattr(condition, end)
            limit = (bound.limit if bound is not None else None) or ""
            was, now = old.limits.get(limit), new.limits.get(limit)
            if bound is None or was is None or now is None or was.value == now.value:
                continue
            measured = [kind[limit].kind for kind in kinds if limit in kind]
            if len(measured) < len(kinds) or len({*measured}) > 1:  # another thing under the same name
                continue
            # One kind of value per limit, so the comparison is between equals.
            then, value = cast("tuple[Any, Any]", (was.value, now.value))
            below, with_least = value > then, end in ("at_least", "below")
            side = {
                (True, True): "below", (True, False): "up to",
                (False, True): "from", (False, False): "above",
            }[below, with_least]  # fmt: skip
            ends = (was, now) if below else (now, was)
            least, most = (Bound(each.value, each.given) for each in ends)
            between = (
                Condition(condition.attribute, at_least=least, below=most)
                if with_least
                else Condition(condition.attribute, above=least, at_most=most)
            )
            yield (
                condition.attribute,
                between,
                (
                    f"{_grade(old, came)}: a part with {_name(condition.attribute)} {side} {now.given} "
                    f"is now {_marked(old, new, came, goes)} (was {was.given})."
                ),
            )


def _marked(old: Rulebook, new: Rulebook, came: End, goes: End) -> str:
    """The grade after, and whether it is a cheaper or a dearer kin of the one before."""
    name = _grade(new, goes)
    if came.grade is None or goes.grade is None:
        return name
    if _cheaper(new, goes.grade, came.grade) or _cheaper(old, goes.grade, came.grade):
        return f"marked down to {name}"
    if _cheaper(new, came.grade, goes.grade) or _cheaper(old, came.grade, goes.grade):
        return f"raised to {name}"
    return name


def _cheaper(book: Rulebook, grade: str, than: str) -> bool:
    """Whether a grade is priced as a part of another one's price."""
    factor, at = Decimal(1), book.grades.get(grade)
    while at is not None and at.kin is not None and at.kin_factor is not None:
        factor, at = EXACT.multiply(factor, at.kin_factor), book.grades.get(at.kin)
        if at is not None and at.slug == than:
            return factor < 1
    return False


def _grade(book: Rulebook, end: End) -> str:
    return book.grades[end.grade].name if end.grade is not None else ""


def _name(name: str) -> str:
    return name.replace("_", " ")


def _plainly(new: Rulebook, old: Rulebook, name: str, said: str) -> str:
    """Choices without their dashes."""
    attribute = new.attributes.get(name) or old.attributes.get(name)
    return said.replace("-", " ") if attribute is not None and attribute.kind is Kind.CHOICE else said


def _either(shown: Sequence[str]) -> str:
    return f"{', '.join(shown[:-1])} or {shown[-1]}" if len(shown) > 1 else shown[0]


def _spans(axis: Axis, attribute: Attribute, values: Sequence[Value], given: Given) -> Iterator[str]:
    """The values in words, run by run: neighbouring cells are one range."""

    def show(cut: Value) -> str:
        return given.get((attribute.name, cut)) or attribute.show(cut)

    span_of = {cell: span for span, cell in enumerate(axis.place) if cell is not None}
    spans = [span_of[axis.cells.index(value)] for value in values]
    for _, run in groupby(enumerate(spans), key=lambda pair: pair[1] - pair[0]):
        both = [span for _, span in run]
        first, last = both[0], both[-1]
        if first == last and first % 2:
            yield show(axis.cuts[first // 2])
            continue
        bounds = []
        if first > 0:
            cut = axis.cuts[first // 2] if first % 2 else axis.cuts[first // 2 - 1]
            bounds.append(f"{'at least' if first % 2 else 'above'} {show(cut)}")
        if last < len(axis.place) - 1:
            bounds.append(f"{'at most' if last % 2 else 'below'} {show(axis.cuts[last // 2])}")
        yield " and ".join(bounds) or "any"
