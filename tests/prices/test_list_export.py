"""A yard's list of any day, as a file: what it has, as known when, and that it comes back the same."""

from __future__ import annotations

import asyncio
import csv
import io
import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.api import World, empty_world, price, problem_of, settle
from tests.conftest import KINDS
from tests.prices.uploading import CSV, LINES, dry_run, export, uploaded

from gradewright.accounts.service import Role
from gradewright.prices.list_files import LISTS

HEAD = ["label", "grade", "price", "currency", "per", "from_weight"]


async def listed(world: World, **query: Any) -> list[tuple[str, ...]]:
    """The lines of a list, without its first."""
    text = (await export(world, **query)).content.decode()
    head, *rows = csv.reader(io.StringIO(text, newline=""))
    assert head == HEAD
    return [tuple(row) for row in rows]


async def test_the_list_is_as_posted(world: World) -> None:
    """Label, price, unit and from-weight stand as they were posted, in the order of the rulebook."""
    await world.post(
        price("light-iron", "180.00", "gross ton"),
        {"label": "#2 CU", "price": "3.350", "currency": "USD", "per": "lb"},
        price("Birch", "3.5", from_weight="2 lb 3 oz"),
    )
    assert await listed(world) == [
        ("#2 CU", "copper-no2", "3.350", "USD", "lb", ""),
        ("", "copper-no2", "3.5", "USD", "lb", "2 lb 3 oz"),
        ("", "light-iron", "180.00", "USD", "gross ton", ""),
    ]


async def test_of_each_price_the_newest(world: World) -> None:
    """The later day wins, then the later posting, whoever made it; a weight in other words is the same."""
    await world.post(price("copper-no1", "4.00"), on="2026-05-02", who="teal")
    await world.post(price("copper-no1", "4.20"), on="2026-05-03", who="wren")
    await world.post(price("copper-no1", "4.10"), on="2026-05-01", who="teal")
    await world.post(price("copper-no2", "3.00", from_weight="100 lb"), who="wren")
    await world.post(price("copper-no2", "3.10", from_weight="1600 oz"), who="teal")
    assert [line[1:3] for line in await listed(world)] == [("copper-no1", "4.20"), ("copper-no2", "3.10")]


async def test_of_any_day_as_known_at_any_revision(world: World) -> None:
    """A list is that of its day; a posting that came later is not in what was known before."""
    first = await world.post(price("copper-no1", "4.00"), on="2026-05-01")
    second = await world.post(price("copper-no1", "4.20"), on="2026-05-03")
    late = await world.post(price("copper-no1", "4.10"), on="2026-05-02")
    days = [(await listed(world, on=f"2026-05-0{day}"))[0][2] for day in (1, 2, 3, 4)]
    assert days == ["4.00", "4.10", "4.20", "4.20"]
    assert (await listed(world, on="2026-05-02", known_at=late["revision"] - 1))[0][2] == "4.00"
    assert await listed(world, known_at=first["revision"] - 1) == []
    answer = await export(world, known_at=second["revision"])
    assert answer.headers["known-at"] == str(second["revision"])
    now = await export(world)
    assert now.headers["known-at"] == str(late["revision"])


async def test_prices_too_old_to_count_are_left_out(world: World) -> None:
    """A price is listed for as long as it counts: 120 days."""
    await world.post(price("copper-no1", "4.00"), on="2026-01-04")
    assert len(await listed(world, on="2026-05-04")) == 1
    assert await listed(world, on="2026-05-05") == []


async def test_withdrawn_prices_give_way_to_those_before(world: World) -> None:
    """A price that was taken back is not listed; the one before it is, and was known at the time."""
    await world.post(price("copper-no1", "4.00"), on="2026-05-01")
    mistyped = await world.post(price("copper-no1", "40.0"), on="2026-05-02")
    body = {"reason": "mistyped"}
    response = await world.send(f"/v1/postings/{mistyped['id']}/withdrawal", body, "wren")
    assert response.status_code == 201, response.text
    assert (await listed(world))[0][2] == "4.00"
    assert (await listed(world, known_at=mistyped["revision"]))[0][2] == "40.0"


async def test_grades_that_are_not_taken_any_more_are_left_out(world: World) -> None:
    """From the day on which the yard refuses a grade its list has no price of it."""
    await world.post(price("screws", "1"), price("copper-no1", "4"), on="2026-05-01")
    said = {"reason": "A sign.", "from": "2026-05-03", "refuses": ["screws"]}
    response = await world.send("/v1/yards/low-quay/house-rules", said, "sedge", Role.MAINTAINER)
    assert response.status_code == 201, response.text
    assert len(await listed(world, on="2026-05-02")) == 2
    assert [line[1] for line in await listed(world, on="2026-05-03")] == ["copper-no1"]
    assert (await dry_run(world, (await export(world)).content))["counts"]["same"] == 1


async def test_a_label_that_means_something_else_by_then(world: World) -> None:
    """Where the yard uses a label for another grade since, its old price is listed by its grade alone."""
    body = {"label": "#2 Cu", "price": "3.35", "currency": "USD", "per": "lb"}
    await world.post(body, on="2026-05-01")
    said = {"reason": "A sign.", "from": "2026-05-03", "labels": [{"label": "#2 Cu", "grade": "copper-no1"}]}
    response = await world.send("/v1/yards/low-quay/house-rules", said, "sedge", Role.MAINTAINER)
    assert response.status_code == 201, response.text
    assert (await listed(world, on="2026-05-02"))[0][:2] == ("#2 Cu", "copper-no2")
    assert (await listed(world, on="2026-05-03"))[0][:2] == ("", "copper-no2")
    assert (await dry_run(world, (await export(world)).content))["counts"]["same"] == 1


async def test_the_forms_of_a_list(world: World) -> None:
    """By Accept or `format` it is CSV or JSON Lines, an attachment with a name; CSV where all is taken."""
    await world.post(price("copper-no1", "4.10"))
    lines = await export(world, accept=LINES)
    assert json.loads(lines.text) == {"grade": "copper-no1", "price": "4.10", "currency": "USD", "per": "lb"}
    kinds = {
        ("*/*", None): CSV,
        ("text/*", None): CSV,
        ("application/jsonl", None): "application/jsonl",
        (f"{CSV};q=0.5, {LINES}", None): LINES,
        ("*/*", "jsonl"): LINES,
        (f"{CSV}, {LINES}", "jsonl"): LINES,
        ("*/*", "csv"): CSV,
    }
    for (accept, form), media in kinds.items():
        query = {} if form is None else {"format": form}
        answer = await export(world, accept=accept, **query)
        assert answer.headers["content-type"].partition(";")[0] == media, (accept, form)
        ending = "csv" if media == CSV else "jsonl"
        assert answer.headers["content-disposition"] == f'attachment; filename="low-quay-2026-05-04.{ending}"'


@pytest.mark.parametrize(
    ("accept", "query"), [("application/json", {}), ("image/png", {}), (CSV, {"format": "jsonl"})]
)
async def test_a_form_that_the_list_does_not_have(
    untouched: World, accept: str, query: dict[str, str]
) -> None:
    """What cannot be had is 406, not something else."""
    path = "/v1/yards/low-quay/lists"
    problem_of(await untouched.client.get(path, params=query, headers={"Accept": accept}), "not-acceptable")


Named = tuple[str | None, str | None]
NAMES = st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=40).filter(
    lambda text: text == text.strip(" ") and text.strip() != ""
)
PRICES = st.builds(
    lambda digits, places: str(Decimal(digits).scaleb(-places)),
    st.integers(-999_999, 999_999),
    st.integers(0, 6),
).filter(lambda text: "E" not in text and not text.startswith("-0"))
WEIGHTS = st.one_of(
    st.none(),
    st.builds(
        "{} {}".format, st.integers(1, 5000), st.sampled_from(["lb", "kg", "oz", "g", "short ton", "t"])
    ),
    st.builds("{} lb {} oz".format, st.integers(1, 50), st.integers(1, 15)),
)
SAID: st.SearchStrategy[Named] = st.sampled_from(
    [("#2 Cu", None), ("#1 Cu", "copper-no1"), (None, "light-iron"), (None, "screws")]
)
SENT: st.SearchStrategy[list[dict[str, Any]]] = st.lists(
    st.fixed_dictionaries(
        {
            "named": st.one_of(SAID, st.tuples(NAMES, st.sampled_from(["copper-residue", "steel-heavy"]))),
            "price": PRICES,
            "per": st.sampled_from([None, "lb", "kg", "g", "gross ton", "short ton", "oz"]),
            "from_weight": WEIGHTS,
        }
    ),
    min_size=1,
    max_size=12,
    unique_by=lambda line: (line["named"][1] or line["named"][0], line["from_weight"]),
)


@pytest.mark.parametrize("kind", KINDS)
def test_an_export_comes_back_the_same(request: pytest.FixtureRequest, kind: str) -> None:
    """Whatever lists are stored, one after the other: what is then exported is, uploaded again, the same."""
    with asyncio.Runner() as runner:
        context = empty_world(request, kind)
        stored: list[bool] = []
        world = runner.run(_entered(context))
        try:

            @settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
            @given(SENT, st.booleans())
            def holds(lines: list[dict[str, Any]], as_csv: bool) -> None:
                stored.append(runner.run(_there_and_back(world, lines, as_csv)))

            holds()
            assert sum(stored) >= 5
        finally:
            runner.run(context.__aexit__(None, None, None))


async def _entered(context: Any) -> World:
    return await settle(await context.__aenter__())


async def _there_and_back(world: World, lines: list[dict[str, Any]], as_csv: bool) -> bool:
    """Whether the list could be stored."""
    rows = [
        {
            "label": line["named"][0],
            "grade": line["named"][1],
            "price": line["price"],
            "per": line["per"],
            "from_weight": line["from_weight"],
        }
        for line in lines
    ]
    sent = [{name: cell for name, cell in row.items() if cell is not None} for row in rows]
    body, media = (LISTS.write_csv(sent), CSV) if as_csv else (LISTS.write_lines(sent), LINES)
    trial = await dry_run(world, body, media=media)
    if not trial["can_be_stored"]:  # "16 oz" and "1 lb" are one weight, and a label may be one of the yard's
        faults = [fault["detail"] for line in trial["lines"] for fault in line["faults"]]
        assert all("has a price already" in fault or "stands for" in fault for fault in faults), faults
        return False
    await uploaded(world, body, media=media)
    for accept in (CSV, LINES):
        exported = await export(world, accept=accept)
        again = await dry_run(world, exported.content, media=accept)
        assert again["counts"] == {**dict.fromkeys(again["counts"], 0), "same": len(again["lines"])}
    there = [json.loads(line) for line in exported.text.split("\n") if line]
    for row in sent:  # to the letter, whatever is listed besides
        assert any(row.items() <= line.items() for line in there), row
    return True
