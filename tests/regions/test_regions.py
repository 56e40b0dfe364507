"""The tree of regions: as it was at any revision, and adding to it."""

from __future__ import annotations

import asyncio
from datetime import UTC, datetime
from types import MappingProxyType

import httpx
import pytest
from litestar import Litestar

from gradewright.asgi import Services, create_app
from gradewright.regions.service import Region, RegionTree, UnknownRegion
from gradewright.settings import Settings
from gradewright.web.problems import Problem

Headers = dict[str, str]
XO = {"code": "XO", "name": "Orvale", "parent": None, "currency": "USD", "unit": "lb"}
KEL = {"code": "XO-KEL", "name": "Kelder Bay", "parent": "XO", "currency": "USD", "unit": "lb"}


def tree(*regions: tuple[str, str | None, int]) -> RegionTree:
    """A tree of (code, parent, revision)."""
    made = {code: Region(code, code.title(), parent, "USD", "lb", at) for code, parent, at in regions}
    return RegionTree(MappingProxyType(made))


MAP = tree(
    ("XO", None, 1), ("XO-KEL", "XO", 2), ("XO-KEL-EAST", "XO-KEL", 5), ("XO-MAR", "XO", 3), ("XP", None, 4)
)


def test_a_region_is_not_known_before_its_revision() -> None:
    """As of an earlier revision a later region does not exist."""
    assert MAP.get("XO-KEL", 2).code == "XO-KEL"
    with pytest.raises(UnknownRegion):
        MAP.get("XO-KEL", 1)
    assert [region.code for region in MAP.all(3)] == ["XO", "XO-KEL", "XO-MAR"]


def test_lineage_goes_from_the_nearest_outwards() -> None:
    """The lineage begins with the region itself and ends with its country."""
    assert MAP.lineage("XO-KEL-EAST") == ("XO-KEL-EAST", "XO-KEL", "XO")
    assert MAP.lineage("XP") == ("XP",)


def test_under_holds_all_levels_below() -> None:
    """A country holds its subdivisions and their localities, but only those known then."""
    assert MAP.under("XO") == {"XO", "XO-KEL", "XO-KEL-EAST", "XO-MAR"}
    assert MAP.under("XO", 3) == {"XO", "XO-KEL", "XO-MAR"}
    assert MAP.under("XO-KEL-EAST") == {"XO-KEL-EAST"}


@pytest.mark.parametrize(
    ("asked", "meant"), [("XO-KIL", "XO-KEL"), ("xo-kel", "XO-KEL"), ("XO-MARR", "XO-MAR")]
)
def test_a_misspelt_code_is_suggested(asked: str, meant: str) -> None:
    """What is near is suggested first, in the fault and in the sentence."""
    with pytest.raises(UnknownRegion) as refusal:
        MAP.get(asked)
    assert refusal.value.faults[0].suggestions[0] == meant
    assert meant in refusal.value.detail


async def test_regions_are_added_and_read(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A region that is added has the next revision and can be read at once, alone and in the list."""
    first = await client.post("/v1/regions", json=XO, headers=maintainer)
    second = await client.post("/v1/regions", json=KEL, headers=maintainer)
    assert (first.status_code, second.status_code) == (201, 201)
    assert first.json() == {**XO, "revision": 1}
    assert second.json() == {**KEL, "revision": 2}
    assert second.headers["location"] == "/v1/regions/XO-KEL"
    assert (await client.get("/v1/regions/XO-KEL")).json() == KEL
    assert (await client.get("/v1/regions")).json() == {"regions": [XO, KEL]}


async def test_a_unit_is_kept_by_its_symbol(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A unit may be given by any of its names; it is kept and shown by its symbol."""
    response = await client.post("/v1/regions", json={**XO, "unit": "pounds"}, headers=maintainer)
    assert response.json()["unit"] == "lb"


async def test_a_region_is_never_made_twice(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A code that is taken is a conflict, and the first region stays as it was."""
    await client.post("/v1/regions", json=XO, headers=maintainer)
    response = await client.post("/v1/regions", json={**XO, "name": "Other"}, headers=maintainer)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.errors[0].pointer) == (409, "#/code")
    assert (await client.get("/v1/regions/XO")).json()["name"] == "Orvale"


async def test_ten_at_once_make_one(app: Litestar, client: httpx.AsyncClient, maintainer: Headers) -> None:
    """Of ten requests at once for one code one is served, the others conflict; one revision is taken."""
    answers = await asyncio.gather(
        *(client.post("/v1/regions", json=XO, headers=maintainer) for _ in range(10))
    )
    assert sorted(answer.status_code for answer in answers) == [201] + [409] * 9
    services: Services = app.state["services"]
    assert (await services.database.newest()).number == 1


@pytest.mark.parametrize(
    ("changes", "status", "pointer"),
    [
        pytest.param({"parent": "XQ", "code": "XQ-A"}, 422, "#/parent", id="no such parent"),
        pytest.param({"parent": "XO", "code": "XP-KEL"}, 422, "#/parent", id="of another country"),
        pytest.param({"parent": "XO-KEL", "code": "XO-KEL"}, 422, "#/parent", id="its own parent"),
        pytest.param({"parent": "XO-KEL", "code": "XO"}, 422, "#/parent", id="below its child"),
    ],
)
async def test_a_parent_that_cannot_be(
    client: httpx.AsyncClient, maintainer: Headers, changes: dict[str, str], status: int, pointer: str
) -> None:
    """A parent must exist, and its code must begin the child's."""
    await client.post("/v1/regions", json=XO, headers=maintainer)
    response = await client.post("/v1/regions", json={**KEL, **changes}, headers=maintainer)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.errors[0].pointer) == (status, pointer)


async def test_a_region_may_stand_alone(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """A subdivision can be made without its country; `parent` may be left out."""
    body = {name: value for name, value in KEL.items() if name != "parent"}
    response = await client.post("/v1/regions", json=body, headers=maintainer)
    assert (response.status_code, response.json()["parent"]) == (201, None)


async def test_an_unknown_region_in_the_path_is_404(client: httpx.AsyncClient, maintainer: Headers) -> None:
    """What the path names and is not there is 404, with what may have been meant."""
    await client.post("/v1/regions", json=XO, headers=maintainer)
    response = await client.get("/v1/regions/XQ")
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.type) == (404, "/problems/unknown-region")
    assert (problem.errors[0].parameter, problem.errors[0].suggestions) == ("region", None)


async def test_an_unreadable_code_in_the_path_is_404(client: httpx.AsyncClient) -> None:
    """A code that could never be a region's is simply not there."""
    assert (await client.get("/v1/regions/<script>")).status_code == 404


async def test_what_another_worker_adds_is_seen(
    app: Litestar, client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """A region added by another worker appears once the ledger has been asked again."""
    assert (await client.get("/v1/regions")).json() == {"regions": []}
    services: Services = app.state["services"]
    url = services.database.url.render_as_string(hide_password=False)
    other: Services = create_app(Settings(database_url=url)).state["services"]
    async with other.database.write() as session:
        await other.regions.add(session, Region("XO", "Orvale", None, "USD", "lb"), datetime.now(UTC))
    await other.database.close()
    assert (await client.get("/v1/regions")).json() == {"regions": [XO]}


async def test_a_region_in_a_country_that_is_here_stands_under_it(
    client: httpx.AsyncClient, maintainer: Headers
) -> None:
    """Left out, the parent could never be mended: the country's prices would never stand in."""
    alone = {**KEL, "parent": None}
    assert (await client.post("/v1/regions", json=XO, headers=maintainer)).status_code == 201
    response = await client.post("/v1/regions", json=alone, headers=maintainer)
    problem = Problem.model_validate_json(response.content)
    assert (response.status_code, problem.errors[0].pointer) == (422, "#/parent")
    assert problem.errors[0].suggestions == ["XO"]
    elsewhere = {**alone, "code": "XP-ABE"}
    assert (await client.post("/v1/regions", json=elsewhere, headers=maintainer)).status_code == 201
