"""The rulebooks that ship do what they say, and say as much as is promised."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest
from tests.checks import order

from gradewright.core.grading import Graded, Grader, Ungraded
from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.observations import Kind
from gradewright.core.rulebook import Bound, Condition, Rulebook
from gradewright.rulebooks.check import check, wrong_examples
from gradewright.rulebooks.document import canonical, from_yaml, read, read_yaml
from gradewright.rulebooks.needless import repeated_examples
from gradewright.rulebooks.proof import Proof, prove
from gradewright.rulebooks.standing import that_begin

FOLDER = Path(__file__).parents[2] / "service" / "gradewright" / "rulebooks" / "published"
FILES = sorted(FOLDER.glob("*.yaml"))
PROMISED = {
    "grades": 70,
    "attributes": 30,
    "rules": 110,
    "preparations": 20,
    "cautions": 20,
    "examples": 250,
}
STAND = {
    "2014.0": "9cefbd659b01264092e3b86dcfd5136c7f8e665401c8a69b2675f014f15eee17",
    "2014.1": "eca967df16f306cdcd19603293fe61845446bb29e9e0b0239e734433807c3528",
    "2017.1": "aea33f565d9dc6e2f249bf9113daed8ec5510b397a4e67e77860ef86d623b85a",
    "2018.1": "c7a6a4baac19bd987141096953fc38c8df623f749a84c54ca10359cc94c66e9e",
    "2026.1": "21f56368fd7bc3eb412052fb2b30c76ac8901bcd3917868d32a156a51147a63c",
    "2026.2": "c52596958d87df0f5206c466db66c7149d58e226f86fd83e75b8a0ee03b3487d",
    "2026.3": "c42ec53f0dff9e76ab7e1f79fbc1dd64aa006060d99b4b04609607ba8cc3be44",
    "2027.1": "45ead4291629ffb409b9eb749485b6d02368aa3a36740d41885c0231e319ca28",
    "2027.2": "78ceca9e310cdb900a6de8e7e313cf0ca8481ab1e32a037b53726eb290329040",
    "2027.3": "a59057328b7960dee08483ecadbba6bae4ddee35f8c8337115100b38e1cf8f89",
    "2027.4": "7bf4679b8d5d8aab85fb49ac465deac47e148b58c241f6017828c704f3a3763e",
    "2027.5": "8902474e821f208f149ceb543046a15c7da1470d1698283c3ddc20fd0cda353f",
    "2027.6": "f1eeb83363a43b3ac51bf48a4dc3fa05923acecc55a411f261205c9f9c8259f6",
    "2027.7": "83e33cd54bf49e42fc08db6c77abdc238800aba43c325a2ecd17453b9e839a71",
    "2027.8": "b2d9e2554d679ecbcb7a3e863d708b67bfdae63e9b556378b935460160d62b79",
}
"""Versions that have been given out, by the digest of their canonical form: they never change again."""
each_file = pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
each_side = pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, marks=() if path in (FILES[0], FILES[-1]) else pytest.mark.campaign, id=path.stem)
        for path in FILES
    ],
)
"""The oldest and the newest version; in the longer runs each, for those between can no longer change."""
newest = pytest.mark.parametrize(
    "path",
    [
        pytest.param(path, marks=() if path == FILES[-1] else pytest.mark.campaign, id=path.stem)
        for path in FILES
    ],
)


@cache
def book(path: Path) -> Rulebook:
    """The rulebook in a file."""
    return read_yaml(path)


def test_there_is_more_than_one() -> None:
    """An older version ships beside the newest, so that the day matters; each begins on a day of its own."""
    books = [book(path) for path in FILES]
    assert len(books) >= 2
    assert len({each.effective_from for each in books}) == len(books)
    assert date(2018, 2, 1) in {each.effective_from for each in books}


@pytest.mark.parametrize(
    ("version", "switched_on"),
    [
        ("2027.6", [("held", "heavier_of_two"), ("standing", "least_by_settled")]),
        ("2027.7", [("held", "within_others")]),
        ("2027.8", [("standing", "by_record")]),
    ],
)
def test_it_has_all_that_those_were_to_bring_that_it_is_instead_of(
    version: str, switched_on: list[tuple[str, str]]
) -> None:
    """But for what each says of itself it is the last of them, which has in it what all before have."""
    new = from_yaml((FOLDER / f"{version}.yaml").read_text(encoding="utf-8"))
    old = from_yaml((FOLDER / f"{new['instead_of'][-1]}.yaml").read_text(encoding="utf-8"))
    own = {"version", "effective_from", "instead_of", "title", "summary"}
    for section, name in switched_on:
        old["pricing"][section][name] = True
    assert {name: value for name, value in new.items() if name not in own} == {
        name: value for name, value in old.items() if name not in own
    }
    begins = book(FOLDER / f"{version}.yaml").effective_from
    later = {each.version for each in map(book, FILES) if each.effective_from > begins}
    assert later.isdisjoint(each.version for each in that_begin([*map(book, FILES)]))
    assert set(new["instead_of"]) <= later


@pytest.mark.parametrize("version", STAND)
def test_a_version_that_was_given_out_never_changes(version: str) -> None:
    """Answers that are kept name it: its canonical form has the digest that it had."""
    assert book(FOLDER / f"{version}.yaml").sha256 == STAND[version]


@each_file
def test_a_shipped_rulebook_is_sound(path: Path) -> None:
    """Every worked example holds, no kin go in a circle, every grade is given or sold by name."""
    assert check(book(path)) == ()


@each_side
def test_a_rule_put_behind_one_that_takes_all_of_it_is_found(path: Path) -> None:
    """Behind every seventh rule a copy of it is told, with the rule that hides it, and nothing else is."""
    source = from_yaml(path.read_text(encoding="utf-8"))
    hidden = {f"{rule['id']}-again": rule for rule in source["rules"][::7]}
    rules = []
    for rule in source["rules"]:
        again = f"{rule['id']}-again"
        rules += [rule, {**rule, "id": again}] if again in hidden else [rule]
    told = [fault.detail for fault in check(read({**source, "rules": rules}))]
    assert len(told) == len(hidden) >= 30
    for detail, (again, rule) in zip(told, hidden.items(), strict=True):
        assert (
            f"rule {again}: it can never decide: whatever meets it meets rule {rule['id']} before" in detail
        )


@each_file
def test_a_file_is_named_for_its_version(path: Path) -> None:
    """A file's name is the version in it."""
    assert path.stem == book(path).version


@each_file
@pytest.mark.parametrize(("what", "least"), PROMISED.items())
def test_as_much_as_promised(path: Path, what: str, least: int) -> None:
    """At least so many grades, attributes, rules, preparations, cautions and worked examples."""
    assert len(getattr(book(path), what)) >= least


@each_file
def test_everything_has_its_reason_and_source(path: Path) -> None:
    """Rules, contradictions, limits and cautions say where they come from; attributes how they are told."""
    found = book(path)
    for each in (*found.rules, *found.impossible):
        assert each.because.strip(), each.id
        assert each.source.strip(), each.id
    for limit in found.limits.values():
        assert limit.means.strip(), limit.name
        assert limit.source.strip(), limit.name
    for attribute in found.attributes.values():
        assert attribute.asks.strip().endswith("?"), attribute.name
        assert attribute.test.strip(), attribute.name
        assert attribute.beware.strip(), attribute.name
    for caution in found.cautions.values():
        assert caution.source.strip(), caution.id
        assert caution.when or caution.grades, caution.id


@each_file
def test_a_published_rule_names_its_publication(path: Path) -> None:
    """What is only common practice, or was not verified, is not called published."""
    published = [rule for rule in book(path).rules if rule.confidence == "published"]
    assert len(published) >= 20
    for rule in published:
        assert not rule.source.startswith("common practice"), rule.id
        assert "not verified" not in rule.source, rule.id


def bounds_of(condition: Condition) -> list[tuple[str, Bound]]:
    """The ends of a condition's range."""
    ends = {name: getattr(condition, name) for name in ("at_least", "above", "at_most", "below")}
    return [(name, bound) for name, bound in ends.items() if bound is not None]


@each_file
def test_examples_stand_on_both_sides_of_every_limit(path: Path) -> None:
    """For every limit, and every end of a range that it sets, one example meets it and another does not."""
    found = book(path)
    clauses = [
        *(rule.when for rule in found.rules),
        *(entry.when for entry in found.impossible),
        *(when for work in found.preparations.values() for when in (work.when, *work.unless)),
        *(when for caution in found.cautions.values() for when in (*caution.when, *caution.unless)),
    ]
    sides: dict[tuple[str, str, str], set[bool]] = {}
    for condition in (condition for when in clauses for condition in when):
        for end, bound in bounds_of(condition):
            if bound.limit is not None:
                alone = Condition(condition.attribute, **{end: bound})
                sides.setdefault((bound.limit, condition.attribute, end), set()).update(
                    alone.holds(example.part[condition.attribute])
                    for example in found.examples
                    if condition.attribute in example.part
                )
    assert {limit for limit, _, _ in sides} == set(found.limits)
    assert {key: met for key, met in sides.items() if met != {True, False}} == {}


@newest
def test_a_limit_of_the_rules_cannot_move_unnoticed(path: Path) -> None:
    """Twice or half the value of any limit that rules use breaks a worked example."""
    found = book(path)
    used: dict[str, set[str]] = {}
    for condition in (condition for rule in found.rules for condition in rule.when):
        for _, bound in bounds_of(condition):
            used.setdefault(bound.limit or "", set()).add(condition.attribute)
    unnoticed = []
    for name in sorted(set(used) - {""}):
        given = found.limits[name].given
        examples = tuple(example for example in found.examples if used[name] & set(example.part))
        for moved in (twice(given), half(given)):
            limit = HouseLimit(name, moved, "anywhere", "anywhere", found.effective_from)
            there, own = under(replace(found, examples=examples), [limit])
            assert there.limits[name].given == own[name].given == moved
            if not wrong_examples(Grader(there)):
                unnoticed.append((name, given, moved))
    assert unnoticed == []


def twice(given: str) -> str:
    """A measure twice as large; a share half-way to the whole; a year or a date ten years later."""
    number, _, unit = given.partition(" ")
    if unit == "%":
        return f"{(float(number) + 100) / 2:g} %"
    return scaled(given, 2, 10)


def half(given: str) -> str:
    """A measure half as large; a year or a date ten years earlier."""
    return scaled(given, 0.5, -10)


def scaled(given: str, factor: float, years: int) -> str:
    """A measure times a factor, in decimal notation; a year or a date some years away."""
    number, _, unit = given.partition(" ")
    if not unit:
        return f"{int(given[:4]) + years}{given[4:]}"
    above, _, below = number.partition("/")
    return f"{float(above) / float(below or 1) * factor:g} {unit}"


@each_file
def test_no_alias_is_a_bare_brand_of_its_own_name(path: Path) -> None:
    """An alias says something that slug and name do not."""
    for grade in book(path).grades.values():
        known = {grade.slug.casefold(), grade.name.casefold()}
        assert not known & {alias.casefold() for alias in grade.aliases}, grade.slug


@each_file
def test_a_preparation_changes_what_it_is_for(path: Path) -> None:
    """A preparation changes an observation that its own condition asks for, or one that is not known yet."""
    found = book(path)
    for preparation in found.preparations.values():
        assert preparation.changes, preparation.id
        assert preparation.minutes >= 0
        for condition in preparation.when:
            if condition.attribute in preparation.changes and condition.values:
                assert preparation.changes[condition.attribute] not in condition.values, preparation.id


@each_file
def test_the_json_form_is_the_same_rulebook(path: Path) -> None:
    """What is stored and served reads back as the very rulebook of the file."""
    source = from_yaml(path.read_text(encoding="utf-8"))
    assert read(json.loads(canonical(source))) == book(path)


def test_two_versions_differ_where_they_say() -> None:
    """From 2017 to 2018 one limit changed; everything else that rules ask is the same."""
    older, newer = (book(FOLDER / f"{version}.yaml") for version in ("2017.1", "2018.1"))
    changed = {name for name in newer.limits if newer.limits[name].value != older.limits[name].value}
    assert changed == {"aluminium_wound"}
    assert [rule.id for rule in older.rules] == [rule.id for rule in newer.rules]
    assert set(older.grades) == set(newer.grades)


def test_every_rule_of_the_newest_version_has_an_example() -> None:
    """For each rule some worked example is known to meet it, and no other before it."""
    found = book(FILES[-1])
    grader = Grader(found)
    ends = [grader.grade(example.part) for example in found.examples]
    decided = {end.rule.id for end in ends if isinstance(end, Graded)}
    assert [rule.id for rule in found.rules if rule.id not in decided] == []


def test_every_choice_of_the_newest_version_has_an_example() -> None:
    """Each value of each choice, and both answers of each question, stand in some worked example."""
    found = book(FILES[-1])
    used: dict[str, set[object]] = {name: set() for name in found.attributes}
    for example in found.examples:
        for name, value in example.part.items():
            used[name].add(value)
    for attribute in found.attributes.values():
        if attribute.kind in (Kind.CHOICE, Kind.YES_NO):
            every = set(attribute.choices) if attribute.kind is Kind.CHOICE else {True, False}
            assert every - used[attribute.name] == set(), attribute.name
        assert used[attribute.name], attribute.name


def test_the_newest_version_says_of_what_each_attribute_can_be_told() -> None:
    """All but these eight, which anything has, can be told of some things only."""
    found = book(FILES[-1])
    only = {name for entry in found.told_of for name in entry.attributes}
    of_anything = {"assembly", "form", "metal", "sticks_to_magnet", "attached", "surface"}
    assert set(found.attributes) - only == of_anything | {"largest_dimension", "width"}
    shown = {example.contradiction for example in found.examples}
    assert {entry.id for entry in found.told_of} <= shown


def test_no_example_of_the_newest_version_is_there_twice() -> None:
    """Each of its worked examples is of another part than those before it."""
    assert list(repeated_examples(book(FILES[-1]))) == []


def test_the_newest_version_says_what_would_settle_each_dispute() -> None:
    """Its disputed rules, three of them, each say what would settle it."""
    disputed = [rule for rule in book(FILES[-1]).rules if rule.confidence == "disputed"]
    assert [rule.id for rule in disputed if not rule.settled_by] == []
    assert {rule.id for rule in disputed} == {
        "multilayer-no-pull",
        "multilayer-pull",
        "copper-on-the-line-of-foreign",
    }


def test_all_work_of_the_newest_version_has_its_source() -> None:
    """Each preparation says where its minutes and shares are from, or that it is common practice."""
    for preparation in book(FILES[-1]).preparations.values():
        assert preparation.source, preparation.id


def test_nothing_is_graded_otherwise_or_priced_otherwise_since_2026() -> None:
    """From 2026.2 to 2026.3 every worked example of either that had an answer keeps it, and prices are made
    alike; only what had no grade may have one now."""
    older, newer = (book(FOLDER / f"{version}.yaml") for version in ("2026.2", "2026.3"))
    assert (older.pricing, older.grades) == (newer.pricing, newer.grades)
    before, after = Grader(older), Grader(newer)
    answered = [
        (before.grade(example.part), after.grade(example.part))
        for example in (*older.examples, *newer.examples)
        if not isinstance(before.grade(example.part), Ungraded)
    ]
    assert len(answered) > 2 * len(older.examples) - 10
    for ends in answered:
        assert getattr(ends[0], "grade", type(ends[0])) == getattr(ends[1], "grade", type(ends[1]))


@cache
def proved() -> Proof:
    """The proof of the newest version."""
    return prove(book(FILES[-1]))


def test_every_part_that_the_newest_version_describes_has_an_answer() -> None:
    """The proof of the newest version finds nothing: no part without an answer, no idle rule or condition."""
    assert [(finding.at, finding.says) for finding in proved().findings] == []
    assert proved().complete


def test_where_the_order_of_rules_decides_is_written_down() -> None:
    """The pairs of rules of different grades that one part can meet are those that `order.txt` keeps: a new
    one is looked at before it is written there (`python -m tests.checks.order`)."""
    assert order.pairs(proved()) == order.KEPT.read_text(encoding="utf-8").splitlines()
