"""The description of the interface holds: every answer to whatever is sent is one that it describes.

Requests are made from the description itself by Schemathesis: examples, boundary values, random data that
fits, and data that does not fit. Every answer is held against every check that Schemathesis has.
"""

from __future__ import annotations

import asyncio
import json
import zlib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from openapi_spec_validator import OpenAPIV31SpecValidator
from schemathesis.config import SchemathesisConfig
from schemathesis.python.asgi import shutdown_lifespans

from gradewright.accounts.service import Role
from gradewright.asgi import create_app, openapi_document
from gradewright.ledger.keys import new_signer
from gradewright.settings import Settings
from tests.api import Watch, World, fresh_url, price, settle
from tests.conftest import talk_to

Case = schemathesis.Case
COMMITTED = Path(__file__).parents[1] / "openapi" / "gradewright.json"
LEAST_CASES = 1500
CHECKPOINT_KEY = new_signer("ledger.example.org").text

# A request may fit its schema and still name what is not there, or ask for what cannot be: that is what
# 404, 409, 412 and 422 are for, each described on the operation; without If-Match it is 428 (RFC 6585).
# Nothing else is let off any check.
CONFIG: dict[str, Any] = {
    "base-url": "http://testserver",
    "seed": 2018,
    "generation": {"max-examples": 24, "deterministic": True},
    "checks": {
        "positive_data_acceptance": {"expected-statuses": ["2xx", "401", "403", "404", "409", "412", "422"]},
        "missing_required_header": {"expected-statuses": ["400", "401", "403", "406", "415", "422", "428"]},
    },
}


COSTLY = ("/v1/teardowns",)
"""Bodies of these are trees, which take long to make up and have many places where one thing can be wrong:
a quarter of the examples, and of all that is made up for them each caller sends a third."""


class Door:
    """Leads to the application under test: tests are made from the description before there is one."""

    def __init__(self) -> None:
        self.application: Any = None

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        """Passes everything on."""
        await self.application(scope, receive, send)


DOOR = Door()
DOCUMENT = openapi_document(create_app(Settings(database_url="sqlite:///unused.sqlite")))


def described(**generation: Any) -> Any:
    """The description, to make requests from."""
    made_of = {**CONFIG["generation"], **generation}
    fewer = {"max-examples": made_of["max-examples"] // 4}
    operations = [{"include-path": path, "generation": fewer} for path in COSTLY]
    config = {**CONFIG, "generation": made_of, "operations": operations}
    made = schemathesis.openapi.from_dict(DOCUMENT, config=SchemathesisConfig.from_dict(config))
    made.app = DOOR
    return made


def test_the_description_is_openapi() -> None:
    """The committed file is a valid OpenAPI 3.1 document."""
    document = json.loads(COMMITTED.read_text(encoding="utf-8"))
    assert document["openapi"].startswith("3.1.")
    OpenAPIV31SpecValidator(document).validate()


def test_the_description_is_the_one_that_is_served() -> None:
    """A service describes itself as the committed file does."""
    assert json.loads(COMMITTED.read_text(encoding="utf-8")) == DOCUMENT, "run: gradewright openapi"


def leaves_no_trace(value: Any) -> bool:
    """Whether nothing is left of a value in a query: there, an empty object or list is written as nothing."""
    within = value.values() if isinstance(value, dict) else value
    return isinstance(value, dict | list) and all(leaves_no_trace(inner) for inner in within)


class Traffic:
    """What is sent to one application, and what comes back."""

    def __init__(
        self,
        key: dict[str, str] | None,
        real: dict[str, Any],
        own: list[str],
        drafts: dict[str, list[tuple[str, str]]],
    ) -> None:
        self.key = key
        self.real = real
        self.own = own
        self.drafts = drafts
        self.turn = 0
        self.answers: Counter[tuple[str, int]] = Counter()

    def send(self, case: schemathesis.Case) -> None:
        """Sends one request, and holds its answer against the description. Of the costly ones each caller
        sends its share. What is only wrong by something that is lost on the way cannot be refused.
        """
        if any(leaves_no_trace(value) for value in (case.query or {}).values()):
            return
        if case.path in COSTLY and zlib.crc32(repr(case.body).encode()) % len(CALLERS) != self.turn:
            return
        if case.meta is not None and case.meta.generation.mode.is_positive:
            self.make_sense_of(case)
        response = case.call(headers=self.key)
        self.answers[case.operation.label, response.status_code] += 1
        case.validate_response(response, headers=self.key, transport_kwargs={"headers": self.key})

    def make_sense_of(self, case: schemathesis.Case) -> None:
        """Of each three requests that fit the description, lets two name things that are there."""
        chance = zlib.crc32(repr((case.body, case.query, case.path_parameters)).encode())
        unstorable = case.media_type == "application/yaml" and "\\x00" in repr(case.body)
        # Any object would do but for signs that no schema can rule out: NUL in a name.
        if unstorable or case.operation.method in {"put", "patch"}:
            case.body = {"title": f"Title {chance}"}
        if chance % 3:
            if case.media_type in FILES:
                case.body = self._file(str(case.media_type), values=case.path.endswith("/values"))
            for given in (case.path_parameters, case.query, case.body):
                if isinstance(given, dict):
                    self._fill(given, chance)
            if case.path.endswith(("/withdrawal", "/correction")) and "posting" in (
                case.path_parameters or ()
            ):
                case.path_parameters["posting"] = self.own[chance % len(self.own)]
            if case.path.startswith("/v1/settlements"):
                self._settlement(case, chance)
            if case.path.startswith("/v1/rulebook-drafts"):
                self._draft(case, chance)
            if case.path.startswith("/v1/compositions"):
                self._device(case, chance)
            if case.path == "/v1/rulebooks/{version}/comparison":
                case.query = {"with": self.real["version"]}
            if case.path in DECISIONS:
                case.body = {**DECISIONS[case.path], "keep": bool(chance % 2)}
            if isinstance(case.body, dict) and "reason" in case.body:
                self._say(case, case.body, chance)

    def _settlement(self, case: schemathesis.Case, chance: int) -> None:
        """A ticket of its own; settlements that are there, of the caller's own."""
        if case.path == "/v1/settlements":
            case.body = {**SETTLEMENT, "keep": chance % 2 == 0, "post_prices": chance % 4 == 0}
            case.body["ticket"] = {**SETTLEMENT["ticket"], "number": f"T-{chance}"}
        elif case.path.endswith("/withdrawal"):
            settled = self.real["settled"]
            case.path_parameters["settlement"] = settled[chance % len(settled)]

    def _draft(self, case: schemathesis.Case, chance: int) -> None:
        """Drafts that are there, in the state from which the operation starts, at the step where they are."""
        if isinstance(case.body, dict) and case.operation.method == "post" and case.path.endswith("drafts"):
            case.body = {"from": self.real["version"]}
        if isinstance(case.query, dict):
            case.query.pop("base", None)
            case.query.pop("step", None)
        if isinstance(case.path_parameters, dict):
            step = case.path.rpartition("}")[2] or case.operation.method
            there = self.drafts.get(step, self.drafts[""])
            used_up = step in DRAFTS_FOR[1:] and len(there) > 1  # what a step was taken with has gone on
            name, etag = there.pop() if used_up else there[chance % len(there)]
            case.path_parameters["draft"] = name
            if case.headers and "If-Match" in case.headers:
                case.headers["If-Match"] = etag

    def _device(self, case: schemathesis.Case, chance: int) -> None:
        """A kind of device and records that are there; a device that can be recorded."""
        if isinstance(case.path_parameters, dict) and case.path_parameters:
            case.path_parameters["kind"] = KETTLE["kind"]
            if "record" in case.path_parameters:
                records = self.real["records"]
                case.path_parameters["record"] = records.pop() if len(records) > 1 else records[0]
        elif case.operation.method == "post":
            case.body = {**KETTLE, "weight": f"{chance % 9 + 1} kg"}

    def _say(self, case: schemathesis.Case, given: dict[str, Any], chance: int) -> None:
        """House rules of limits and grades that are there; words about all lines that there are."""
        given.pop("lines", None)
        if case.path.endswith("/house-rules"):
            given["limits"] = [{"limit": "heavy_steel_thickness", "value": f"{chance % 9 + 1} mm"}]
            given["labels"] = [{"label": f"Word {chance % 90000}", "grade": self.real["grade"]}]
            given.update(refuses=["screws"], takes=[])

    @staticmethod
    def _file(media: str, *, values: bool) -> str:
        """A list with what fits, and what does not: a dry run takes either. Values of a benchmark fit."""
        if values and media == "text/csv":
            return "date,value,currency\r\n2026-05-01,9380.00,USD\r\n2026-05-04,9412.50,\r\n"
        if values:
            return '{"date": "2026-05-02", "value": "9390.00"}\n'
        if media == "text/csv":
            return "label;price;per\r\n#2 Cu;3.35;\r\nCopper;3;ton\r\n"
        return '{"label": "#2 Cu", "price": "3.35"}\n'

    def _fill(self, given: dict[str, Any], chance: int) -> None:
        for first, second in EITHER:
            if given.get(first) is not None:
                given.pop(second, None)
        for name, value in list(given.items()):
            if name in self.real and value is not None:
                given[name] = self.real[name]
        if "code" in given and given.get("parent"):
            given["code"] = f"{given['parent']}-{chance % 900 + 100}"
        if "slug" in given and "unit" in given:  # a yard: new ones need names of their own
            given["slug"] = f"yard-{chance % 90000}"
            for said in ("labels", "refuses"):
                if given.get(said):
                    given[said] = given[said][:1]
        for name, needed in (("prices", "grade"), ("parts", "weight"), ("parts", "grade")):
            if isinstance(given.get(name), list):
                given[name] = [inner for inner in given[name] if isinstance(inner, dict)][:1]
                for inner in given[name]:
                    self._fill(inner, chance)
                    if not any(inner.get(other) for pair in EITHER if needed in pair for other in pair):
                        inner[needed] = self.real[needed]


WORDS = ("withdrawal", "confirmation", "dispute", "decision", "correction")
OWN_POSTINGS = 20
SETTLEMENT: dict[str, Any] = {
    "yard": "low-quay",
    "against": {"bins": [{"grade": "copper-no2", "weight": "2 lb"}]},
    "ticket": {
        "on": "2026-05-04",
        "lines": [{"label": "#2 Cu", "net": "2 lb", "price": "3.35", "amount": "6.70"}],
        "total": "6.70",
    },
}
DRAFTS_FOR = ("", "put", "patch", "/submission", "/approval", "/refusal", "/withdrawal")
DRAFTS_EACH = 6
FILES = ("text/csv", "application/x-ndjson", "application/jsonl")


@schemathesis.serializer(*FILES)
def as_text(_: Any, value: Any) -> bytes:
    """A body that is a file: text as it is, anything else as JSON would have it."""
    return value.encode() if isinstance(value, str) else json.dumps(value).encode()


KETTLE = {"kind": "kettle", "on": "2026-05-02", "parts": [{"grade": "tin", "weight": "400 g"}]}
HAUL = {
    "region": "XO-KEL",
    "bins": [{"name": "wire", "grade": "copper-no2", "weight": "2 lb"}],
    "costs": {"trip": "1.00"},
    "hold_back": True,
}
ASSAY = {
    "lot": "10 kg",
    "currency": "USD",
    "metals": [{"metal": "gold", "low": "100 g/t", "high": "300 g/t", "price": "2000"}],
}
BOX = {
    "region": "XO-KEL",
    "hour_rate": "15",
    "device": {
        "name": "box",
        "weight": "2 lb",
        "grade": "tin",
        "opens": {"how": "piece-by-piece"},
        "parts": [{"name": "lid", "weight": "1 lb", "grade": "Birch", "minutes": "1"}],
    },
}
DECISIONS: dict[str, dict[str, Any]] = {
    "/v1/teardowns": BOX,
    "/v1/hauls": HAUL,
    "/v1/recoveries": {"assay": ASSAY},
}
EITHER = [("region", "yard"), ("weight", "weight_each"), ("observed", "grade"), ("grade", "label")]
"""Of these a request takes one, which its schema cannot say."""


async def _furnish(url: str) -> Traffic:
    """A district with prices, a kept valuation and a key, in a database; and the names of what is there."""
    app = create_app(Settings(database_url=url, checkpoint_key=CHECKPOINT_KEY), clock=Watch())
    async with talk_to(app) as client:
        world = await settle(World(app, client, Watch()))
        posting = await world.post(price("copper-no2", "3.35"), price("light-iron", "0.08"))
        body = {"region": "XO-KEL", "keep": True, "parts": [{"name": "a", "weight": "1 lb", "grade": "tin"}]}
        valuation = (await world.send("/v1/valuations", body)).headers["valuation-id"]
        haul = (await world.send("/v1/hauls", {**HAUL, "keep": True})).headers["haul-id"]
        recovery = (await world.send("/v1/recoveries", {"assay": ASSAY, "keep": True})).headers["recovery-id"]
        teardown = (await world.send("/v1/teardowns", {**BOX, "keep": True})).headers["teardown-id"]
        key = await world.key("sedge", Role.MAINTAINER)
        copper = {"slug": "copper", "name": "Copper", "currency": "USD", "unit": "t", "source": "made up"}
        assert (await world.send("/v1/benchmarks", copper, "sedge", Role.MAINTAINER)).status_code == 201
        own = [(await world.post(price("tin", "9"), who="sedge"))["id"] for _ in range(OWN_POSTINGS)]
        drafts = await _drafts(world)
        settled = [await _settled(world, number) for number in range(OWN_POSTINGS)]
        devices = [KETTLE | {"new_kind": {"name": "Kettle"}}, *[KETTLE] * DRAFTS_EACH]
        records = [(await world.send("/v1/compositions", device, "wren")).json()["id"] for device in devices]
    real = {
        "region": "XO-KEL",
        "yard": "low-quay",
        "grade": "copper-no2",
        "currency": "USD",
        "per": "lb",
        "unit": "lb",
        "price": "3.35",
        "weight": "2 lb 3 oz",
        "weight_each": "850 g",
        "from_weight": "100 lb",
        "observed": {"metal": "steel", "thickness": "6.35 mm"},
        "observed_on": "2026-05-04",
        "on": "2026-05-04",
        "from": "2026-04-04",
        "to": "2026-05-04",
        "known_at": 10,
        "after": 3,
        "rulebook": "2020.1",
        "version": "2020.1",
        "with": "2020.1",
        "posting": posting["id"],
        "valuation": valuation,
        "teardown": teardown,
        "settlement": settled[0],
        "settled": settled[1:],
        "haul": haul,
        "recovery": recovery,
        "records": records,
        "slug": "unknown-grade",
        "benchmark": "copper",
        "parent": "XO",
        "step": "1",
    }
    return Traffic(key, real, own, drafts)


async def _settled(world: World, number: int) -> str:
    """The id of a kept settlement."""
    ticket = {**SETTLEMENT["ticket"], "number": f"own {number}"}
    body = {**SETTLEMENT, "ticket": ticket, "keep": True}
    return str((await world.send("/v1/settlements", body, "sedge")).headers["settlement-id"])


async def _drafts(world: World) -> dict[str, list[tuple[str, str]]]:
    """Drafts of another maintainer by the operation that they are for: names and ETags."""
    made: dict[str, list[tuple[str, str]]] = {}
    for step in DRAFTS_FOR:
        for number in range(DRAFTS_EACH):
            day = f"2027-{DRAFTS_FOR.index(step) + 1:02}-{number + 1:02}"
            version = f"2027.{DRAFTS_FOR.index(step)}{number}"
            query = f"why=x&version={version}&effective_from={day}&summary=Version {version}."
            path = f"/v1/rulebook-drafts?{query}"
            draft = (await world.send(path, {"from": "2020.1"}, "rail", Role.MAINTAINER)).json()
            if step in {"/approval", "/refusal"}:
                path = f"/v1/rulebook-drafts/{draft['id']}/submission"
                sent = await world.send(path, {"why": "x"}, "rail", Role.MAINTAINER, If_Match=draft["etag"])
                draft = sent.json()
            made.setdefault(step, []).append((draft["id"], draft["etag"]))
    return made


CALLERS = [
    pytest.param(("sqlite", True), id="maintainer-sqlite"),
    pytest.param(("sqlite", False), id="nobody-sqlite"),
    pytest.param(("postgresql", True), id="maintainer-postgresql"),
]


@pytest.fixture(scope="module", params=CALLERS)
def traffic(request: pytest.FixtureRequest) -> Iterator[Traffic]:
    """A furnished application behind the door, and a caller with or without a key."""
    kind, with_key = request.param
    with fresh_url(request, kind) as url:
        made = asyncio.run(_furnish(url))
        if not with_key:
            made.key = None
        made.turn = request.param_index
        app = create_app(Settings(database_url=url, checkpoint_key=CHECKPOINT_KEY), clock=Watch())
        app.state["services"].events.longest_seconds = 0.02  # a stream is held against all checks, once over
        DOOR.application = app
        yield made
        shutdown_lifespans()


@described().parametrize()
def test_every_answer_is_one_that_is_described(case: schemathesis.Case, traffic: Traffic) -> None:
    """No 5xx; no status, content type, header or body that the description lacks; nothing wrong let in."""
    traffic.send(case)


def test_enough_has_been_asked(traffic: Traffic, request: pytest.FixtureRequest) -> None:
    """Of each caller at least 1,500 requests were made, and every operation that it may use succeeded."""
    asked = {operation for operation, _ in traffic.answers}
    every = {f"{m.upper()} {path}" for path, methods in DOCUMENT["paths"].items() for m in methods}
    if asked != every:
        pytest.skip("not every operation was asked in this run")
    assert sum(traffic.answers.values()) >= LEAST_CASES
    succeeded = {operation for operation, status in traffic.answers if status in {200, 201}}
    needs_key = {
        "POST /v1/compositions",
        "POST /v1/compositions/{kind}/correction",
        "POST /v1/compositions/{kind}/records/{record}/withdrawal",
        "POST /v1/postings",
        "POST /v1/regions",
        "POST /v1/regions/{region}/house-rules",
        "POST /v1/benchmarks",
        "POST /v1/benchmarks/{benchmark}/values",
        "POST /v1/yards",
        "POST /v1/yards/{yard}/house-rules",
        "POST /v1/yards/{yard}/lists",
        "GET /v1/held-prices",
        *(operation for operation in every if "/v1/rulebook-drafts" in operation),
        *(operation for operation in every if "settlements" in operation),
        *(f"POST /v1/postings/{{posting}}/{word}" for word in WORDS),
    }
    assert succeeded == (every if traffic.key else every - needs_key)


@pytest.mark.campaign
@described(**{"max-examples": 1000}).parametrize()
def test_every_answer_of_many_is_one_that_is_described(case: schemathesis.Case, traffic: Traffic) -> None:
    """The same over a long run."""
    traffic.send(case)
