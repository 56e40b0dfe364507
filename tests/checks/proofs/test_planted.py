"""Faults planted in copies of small rulebooks: all are found, and no others.

Some of each kind are planted with every run of the tests; all of them, with rows of FIGURES.md, by

    pytest tests/checks/proofs/test_planted.py -m campaign -s
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice
from random import Random

import pytest
from tests.checks.proofs import books, faults, swept
from tests.checks.proofs.brute import Grid, values_of
from tests.checks.proofs.mutations import MUTATIONS, planted
from tests.checks.proofs.sweep import Sweep, answers_otherwise
from tests.checks.shipped import versions
from tests.core.rulebooks import in_order

from gradewright.core.observations import Value
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.proof import prove

CUTS = (
    ("assembly", ("motor",)),
    ("assembly", ("lamp-ballast",)),
    ("metal", ("lead",)),
    ("metal", ("zinc", "brass")),
    ("metal", ("stainless",)),
    ("metal", ("copper",)),
    ("metal", ("tin", "zinc")),
)
PLANTED, MOST_PARTS = 60, 400


@cache
def small_books() -> tuple[Rulebook, ...]:
    """Sound small rulebooks: mended cut-outs of the shipped one, mended ones drawn at random, and trees."""
    drawn = [books.sound(Random(seed)) for seed in range(12)]
    cut = [books.mended(Random(0), books.cut_out(versions()[-1], *each, 4_000)) for each in CUTS]
    bare = (
        replace(books.as_it_comes(Random(n)), examples=(), preparations={}, cautions={}) for n in range(40)
    )
    ordered = (books.mended(Random(n), book) for n, book in enumerate(bare))
    able = (book for book in ordered if book is not None and len(book.rules) > 1)
    whole = islice((book for book in able if not faults.counted(Grid(book))), 12)
    return (*(book for book in cut if book is not None), *whole, *drawn)


def in_small_books(kind: str, count: int) -> Iterator[Rulebook]:
    """So many copies of small rulebooks, each with one fault of a kind."""
    made = 0
    for seed in range(100 * count):
        base = small_books()[seed % len(small_books())]
        mutated = planted(base, kind, seed)
        if mutated is not None:
            made += 1
            yield mutated
        if made == count:
            return


@dataclass(frozen=True)
class Judged:
    """What became of a copy: what is wrong with it, what the prover tells, and whether it calls it sound."""

    counted: faults.Faults
    told: faults.Faults
    sound: bool

    @property
    def faulty(self) -> bool:
        """By looking at every part."""
        return bool(self.counted)

    @property
    def rightly(self) -> bool:
        """Whether the prover tells each of its faults and no other."""
        return self.told == self.counted and self.sound != self.faulty


def judge(book: Rulebook) -> Judged:
    """What the grid counts and the prover tells of a rulebook; where they agree, parts shown are held."""
    grid, proof = Grid(book), prove(book)
    judged = Judged(faults.counted(grid), faults.told(book, proof), proof.sound)
    if judged.rightly:
        faults.hold_holes(grid, proof)
        faults.hold_dead(grid, proof)
        faults.hold_nowhere(grid, proof)
    return judged


def test_the_rulebooks_to_be_spoilt_are_sound() -> None:
    """What is planted is the only fault: without it the grid finds none."""
    assert len(small_books()) > len(CUTS)
    for book in small_books():
        assert not faults.counted(Grid(book))


@pytest.mark.parametrize("kind", MUTATIONS)
def test_some_faults_planted_in_small_rulebooks(kind: str) -> None:
    """What trying every part shows of a spoilt rulebook is what the prover tells, fault by fault."""
    judged = [judge(book) for book in in_small_books(kind, 20 if kind == "reordered rule" else 8)]
    assert [each for each in judged if not each.rightly] == []
    assert any(each.faulty for each in judged)


@pytest.mark.parametrize("kind", MUTATIONS)
def test_a_copy_answers_otherwise_where_some_part_shows_it(kind: str) -> None:
    """Whether a copy answers as the rulebook does that it was made of is what asking both of all shows."""
    drawn = (*small_books(), *(books.of_sides(Random(seed)) for seed in range(12)))
    few = [book for book in drawn if math.prod(map(len, values_of(book).values())) <= MOST_PARTS]
    copies = [(base, copy) for n, base in enumerate(few) if (copy := planted(base, kind, n)) is not None]
    assert copies
    for base, copy in (*copies[:6], *(each for each in copies[6:] if each[0].largest_first)):
        hold_otherwise(base, copy)


@pytest.mark.parametrize("seed", [212, 243, 446, 448])
def test_a_copy_with_another_order_of_its_measures_answers_otherwise_where_some_part_shows_it(
    seed: int,
) -> None:
    """An order that only one of the two has is not taken for one of both, and parts values for both."""
    base = books.of_sides(Random(seed))
    copy = planted(base, "measures in another order", seed)
    assert copy is not None
    hold_otherwise(base, copy)


def hold_otherwise(base: Rulebook, copy: Rulebook) -> None:
    """Whether a copy answers some part otherwise, and what is wrong with it, is as asking of each shows."""
    values = Sweep(base, beside=copy).values
    parts = (dict(zip(values, each, strict=True)) for each in itertools.product(*values.values()))
    otherwise = any(_answer(base, part) != _answer(copy, part) for part in parts)
    assert answers_otherwise(copy, base) == otherwise
    assert swept.counted(Sweep(copy)) == faults.counted(Grid(copy))


def _answer(book: Rulebook, part: Mapping[str, Value]) -> str:
    """What a part is answered, clause by clause."""
    if any(all(c.holds(part[c.attribute]) for c in entry.when) for entry in book.impossible):
        return "cannot be"
    if not in_order(book, part):
        return "cannot be"
    rules = (rule for rule in book.rules if all(c.holds(part[c.attribute]) for c in rule.when))
    return next((f"grade {rule.grade}" for rule in rules), "no grade")


@pytest.mark.campaign
@pytest.mark.parametrize("kind", MUTATIONS)
def test_faults_planted_in_small_rulebooks(kind: str) -> None:
    """The same of sixty of each kind, counted."""
    judged = [judge(book) for book in in_small_books(kind, PLANTED)]
    faulty = [each for each in judged if each.faulty]
    found = sum(each.rightly for each in faulty)
    print(f"| small | {kind} | {len(judged)} | {len(faulty)} | {found} | {len(judged) - len(faulty)} |")
    assert [each for each in judged if not each.rightly] == []
    assert len(judged) == PLANTED
    assert faulty
