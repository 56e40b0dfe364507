"""Records far off all others: who waits, and for whom."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from gradewright.core.composition import Piece, Record
from gradewright.core.unusual import OTHERS, Judging, hardly_named


def device(voice: str, whole: str = "70", order: int = 1, **parts: str) -> Record:
    """A device in kilograms, of iron and copper unless said otherwise."""
    pieces = tuple(
        Piece(name, Decimal(grams) * 1000) for name, grams in (parts or {"iron": "50", "copper": "5"}).items()
    )
    return Record(f"{voice}-{order}", voice, (order, 1), pieces, Decimal(whole) * 1000)


ALIKE = [device(voice, whole) for voice, whole in zip("abcd", ("66", "70", "75", "82"), strict=True)]


@pytest.mark.parametrize(
    ("far", "what"),
    [
        (device("z", "4000"), {"weight", "named", "iron"}),
        (device("z", "20", iron="15", copper="1.4"), {"weight"}),
        (device("z", iron="20", copper="40"), {"iron", "copper"}),
        (device("z", iron="5", copper="4"), {"named", "iron"}),
        (device("z", iron="34", copper="4", lead="28"), {"lead"}),
    ],
)
def test_what_is_far_off(far: Record, what: set[str]) -> None:
    """A whole of another size, parts that are hardly anything of it, and other parts than others found."""
    judging = Judging([*ALIKE, far])
    assert {one.what for one in judging.odd(far)} == what
    assert judging.waiting() == {far.name}


def test_too_few_others_judge_nobody() -> None:
    """With fewer than three others nothing is far off; with three it is, whoever recorded how often."""
    far = device("z", "4000")
    few = [*ALIKE[: OTHERS - 1], device("a", "68", order=2), device("a", "71", order=3)]
    assert Judging([*few, far]).waiting() == frozenset()
    assert Judging([*few, ALIKE[OTHERS - 1], far]).waiting() == {far.name}


def test_a_second_person_who_found_the_like_lets_both_count() -> None:
    """Nobody agrees with himself; somebody else does, and not by another weight."""
    far, again = device("z", "4000"), device("z", "4000", order=2)
    assert Judging([*ALIKE, far, again]).waiting() == {far.name, again.name}
    assert Judging([*ALIKE, far, device("y", "3500")]).waiting() == frozenset()
    assert len(Judging([*ALIKE, far, device("y", "400")]).waiting()) == 2


def test_devices_of_a_kind_may_differ() -> None:
    """What lies about others as devices do is nothing unusual, nor are figures that were not told."""
    lighter = device("y", "52", iron="36", copper="4")
    untold = Record("x-1", "x", (1, 1), (Piece("iron", Decimal(10)),))
    assert Judging([*ALIKE, lighter, untold]).waiting() == frozenset()
    published = Record("p", "p", (1, 1), (Piece("iron", Decimal(1)),), Decimal(9), published=True)
    assert Judging([*ALIKE, published]).waiting() == frozenset()


def test_hardly_anything_named() -> None:
    """The share that was named, where it is below a third."""
    assert hardly_named(device("a", "4000")) == Fraction(55, 4000)
    assert hardly_named(device("a")) is None
