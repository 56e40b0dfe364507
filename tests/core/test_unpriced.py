"""Why a grade has no price: what of it waits, for which lots, and what it is priced by."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from tests import samples

from gradewright.core.pricelist import Level, PriceList, tiers_of
from gradewright.core.rates import Rate
from gradewright.core.sightings import Entry, Sighting
from gradewright.core.spoken import Held
from gradewright.core.units import MASS_UNITS
from gradewright.core.unpriced import Waiting, waiting_of

DAY = date(2026, 5, 4)
BOOK = samples.rulebook()
POUND = MASS_UNITS["lb"].grams
FAR, DISPUTED = Held("far-off", Decimal(3), Decimal(0), Decimal(9), 3), Held("disputed")


def seen(line: int, yard: str, author: str, lb: int = 0, on: date = DAY) -> Sighting:
    """A price of a pound, for lots of so many."""
    written = f"{lb} lb" if lb else None
    return Sighting(line, 1, yard, author, on, "sign", Rate(Decimal(line), POUND), lb * POUND, written)


def level(
    held: dict[Entry, Held], posted: dict[str, list[Sighting]], code: str = "XO-KEL", name: str = "Kelder Bay"
) -> Level:
    """A region where that was posted, of which the held ones wait."""
    tiers = tiers_of(posted, DAY, BOOK.pricing, None, held)
    kind = "region" if code == "XO-KEL" else "parent"
    return Level(kind, code, name, tiers, {}, held, {}, waiting_of(posted, tiers, held))


def prices(*levels: Level) -> PriceList:
    return PriceList(BOOK, levels, on=DAY, currency="USD", unit=MASS_UNITS["lb"])


def test_each_authors_last_word_is_counted_once() -> None:
    """Of three prices of two authors at two yards two wait: the older one of the same author is no other."""
    posted = [
        seen(1, "low-quay", "wren", on=date(2026, 5, 1)),
        seen(2, "low-quay", "wren"),
        seen(3, "tern-row", "teal"),
    ]
    held = {(1, 1): DISPUTED, (2, 1): FAR, (3, 1): FAR}
    assert waiting_of({"screws": posted}, {}, held) == {"screws": Waiting(2, 2, True, False)}
    held |= {(2, 1): DISPUTED}
    assert waiting_of({"screws": posted}, {}, held) == {"screws": Waiting(2, 2, True, True)}
    assert waiting_of({"screws": posted}, {}, held | {(3, 1): DISPUTED}) == {
        "screws": Waiting(2, 2, False, True)
    }


def test_where_something_counts_nothing_waits_in_its_place() -> None:
    """A grade with a price for any lot is not told of, whatever else of it waits; nor one never posted."""
    posted = {"screws": [seen(1, "low-quay", "wren"), seen(2, "tern-row", "teal")]}
    found = level({(2, 1): FAR}, posted)
    assert found.waiting == {}
    assert level({}, {}).waiting == {}


def test_reasons_are_told_together() -> None:
    """Far off, disputed, or some of each: several lots of one yard are prices of one."""
    says = {
        (far, disputed): Waiting(2, 1, far, disputed).says("Tin", "Kelder Bay", None, None)
        for far, disputed in ((True, False), (False, True), (True, True))
    }
    assert "2 prices of 1 yard, each far from what others are paid. Ask" in says[True, False]
    assert "2 prices of 1 yard, each disputed by other members. Ask" in says[False, True]
    assert "each far from what others are paid or disputed by other members. Ask" in says[True, True]
    assert [("enough others post or confirm" in told) for told in says.values()] == [False, True, True]


def test_what_counts_for_larger_lots_is_told_with_it() -> None:
    """Light iron waits for small lots and has a price from 100 lb on: bring so much. A larger lot waits too,
    and is not in question; without those that wait it is posted for larger lots alone.
    """
    posted = [
        seen(1, "low-quay", "wren"),
        seen(2, "tern-row", "teal", 100),
        seen(3, "cinder-lane", "gull-1", 200),
    ]
    listed = prices(level({(1, 1): FAR, (3, 1): FAR}, {"light-iron": posted}))
    assert listed.price("light-iron") is None
    assert listed.why_unpriced("light-iron") == (
        "What was posted for Light iron in Kelder Bay for less than 100 lb waits and does not count yet: 1 "
        "price of 1 yard, far from what others are paid. Bring 100 lb or more, or ask a yard, and post what "
        "it pays: a price counts as soon as another member posts or confirms the like at its yard, or a "
        "maintainer accepts it."
    )
    before = "Light iron is posted only for lots of 100 lb or more. Bring more, or ask the yard."
    assert listed.why_unpriced("light-iron", waiting=False) == before
    assert prices(level({}, {"light-iron": posted[1:]})).why_unpriced("light-iron") == before


def test_the_nearest_place_where_it_waits_is_told() -> None:
    """What waits in the region is told before what waits above it; what nobody posted there, as of above."""
    above = level({(2, 1): FAR}, {"screws": [seen(2, "far-gate", "teal")]}, "XO", "Orvale")
    here = level({(1, 1): DISPUTED}, {"screws": [seen(1, "low-quay", "wren")]})
    told = "What was posted for Steel screws in {} waits and does not count yet: 1 price of 1 yard, {}"
    near = prices(here, above).why_unpriced("screws")
    assert near.startswith(told.format("Kelder Bay", "disputed by other members."))
    further = prices(level({}, {}), above).why_unpriced("screws")
    assert further.startswith(told.format("Orvale", "far from what others are paid."))


def test_it_waits_in_the_lists_currency_before_it_is_posted_in_another() -> None:
    """What waits where it can be paid is nearer than what would have to be converted."""
    here = level({(1, 1): FAR}, {"screws": [seen(1, "low-quay", "wren")]})
    both = prices(replace(here, elsewise={"screws": "EUR"}))
    assert both.why_unpriced("screws").startswith("What was posted for Steel screws in Kelder Bay waits")
    assert "Kelder Bay in EUR, and prices here are in USD" in both.why_unpriced("screws", waiting=False)


def test_what_it_is_priced_by_waits() -> None:
    """Residue is priced by No. 2, and that by No. 1: nobody posted it, and what No. 1 was posted at waits."""
    listed = prices(level({(1, 1): FAR}, {"copper-no1": [seen(1, "low-quay", "wren")]}))
    nobody = "Nobody has posted a price for Copper-bearing residue in Kelder Bay or above it since 2026-01-04"
    waits = (
        "What was posted for Copper No. 1 in Kelder Bay waits and does not count yet: 1 price of 1 yard, far"
    )
    said = listed.why_unpriced("copper-residue")
    assert said.startswith(f"{nobody}, and it would be priced by Copper No. 1. {waits}")
    before = f"{nobody}, nor for anything it is priced by. Ask a yard, and post what it pays."
    assert listed.why_unpriced("copper-residue", waiting=False) == before
    assert listed.waits("copper-no1")
    assert listed.waits("copper-residue")
    assert not listed.waits("screws")
