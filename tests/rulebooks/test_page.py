"""The page that a person prints: valid, complete, readable by everyone, and of the rulebook's own words."""

from __future__ import annotations

import itertools
import re
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any
from xml.etree.ElementTree import Element

import html5lib
import pytest
from tests.api import small_rulebook

import gradewright.rulebooks
from gradewright.core.grading import Grader
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.document import read, read_yaml
from gradewright.rulebooks.page import CONFIDENCE, page
from gradewright.rulebooks.printed import up_to

PUBLISHED = Path(gradewright.rulebooks.__file__).parent / "published"
FILES = sorted(PUBLISHED.glob("*.yaml"))
HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")
each_file = pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)


@cache
def books() -> tuple[Rulebook, ...]:
    """The versions that ship."""
    return tuple(map(read_yaml, FILES))


@cache
def shown(path: Path) -> tuple[Rulebook, str, Element]:
    """A version that ships, its page, and the page as a strict parser of HTML5 reads it."""
    book = books()[FILES.index(path)]
    text = page(book, up_to(book, books()))
    return book, text, parsed(text)


def parsed(text: str) -> Element:
    """The page's tree; the parser raises at the first thing that is not valid."""
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    tree: Element = parser.parse(text)
    return tree


def words(element: Element) -> str:
    """All text in an element, in one line."""
    return " ".join("".join(element.itertext()).split())


def by_id(tree: Element, name: str) -> Element:
    """The one element of an id."""
    (found,) = [element for element in tree.iter() if element.get("id") == name]
    return found


def small(**changes: Any) -> Rulebook:
    """The small rulebook, with changes."""
    return read(small_rulebook(**changes))


@each_file
def test_the_page_is_valid_and_whole(path: Path) -> None:
    """It is valid HTML5 in English with a title, asks for nothing else, and runs nothing."""
    book, text, tree = shown(path)
    assert text.startswith("<!DOCTYPE html>\n")
    assert tree.get("lang") == "en"
    assert book.version in words(next(tree.iter("title")))
    tags = {element.tag for element in tree.iter()}
    assert not tags & {"script", "link", "img", "iframe", "object", "embed", "form", "input"}
    assert len(list(tree.iter("style"))) == 1
    given = {name for element in tree.iter() for name, _ in element.items()}
    assert not [name for name in given if name == "style" or name.startswith("on")]
    assert not re.search(r"url\(|@import", text)


@each_file
def test_every_link_leads_somewhere_on_the_page(path: Path) -> None:
    """Each id stands once, and each link is to one of them."""
    _, _, tree = shown(path)
    ids = [e.get("id") for e in tree.iter() if e.get("id") is not None]
    assert len(ids) == len(set(ids))
    links = {e.get("href") or "" for e in tree.iter("a")}
    assert {link[:1] for link in links} == {"#"}
    assert {link[1:] for link in links} <= set(ids)
    labels = {e.get("aria-labelledby") for e in tree.iter() if e.get("aria-labelledby")}
    assert labels <= set(ids)


@each_file
def test_headings_and_tables_can_be_heard(path: Path) -> None:
    """There is one first heading, no level is left out, and tables have captions and scoped headers."""
    _, _, tree = shown(path)
    levels = [HEADINGS.index(e.tag) for e in tree.iter() if e.tag in HEADINGS]
    assert levels.count(0) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))
    tables = list(tree.iter("table"))
    assert tables
    for table in tables:
        assert words(next(table.iter("caption")))
        assert {header.get("scope") for header in table.iter("th")} == {"col", "row"}


@each_file
def test_everything_of_the_version_stands_on_the_page(path: Path) -> None:
    """Grades, rules, limits, tests, preparations, cautions and contradictions: with all their words."""
    book, text, tree = shown(path)
    assert book.sha256 in text
    for grade in book.grades.values():
        told = words(by_id(tree, f"grade-{grade.slug}"))
        for each in (grade.name, grade.describes, *grade.aliases):
            assert " ".join(each.split()) in told
    for rule in book.rules:
        told = words(by_id(tree, f"rule-{rule.id}"))
        assert " ".join(rule.because.split()) in told
        assert CONFIDENCE[rule.confidence] in told
        assert rule.source.lower() in told.lower().replace("common practice.", "common practice")
        if rule.settled_by:
            assert f"To settle it: {' '.join(rule.settled_by.split())}" in told
    for limit in book.limits.values():
        told = words(by_id(tree, f"limit-{limit.name}"))
        assert all(" ".join(each.split()) in told for each in (limit.given, limit.means, limit.source))
    for attribute in book.attributes.values():
        told = words(by_id(tree, f"look-{attribute.name}"))
        texts = (attribute.asks, attribute.test, attribute.beware, *attribute.choices.values())
        assert all(" ".join(each.split()) in told for each in texts)
    for preparation in book.preparations.values():
        told = words(by_id(tree, f"preparation-{preparation.id}"))
        texts = (preparation.name, preparation.how, preparation.source or "")
        assert all(" ".join(each.split()) in told for each in texts)
        off = [book.grades[shed.grade].name for shed in preparation.sheds if shed.grade]
        assert all(f"and is {name}." in told for name in off)
    for caution in book.cautions.values():
        told = words(by_id(tree, f"caution-{caution.id}"))
        assert all(" ".join(each.split()) in told for each in (caution.name, caution.says, caution.source))
    for entry in (*book.impossible, *book.largest_first, *book.told_of):
        told = words(by_id(tree, f"impossible-{entry.id}"))
        assert all(" ".join(each.split()) in told for each in (entry.because, entry.source))


@each_file
def test_a_rule_s_conditions_are_told_with_their_limits(path: Path) -> None:
    """Each condition of a rule is a line that leads to how it is told, and to the limit that sets it."""
    book, _, tree = shown(path)
    for rule in book.rules:
        links = {link.get("href") for link in by_id(tree, f"rule-{rule.id}").iter("a")}
        assert {f"#look-{condition.attribute}" for condition in rule.when} <= links
        bounds = [getattr(c, end) for c in rule.when for end in ("at_least", "above", "at_most", "below")]
        assert {f"#limit-{bound.limit}" for bound in bounds if bound and bound.limit} <= links


@pytest.mark.parametrize("path", [FILES[0], FILES[-1]], ids=lambda path: path.stem)
def test_cautions_come_before_the_grades_that_they_concern(path: Path) -> None:
    """What each caution of a family says stands at its head, in front of its grades; all are named in front
    of all families, with the law."""
    book, text, tree = shown(path)
    front = words(by_id(tree, "reading"))
    assert all(caution.name in front for caution in book.cautions.values())
    assert not book.cautions or "Follow the law of where you are." in front
    grader = Grader(book)
    for grade in book.grades.values():
        family = text.index(f'id="family-{grade.family}"')
        before = text[family : text.index('<article class="grade"', family)]
        assert text.index('id="reading"') < family
        for caution in grader.cautions(None, grade.slug):
            assert f'"#caution-{caution.id}"' in before
            assert " ".join(caution.says.split()) in " ".join(unescape(before).split())


def test_nothing_is_hidden_but_what_became_of_old_versions() -> None:
    """No style hides anything but the way past the contents; only the history has anything to unfold, and
    that begins with what it is about."""
    _, _, tree = shown(FILES[-1])
    style = words(next(tree.iter("style")))
    hiding = re.findall(r"([^{}]*)\{[^{}]*(?:display: none|visibility: hidden)[^{}]*\}", style)
    assert [selector.strip() for selector in hiding] == [".skip"]
    assert not [e for e in tree.iter() if e.get("hidden") is not None]
    folded = list(tree.iter("details"))
    assert folded == list(by_id(tree, "history").iter("details"))
    assert all(words(next(each.iter("summary"))).endswith((".", ":")) for each in folded)


def test_contents_lead_to_every_section_family_and_grade() -> None:
    """Families and grades stand in the contents in their order, and so do all sections of the page."""
    book, _, tree = shown(FILES[-1])
    (contents,) = tree.iter("nav")
    links = [(link.get("href") or "")[1:] for link in contents.iter("a")]
    main = by_id(tree, "top")
    assert [link for link in links if "-" not in link] == [e.get("id") for e in main if e.tag == "section"]
    families = [f"family-{slug}" for slug in book.families]
    assert [link for link in links if link.startswith("family-")] == families
    assert {link for link in links if link.startswith("grade-")} == {f"grade-{slug}" for slug in book.grades}


def test_what_stands_in_for_a_price_is_told_of_each_grade() -> None:
    """The grade that stands in, its factor, and the benchmark with its share stand with how prices come."""
    book, _, tree = shown(FILES[-1])
    told = words(by_id(tree, "pricing"))
    assert "Copper No. 2: Copper No. 1, times 0.93; moves with copper, 90 %" in told
    for grade in book.grades.values():
        if grade.kin:
            assert f"{grade.name}: {book.grades[grade.kin].name}, times " in told


def test_a_grade_names_the_cautions_of_what_it_holds() -> None:
    """Beside a grade stand all cautions of what its rules describe, as a valuation of it by name has them."""
    _, _, tree = shown(FILES[-1])
    told = by_id(tree, "grade-wire-cord-plug")
    links = {link.get("href") for link in told.iter("a")}
    assert {"#caution-mains-lead", "#caution-no-burning"} <= links


def test_the_history_has_what_was_published_up_to_the_version() -> None:
    """The changes of this version and of those that begin before it, the newest first, and no later one: but
    for the one that is in force instead of this, and those that another is in force instead of."""
    days = {book.version: book.effective_from for book in books()}
    for path in FILES:
        _, _, tree = shown(path)
        history = by_id(tree, "history")
        told = [words(e).partition(",")[0] for e in history.iter("h3")]
        own = path.stem
        others = [book for book in books() if own not in book.instead_of]
        off = {name for book in others for name in book.instead_of}
        before = [
            book.version for book in others if days[book.version] < days[own] and book.version not in off
        ]
        assert told == [own, *sorted(before, key=days.__getitem__, reverse=True)]
        shown_summaries = [" ".join(book.summary.split()) for book in books() if book.version in told]
        assert all(summary in words(history) for summary in shown_summaries)


def test_of_two_versions_of_a_day_the_higher_number_is_the_later() -> None:
    """2018.10 comes after 2018.9, and a version that begins later is left out whatever its number."""
    nine, ten, later = (
        small(version=version, effective_from=day)
        for version, day in (("2018.9", "2018-02-01"), ("2018.10", "2018-02-01"), ("2017.1", "2019-01-01"))
    )
    assert up_to(ten, [later, nine, ten]) == (ten, nine)
    assert up_to(nine, [later, nine, ten]) == (nine,)
    assert up_to(later, [nine, ten]) == (later, ten, nine)


def test_a_document_s_text_is_never_markup() -> None:
    """Angle brackets, quotes and ampersands of a document are shown as they are, wherever they stand."""
    evil = "<script>alert('\"&amp;')</script>"
    source = small_rulebook(title=evil, summary=evil)
    source["grades"]["copper-no1"] |= {"name": f"a{evil}", "aliases": [f"b{evil}"], "describes": evil}
    source["limits"]["heavy_steel_thickness"] |= {"means": evil, "source": evil}
    source["rules"][0] |= {"because": evil, "source": evil, "confidence": "disputed", "settled_by": evil}
    source["attributes"]["metal"] |= {"asks": evil, "beware": evil, "test": evil}
    source["attributes"]["metal"]["choices"]["copper"] = evil
    source["preparations"]["back-out-screws"] |= {"name": evil, "how": evil}
    source["cautions"]["sharp"] |= {"name": evil, "says": evil, "source": evil}
    source["impossible"][0] |= {"because": evil, "source": evil}
    source["families"]["copper"]["name"] = evil
    book = read(source)
    text = page(book, [book])
    tree = parsed(text)
    assert "<script" not in text
    assert not list(tree.iter("script"))
    assert words(tree).count(evil) >= 20


def test_the_same_rulebook_is_the_same_page() -> None:
    """Two pages of one version and history are the same bytes."""
    book = read_yaml(FILES[-1])
    again = read_yaml(FILES[-1])
    assert page(book, up_to(book, books())) == page(again, up_to(again, books()))


def test_pricing_is_told_with_the_version_s_own_figures() -> None:
    """What waits, who weighs how much, what moves and how wide prices are: only where the version has it."""
    first, newest = (words(by_id(shown(path)[2], "pricing")) for path in (FILES[0], FILES[-1]))
    assert "more than 120 days ago" in first
    assert "wider by 10 %" in first
    assert not re.search("newcomer|benchmark|waits|span around|drawn|dispute|voice", first)
    for told in (
        "0.5 % to either side",
        "above 3.5",
        "A newcomer’s word weighs 0.1",
        "older than 45 days",
        "of more than 16 yards",
        "a whole voice from one witness on whose word weighs half or more",
        "Two members or more who dispute a price make it wait too",
    ):
        assert told in newest
    assert "a scale ticket 1, " in newest


def test_a_sparse_rulebook_has_a_page_too() -> None:
    """Without limits, preparations, cautions and contradictions their sections and links are left out."""
    source = small_rulebook(limits={}, preparations={}, cautions={}, impossible=[])
    for rule in source["rules"][2:]:
        rule["when"]["thickness"] = {"at_least": "1 mm"} if rule["id"] == "thick-steel" else {"below": "1 mm"}
    source["examples"] = []
    book = read(source)
    tree = parsed(page(book, [book]))
    ids = {e.get("id") for e in tree.iter()}
    assert not ids & {"limits", "preparations", "cautions", "impossible"}
    assert {(e.get("href") or "#")[1:] for e in tree.iter("a")} <= ids
