"""Faults planted in copies of small rulebooks: all are found, and no others.

Some of each kind are planted with every run of the tests; all of them, with rows of FIGURES.md, by

    pytest tests/checks/proofs/test_planted.py -m campaign -s
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import islice
from random import Random

import pytest
from tests.checks.proofs import books, faults
from tests.checks.proofs.brute import Grid
from tests.checks.proofs.mutations import MUTATIONS, planted
from tests.checks.shipped import versions

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
PLANTED = 60


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


def judge(book: Rulebook) -> bool:
    """Whether a rulebook is faulty, as the grid and the prover agree it is."""
    grid, proof = Grid(book), prove(book)
    counted = faults.counted(grid)
    assert faults.told(book, proof) == counted
    assert proof.sound == (not counted)
    faults.hold_holes(grid, proof)
    faults.hold_dead(grid, proof)
    return bool(counted)


def test_the_rulebooks_to_be_spoilt_are_sound() -> None:
    """What is planted is the only fault: without it the grid finds none."""
    assert len(small_books()) > len(CUTS)
    for book in small_books():
        assert not faults.counted(Grid(book))


@pytest.mark.parametrize("kind", MUTATIONS)
def test_some_faults_planted_in_small_rulebooks(kind: str) -> None:
    """What trying every part shows of a spoilt rulebook is what the prover tells, fault by fault."""
    judged = [judge(book) for book in in_small_books(kind, 20 if kind == "reordered rule" else 8)]
    assert any(judged)


@pytest.mark.campaign
@pytest.mark.parametrize("kind", MUTATIONS)
def test_faults_planted_in_small_rulebooks(kind: str) -> None:
    """The same of sixty of each kind, counted."""
    judged = Counter(judge(book) for book in in_small_books(kind, PLANTED))
    print(f"| small | {kind} | {judged.total()} | {judged[True]} | {judged[True]} | {judged[False]} |")
    assert judged.total() == PLANTED
    assert judged[True]
