"""Ways of valuing: what was kept by an earlier one is repeated by it, byte for byte, for ever."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest
from tests.api import KINDS, World, empty_world
from tests.valuations.market import open_market, parts_of, request_for, shipped

from gradewright.db.packed import pack
from gradewright.valuations.models import ValuationRow
from gradewright.valuations.schemas import ValuationIn

PATH = "/v1/valuations"
KEPT = Path(__file__).parent / "kept"
LATER = ("2026.1", "2026.2")
PLACES: tuple[dict[str, str], ...] = ({"region": "XO-KEL"}, {"yard": "cinder-lane"}, {"yard": "tern-row"})
OF_OLD = json.loads((KEPT / "method_1.json").read_text(encoding="utf-8"))
BY_2 = json.loads((KEPT / "method_2.json").read_text(encoding="utf-8"))
BY = {m: json.loads((KEPT / f"method_{m}.json").read_text(encoding="utf-8")) for m in "345678"}
BEFORE_DEVICES = json.loads(OF_OLD["answer"])["pins"]["revision"]
DEVICES = {"motor": "motors-copper", "compressor": "compressors", "radiator": "aluminium-copper-radiators"}
HOUR_RATES: tuple[dict[str, str], ...] = ({}, {"hour_rate": "12"}, {"hour_rate": "60.5"})


@pytest.fixture(scope="module", params=KINDS)
async def market(request: pytest.FixtureRequest) -> Any:
    """The market as it was when the kept answers were given, for tests that only read."""
    async with empty_world(request, request.param) as world:
        await open_market(world)
        for version in LATER:
            await world.publish(shipped(version))
        for kind, grade in DEVICES.items():
            await take_apart(world, kind, grade)
        yield world


async def take_apart(world: World, kind: str, grade: str) -> None:
    """Records a device of 10 lb, a third of it copper: what method 3 points at."""
    body = {
        "kind": kind,
        "new_kind": {"name": kind.title(), "grade": grade},
        "on": "2026-05-02",
        "weight": "10 lb",
        "minutes": "9",
        "parts": [{"grade": "copper-no2", "weight": "3 lb"}, {"grade": "light-iron", "weight": "7 lb"}],
    }
    recorded = await world.send("/v1/compositions", body, "wren")
    assert recorded.status_code == 201, recorded.text


async def kept(world: World, name: str, asked: dict[str, Any], answer: bytes, method: str) -> str:
    """A row as it was written when an answer was kept by a method; returns its id."""
    pins = json.loads(answer)["pins"]
    request = {
        "known_at": None, "on": "2026-05-04", "region": None, "rulebook": None, "yard": None, **asked,
    }  # fmt: skip
    nothing = {"count": 1, "grade": None, "observed": None, "weight": None, "weight_each": None}
    request["parts"] = [{**nothing, **part} for part in request["parts"]]
    row = ValuationRow(
        id=name,
        created_at=world.clock(),
        request=json.dumps(request),
        rulebook=pins["rulebook"],
        revision=pins["revision"],
        method=method,
        answer=await pack(answer),
        sha256=pins["sha256"],
    )
    async with world.services.database.write() as session:
        session.add(row)
    return name


async def test_what_was_kept_by_method_1_is_repeated_by_it(market: World) -> None:
    """A row that was kept by method 1, with work that raises its parts, replays to the bytes of that day."""
    asked, answer = OF_OLD["request"], OF_OLD["answer"].encode()
    assert sum(len(part["raises"]) for part in json.loads(answer)["parts"]) == 12
    name = await kept(market, "v-of-old", asked, answer, "1")
    again = await market.client.post(f"{PATH}/{name}/replay")
    assert again.status_code == 200, again.text
    assert again.content == answer


@pytest.mark.parametrize("version", ["2014.1", "2017.1", "2018.1", *LATER])
async def test_method_1_answers_as_it_always_did(market: World, version: str) -> None:
    """Every worked example of a version, valued in three places: the bytes are those of the day they were
    pinned.
    """
    for place in PLACES:
        known = {"on": "2026-05-04", "known_at": BEFORE_DEVICES, "rulebook": version}
        asked = request_for(version, **{"region": None, **place, **known})
        request = ValuationIn.model_validate(asked).request()
        content = (await market.services.valuations.value(request, "1")).body
        assert hashlib.sha256(content).hexdigest() == OF_OLD["digests"][version][json.dumps(place)]


def cut_short(version: str) -> list[dict[str, Any]]:
    """The worked examples as parts; of every third one the last observation is not told."""
    return [
        {**part, "observed": dict(list(part["observed"].items())[:-1])}
        if number % 3 == 0 and "observed" in part
        else part
        for number, part in enumerate(parts_of(version))
    ]


def test_what_is_held_of_method_2_shows_all_that_it_can_tell() -> None:
    """The kept answers have what is decided, sequences of work, and each way to go on where it is not."""
    parts = [part for one in BY_2["kept"] for part in json.loads(one["answer"])["parts"]]
    told = {part["outcome"] for part in parts}
    assert told == {"graded", "named", "undecided", "contradiction"}
    assert max(len(work["steps"]) for part in parts for work in part["raises"]) > 1
    assert [sum(name in part for part in parts) for name in ("not_worth", "in_doubt")] == [2, 4]
    assert any(part["next_test"] and "in_doubt" not in part for part in parts)


@pytest.mark.parametrize("number", range(len(BY_2["kept"])))
async def test_what_was_kept_by_method_2_is_repeated_by_it(market: World, number: int) -> None:
    """A row that was kept by method 2, with parts that are undecided, replays to the bytes of that day."""
    asked, answer = BY_2["kept"][number]["request"], BY_2["kept"][number]["answer"].encode()
    name = await kept(market, f"v-by-2-{number}", asked, answer, "2")
    again = await market.client.post(f"{PATH}/{name}/replay")
    assert again.status_code == 200, again.text
    assert again.content == answer


@pytest.mark.parametrize("version", ["2014.1", "2017.1", "2018.1", *LATER])
async def test_method_2_answers_as_it_always_did(market: World, version: str) -> None:
    """Worked examples, some of them cut short, in three places: the bytes are those of the day they were
    pinned.
    """
    for place in PLACES:
        known = {"on": "2026-05-04", "known_at": BEFORE_DEVICES, "rulebook": version}
        asked = {"parts": cut_short(version), **known, **place}
        content = (
            await market.services.valuations.value(ValuationIn.model_validate(asked).request(), "2")
        ).body
        assert hashlib.sha256(content).hexdigest() == BY_2["digests"][version][json.dumps(place)]


@pytest.mark.parametrize("method", BY)
def test_what_is_held_of_methods_since_3_shows_all_that_they_can_tell(method: str) -> None:
    """The kept answers have what method 2's have, and pointers of both kinds, cautions that are not certain,
    an hourly rate, and both reasons for which finding out is not worth it.
    """
    answers = [json.loads(one["answer"]) for one in BY[method]["kept"]]
    assert len(answers) == 3
    assert {answer["pins"]["method"] for answer in answers} == {method}
    parts = [part for answer in answers for part in answer["parts"]]
    assert {part["outcome"] for part in parts} == {"graded", "named", "undecided", "contradiction"}
    assert max(len(work["steps"]) for part in parts for work in part["raises"]) > 1
    several = {work.get("about_pieces") for part in parts for work in part["raises"]}
    assert several == ({None, 30} if method in {"7", "8"} else {None})
    assert {pointer["kind"] for answer in answers for pointer in answer["pointers"]} == {"take-apart", "hold"}
    assert any(part["next_test"] and "possible_cautions" in part for part in parts)
    assert any("in_doubt" in part for part in parts)
    assert {"hour_rate" in answer for answer in answers} == {True, False}
    assert {"share" in part["not_worth"] for part in parts if "not_worth" in part} == {True, False}


@pytest.mark.parametrize("number", range(3))
@pytest.mark.parametrize("method", BY)
async def test_what_was_kept_by_methods_since_3_is_repeated(market: World, method: str, number: int) -> None:
    """A row that was kept, with what would pay beside it, replays to the bytes of that day by its method."""
    asked, answer = (BY[method]["kept"][number][name] for name in ("request", "answer"))
    name = await kept(market, f"v-by-{method}-{number}", asked, answer.encode(), method)
    again = await market.client.post(f"{PATH}/{name}/replay")
    assert again.status_code == 200, again.text
    assert again.content == answer.encode()


@pytest.mark.parametrize("method", BY)
@pytest.mark.parametrize("version", ["2018.1", LATER[-1]])
async def test_methods_since_3_answer_as_they_always_did(market: World, version: str, method: str) -> None:
    """Worked examples, some of them cut short, in three places and at as many hourly rates: the bytes are
    those of the day they were pinned.
    """
    for place, rate in zip(PLACES, HOUR_RATES, strict=True):
        content = await by_method(market, method, version, {**place, **rate})
        assert hashlib.sha256(content).hexdigest() == BY[method]["digests"][version][json.dumps(place)]


async def by_method(market: World, method: str, version: str, where: dict[str, str]) -> bytes:
    """What a method answers of a version's worked examples, of which some are cut short."""
    asked = {"parts": cut_short(version)[::4], "on": "2026-05-04", "rulebook": version, **where}
    request = ValuationIn.model_validate(asked).request()
    return bytes((await market.services.valuations.value(request, method)).body)


async def test_new_answers_are_by_method_8_and_so_are_their_repetitions(market: World) -> None:
    """What is kept now is pinned to method 8, and replays to its bytes."""
    first = await market.send(PATH, request_for(keep=True))
    assert first.status_code == 201, first.text
    assert first.json()["pins"]["method"] == "8"
    again = await market.client.post(f"{PATH}/{first.headers['valuation-id']}/replay")
    assert (again.status_code, again.content) == (200, first.content)


async def test_no_request_chooses_its_method(market: World) -> None:
    """The method is pinned by the service: a request that names one is refused."""
    refused = await market.send(PATH, {**request_for(), "method": "1"})
    assert refused.status_code == 422
    assert [error["pointer"] for error in refused.json()["errors"]] == ["#/method"]


async def test_a_method_that_is_not_known_is_refused(market: World) -> None:
    """A row of a method that this service does not have is not repeated by another: it says which it has."""
    answer = OF_OLD["answer"].replace('"method":"1"', '"method":"9"').encode()
    name = await kept(market, "v-of-the-future", OF_OLD["request"], answer, "9")
    refused = await market.client.post(f"{PATH}/{name}/replay")
    assert refused.status_code == 422
    says = "was worked out by method 9; this service knows 1, 2, 3, 4, 5, 6, 7 and 8."
    assert says in refused.json()["detail"]
