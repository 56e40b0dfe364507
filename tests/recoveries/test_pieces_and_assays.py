"""Pieces weighed in water, and lots with precious metal, over HTTP."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest

from gradewright.recoveries.schemas import RecoveryIn
from tests.api import World, problem_of, where
from tests.recoveries.asking import BOARDS, BRASS, PATH, recovered


def metals(found: Any) -> dict[str, list[str]]:
    """Each metal that is left, with the published materials that fit."""
    return {
        each["metal"]: [row["material"] for row in each["published"]] for each in found["density"]["metals"]
    }


async def test_a_piece_in_water(shop: World) -> None:
    """100 g that weigh 88.3 g in water: 8.51 to 8.53 g/cm3, brass as published, others not ruled out."""
    found = await recovered(shop, displacement=BRASS)
    density = found["density"]
    assert (density["low"], density["likely"], density["high"]) == (
        "8.514 g/cm3",
        "8.523 g/cm3",
        "8.532 g/cm3",
    )
    left = metals(found)
    assert left["brass"] == ["brass"]
    assert left["copper"] == left["nickel-silver"] == []
    assert "steel" not in left
    assert "brass" in density["says"]
    assert found["pins"]["rulebook"] == "2027.2"


async def test_never_one_metal_where_two_are_possible(shop: World) -> None:
    """A coarser scale leaves every metal that a finer one does, and more."""
    fine = metals(await recovered(shop, displacement=BRASS))
    coarse = metals(await recovered(shop, displacement={**BRASS, "scale": "1 g"}))
    assert set(fine) < set(coarse)
    assert {"brass", "copper", "steel"} <= set(coarse)


async def test_it_may_have_no_grade(shop: World) -> None:
    """Yellow turnings of that density are brass, or of a metal of which nobody buys any: both are told."""
    seen = {"form": "turnings", "colour_when_filed": "yellow"}
    found = (await recovered(shop, displacement={**BRASS, "observed": seen}))["grading"]
    assert [each["grade"] for each in found["candidates"]] == ["brass-turnings"]
    assert (found["outcome"], found["grade"], found["may_be_ungraded"]) == ("undecided", None, True)
    brass = {**seen, "metal": "brass"}
    known = (await recovered(shop, displacement={**BRASS, "observed": brass}))["grading"]
    assert (known["outcome"], known["may_be_ungraded"]) == ("graded", False)


async def test_the_grader_takes_the_density(shop: World) -> None:
    """With what else was seen the density grades: what is yellow and heavy enough is brass at any of it."""
    seen = {
        "form": "casting",
        "metal": "brass",
        "colour_when_filed": "yellow",
        "attached": "nothing",
        "surface": "bare",
    }
    found = await recovered(shop, displacement={**BRASS, "observed": seen}, region="XO-KEL")
    assert (found["grading"]["outcome"], found["grading"]["grade"]) == ("graded", "brass-yellow")
    none = await recovered(shop, displacement={**BRASS, "in_water": "85.00 g", "observed": seen})
    assert none["grading"]["outcome"] == "contradiction"
    assert metals(none) == {}
    assert "No metal of the rulebook" in none["density"]["says"]


async def test_a_metal_that_the_rulebook_has_no_word_for(shop: World) -> None:
    """At 19 g/cm3 gold and tungsten fit, and nothing that the rulebook has a word for is left."""
    found = await recovered(shop, displacement={"dry": "193.0 g", "in_water": "183.0 g"}, region="XO-KEL")
    assert metals(found) == {}
    assert [each["material"] for each in found["density"]["unlisted"]] == ["gold", "tungsten"]
    assert found["density"]["says"].endswith("Of what the rulebook has no word for: gold, tungsten.")
    assert (found["grading"]["outcome"], found["grading"]["candidates"]) == ("ungraded", [])
    told = {each["id"]: each["certain"] for each in found["cautions"]}
    assert told["no-acids"] is False
    assert "lead-dust" not in told


async def test_nickel_beside_copper(shop: World) -> None:
    """8.88 to 8.91 g/cm3 is copper as published, but nickel and cupronickel too, which are told beside it."""
    found = await recovered(shop, displacement={"dry": "1000.0 g", "in_water": "888.0 g", "water": "20"})
    assert metals(found)["copper"] == ["copper"]
    assert [each["material"] for each in found["density"]["unlisted"]] == ["nickel", "cupronickel"]


async def test_grades_of_metals_that_are_ruled_out(shop: World) -> None:
    """At 11.3 g/cm3 it is lead or mixed, no silver and no solder: none of their grades are left either."""
    found = await recovered(shop, displacement={"dry": "1135.0 g", "in_water": "1035.0 g", "water": "20"})
    assert metals(found) == {"lead": ["lead"], "mixed": []}
    left = {each["grade"] for each in found["grading"]["candidates"]}
    assert "lead-soft" in left
    assert not left & {"silver-articles", "silver-contacts", "solder", "tin-pewter"}


async def test_hollow_pieces_are_warned_of(shop: World) -> None:
    """Every density says that a hollow or porous piece comes out too light."""
    found = await recovered(shop, displacement={"dry": "250 g", "displaced": "28 ml"})
    assert any("hollow or porous" in note for note in found["notes"])


async def test_cautions_of_what_it_may_be(shop: World) -> None:
    """What may be lead or magnesium comes with their cautions, though nobody knows yet."""
    heavy = await recovered(shop, displacement={"dry": "113 g", "displaced": "10 ml"})
    light = await recovered(shop, displacement={"dry": "18.0 g", "displaced": "10.0 ml"})
    assert "lead-dust" in {each["id"] for each in heavy["cautions"]}
    assert "magnesium-fire" in {each["id"] for each in light["cautions"]}


async def test_precious_metal_has_two_ends_and_no_middle(shop: World) -> None:
    """Nothing of a lot's precious metal is one figure, and the answer calls itself an indication."""
    found = (await recovered(shop, assay=BOARDS))["precious"]
    assert found["says"].startswith("An indication, not an assay")
    assert set(found["amount"]) == set(found["metals"][0]["amount"]) == {"low", "high"}
    assert "likely" not in json.dumps(found)
    assert Decimal(found["amount"]["low"]) < Decimal(found["amount"]["high"])


TERMS: dict[str, str] = {"payable": "95 %", "refining": "10"}


ALL_OF, PAYS_LESS = "with all of", "a refiner pays less. Give the terms: "
SHARE, COSTS = "what share is payable or what is deducted", "what refining and treatment cost"


@pytest.mark.parametrize(
    ("gold", "silver", "lot", "says"),
    [
        (
            {},
            {},
            {},
            f"{ALL_OF} it counted as paid for, without charges: {PAYS_LESS}{SHARE}, and {COSTS}.",
        ),
        (
            {},
            {},
            {"charge": "5"},
            f"{ALL_OF} it counted as paid for, after the charges: {PAYS_LESS}{SHARE}.",
        ),
        (
            TERMS,
            {},
            {},
            f"{ALL_OF} the silver counted as paid for, after the charges: {PAYS_LESS}{SHARE}.",
        ),
        ({"payable": "95 %"}, {"deduction": "1 g/t"}, {}, f"without charges: {PAYS_LESS}{COSTS}."),
        (TERMS, {"deduction": "1 g/t"}, {}, "after the charges."),
        ({"payable": "100 %"}, {"payable": "100 %"}, {"treatment": "0"}, "after the charges."),
    ],
)
async def test_terms_that_were_not_given_are_told(
    shop: World, gold: dict[str, str], silver: dict[str, str], lot: dict[str, str], says: str
) -> None:
    """What counts as wholly paid for, or as free of charge, only because nobody said otherwise, is said."""
    ends = {"low": "200 g/t", "high": "300 g/t", "price": "2000"}
    metals = [{"metal": "gold", **ends, **gold}, {"metal": "silver", **ends, **silver}]
    assay = {"lot": "10 kg", "currency": "USD", "metals": metals, **lot}
    found = (await recovered(shop, assay=assay))["precious"]
    amount = found["amount"]
    between = f"Between {amount['low']} and {amount['high']} USD {says}"
    assert found["says"].endswith(between)
    then = await shop.services.recoveries.recover(RecoveryIn.model_validate({"assay": assay}).request(), "1")
    assert json.loads(then.body)["precious"]["says"].endswith("USD after the charges.")


async def test_what_fits_most_closely_is_told_first(shop: World) -> None:
    """Metals begin with the narrowest published density that fits, and grades with those of the fewest metals
    that do; the order says so.
    """
    found = await recovered(shop, displacement=BRASS)
    by_width = [
        min((_width(row) for row in each["published"]), default=None) for each in found["density"]["metals"]
    ]
    fitting = [width for width in by_width if width is not None]
    assert fitting
    assert by_width == sorted(fitting) + [None] * (len(by_width) - len(fitting))
    assert found["density"]["metals"][0]["metal"] == "brass"
    order = [each["grade"] for each in found["grading"]["candidates"]]
    # Brass alone, then what brass and bronze can be, then what any metal with iron on it can be, then copper.
    assert order[0] in {"brass-yellow", "brass-red", "brass-red-big", "brass-plated", "radiators-brass"}
    assert order.index("bronze") < order.index("brass-turnings") < order.index("light-iron")
    assert order.index("light-iron") < order.index("copper-no2")
    assert any("the narrowest first" in note for note in found["notes"])
    request = RecoveryIn.model_validate({"displacement": BRASS}).request()
    then = json.loads((await shop.services.recoveries.recover(request, "1")).body)
    now, before = ({each["grade"] for each in one["grading"]["candidates"]} for one in (found, then))
    assert now == before
    assert found["grading"]["candidates"] != then["grading"]["candidates"]


def _width(row: Any) -> Decimal:
    low, high = (Decimal(row[end].removesuffix(" g/cm3")) for end in ("low", "high"))
    return high - low


async def test_an_assay_by_hand(shop: World) -> None:
    """1 t of 200 to 300 g/t, 95 % paid at 2000 less 10 an ounce: 190 to 285 g at 1990 over 31.1034768."""
    metal = {
        "metal": "gold",
        "low": "200 g/t",
        "high": "300 ppm",
        "price": "2000",
        "payable": "95 %",
        "refining": "10",
    }
    lot = {"lot": "1 t", "scale": "0 kg", "currency": "USD", "metals": [metal]}
    found = (await recovered(shop, assay=lot))["precious"]
    ounce = Decimal("31.1034768")
    for end, grams in (("low", 190), ("high", 285)):
        assert Decimal(found["metals"][0]["paid_for_g"][end]) == grams
        assert Decimal(found["amount"][end]) == (grams * 1990 / ounce).quantize(Decimal("0.01"))


async def test_a_benchmark_gives_the_price(shop: World) -> None:
    """The newest value of a benchmark on the day is the price, in its currency, and is told with its day."""
    metal = {"metal": "gold", "low": "200 g/t", "high": "300 g/t", "benchmark": "gold"}
    found = await recovered(shop, assay={"lot": "10 kg", "metals": [metal]})
    assert found["currency"] == "USD"
    assert "2000 USD per ozt on 2027-04-30" in found["precious"]["metals"][0]["price"]
    assay = {"lot": "10 kg", "currency": "EUR", "metals": [metal]}
    problem = problem_of(await shop.send(PATH, {"assay": assay}), "currency-mismatch")
    assert where(problem) == ["#/assay/currency"]


async def test_published_contents_come_with_their_source(shop: World) -> None:
    """Where no assay is given publications are told; half the lowest to twice the highest figure."""
    gold = (await recovered(shop, assay=BOARDS))["precious"]["metals"][0]
    assert gold["content_g_per_t"] == {"low": "120", "high": "500"}
    assert "Oguchi" in gold["source"]
    assert "half of the lowest to twice the highest" in gold["source"]


async def test_charges_that_outweigh_the_metal(shop: World) -> None:
    """A small poor lot costs more than it holds, and is told to be sold as it is."""
    metal = {"metal": "gold", "low": "5 g/t", "high": "20 g/t", "price": "2000"}
    assay = {"lot": "2 kg", "currency": "USD", "metals": [metal], "charge": "150", "smallest_lot": "50 kg"}
    found = (await recovered(shop, assay=assay))["precious"]
    assert Decimal(found["amount"]["high"]) < 0
    assert found["too_small"] is True
    assert "sell it as it is" in found["says"]
    assert "lots of 50 kg or more" in found["says"]


async def test_acids_are_warned_of(shop: World, small: World) -> None:
    """Every assay warns of acids at home, also under a rulebook that has no words for that."""
    for place in (shop, small):
        cautions = {each["id"]: each["says"] for each in (await recovered(place, assay=BOARDS))["cautions"]}
        assert "licensed refiners" in cautions["no-acids"]


GOLD: dict[str, Any] = {"metal": "gold", "low": "1 g/t", "high": "2 g/t", "price": "2000"}


@pytest.mark.parametrize(
    ("assay", "pointers"),
    [
        ({"metals": [{**GOLD, "low": None, "high": None}]}, ["low"]),
        ({"metals": [{**GOLD, "metal": "platinum", "low": None, "high": None}], "like": "phones"}, ["low"]),
        ({"metals": [{**GOLD, "low": "3 g/t"}]}, ["low"]),
        ({"metals": [{**GOLD, "high": None}]}, ["high"]),
        ({"metals": [{**GOLD, "price": None}]}, ["price"]),
        ({"metals": [{**GOLD, "price": None, "benchmark": "golt"}]}, ["benchmark"]),
        ({"metals": [{**GOLD, "benchmark": "gold"}]}, ["price"]),
        (
            {"metals": [{**GOLD, "payable": "95", "deduction": "1", "per": "ton"}]},
            ["per", "payable", "deduction"],
        ),
    ],
)
async def test_metals_that_cannot_be_worked_out(
    shop: World, assay: dict[str, Any], pointers: list[str]
) -> None:
    """What is wanting or unreadable of a metal is told where it stands, all of it at once."""
    response = await shop.send(PATH, {"assay": {"lot": "1 kg", "currency": "USD", **assay}})
    problem = problem_of(response, "invalid-request")
    assert where(problem) == [f"#/assay/metals/0/{name}" for name in pointers]


async def test_a_lot_that_cannot_be(shop: World) -> None:
    """A lot without a currency, with a metal twice and units that mean several things: told together."""
    assay = {"lot": "1 ton", "metals": [GOLD, GOLD], "treatment_per": "cwt", "smallest_lot": "much"}
    problem = problem_of(await shop.send(PATH, {"assay": assay}), "invalid-request")
    assert where(problem) == [
        "#/assay/currency",
        "#/assay/lot",
        "#/assay/metals/1/metal",
        "#/assay/smallest_lot",
        "#/assay/treatment_per",
    ]


async def test_pieces_that_cannot_be(shop: World) -> None:
    """Weights that tell nothing and observations that nobody knows are told together."""
    piece = {
        "dry": "10 g",
        "in_water": "10 g",
        "water": "60",
        "observed": {"metals": "brass", "density": "8 g/cm3"},
    }
    problem = problem_of(await shop.send(PATH, {"displacement": piece}), "invalid-request")
    assert where(problem) == [
        "#/displacement/water",
        "#/displacement/observed/density",
        "#/displacement/observed/metals",
    ]
