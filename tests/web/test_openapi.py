"""The description says what the service does: the same schemas, every refusal, nothing by halves."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from litestar import Litestar
from litestar.routes import HTTPRoute

from gradewright.asgi import create_app, openapi_document
from gradewright.settings import Settings
from gradewright.web.problems import KINDS


@pytest.fixture(scope="module")
def app() -> Litestar:
    """An application that is never asked anything."""
    return create_app(Settings(database_url="sqlite:///unused.sqlite"))


@pytest.fixture(scope="module")
def document(app: Litestar) -> dict[str, Any]:
    """Its description."""
    return openapi_document(app)


def operations(document: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """`GET /v1/regions` -> the operation."""
    return {
        f"{method.upper()} {path}": operation
        for path, methods in document["paths"].items()
        for method, operation in methods.items()
    }


def test_every_route_is_described(app: Litestar, document: dict[str, Any]) -> None:
    """Each operation that the application answers is in the description, but for the description itself."""
    there = {
        f"{method} {re.sub(r':str', '', route.path_format)}"
        for route in app.routes
        if isinstance(route, HTTPRoute)
        for method in route.methods
        if method != "OPTIONS"
    }
    assert set(operations(document)) == there - {"GET /v1/openapi.json"}


def test_operations_have_names_of_their_own(document: dict[str, Any]) -> None:
    """Operation ids are there, plain and different; each operation has a summary and a description."""
    found = operations(document)
    ids = [operation["operationId"] for operation in found.values()]
    assert len(set(ids)) == len(ids)
    for name, operation in found.items():
        assert re.fullmatch(r"[a-z_]+", operation["operationId"]), name
        assert operation["summary"], name
        assert operation["description"], name
        assert operation["tags"], name


def test_every_reference_leads_somewhere(document: dict[str, Any]) -> None:
    """Each $ref in the document is found in it, and each schema is referred to."""
    refs = set(re.findall(r'"\$ref": "#/([^"]+)"', json.dumps(document)))
    for ref in refs:
        found: Any = document
        for step in ref.split("/"):
            found = found[step]
    assert {f"components/schemas/{name}" for name in document["components"]["schemas"]} <= refs


def test_schemas_are_what_requests_are_held_against(document: dict[str, Any]) -> None:
    """Patterns, lengths and the refusal of other fields are in the description."""
    region = document["components"]["schemas"]["RegionIn"]
    assert region["additionalProperties"] is False
    assert region["properties"]["code"]["pattern"] == "^[A-Z]{2}(-[A-Z0-9]{1,3}(-[A-Z0-9]{1,16})?)?$"
    assert region["required"] == ["code", "name", "currency", "unit"]
    step = document["components"]["schemas"]["YardIn"]["properties"]["cash_increment"]["anyOf"]
    assert {"string", "null"} == {kind["type"] for kind in step}


def test_every_object_refuses_other_fields(document: dict[str, Any]) -> None:
    """No schema leaves room for fields that it does not name, unless it is a map of names."""
    for name, schema in document["components"]["schemas"].items():
        if schema.get("type") == "object" and "properties" in schema:
            assert schema["additionalProperties"] is False, name


def test_decimals_are_never_numbers(document: dict[str, Any]) -> None:
    """Nothing in the description is a JSON number with a fraction."""
    assert '"type": "number"' not in json.dumps(document)


FOR_SOME = {"GET /v1/rulebooks/{version}/comparison"}
"""What anybody may ask, and is refused to those without a maintainer's key where it takes long."""


def test_refusals_are_described_where_they_can_come(document: dict[str, Any]) -> None:
    """Statuses of problems are listed on the operations that can answer with them, as problems."""
    for name, operation in operations(document).items():
        statuses = {int(status) for status in operation["responses"]}
        assert {400, 406, 422, 500, 503} <= statuses, name
        if "requestBody" in operation:
            assert {413, 415} <= statuses, name
        keys = operation.get("security", [{}])
        assert (401 in statuses) is (keys != [{}]), name
        assert (403 in statuses) is ({} not in keys or name in FOR_SOME), name
        if "{" in name:
            assert 404 in statuses, name
        for status, answer in operation["responses"].items():
            assert ("$ref" in answer) == (int(status) >= 400), name
    for status in {kind.status for kind in KINDS.values()}:
        answer = document["components"]["responses"][f"Problem{status}"]
        assert list(answer["content"]) == ["application/problem+json"]


def test_writes_take_an_idempotency_key_and_a_security_scheme(document: dict[str, Any]) -> None:
    """Adding a region is described with its key header, its bearer key and where the region will stand."""
    operation = document["paths"]["/v1/regions"]["post"]
    assert operation["security"] == [{"key": []}]
    assert [parameter["name"] for parameter in operation["parameters"]] == ["Idempotency-Key"]
    assert {"Location", "Idempotency-Replayed"} == set(operation["responses"]["201"]["headers"])


def test_parameters_are_never_null(document: dict[str, Any]) -> None:
    """A parameter is left out, never null; its schema and its words are those of the query's model."""
    (region,) = document["paths"]["/v1/yards"]["get"]["parameters"]
    assert (region["in"], region["required"]) == ("query", False)
    assert region["schema"]["type"] == "string"
    assert "YardQuery" not in document["components"]["schemas"]


def test_the_document_is_stable(document: dict[str, Any]) -> None:
    """Described again, the interface gives the same bytes."""
    again = openapi_document(create_app(Settings(database_url="sqlite:///unused.sqlite")))
    assert json.dumps(again) == json.dumps(document)


def test_the_file_in_the_repository_is_up_to_date(document: dict[str, Any]) -> None:
    """The committed description is the one that `gradewright openapi` writes now."""
    committed = Path(__file__).parents[2] / "openapi" / "gradewright.json"
    assert json.loads(committed.read_text(encoding="utf-8")) == document, "run: gradewright openapi"
