"""The stand-in that ships: settable answers, recorded requests, samples that fit the service."""

from __future__ import annotations

import doctest
import importlib
import json
from pathlib import Path
from typing import Any

import httpx
import pytest

import gradewright_sdk as gw
import gradewright_sdk.testing
from gradewright_sdk.testing import FakeGradewright, NothingSet, samples


def test_documentation_runs() -> None:
    """The example in the module's docstring runs as it stands."""
    result = doctest.testmod(gradewright_sdk.testing)
    assert result.attempted >= 5
    assert result.failed == 0


async def test_nothing_set_fails_the_test(fake: FakeGradewright) -> None:
    """A request that no answer was set for fails loudly, and says which and how to set one."""
    with pytest.raises(NothingSet, match=r"fake.answer\('GET', '/v1/regions', …\)"):
        fake.client().regions.list()
    with pytest.raises(NothingSet):
        await fake.async_client().regions.list()
    assert [request.path for request in fake.requests] == ["/v1/regions"] * 2


def test_last_answer_wins_and_times_run_out(fake: FakeGradewright) -> None:
    """The answer set last is given; one set for so many times gives way to the one before."""
    fake.answer("GET", "/v1/regions", {"regions": [samples.region(name="first")]})
    fake.answer("GET", "/v1/*", {"regions": [samples.region(name="second")]})
    fake.answer("GET", "/v1/regions", {"regions": [samples.region(name="third")]}, times=2)
    client = fake.client()
    assert [client.regions.list()[0].name for _ in range(3)] == ["third", "third", "second"]
    with pytest.raises(NothingSet):
        client.yards.create("a", name="A", region="XO", currency="USD", unit="lb")


def test_answer_made_from_the_request(fake: FakeGradewright) -> None:
    """An answer can be a function of the request, which has path, query, headers and body."""
    fake.answer("GET", "/v1/yards/*", lambda request: samples.yard(slug=request.path.rpartition("/")[2]))
    assert fake.client().yards.get("tern-row").slug == "tern-row"
    fake.answer("GET", "/v1/prices", lambda request: samples.price_list(region=request.query["region"]))
    assert fake.client(key="gw_x").prices.list(region="XO").region == "XO"
    assert fake.requests[-1].headers["authorization"] == "Bearer gw_x"
    assert fake.requests[-1].json is None


def test_problems_have_their_status(fake: FakeGradewright) -> None:
    """A problem is set by its slug, and has the status that the service gives it."""
    for slug, status in (
        ("unauthorized", 401),
        ("conflict", 409),
        ("unknown-grade", 422),
        ("internal-error", 500),
    ):
        fake.problem("GET", "/v1/regions", slug)
        with pytest.raises(gw.APIError) as caught:
            fake.client().regions.list()
        assert caught.value.status == status


def test_waits_are_told_not_waited(fake: FakeGradewright) -> None:
    """Its clients do not wait between tries; the waits can be looked at."""
    fake.lose("GET", "/v1/regions")
    with pytest.raises(gw.ConnectionFailed):
        fake.client().regions.list()
    assert fake.waits == [0.25, 0.5, 1.0, 2.0]


def test_transport_for_a_client_of_ones_own(fake: FakeGradewright) -> None:
    """The transport serves any httpx client."""
    fake.answer("GET", "/v1/regions", {"regions": []})
    client = gw.Client(http_client=httpx.Client(transport=fake.transport))
    assert client.regions.list() == ()


def schema(module: str, name: str) -> Any:
    return getattr(importlib.import_module(f"gradewright.{module}"), name)


@pytest.mark.parametrize(
    ("sample", "module", "name"),
    [
        (samples.region(), "regions.schemas", "RegionOut"),
        (samples.yard(), "yards.schemas", "YardSeen"),
        (samples.house_rules(), "yards.house_schemas", "HouseRulesOut"),
        (samples.house_rules_added(), "yards.house_schemas", "HouseRulesMade"),
        (samples.house_rule(), "yards.house_schemas", "HouseRuleOut"),
        (samples.posting(), "prices.posting_schemas", "PostingOut"),
        (samples.held_price(), "prices.posting_schemas", "EntryOut"),
        (samples.later_word(), "prices.posting_schemas", "WordOut"),
        (samples.word_stored("decision"), "prices.later_schemas", "WordMade"),
        (samples.correction(), "prices.later_schemas", "CorrectionOut"),
        (samples.held_prices(), "prices.later_schemas", "HeldList"),
        (samples.list_compared(), "prices.list_schemas", "ListCompared"),
        (samples.price_list(), "prices.schemas", "PriceListOut"),
        (samples.benchmark(), "benchmarks.schemas", "BenchmarkOut"),
        (samples.benchmark_values(), "benchmarks.schemas", "BenchmarkValues"),
        (samples.benchmark_import(), "benchmarks.schemas", "Imported"),
        (samples.composition(), "compositions.told", "CompositionOut"),
        (samples.device_kind(), "compositions.told", "KindOut"),
        (samples.device_record(), "compositions.told", "RecordOut"),
        (samples.device_records(), "compositions.told", "RecordList"),
        (samples.composition_recorded(), "compositions.told", "RecordMade"),
        (samples.moved(), "prices.schemas", "MovedOut"),
        (samples.backtest(), "prices.backtest_schemas", "BacktestOut"),
        (samples.series(), "prices.series_schemas", "SeriesOut"),
        (samples.grading(), "valuations.grading_schemas", "GradingOut"),
        (samples.undecided(), "valuations.grading_schemas", "GradingOut"),
        (samples.valuation(), "valuations.schemas", "ValuationOut"),
        (samples.settlement(), "settlements.told_schemas", "SettlementOut"),
        (samples.settlement_effects(), "settlements.told_schemas", "EffectsOut"),
        (samples.settlement_withdrawn(), "settlements.told_schemas", "TakenBackOut"),
        (samples.markdowns(), "settlements.markdown_schemas", "MarkdownsOut"),
        (samples.haul(), "hauls.answer_schemas", "HaulOut"),
        (samples.recovery(), "recoveries.answer_schemas", "RecoveryOut"),
        (samples.teardown(), "teardowns.answer_schemas", "TeardownOut"),
    ],
)
def test_samples_are_what_the_service_answers(sample: dict[str, Any], module: str, name: str) -> None:
    """Each sample has exactly the fields that the service's own schema has, and they validate."""
    model = schema(module, name)
    checked = model.model_validate_json(json.dumps(sample))
    assert set(sample) == {field.alias or name for name, field in model.model_fields.items()}
    assert checked is not None


def test_sample_rulebook_is_a_rulebook() -> None:
    """The sample rulebook and every rulebook that ships are read by the SDK, with all of their parts."""
    from gradewright.rulebooks import document

    assert gw.Rulebook.model_validate(samples.rulebook()).find_grade("No. 2") == "copper-no2"
    published = sorted((Path(document.__file__).parent / "published").glob("*.yaml"))
    assert published
    for path in published:
        source = document.from_yaml(path.read_text(encoding="utf-8"))
        book = gw.Rulebook.model_validate(source)
        assert len(book.grades) == len(source["grades"])
        assert len(book.rules) == len(source["rules"])
        assert set(book.attributes) == set(source["attributes"])
        assert set(book.cautions) == set(source["cautions"])
        assert all(attribute.asks and attribute.minutes is not None for attribute in book.attributes.values())
