"""Valuing a list: piles, prices by lot, rounding once a line, nothing silently worth nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from tests import samples

from gradewright.answers.pins import Pins, canonical
from gradewright.core.grading import Grader
from gradewright.core.house import NotTaken
from gradewright.core.methods import METHOD
from gradewright.core.money import Rounding
from gradewright.core.pricelist import Level, PriceList, tiers_of
from gradewright.core.rates import Rate
from gradewright.core.sightings import Sighting
from gradewright.core.units import MASS_UNITS, parse_mass
from gradewright.core.valuation import value
from gradewright.core.valued import Terms
from gradewright.core.worthwhile import Worthwhile
from gradewright.rulebooks.document import read
from gradewright.rulebooks.service import Version
from gradewright.valuations.amounts import cents_of
from gradewright.valuations.answer import Answers, Asked
from gradewright.valuations.lines import fields
from gradewright.valuations.parts import PartGiven, read_parts

DAY = date(2026, 5, 4)
BOOK = samples.rulebook()
VERSION = Version(BOOK, Grader(BOOK), "")
ANSWERS = Answers()
ASKED = Asked("XO-KEL", None, DAY)
YARDS = ("low-quay", "cinder-lane", "tern-row")


def prices(
    nearest: Mapping[str, Any], parent: Mapping[str, Any] | None = None, refused: frozenset[str] = frozenset()
) -> PriceList:
    """Prices in dollars a pound by grade, or {from-weight: price}; the same at all three yards."""
    levels = [level("region", "XO-KEL", "Kelder Bay", nearest)]
    if parent is not None:
        levels.append(level("parent", "XO", "Osmia", parent))
    not_taken = dict.fromkeys(refused, NotTaken("Kelder Bay", is_yard=True, since=DAY))
    return PriceList(BOOK, levels, on=DAY, currency="USD", unit=MASS_UNITS["lb"], refused=not_taken)


def level(kind: str, code: str, name: str, posted: Mapping[str, Any]) -> Level:
    seen: dict[str, list[Sighting]] = {}
    for grade, tiers in posted.items():
        for written, price in (tiers if isinstance(tiers, dict) else {None: tiers}).items():
            grams = parse_mass(written).grams if written else Decimal(0)
            for yard in YARDS:
                rate = Rate(Decimal(price), MASS_UNITS["lb"].grams)
                line = sum(map(len, seen.values())) + 1
                sighting = Sighting(
                    1, line, yard, "wren", DAY - timedelta(days=2), "sign", rate, grams, written
                )
                seen.setdefault(grade, []).append(sighting)
    return Level(kind, code, name, tiers_of(seen, DAY, BOOK.pricing))


def part(
    name: str,
    weight: str,
    observed: Mapping[str, Any] | None = None,
    grade: str | None = None,
    count: int = 1,
) -> PartGiven:
    return PartGiven(name, count, weight, None, observed, grade)


def valued(*parts: PartGiven, by: PriceList, terms: Terms | None = None) -> Any:
    """The answer as a client reads it; members are attributes."""
    read, weights = read_parts(parts, VERSION)
    valuation = value(read, VERSION.grader, by, terms or Terms())
    answer = ANSWERS.encode(ASKED, valuation, weights, VERSION.grader, Pins(BOOK.version, 1, METHOD))
    return json.loads(answer.body, object_hook=lambda members: SimpleNamespace(**members))


def test_a_graded_part_is_priced_with_its_reason() -> None:
    """Grade, rule, price and amount stand together in the answer."""
    line = valued(
        part("bracket", "10 lb", {"metal": "steel", "thickness": "8 mm"}), by=prices({"steel-heavy": "0.11"})
    ).parts[0]
    assert (line.outcome, line.grade, line.rule, line.because) == (
        "graded",
        "steel-heavy",
        "thick-steel",
        "Thick enough.",
    )
    assert line.amount is not None
    assert line.amount.likely == "1.10"
    assert line.price is not None
    assert (line.price.likely, line.price.per) == ("0.11", "lb")
    assert line.price.basis.says == "3 yards in Kelder Bay, newest 2 days old"


def test_a_part_without_a_price_leaves_the_total_incomplete() -> None:
    """No price is not a price of nothing: the line says why, the total says that it is incomplete."""
    answer = valued(
        part("pipe", "1 lb", grade="copper-no1"),
        part("rail", "9 lb", grade="steel-heavy"),
        by=prices({"copper-no1": "3.00"}),
    )
    assert not answer.complete
    assert answer.totals.likely == "3.00"
    assert (answer.totals.priced, answer.totals.unpriced) == (1, 1)
    assert answer.parts[1].amount is None
    assert answer.parts[1].unpriced is not None
    assert "Nobody has posted a price for Heavy steel in Kelder Bay" in answer.parts[1].unpriced
    assert answer.missing == [f"rail: {answer.parts[1].unpriced}"]


def test_the_parent_region_stands_in_and_is_named() -> None:
    """Where the region has no price, the next region above gives one and the basis says so."""
    line = valued(part("rail", "1 lb", grade="steel-heavy"), by=prices({}, {"steel-heavy": "0.09"})).parts[0]
    assert line.price is not None
    assert (line.price.basis.kind, line.price.basis.place) == ("parent", "XO")
    assert line.price.basis.says == "none nearer; 3 yards in Osmia, newest 2 days old"


def test_kin_stand_in_times_their_factor() -> None:
    """A grade without a price takes its kin's times the factor, through as many kin as it needs."""
    line = valued(part("lump", "1 lb", grade="copper-residue"), by=prices({"copper-no1": "4.00"})).parts[0]
    assert line.price is not None
    assert Decimal(line.price.likely) == Decimal("4.00") * Decimal("0.9") * Decimal("0.5")
    assert (line.price.basis.kind, line.price.basis.kin) == (
        "kin",
        SimpleNamespace(grade="copper-no1", factor="0.45"),
    )


def test_the_region_above_comes_before_kin() -> None:
    """A price for the grade itself, one region up, is better than a neighbour's price for its kin."""
    line = valued(
        part("lump", "1 lb", grade="copper-no2"), by=prices({"copper-no1": "4.00"}, {"copper-no2": "3.00"})
    ).parts[0]
    assert line.price is not None
    assert (line.price.likely, line.price.basis.kind) == ("3.00", "parent")


def test_the_pile_decides_on_the_better_price() -> None:
    """Two lots of 60 lb make a pile of 120 lb, which reaches the price for 100 lb or more."""
    by = prices({"copper-no1": {None: "3.00", "100 lb": "3.20"}})
    alone = valued(part("a", "60 lb", grade="copper-no1"), by=by)
    both = valued(part("a", "60 lb", grade="copper-no1"), part("b", "60 lb", grade="copper-no1"), by=by)
    assert alone.totals.likely == "180.00"
    assert both.totals.likely == "384.00"
    assert both.parts[0].price is not None
    assert both.parts[0].price.from_weight == "100 lb"
    assert [(pile.grade, pile.lines, pile.amount and pile.amount.likely) for pile in both.piles] == [
        ("copper-no1", 2, "384.00")
    ]


def test_only_for_larger_lots_is_said() -> None:
    """A grade that is posted for large lots only says from which weight on."""
    line = valued(
        part("a", "60 lb", grade="copper-no1"), by=prices({"copper-no1": {"100 lb": "3.20"}})
    ).parts[0]
    assert (
        line.unpriced
        == "Copper No. 1 is posted only for lots of 100 lb or more. Bring more, or ask the yard."
    )


def test_a_yard_that_refuses_a_grade_does_not_price_it() -> None:
    """What a yard does not take has no price there, although the region has one."""
    by = prices({"copper-no1": "3.00"}, refused=frozenset({"copper-no1"}))
    line = valued(part("a", "1 lb", grade="copper-no1"), by=by).parts[0]
    assert line.amount is None
    assert line.unpriced == "Kelder Bay does not take Copper No. 1. Try another yard, or the whole region."


def test_too_little_known_names_candidates_amounts_and_the_next_test() -> None:
    """An undecided part has an amount for each candidate, no amount of its own, and a test to make."""
    line = valued(part("cup", "2 lb", {"metal": "copper"}), by=prices({"copper-no1": "4.00"})).parts[0]
    assert line.outcome == "undecided"
    assert [(c.grade, c.amount and c.amount.likely) for c in line.candidates] == [
        ("copper-residue", "3.60"),
        ("copper-no1", "8.00"),
    ]
    assert line.amount is None
    assert line.next_test is not None
    assert line.next_test.attribute == "steel_screws"


def test_a_contradiction_is_told_and_not_priced() -> None:
    """Copper that sticks to a magnet is told as what it probably is."""
    line = valued(
        part("cup", "2 lb", {"metal": "copper", "sticks_to_magnet": True}), by=prices({"copper-no1": "4.00"})
    ).parts[0]
    assert (line.outcome, line.grade, line.because) == ("contradiction", None, "Plated steel.")
    assert line.unpriced == "it cannot be as described. Plated steel."


def test_what_would_raise_it_counts_what_is_shed() -> None:
    """Backing the screws out turns 10 lb of residue into 9 lb of No. 1 and 1 lb of screws."""
    by = prices({"copper-no1": "4.00", "copper-residue": "1.50", "screws": "0.10"})
    line = valued(part("base", "10 lb", {"metal": "copper", "steel_screws": True}, count=2), by=by).parts[0]
    assert len(line.raises) == 1
    best = line.raises[0]
    # 9 x 4.00 + 1 x 0.10 - 10 x 1.50 = 21.10, in 2 x 3 minutes
    assert (best.preparation, best.grade, best.gain, best.minutes, best.per_hour) == (
        "back-out-screws", "copper-no1", "21.10", "6", "211.00",
    )  # fmt: skip
    assert best.cautions == ["sharp"]


def test_what_is_raised_joins_the_pile_of_its_new_grade() -> None:
    """9 lb of No. 1 out of the work reach the price for 15 lb, as 6 lb of it are in the list already."""
    by = prices({"copper-no1": {None: "4.00", "15 lb": "5.00"}, "copper-residue": "1.50", "screws": "0.10"})
    base = part("base", "10 lb", {"metal": "copper", "steel_screws": True})
    alone, beside = valued(base, by=by), valued(base, part("pipe", "6 lb", grade="copper-no1"), by=by)
    assert alone.parts[0].raises[0].gain == "21.10"
    assert beside.parts[0].raises[0].gain == "30.10"


def test_a_candidate_is_priced_for_the_pile_it_would_join() -> None:
    """Steel that may be heavy would join 6 lb of it: together they reach the price for 10 lb."""
    by = prices({"steel-heavy": {None: "0.10", "10 lb": "0.20"}, "light-iron": "0.05"})
    vague = part("plate", "5 lb", {"metal": "steel"})
    for parts, likely in (((vague,), "0.50"), ((vague, part("rail", "6 lb", grade="steel-heavy")), "1.00")):
        candidates = {each.grade: each for each in valued(*parts, by=by).parts[0].candidates}
        assert candidates["steel-heavy"].amount.likely == likely


def test_the_best_work_by_the_hour_comes_first() -> None:
    """Of two ways to a better price the one that pays more an hour is first, though it adds less; each says
    what it is best at.
    """
    document = samples.document()
    work = document["preparations"]["back-out-screws"]
    slow = {**work, "minutes": 30, "sheds": {"grade": None, "share": "1 %"}}
    document["preparations"] = {"slow-but-thorough": slow, "back-out-screws": work}
    book = read(document)
    version = Version(book, Grader(book), "")
    given_parts, _ = read_parts([part("base", "10 lb", {"metal": "copper", "steel_screws": True})], version)
    by = prices({"copper-no1": "4.00", "copper-residue": "1.50", "screws": "0.10"})
    found = value(given_parts, version.grader, by, Terms()).lines[0].raises
    assert [step.id for raised in found for step in raised.preparations] == [
        "back-out-screws",
        "slow-but-thorough",
    ]
    assert found[0].gain < found[1].gain
    quick, thorough = found
    assert isinstance(quick, Worthwhile)
    assert isinstance(thorough, Worthwhile)
    assert (quick.best_by_the_hour, quick.best_in_all) == (True, False)
    assert (thorough.best_by_the_hour, thorough.best_in_all) == (False, True)


def test_cautions_of_proposed_work_are_told_with_the_list() -> None:
    """Work that is proposed brings its cautions into the list's own, though the part has none of them."""
    by = prices({"copper-no1": "4.00", "copper-residue": "1.50", "screws": "0.10"})
    answer = valued(part("base", "10 lb", {"metal": "copper", "steel_screws": True}), by=by)
    work = answer.parts[0].raises[0].cautions
    assert work == ["sharp"]
    assert "sharp" not in answer.parts[0].cautions
    assert "sharp" in [caution.id for caution in answer.cautions]


def test_work_that_pays_nothing_is_not_proposed() -> None:
    """A preparation that leads to a cheaper sale is left out."""
    by = prices({"copper-no1": "1.00", "copper-residue": "1.50"})
    assert (
        valued(part("base", "10 lb", {"metal": "copper", "steel_screws": True}), by=by).parts[0].raises == []
    )


def test_cautions_follow_the_part_and_its_grade() -> None:
    """A caution shows where its condition is known to hold, or by grade; a known exception takes it away."""
    by = prices({})
    thin, thick, unknown = (
        valued(part("sheet", "1 lb", {"metal": "steel", **more}), by=by)
        for more in ({"thickness": "1 mm"}, {"thickness": "20 mm"}, {})
    )
    assert [answer.parts[0].cautions for answer in (thin, thick, unknown)] == [["sharp"], [], ["sharp"]]
    named = valued(part("lump", "1 lb", grade="copper-residue"), by=by)
    assert named.parts[0].cautions == ["dust"]
    assert [caution.says for caution in named.cautions] == ["Wear a mask."]


def test_each_line_is_rounded_once_and_the_total_is_their_sum() -> None:
    """Three lines of 0.125 round to 0.12 each by half-even: 0.36, not 0.38 as 0.375 would."""
    third = [part(f"p{n}", "0.125 lb", grade="copper-no1") for n in range(3)]
    answer = valued(*third, by=prices({"copper-no1": "1.00"}))
    assert [line.amount and line.amount.likely for line in answer.parts] == ["0.12"] * 3
    assert answer.totals.likely == "0.36"
    up = valued(*third, by=prices({"copper-no1": "1.00"}), terms=Terms(Rounding.HALF_UP))
    assert up.totals.likely == "0.39"


def test_a_yard_that_pays_in_cash_steps_says_what_it_hands_over() -> None:
    """Cash is rounded once, on the total, and the total itself stays exact."""
    answer = valued(
        part("a", "1.01 lb", grade="copper-no1"), part("b", "1.02 lb", grade="copper-no1"),
        by=prices({"copper-no1": "1.00"}), terms=Terms(cash_increment=Decimal("0.05")),
    )  # fmt: skip
    assert (answer.totals.likely, answer.totals.cash) == ("2.03", "2.05")


WEIGHTS = st.integers(1, 10**6).map(lambda n: f"{Decimal(n).scaleb(-3)} lb")
CENTS = st.integers(-200, 900).map(lambda n: str(Decimal(n).scaleb(-2)))


@given(
    st.lists(st.tuples(WEIGHTS, st.sampled_from(sorted(BOOK.grades))), min_size=1, max_size=8),
    st.dictionaries(st.sampled_from(sorted(BOOK.grades)), CENTS),
)
def test_amounts_are_exact_products_rounded_once(
    lines: list[tuple[str, str]], posted: dict[str, str]
) -> None:
    """Whatever the prices, each amount is the exact product, rounded once, and totals are sums of lines."""
    answer = valued(
        *(part(f"p{n}", weight, grade=grade) for n, (weight, grade) in enumerate(lines)), by=prices(posted)
    )
    counted = 0
    for (weight, grade), line in zip(lines, answer.parts, strict=True):
        assert (line.amount is None) == (line.price is None) == (line.unpriced is not None)
        if grade in posted:
            assert line.amount is not None
            exact = Fraction(weight.removesuffix(" lb")) * Fraction(posted[grade])
            assert Fraction(line.amount.likely) * 100 == round(exact * 100)
        counted += round(Fraction(line.amount.likely) * 100) if line.amount is not None else 0
    assert round(Fraction(answer.totals.likely) * 100) == counted
    assert answer.complete == (answer.totals.unpriced == 0)


TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=20)


@given(TEXT, WEIGHTS, st.integers(1, 9))
def test_a_filled_in_form_is_canonical_json(name: str, weight: str, count: int) -> None:
    """Whatever the name and weight, a line from a form is what encoding the whole line anew would give."""
    by = prices({"copper-no1": "4.00", "copper-residue": "1.50", "screws": "0.10"})
    given_parts = [part(name, weight, {"metal": "copper", "steel_screws": True}, count=count)]
    read, weights = read_parts(given_parts, VERSION)
    valuation = value(read, VERSION.grader, by, Terms())
    answers = Answers()
    for _ in range(2):  # the first makes the form, the second fills it in
        body = answers.encode(ASKED, valuation, weights, VERSION.grader, Pins(BOOK.version, 1, METHOD)).body
        whole = json.loads(body)
        again = json.dumps(whole, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
        assert body == again.encode()
        plain = fields(valuation.lines[0], weights[0], VERSION.grader, cents_of("USD"), METHOD)
        assert whole["parts"][0] == json.loads(canonical(plain))
