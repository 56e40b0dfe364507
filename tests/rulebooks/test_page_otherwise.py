"""What makes a part another grade, on the printed page: held against every part that there can be."""

from __future__ import annotations

import itertools
import random
from pathlib import Path
from typing import Any

import pytest
from tests.samples import document

import gradewright.rulebooks
from gradewright.core.grading import Graded, Grader
from gradewright.core.rulebook import Condition, Rulebook
from gradewright.rulebooks.document import read, read_yaml
from gradewright.rulebooks.page_otherwise import Others
from gradewright.rulebooks.page_words import phrases

NEWEST = sorted((Path(gradewright.rulebooks.__file__).parent / "published").glob("*.yaml"))[-1]
THINGS = [f"thing-{n}" for n in range(13)]
CHOICES = {"thing": THINGS, "skin": ["bare", "painted", "oily"], "fixed": ["nothing", "iron"]}
GRADES = ("one", "two", "three")


def some_rulebook(chance: random.Random) -> Rulebook:
    """A rulebook of few attributes and random rules, of which the first attribute says what a thing is."""
    source: dict[str, Any] = document()
    plain = {"asks": "What?", "test": "by eye", "minutes": 1, "beware": "x"}
    source["attributes"] = {
        name: {"kind": "choice", "choices": dict.fromkeys(values, "x"), **plain}
        for name, values in CHOICES.items()
    } | {"pulls": {"kind": "yes_no", **plain}, "thick": {"kind": "length", **plain}}
    source["families"] = {"all": {"name": "All"}}
    source["grades"] = {
        slug: {"name": slug, "family": "all", "describes": "x", "by_name_only": True} for slug in GRADES
    }
    because = {"because": "x", "source": "made for tests"}

    def when(*, sure: bool) -> dict[str, Any]:
        asked: dict[str, Any] = {"thing": chance.sample(THINGS[:3], chance.randint(1, 2))} if sure else {}
        for name in chance.sample(["skin", "fixed", "pulls", "thick"], chance.randint(1, 2)):
            if name == "pulls":
                asked[name] = chance.random() < 0.5
            elif name == "thick":
                asked[name] = {
                    chance.choice(["at_least", "above", "at_most", "below"]): chance.choice(["1 mm", "3 mm"])
                }
            else:
                asked[name] = chance.sample(CHOICES[name], chance.randint(1, len(CHOICES[name]) - 1))
        return asked

    source["limits"], source["preparations"], source["cautions"], source["examples"] = {}, {}, {}, []
    source["impossible"] = [{"id": "never", "when": when(sure=False), **because}]
    source["rules"] = [
        {"id": f"r-{n}", "grade": chance.choice(GRADES), "when": when(sure=chance.random() < 0.8), **because,
         "confidence": "published"}
        for n in range(7)
    ]  # fmt: skip
    return read(source)


def every_part(grader: Grader) -> list[dict[str, Any]]:
    """Each part that can be told from others, with everything known of it, that can be."""
    axes = grader.index.axes
    cells = [THINGS[:4] if name == "thing" else axis.cells for name, axis in axes.items()]
    parts = [dict(zip(axes, values, strict=True)) for values in itertools.product(*cells)]
    return [part for part in parts if not grader.read(part).certain & grader.index.impossible_bits]


def cells_of(grader: Grader, condition: Condition) -> set[Any]:
    """The values that meet a condition."""
    return {cell for cell in grader.index.axes[condition.attribute].cells if condition.holds(cell)}


def model(book: Rulebook, grader: Grader) -> set[tuple[str, str]]:
    """Grade and rule, wherever some part shows that the rule makes another grade of what were this one."""
    ends = [(part, grader.grade(part)) for part in every_part(grader)]
    asked = [{c.attribute: cells_of(grader, c) for c in rule.when} for rule in book.rules]
    found = set()
    for own, mine in enumerate(asked):
        for number, theirs in enumerate(asked):
            if (
                book.rules[own].grade == book.rules[number].grade
                or "thing" not in mine.keys() & theirs.keys()
            ):
                continue
            apart = [name for name in mine.keys() & theirs.keys() if not mine[name] & theirs[name]]
            less = [n for n in theirs if n != "thing" and not (n in mine and mine[n] <= theirs[n])]
            misses = 1 if apart or number > own else 0
            if misses == 0 and not less:
                continue
            for part, end in ends:
                if isinstance(end, Graded) and end.rule.id == book.rules[number].id:
                    missed = [name for name, cells in mine.items() if part[name] not in cells]
                    fits = len(missed) == misses and "thing" not in missed
                    if fits and len(apart) <= 1 and (not apart or missed == apart):
                        found.add((book.rules[own].grade, book.rules[number].id))
    return found


@pytest.mark.parametrize("seed", range(60))
def test_every_difference_and_no_other_is_told(seed: int) -> None:
    """Of random rulebooks exactly those rules are told that some part shows, over all parts that can be."""
    book = some_rulebook(random.Random(seed))
    grader = Grader(book)
    others = Others(book, grader.index)
    told = {(grade, other.rule.id) for grade in GRADES for other in others.of(grade)}
    assert told == model(book, grader)


@pytest.mark.parametrize("seed", range(20))
def test_what_is_told_decides_for_some_part(seed: int) -> None:
    """Some part meets each difference that is told, and ends at the rule that is named beside it."""
    book = some_rulebook(random.Random(seed))
    grader = Grader(book)
    others = Others(book, grader.index)
    ends = [(part, grader.grade(part)) for part in every_part(grader)]
    for grade in GRADES:
        for other in others.of(grade):
            assert any(
                isinstance(end, Graded)
                and end.rule == other.rule
                and all(condition.holds(part[condition.attribute]) for condition in other.when)
                for part, end in ends
            )


def told_of(grade: str) -> list[str]:
    """What makes a part of a grade of the newest version another, in words."""
    book = read_yaml(NEWEST)
    return [
        f"{other.rule.grade}: "
        + "; ".join(
            f"{phrase.name} {' '.join(piece.text for piece in phrase.pieces)}"
            for phrase in phrases(other.when, book.attributes)
        )
        for other in Others(book, Grader(book).index).of(grade)
    ]


def test_what_marks_extrusion_down() -> None:
    """Iron, plastic, oil and paint are told of bare extrusion, with the grades that they make of it."""
    told = told_of("aluminium-extrusion")
    assert "aluminium-breakage: attached iron, plastic or other" in told
    assert "aluminium-extrusion-painted: surface painted, anodised, plated or enamelled" in told
    assert "aluminium-breakage: attached oil; oil share above 1 %" in told


def test_what_is_too_thin_for_heavy_steel() -> None:
    """A thickness between two limits is told as both, and what is a laptop is not told to be no phone."""
    assert "steel-heavy-no2: thickness at least 3.175 mm and below 6.35 mm" in told_of("steel-heavy")
    assert told_of("laptops") == []
