"""Faults planted in copies of small rulebooks and of the shipped one: all are found, and no others.

Some of each kind are planted with every run of the tests; all of them, with the table of FIGURES.md, by

    pytest tests/checks/proofs -m campaign -s
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
from tests.checks.proofs.faults import read
from tests.checks.proofs.mutations import MUTATIONS, planted
from tests.checks.shipped import versions

from gradewright.core.decision import DecisionIndex
from gradewright.core.grading import Grader, Ungraded
from gradewright.core.rulebook import Rulebook, When
from gradewright.rulebooks.check import check
from gradewright.rulebooks.proof import found, prove
from gradewright.rulebooks.reach import Search

CUTS = (
    ("assembly", ("motor",)),
    ("assembly", ("lamp-ballast",)),
    ("metal", ("lead",)),
    ("metal", ("zinc", "brass")),
    ("metal", ("stainless",)),
    ("metal", ("copper",)),
    ("metal", ("tin", "zinc")),
)
SMALL_PLANTED, SHIPPED_PLANTED = 60, 3


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
    judged = Counter(judge(book) for book in in_small_books(kind, SMALL_PLANTED))
    print(f"| small | {kind} | {judged.total()} | {judged[True]} | {judged[True]} | {judged[False]} |")
    assert judged.total() == SMALL_PLANTED
    assert judged[True]


@cache
def known() -> frozenset[tuple[str, str]]:
    """What the prover tells of the shipped rulebook as it is."""
    return frozenset((finding.kind, finding.says) for finding in found(versions()[-1])[0])


def judge_shipped(book: Rulebook) -> tuple[bool, bool]:
    """Whether the index's exact search finds more wrong than before, and whether the prover does.

    Rules and clauses are judged by the search, parts without an answer by grading the part that is shown.
    """
    search = Search(DecisionIndex(book, [when for _, when in _others(book)]))
    told, _ = found(book)
    dead = {n for n, _ in enumerate(book.rules) if not _decides(search, book, n)}
    assert {f.at[1] for f in told if f.kind == "never-decides"} == dead
    unmet = {at for at, when in _others(book) if not search.some_part(when, search.index.impossible_bits)}
    whole = {f.at[:-1] for f in told if f.kind == "never-holds" and " and meet the rest" not in f.says}
    whole |= {f.at[:-1] for f in told if f.kind == "never-holds" and f.at[:-1] in unmet}
    assert {at for at in whole if at[0] in ("preparations", "cautions")} == unmet
    grader = Grader(book)
    for finding in told:
        if finding.kind == "no-answer":
            assert isinstance(grader.grade(read(book, finding.part or {})), Ungraded)
    wrong = [fault for fault in check(book) if fault.at[:1] == ("examples",)]
    proved = {(f.kind, f.says) for f in told} | {("wrong", fault.detail) for fault in wrong}
    return bool(dead or unmet or wrong), bool(proved - known())


def _decides(search: Search, book: Rulebook, number: int) -> bool:
    earlier = ((1 << number) - 1) << search.index.first_rule
    return search.some_part(book.rules[number].when, search.index.impossible_bits | earlier)


def _others(book: Rulebook) -> Iterator[tuple[tuple[str | int, ...], When]]:
    for slug, work in book.preparations.items():
        yield ("preparations", slug, "when"), work.when
    for slug, caution in book.cautions.items():
        for key, whens in (("when", caution.when), ("unless", caution.unless)):
            for n, when in enumerate(whens):
                yield ("cautions", slug, key, n), when


@pytest.mark.campaign
@pytest.mark.parametrize("kind", MUTATIONS)
def test_faults_planted_in_the_shipped_rulebook(kind: str) -> None:
    """Whatever the exact search finds wrong in a spoilt copy the prover finds; both are counted."""
    book, judged = versions()[-1], []
    for seed in range(10 * SHIPPED_PLANTED):
        mutated = planted(book, kind, seed)
        if mutated is not None:
            judged.append(judge_shipped(mutated))
        if len(judged) == SHIPPED_PLANTED:
            break
    searched, proved = sum(s for s, _ in judged), sum(p for _, p in judged)
    print(f"| shipped | {kind} | {len(judged)} | {searched} | {proved} | {len(judged) - proved} |")
    assert all(by_proof for by_search, by_proof in judged if by_search)
