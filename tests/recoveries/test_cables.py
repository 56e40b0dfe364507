"""Cables over HTTP: share, bands, and whether stripping pays at a place's prices."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from tests.api import World, problem_of, small_rulebook, where
from tests.recoveries.asking import CABLE, CORD, PATH, SAMPLE, STRIP, recovered


async def test_a_cable_by_its_build(shop: World) -> None:
    """3 x 16 AWG at 38 lb for 1000 ft: the share as an observation, rounded outwards, and its one band."""
    found = await recovered(shop, cable=CABLE)
    copper = found["copper"]
    assert (copper["low"], copper["likely"], copper["high"]) == ("60.11 %", "62.34 %", "65.26 %")
    assert copper["attribute"] == "copper_share"
    assert (found["grading"]["outcome"], found["grading"]["grade"]) == ("graded", "wire-60")
    assert found["grading"]["bands"] == [{"from": "60.11 %", "to": "65.26 %", "grade": "wire-60"}]
    assert (found["kind"], found["region"], found["stripping"], found["density"]) == (
        "cable",
        None,
        None,
        None,
    )


async def test_a_weight_by_the_kilometre_is_read_as_tables_print_it(shop: World) -> None:
    """So many kilograms a kilometre: the same as of a thousand metres."""
    by_km, by_m = [
        await recovered(shop, cable={**CABLE, "weight": "56.6 kg", "length": length})
        for length in ("1 km", "1000 m")
    ]
    assert by_km["copper"] == by_m["copper"]


async def test_the_copper_number_is_named_as_not_used(shop: World) -> None:
    """Which of the two figures is used is said, with what the other would have made of it."""
    found = await recovered(shop, cable=CABLE)
    number = Decimal(found["copper"]["by_copper_number"].removesuffix(" %"))
    assert number > Decimal(found["copper"]["high"].removesuffix(" %"))
    assert (
        f"8.89 kg/km for each mm2. The copper number of cable tables, 9.6, would make it {number} %"
        in (found["notes"][0])
    )


async def test_the_range_ends_at_the_copper_number(shop: World) -> None:
    """26 strands at their longest would be more than the copper number: the range ends there, and says so."""
    fine = {**CABLE, "conductors": [{"count": 3, "size": "16 AWG", "strands": 26}]}
    found = await recovered(shop, cable=fine)
    high = found["copper"]["high"]
    assert f"to {high} by these readings" in found["notes"][0]


async def test_a_share_across_a_limit_leaves_both_bands(shop: World) -> None:
    """On a coarse scale the sample is on both sides of 60 %: both bands are candidates, with prices."""
    found = await recovered(shop, sample={**SAMPLE, "scale": "20 g"}, region="XO-KEL")
    assert (found["grading"]["outcome"], found["grading"]["grade"]) == ("undecided", None)
    assert [each["grade"] for each in found["grading"]["candidates"]] == ["wire-50", "wire-60"]
    assert [each["price"]["basis"]["kind"] for each in found["grading"]["candidates"]] == ["region", "region"]
    assert [(band["grade"], band["from"]) for band in found["grading"]["bands"]] == [
        ("wire-50", found["copper"]["low"]),
        ("wire-60", "60 %"),
    ]


async def test_whether_stripping_pays(shop: World) -> None:
    """10 kg of a 62 % cable: 36.00 as it is, 6.234 kg of bright copper at 8.00; 13.87 an hour is above 12."""
    found = (await recovered(shop, cable={**CABLE, "strip": STRIP}, region="XO-KEL"))["stripping"]
    assert (found["wire"], found["bare"], found["lot_kg"], found["minutes"]) == (
        "wire-60", "copper-bright", "10.000", "60",
    )  # fmt: skip
    assert [found[name]["likely"] for name in ("as_is", "stripped", "gain", "per_hour")] == [
        "36.00", "49.87", "13.87", "13.87",
    ]  # fmt: skip
    assert found["pays"] is True
    even = Decimal(found["break_even_minutes"]["likely"])
    assert 0 <= Decimal("13.872") * 60 / 12 - even < Decimal("0.011")
    assert "up to 69.36 minutes" in found["says"]


async def test_an_hour_is_never_said_to_bring_more_than_stripping_pays_at(shop: World) -> None:
    """13.872 more for 50 minutes are 16.6464 an hour: at 16.64, as is told, it pays, at 16.65 it does not."""
    for rate, pays in (("16.64", True), ("16.65", False)):
        strip = {"lot": "10 kg", "minutes_per_kg": "5", "hour_rate": rate}
        found = (await recovered(shop, cable={**CABLE, "strip": strip}, region="XO-KEL"))["stripping"]
        assert (found["per_hour"]["likely"], found["pays"]) == ("16.64", pays)
        assert "for 50 minutes, 16.64 an hour" in found["says"]


async def test_what_the_insulation_costs_to_be_rid_of(shop: World) -> None:
    """Of the 10 kg 3.766 kg are insulation: at 1.00 for a pound 8.30, and 2.00 for the haul, of 13.87 more,
    so that it pays no longer. Where nothing is given nothing is taken off, and that is said.
    """

    async def told(**more: str) -> Any:
        cable = {**CABLE, "strip": {**STRIP, **more}}
        return (await recovered(shop, cable=cable, region="XO-KEL"))["stripping"]

    found = await told(disposal="1.00", disposal_per="lb", disposal_once="2")
    assert found["insulation_kg"]["likely"] == "3.766"
    assert found["disposal"]["likely"] == "10.30"
    assert [found[name]["likely"] for name in ("as_is", "stripped", "gain", "per_hour")] == [
        "36.00", "49.87", "3.57", "3.56",
    ]  # fmt: skip
    assert found["pays"] is False
    assert "3.56 an hour, after 10.30 for getting rid of 3.766 kg of insulation." in found["says"]
    for free in ({}, {"disposal": "0", "disposal_once": "0.00"}):
        nothing = await told(**free)
        assert (nothing["disposal"]["high"], nothing["gain"]["likely"]) == ("0.00", "13.87")
        assert nothing["says"].endswith(
            "Nothing is counted for getting rid of 3.766 kg of insulation: give disposal where it costs."
        )
    once = await told(disposal_once="20")
    assert (once["gain"]["likely"], once["pays"]) == ("-6.13", False)
    assert once["says"].startswith("Stripped it brings 6.13 USD less than as it is")


async def test_at_a_rate_of_zero(shop: World) -> None:
    """Where an hour is worth nothing else any gain pays, and no number of minutes breaks even."""
    strip = {"lot": "10 kg", "minutes_per_kg": "60"}
    found = (await recovered(shop, cable={**CABLE, "strip": strip}, region="XO-KEL"))["stripping"]
    assert (found["hour_rate"], found["break_even_minutes"], found["pays"]) == ("0", None, True)


async def test_minutes_for_each_metre(shop: World) -> None:
    """By length the lot's minutes go by the weight of a metre; a sample does not tell that."""
    strip = {"lot": "10 kg", "minutes_per_metre": "0.5"}
    found = await recovered(shop, cable={**CABLE, "strip": strip}, region="XO-KEL")
    metres = 10_000 / Decimal(found["copper"]["grams_per_metre"]["likely"])
    assert abs(Decimal(found["stripping"]["minutes"]) - metres / 2) < Decimal("0.1")
    refused = await shop.send(PATH, {"sample": {**SAMPLE, "strip": strip}, "region": "XO-KEL"})
    problem = problem_of(refused, "invalid-request")
    assert where(problem) == ["#/sample/strip/minutes_per_metre"]


@pytest.mark.parametrize(
    ("observed", "bare"),
    [
        ({"surface": "bright"}, "copper-bright"),
        ({"surface": "tinned"}, "copper-no2"),
        ({"surface": "bright", "strand_diameter": "0.2 mm"}, "copper-no2"),
        ({"surface": "bright", "hair_thin": True}, "copper-no2"),
    ],
)
async def test_the_bare_copper_by_what_the_conductor_is(
    shop: World, observed: dict[str, Any], bare: str
) -> None:
    """Bright and thick is bright copper; tinned or hair-thin is No. 2, as the rulebook says of bare wire."""
    cable = {**CABLE, "observed": {"cable_kind": "cord", "plug_attached": False, **observed}, "strip": STRIP}
    assert (await recovered(shop, cable=cable, region="XO-KEL"))["stripping"]["bare"] == bare


async def test_fine_strands_are_told_by_the_build(shop: World) -> None:
    """16 AWG in 26 strands is hair-thin by itself: nobody has to measure a strand for it to be No. 2."""
    cable = {**CABLE, "conductors": [{"count": 3, "size": "16 AWG", "strands": 26}], "strip": STRIP}
    assert (await recovered(shop, cable=cable, region="XO-KEL"))["stripping"]["bare"] == "copper-no2"


async def test_a_share_at_which_the_grade_is_not_known(shop: World) -> None:
    """Of a cable in lead or fabric less than 30 % is low-grade wire, and what more is depends on the kind:
    a likely 29.7 % that may be 30 has a grade, and still nothing is compared, as one end has none.
    """
    seen = {"insulation": "lead-or-fabric", "plug_attached": False, "surface": "bright"}
    sample = {"weight": "101 g", "copper": "30 g", "observed": {**seen, "strand_diameter": "1.29 mm"}}
    found = await recovered(shop, sample={**sample, "strip": STRIP}, region="XO-KEL")
    assert [band["grade"] for band in found["grading"]["bands"]] == ["wire-low", None]
    stripping = found["stripping"]
    assert (stripping["wire"], stripping["gain"], stripping["pays"]) == ("wire-low", None, None)
    assert stripping["unpriced"].startswith("Tell more of the cable: it can still be ")


async def test_what_is_wanting_is_named(shop: World) -> None:
    """Without a surface, a kind of cable or a price nothing is compared, and what is wanting is told."""
    sure = {"cable_kind": "cord", "plug_attached": False}
    cases: list[tuple[dict[str, Any], str]] = [
        ({"cable": {**CABLE, "observed": sure}}, "surface"),
        ({"cable": {**CABLE, "observed": {"surface": "bright"}}}, "Tell more of the cable"),
        ({"cable": CABLE, "on": "2027-04-01"}, "Nobody has posted a price for"),
    ]
    for asked, says in cases:
        asked["cable"] = {**asked["cable"], "strip": STRIP}
        found = (await recovered(shop, **asked, region="XO-KEL"))["stripping"]
        assert says in found["unpriced"]
        assert (found["gain"], found["per_hour"], found["pays"]) == (None, None, None)


async def test_the_pile_of_copper_reaches_its_own_from_weight(shop: World) -> None:
    """Above 100 kg of bare copper the better price counts: for 200 kg of cable, but not for 150."""
    each = []
    for lot in ("150 kg", "200 kg"):
        strip = {**STRIP, "lot": lot}
        found = (await recovered(shop, cable={**CABLE, "strip": strip}, region="XO-KEL"))["stripping"]
        each.append(Decimal(found["stripped"]["likely"]) / Decimal(found["copper_kg"]["likely"]))
    assert (round(each[0], 2), round(each[1], 2)) == (Decimal("8.00"), Decimal("8.40"))


async def test_burning_is_warned_of(shop: World) -> None:
    """Every answer about a cable warns of burning its insulation."""
    for asked in ({"cable": CABLE}, {"sample": SAMPLE}):
        cautions = {each["id"]: each["says"] for each in (await recovered(shop, **asked))["cautions"]}
        assert {"no-burning", "eyes-and-hands"} <= set(cautions)


async def test_what_is_not_known_may_hurt(shop: World) -> None:
    """Of a cable of unknown insulation burning is warned of for certain, and asbestos as possible."""
    found = await recovered(shop, sample={**SAMPLE, "observed": {}})
    certain = {each["id"]: each["certain"] for each in found["cautions"]}
    assert certain["no-burning"]
    assert not certain["asbestos"]
    known = await recovered(shop, sample={**SAMPLE, "observed": {**CORD, "insulation": "double"}})
    assert "asbestos" not in {each["id"] for each in known["cautions"]}


async def test_all_faults_at_once(shop: World) -> None:
    """Build, observations and lot are all looked at, each fault under the member of its kind."""
    cable = {
        "conductors": [{"size": "16 gauge"}],
        "weight": "38",
        "length": "1000 ft",
        "observed": {"surface": "shiny", "copper_share": "60 %", "metal": "aluminium"},
        "strip": {**STRIP, "lot": "0 kg"},
    }
    problem = problem_of(await shop.send(PATH, {"cable": cable}), "invalid-request")
    assert where(problem) == [
        "#/cable/conductors/0/size",
        "#/cable/weight",
        "#/cable/observed/copper_share",
        "#/cable/observed/metal",
        "#/cable/observed/surface",
        "#/cable/strip/lot",
        "#/cable/strip",
    ]


@pytest.mark.parametrize(
    ("asked", "pointer"),
    [
        ({}, "#"),
        ({"cable": CABLE, "sample": SAMPLE}, "#"),
        ({"sample": SAMPLE, "region": "XO", "yard": "low-quay"}, "#"),
        ({"sample": {**SAMPLE, "strip": {"lot": "1 kg"}}}, "#/sample/strip"),
        ({"cable": {**CABLE, "conductors": [{"strand": "1 mm"}]}}, "#/cable/conductors/0"),
        ({"cable": {**CABLE, "conductors": []}}, "#/cable/conductors"),
        ({"sample": {**SAMPLE, "weight": 512}}, "#/sample/weight"),
        ({"sample": {**SAMPLE, "strip": {**STRIP, "hour_rate": "-1"}}}, "#/sample/strip/hour_rate"),
        ({"sample": {**SAMPLE, "strip": {**STRIP, "disposal": "-1"}}}, "#/sample/strip/disposal"),
        (
            {"sample": {**SAMPLE, "strip": {**STRIP, "disposal_per": "ton"}}, "region": "XO-KEL"},
            "#/sample/strip/disposal_per",
        ),
    ],
)
async def test_bad_bodies(shop: World, asked: dict[str, Any], pointer: str) -> None:
    """What is missing, twice there, or no text is refused with where it stands."""
    assert where(problem_of(await shop.send(PATH, asked), "invalid-request")) == [pointer]


async def test_a_rulebook_without_cables(small: World) -> None:
    """A version that has no words for it is named, and nothing is guessed."""
    problem = problem_of(await small.send(PATH, {"sample": {**SAMPLE, "observed": {}}}), "invalid-request")
    assert where(problem) == ["#/rulebook"]
    assert small_rulebook()["version"] in problem.detail


async def test_a_yard_with_bands_of_its_own(shop: World) -> None:
    """The place's limits count: where the 60 % band begins at 65 %, 62.5 % is in the one below."""
    sample = {"weight": "512 g", "copper": "320 g", "observed": CORD}
    found = [
        (await recovered(shop, sample=sample, **place))["grading"] for place in ({}, {"yard": "tern-row"})
    ]
    assert [each["grade"] for each in found] == ["wire-60", "wire-50"]
    assert [limit["limit"] for limit in found[1]["house_limits"]] == ["band_60"]
    assert found[0]["house_limits"] == []
