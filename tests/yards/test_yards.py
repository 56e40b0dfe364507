"""Yards over HTTP: added for good with their terms and labels, read by slug and by region."""

from __future__ import annotations

from datetime import date

import httpx
import pytest
from litestar import Litestar
from tests.api import small_rulebook

from gradewright.asgi import Services
from gradewright.clock import utc_now
from gradewright.web.problems import Problem

Headers = dict[str, str]
XO = {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"}
KEL = {"code": "XO-KEL", "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb"}
LOW_QUAY = {
    "slug": "low-quay",
    "name": "Low Quay",
    "region": "XO-KEL",
    "currency": "USD",
    "unit": "lb",
    "rounding": "half-up",
    "cash_increment": "0.050",
    "labels": [
        {"label": "#2 Cu", "grade": "copper-no2"},
        {"label": "Shiny", "grade": "copper-bright", "from": "2026-01-01"},
    ],
    "refuses": ["steel-heavy", "boards-low"],
}
PLAIN = {"slug": "tern-row", "name": "Tern Row", "region": "XO", "currency": "USD", "unit": "kg"}


@pytest.fixture
async def area(app: Litestar, client: httpx.AsyncClient, maintainer: Headers) -> httpx.AsyncClient:
    """A client of a service with two regions, and a rulebook with the grades that yards speak of."""
    document = small_rulebook()
    for grade in ("copper-bright", "boards-low"):
        document["grades"][grade] = {**document["grades"]["copper-no2"], "name": grade, "aliases": []}
    await app.state["services"].rulebooks.publish(document, utc_now())
    for region in (XO, KEL):
        await client.post("/v1/regions", json=region, headers=maintainer)
    return client


async def test_a_yard_is_added_with_its_terms(area: httpx.AsyncClient, maintainer: Headers) -> None:
    """A yard comes back as it was posted, digit for digit; labels without a day count from today."""
    response = await area.post("/v1/yards", json=LOW_QUAY, headers=maintainer)
    assert response.status_code == 201
    assert response.headers["location"] == "/v1/yards/low-quay"
    made = response.json()
    assert made.pop("revision") == 4
    assert made == {
        **LOW_QUAY,
        "labels": [
            {"label": "Shiny", "grade": "copper-bright", "from": "2026-01-01"},
            {"label": "#2 Cu", "grade": "copper-no2", "from": "2026-05-04"},
        ],
        "refuses": ["boards-low", "steel-heavy"],
    }
    seen = (await area.get("/v1/yards/low-quay")).json()
    assert [one["grade"] for one in seen.pop("not_taken")] == made["refuses"]
    assert seen == made


async def test_a_yard_needs_only_its_essentials(area: httpx.AsyncClient, maintainer: Headers) -> None:
    """Rounding is half-even, and there is no cash step, label or refusal, unless they are given."""
    made = (await area.post("/v1/yards", json=PLAIN, headers=maintainer)).json()
    assert made == {
        **PLAIN,
        "rounding": "half-even",
        "cash_increment": None,
        "labels": [],
        "refuses": [],
        "revision": 4,
    }


async def test_yards_are_listed_by_region(area: httpx.AsyncClient, maintainer: Headers) -> None:
    """The list is by slug; a region's list holds the yards of the regions below it."""
    for yard in (PLAIN, LOW_QUAY):
        await area.post("/v1/yards", json=yard, headers=maintainer)

    async def listed(query: str) -> list[str]:
        return [yard["slug"] for yard in (await area.get(f"/v1/yards{query}")).json()["yards"]]

    assert await listed("") == ["low-quay", "tern-row"]
    assert await listed("?region=XO") == ["low-quay", "tern-row"]
    assert await listed("?region=XO-KEL") == ["low-quay"]


async def test_the_atlas_is_the_same_object_until_something_is_added(
    app: Litestar, area: httpx.AsyncClient, maintainer: Headers
) -> None:
    """Whoever keeps something by the atlas can compare it by identity."""
    services: Services = app.state["services"]
    before = await services.yards.atlas()
    assert await services.yards.atlas() is before
    await area.post("/v1/yards", json=LOW_QUAY, headers=maintainer)
    after = await services.yards.atlas()
    assert after is not before
    assert after.grade_for_label("low-quay", "#2 CU", date(2026, 5, 4)) == "copper-no2"
    assert after.grade_for_label("low-quay", "#2 CU", date(2026, 5, 3)) is None


@pytest.mark.parametrize(
    ("changes", "status", "kind", "pointer"),
    [
        pytest.param({"region": "XO-KIL"}, 422, "unknown-region", "#/region", id="no such region"),
        pytest.param(
            {"labels": [{"label": "Cu", "grade": "a"}, {"label": " cU", "grade": "b"}]},
            422,
            "invalid-request",
            "#/labels/1/label",
            id="a label with a space before",
        ),
        pytest.param(
            {"labels": [{"label": "Cu 2", "grade": "a"}, {"label": "cU  2", "grade": "b"}]},
            422,
            "invalid-request",
            "#/labels/1/label",
            id="a label twice",
        ),
        pytest.param(
            {"refuses": ["a", "b", "a"]}, 422, "invalid-request", "#/refuses/2", id="a refusal twice"
        ),
        pytest.param(
            {"labels": [{"label": "Cu", "grade": "a", "form": "x"}]},
            422,
            "invalid-request",
            "#/labels/0/form",
            id="an unknown field inside",
        ),
    ],
)
async def test_a_yard_that_cannot_be(
    area: httpx.AsyncClient,
    maintainer: Headers,
    changes: dict[str, object],
    status: int,
    kind: str,
    pointer: str,
) -> None:
    """The fault is pointed at, and nothing of the yard is stored."""
    response = await area.post("/v1/yards", json={**LOW_QUAY, **changes}, headers=maintainer)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (status, f"/problems/{kind}")
    assert problem.errors[0].pointer == pointer
    assert (await area.get("/v1/yards")).json() == {"yards": []}


async def test_one_label_may_change_its_meaning_on_a_day(
    area: httpx.AsyncClient, maintainer: Headers
) -> None:
    """A label may be given twice where it stands for another grade from another day on."""
    labels = [
        {"label": "Cu", "grade": "copper-no1", "from": "2026-01-01"},
        {"label": "Cu", "grade": "copper-no2", "from": "2026-02-01"},
    ]
    response = await area.post("/v1/yards", json={**LOW_QUAY, "labels": labels}, headers=maintainer)
    assert response.status_code == 201


async def test_a_label_is_a_word_for_a_grade_that_there_is(
    area: httpx.AsyncClient, maintainer: Headers
) -> None:
    """Labels and refusals are held against the rulebook of their day: what is misspelt is never kept."""
    labels = [{"label": "Cu", "grade": "copper-no2"}, {"label": "Shiny", "grade": "coper-bright"}]
    body = {**LOW_QUAY, "labels": labels, "refuses": ["nonsense", "steel-heavy"]}
    response = await area.post("/v1/yards", json=body, headers=maintainer)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (422, "/problems/unknown-grade")
    assert [error.pointer for error in problem.errors] == ["#/labels/1/grade", "#/refuses/0"]
    assert problem.errors[0].suggestions is not None
    assert problem.errors[0].suggestions[0] == "copper-bright"
    assert (await area.get("/v1/yards/low-quay")).status_code == 404


async def test_a_label_from_before_any_rulebook(area: httpx.AsyncClient, maintainer: Headers) -> None:
    """A label cannot count from a day on which no rulebook said what a grade is."""
    labels = [{"label": "Cu", "grade": "copper-no2", "from": "1999-01-01"}]
    response = await area.post("/v1/yards", json={**LOW_QUAY, "labels": labels}, headers=maintainer)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (422, "/problems/no-rulebook-in-force")
    assert [error.pointer for error in problem.errors] == ["#/labels/0/grade"]


async def test_a_yard_is_never_made_twice(area: httpx.AsyncClient, maintainer: Headers) -> None:
    """A slug that is taken is a conflict."""
    await area.post("/v1/yards", json=LOW_QUAY, headers=maintainer)
    response = await area.post("/v1/yards", json=LOW_QUAY, headers=maintainer)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.errors[0].pointer) == (409, "#/slug")


async def test_an_unknown_yard_in_the_path_is_404(area: httpx.AsyncClient, maintainer: Headers) -> None:
    """What the path names and is not there is 404, with what may have been meant."""
    await area.post("/v1/yards", json=LOW_QUAY, headers=maintainer)
    response = await area.get("/v1/yards/low-quai")
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (404, "/problems/unknown-yard")
    assert problem.errors[0].suggestions == ["low-quay"]
