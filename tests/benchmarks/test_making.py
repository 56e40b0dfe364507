"""A benchmark that is made with its first values: both, or neither."""

from __future__ import annotations

from typing import Any

import pytest

from tests.api import World, problem_of, where
from tests.benchmarks.keeping import COPPER, make, send

VALUES = "date,value\n2026-04-01,9000\n2026-05-01,9450.00\n"
NEW = {name: value for name, value in COPPER.items() if name != "slug"}


async def _benchmarks(world: World) -> list[Any]:
    found: list[Any] = (await world.get("/v1/benchmarks"))["benchmarks"]
    return found


async def test_it_is_made_with_its_values(world: World) -> None:
    """In one act: it is there with all that was said of it, and with its values."""
    before = await world.revision()
    response = await send(world, VALUES, **NEW)
    assert response.status_code == 201, response.text
    told = response.json()
    assert (told["made"], told["new"], told["revision"]) == (True, 2, before + 2)
    [one] = await _benchmarks(world)
    assert {name: one[name] for name in COPPER} == COPPER
    assert one["days"] == 2
    again = (await send(world, VALUES)).json()
    assert (again["made"], again["same"]) == (False, 2)


@pytest.mark.parametrize(
    ("text", "query", "at"),
    [
        ("Date;Close\n2026-05-01;9\n", {}, None),
        ("date,value\n2026-05-01,nine\n", {}, ["#/lines/2/value"]),
        ("date,value\n2026-04-01,9\n2026-05-01,90\n", {}, ["#/lines/3/value"]),
        ("date,value,currency\n2026-05-01,9,CAD\n", {}, ["#/lines/2/currency"]),
        (VALUES, {"unit": None}, ["unit"]),
        (VALUES, {"currency": "XXQ"}, ["currency"]),
        (VALUES, {"unit": "ton"}, ["unit"]),
        (VALUES, {"name": None}, ["name"]),
        (VALUES, {"source": None}, ["source"]),
    ],
)
async def test_what_is_wrong_leaves_nothing(
    world: World, text: str, query: dict[str, Any], at: list[str] | None
) -> None:
    """A fault of the file, or of what is said of the benchmark, is told, and no benchmark is there then."""
    before = await world.revision()
    asked = {name: value for name, value in {**NEW, **query}.items() if value is not None}
    problem = problem_of(await send(world, text, **asked), "invalid-request")
    if at is not None:
        assert where(problem) == at
    assert await _benchmarks(world) == []
    assert await world.revision() == before


async def test_a_slug_that_is_none_is_told(world: World) -> None:
    """What cannot be the slug of a benchmark does not become one."""
    problem = problem_of(await send(world, VALUES, benchmark="Copper", **NEW), "invalid-request")
    assert where(problem) == ["benchmark"]
    assert await _benchmarks(world) == []


async def test_a_new_one_can_be_tried(world: World) -> None:
    """A dry run tells the faults, and what would be new, of a benchmark that is not there yet."""
    told = (await send(world, VALUES, dry_run=True, **NEW)).json()
    assert (told["made"], told["new"], told["revision"]) == (True, 2, None)
    problem_of(await send(world, VALUES + "2026-05-02,1\n", dry_run=True, **NEW), "invalid-request")
    assert await _benchmarks(world) == []


async def test_one_that_is_there_is_not_made_again(world: World) -> None:
    """409, in a dry run too, and nothing is added to it: it may be another one."""
    await make(world)
    for dry_run in (True, False):
        problem_of(await send(world, VALUES, dry_run=dry_run, **NEW), "conflict", 409)
    [one] = await _benchmarks(world)
    assert one["days"] == 0


async def test_a_repetition_is_the_same_answer(world: World) -> None:
    """Sent again under its key it is answered as the first time."""
    first = await send(world, VALUES, key="once", **NEW)
    again = await send(world, VALUES, key="once", **NEW)
    assert (first.status_code, first.content) == (201, again.content)
    assert len(await _benchmarks(world)) == 1
