"""The prover on small rulebooks, held against every part that they can tell from another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest
from tests.checks.proofs import books, faults, swept
from tests.checks.proofs.brute import Grid
from tests.checks.proofs.sweep import Sweep
from tests.checks.shipped import versions
from tests.core.rulebooks import attribute, rulebook

from gradewright.core.observations import Kind
from gradewright.core.rulebook import Bound, Condition, Example, LargestFirst, Preparation, Rulebook, ToldOf
from gradewright.rulebooks.proof import prove

# One assembly, one metal, two metals: what the newest version says of these, as far as can be tried.
CUTS = (
    ("assembly", ("motor",)),
    ("assembly", ("lamp-ballast",)),
    ("metal", ("lead",)),
    ("metal", ("zinc", "brass")),
)


def hold(book: Rulebook) -> faults.Faults:
    """Everything that the prover tells of a rulebook is what the grid shows, and nothing is missing."""
    grid, proof = Grid(book), prove(book)
    counted = faults.counted(grid)
    assert faults.told(book, proof) == counted
    assert proof.sound == (not counted)
    faults.hold_holes(grid, proof)
    faults.hold_dead(grid, proof)
    faults.hold_nowhere(grid, proof)
    faults.hold_order(grid, proof)
    return counted


@pytest.mark.parametrize("seed", range(16))
def test_whatever_the_rulebook_the_prover_tells_what_trying_every_part_shows(seed: int) -> None:
    """Rulebooks as chance makes them: the same faults, the same pairs, the same smallest sizes."""
    hold(books.as_it_comes(Random(seed)))


@pytest.mark.parametrize("seed", [*range(12), 167])
def test_of_measures_in_their_order_the_prover_tells_what_trying_every_part_shows(seed: int) -> None:
    """Rulebooks of sides of which none is longer than the one before it: told as such parts show it."""
    book = books.of_sides(Random(seed))
    assert book.largest_first
    hold(book)


@pytest.mark.parametrize("seed", range(12))
def test_of_what_can_be_told_of_some_things_only_the_prover_tells_what_trying_every_part_shows(
    seed: int,
) -> None:
    """Rulebooks of attributes that are told of some things only: told as such parts show it."""
    hold(books.told_of_some(Random(seed)))


def test_what_cannot_be_told_of_all_that_is_left_is_named_as_that() -> None:
    """A mark is told of cable, and what is heavy is none: by two entries, of which no one says it alone."""
    sort = attribute("sort", Kind.CHOICE, ("cable", "bar"))
    asked = [sort, attribute("heavy", Kind.YES_NO), attribute("mark", Kind.YES_NO)]
    heavy_cable = (Condition("sort", ("cable",)), Condition("heavy", (True,)))
    book = replace(
        rulebook(asked, [((Condition("sort", (each,)),), each) for each in sort.choices], [heavy_cable]),
        told_of=(ToldOf("told", ("mark",), (heavy_cable[:1],), "-", "-"),),
        examples=(Example({"heavy": True, "mark": True}, contradiction="told"),),
    )
    assert not hold(book)
    assert not swept.counted(Sweep(book))


def test_measures_that_no_clause_parts_are_out_of_order_where_both_are_told() -> None:
    """Between the same two cut points: an example says so rightly, and work that leaves them goes nowhere."""
    told = {"long": Decimal("0.4"), "wide": Decimal(1)}
    line = Bound(Decimal("6.35"), "-")
    rules = [((Condition("long", below=line),), "thin"), ((Condition("long", at_least=line),), "heavy")]
    book = replace(
        rulebook([attribute(name, Kind.LENGTH) for name in told], rules),
        largest_first=(LargestFirst("order", tuple(told), "-", "-"),),
        preparations={"p": Preparation("p", "-", rules[0][0], told, Decimal(1), "piece", "-")},
        examples=(Example(told, contradiction="order"), Example(told, grade="thin")),
    )
    counted = hold(book)
    assert (counted.wrong, counted.nowhere) == ({1}, {"p"})
    assert swept.counted(Sweep(book)) == counted


@pytest.mark.parametrize("seed", range(10))
def test_nothing_is_found_in_a_rulebook_that_is_a_tree_of_questions(seed: int) -> None:
    """Rules that share all parts out between them are sound, and so the prover says."""
    assert not hold(books.sound(Random(seed)))


@pytest.mark.parametrize(
    ("name", "kept"), CUTS, ids=lambda each: each if isinstance(each, str) else "-".join(each)
)
def test_what_the_shipped_rulebook_says_of_some_parts(name: str, kept: tuple[str, ...]) -> None:
    """Cut out of the shipped rulebook, with what that leaves open: told as trying every part shows it."""
    hold(books.cut_out(versions()[-1], name, kept))


@pytest.mark.parametrize("drawn", [books.as_it_comes, books.of_sides, books.told_of_some])
@pytest.mark.parametrize("seed", range(12))
def test_the_sweep_counts_what_the_grid_does(seed: int, drawn: Callable[[Random], Rulebook]) -> None:
    """What is counted of large rulebooks is, of small ones, what looking at every single part shows."""
    book = drawn(Random(seed))
    grid, sweep = Grid(book), Sweep(book)
    assert swept.counted(sweep) == faults.counted(grid)
    assert set(sweep.overlaps()) == faults.pairs(grid)


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(12, 212))
def test_two_hundred_rulebooks_of_measures_in_their_order(seed: int) -> None:
    """The same of two hundred rulebooks of sides drawn with fixed seeds."""
    hold(books.of_sides(Random(seed)))


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(16, 1016))
def test_a_thousand_rulebooks_as_they_come(seed: int) -> None:
    """The same of a thousand rulebooks drawn with fixed seeds."""
    hold(books.as_it_comes(Random(seed)))
