"""What valuations by method 2 tell beyond method 1: sequences of work, and what is not worth asking."""

from __future__ import annotations

import json
from types import SimpleNamespace
from typing import Any

from tests import samples
from tests.valuations.test_valuing import ANSWERS, ASKED, part, prices

from gradewright.answers.pins import Pins, canonical
from gradewright.core.grading import Grader
from gradewright.core.methods import METHOD
from gradewright.core.pricelist import PriceList
from gradewright.core.valuation import value
from gradewright.core.valued import Terms
from gradewright.rulebooks.document import read
from gradewright.rulebooks.service import Version
from gradewright.valuations.parts import PartGiven, read_parts
from gradewright.valuations.schemas import ValuationOut

PRICES = {"copper-no1": "4.00", "copper-residue": "1.50", "screws": "0.10"}
FOAMY = {"metal": "copper", "steel_screws": True, "foreign_share": "60 %"}


def foamy(*, cautions: bool = True) -> Version:
    """The small rulebook, where foam alone makes residue too: only foam and screws off make No. 1."""
    document = samples.document(examples=[])
    work = document["preparations"]
    work["pick-foam-off"] = {
        "name": "Pick the foam off",
        "when": {"metal": "copper", "foreign_share": {"above": "50 %"}},
        "changes": {"foreign_share": "5 %"},
        "minutes": 2,
        "per": "kg",
        "sheds": {"grade": None, "share": "20 %"},
        "how": "By hand.",
        "cautions": ["dust"],
    }
    rule = document["rules"][0]
    foam = {"metal": "copper", "foreign_share": {"above": "50 %"}}
    document["rules"].insert(0, {**rule, "id": "foamy-copper", "when": foam})
    if not cautions:
        document["cautions"] = {}
        for preparation in work.values():
            preparation["cautions"] = []
    book = read(document)
    return Version(book, Grader(book), "")


def valued(*parts: PartGiven, version: Version, by: PriceList, method: str = METHOD) -> Any:
    """The answer as a client reads it; members are attributes."""
    given, weights = read_parts(parts, version)
    valuation = value(given, version.grader, by, Terms(), method)
    pins = Pins(version.rulebook.version, 1, method)
    body = ANSWERS.encode(ASKED, valuation, weights, version.grader, pins).body
    ValuationOut.model_validate_json(body)
    assert canonical(json.loads(body)) == body
    return json.loads(body, object_hook=lambda members: SimpleNamespace(**members))


def test_only_together_do_two_steps_pay() -> None:
    """Neither foam nor screws off alone raises it; both do, screws first, as less has to be picked then."""
    [line] = valued(part("base", "10 lb", FOAMY), version=foamy(), by=prices(PRICES)).parts
    [found] = line.raises
    assert [step.preparation for step in found.steps] == ["back-out-screws", "pick-foam-off"]
    assert found.name == "Back out the steel screws, then pick the foam off"
    assert (found.preparation, found.how, found.grade) == (None, None, "copper-no1")
    # 7.2 x 4.00 + 1 x 0.10 - 10 x 1.50, in 3 minutes and 2 x 0.9 x 4.5359237 more
    assert (found.gain, found.minutes, found.per_hour) == ("13.90", "11.16", "74.70")
    assert [step.minutes for step in found.steps] == ["3", "8.16"]
    assert [(each.grade, each.weight_kg, each.amount) for each in found.shed] == [
        ("screws", "0.453592", "0.10")
    ]
    assert (found.kept_kg, found.lost_kg) == ("3.265865", "0.816466")
    assert found.best == ["by the hour", "in all"]
    assert found.cautions == ["sharp", "dust"]


def test_method_1_told_single_preparations_only() -> None:
    """By method 1 the same part has no work that pays, as each preparation was looked at for itself."""
    answer = valued(part("base", "10 lb", FOAMY), version=foamy(), by=prices(PRICES), method="1")
    assert answer.parts[0].raises == []


def test_cautions_of_every_step_are_told_with_the_list() -> None:
    """The list's cautions have those of each step of the work that is proposed."""
    answer = valued(part("base", "10 lb", FOAMY), version=foamy(), by=prices(PRICES))
    assert {"sharp", "dust"} <= {caution.id for caution in answer.cautions}


def test_work_towards_what_is_not_taken_is_not_proposed() -> None:
    """Where the place refuses the better grade, nothing leads to it."""
    by = prices(PRICES, refused=frozenset({"copper-no1"}))
    assert valued(part("base", "10 lb", FOAMY), version=foamy(), by=by).parts[0].raises == []


def test_what_is_taken_off_without_a_price_is_told_and_adds_nothing() -> None:
    """Screws that nobody pays for are a pile without an amount: the gain lacks them."""
    by = prices({"copper-no1": "4.00", "copper-residue": "1.50"})
    [found] = valued(part("base", "10 lb", FOAMY), version=foamy(), by=by).parts[0].raises
    assert (found.gain, found.shed[0].amount) == ("13.80", None)


def test_the_part_leaves_the_pile_that_it_was_in() -> None:
    """What is shed into the part's own grade does not count the part itself towards a weight."""
    document = samples.document(examples=[])
    document["preparations"]["back-out-screws"]["sheds"] = {"grade": "copper-residue", "share": "10 %"}
    book = read(document)
    by = prices({"copper-no1": "4.00", "copper-residue": {None: "0.50", "10 lb": "1.50"}})
    base = part("base", "10 lb", {"metal": "copper", "steel_screws": True})
    [found] = valued(base, version=Version(book, Grader(book), ""), by=by).parts[0].raises
    # 9 x 4.00 + 1 x 0.50 - 10 x 1.50
    assert (found.gain, found.shed[0].amount) == ("21.50", "0.50")


def test_where_prices_are_alike_asking_on_is_not_worth_it() -> None:
    """Steel that pays nearly the same thick or thin is not measured: the line says so, and how near."""
    by = prices({"steel-heavy": "0.100", "light-iron": "0.098"})
    [line] = valued(part("sheet", "5 lb", {"metal": "steel"}), version=foamy(cautions=False), by=by).parts
    assert (line.outcome, line.next_test, line.amount) == ("undecided", None, None)
    assert vars(line.not_worth) == {
        "cheapest": "light-iron", "dearest": "steel-heavy", "share": "2 %", "within": "5 %",
    }  # fmt: skip
    assert line.unpriced == (
        "too little is known to choose between 2 grades. Finding out which is not worth it, as all of them "
        "pay nearly the same: name one of them."
    )


def test_where_prices_are_alike_a_danger_is_asked_for_all_the_same() -> None:
    """Whether the edges are sharp depends on the thickness: that is asked for, and the caution is named."""
    by = prices({"steel-heavy": "0.100", "light-iron": "0.098"})
    [line] = valued(part("sheet", "5 lb", {"metal": "steel"}), version=foamy(), by=by).parts
    assert (line.next_test.attribute, line.in_doubt) == ("thickness", ["sharp"])
    assert "but a danger depends on it (Sharp edges). Next: How thick?" in line.unpriced
    assert not hasattr(line, "not_worth")


def test_method_1_asks_on_where_prices_are_alike() -> None:
    """By method 1 the thickness is asked for, and nothing is said of whether that is worth it."""
    by = prices({"steel-heavy": "0.100", "light-iron": "0.098"})
    sheet = part("sheet", "5 lb", {"metal": "steel"})
    [line] = valued(sheet, version=foamy(cautions=False), by=by, method="1").parts
    assert line.next_test.attribute == "thickness"
    assert not hasattr(line, "not_worth")
    assert not hasattr(line, "in_doubt")
