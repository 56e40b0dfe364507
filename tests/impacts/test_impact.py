"""What a draft would change, held against valuations by its version once that is published."""

from __future__ import annotations

import asyncio
import json
import random
import re
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from gradewright.accounts.service import Role
from gradewright.core.impact import Currency, Impact, Place, Sums, Valued
from gradewright.impacts.cli import app
from gradewright.prices.board import Board
from gradewright.valuations import kept
from gradewright.web.problems import Problem
from tests.api import World, price, problem_of
from tests.drafts.desk import NEXT, RAIL, SEDGE, Desk

THICKER = {"limits": {"heavy_steel_thickness": {"value": "8 mm"}}, "examples": []}
DRAW = random.Random(4)
THICKNESSES = ("5 mm", "6.35 mm", "7 mm", "7.999 mm", "8 mm", "12 mm")


def part(number: int) -> dict[str, Any]:
    """A part whose grade the draft may change, or one that it cannot, or one that is not decided."""
    seen: list[dict[str, Any]] = [
        {"metal": "steel", "thickness": DRAW.choice(THICKNESSES)},
        {"metal": "copper", "steel_screws": DRAW.random() < 0.5},
        {"metal": "steel"},
        {"metal": "copper"},
        {"metal": "copper", "sticks_to_magnet": True},
    ]
    observed = DRAW.choices(seen, weights=(6, 2, 1, 2, 1))[0]
    weight = f"{DRAW.randint(1, 900) / 10} kg"
    if DRAW.random() < 0.1:
        return {"name": f"p{number}", "weight": weight, "grade": "tin"}
    return {"name": f"p{number}", "weight": weight, "count": 2, "observed": observed}


async def furnished(world: World, lists: int = 12) -> list[Any]:
    """A district with prices in two regions, better ones for larger lots, a yard with a limit of its own, and
    valuations kept on two days: their requests."""
    DRAW.seed(4)
    grades = {"copper-no1": "3.35", "steel-heavy": "0.11", "light-iron": "0.07"}
    await world.post(
        *(price(grade, amount) for grade, amount in grades.items()),
        price("light-iron", "0.09", from_weight="100 lb"),
        price("copper-no1", "3.60", from_weight="60 lb"),
    )
    said = {
        "reason": "The sign.",
        "from": "2026-05-01",
        "limits": [{"limit": "heavy_steel_thickness", "value": "7 mm"}],
    }
    answer = await world.send("/v1/yards/low-quay/house-rules", said, SEDGE, Role.MAINTAINER)
    assert answer.status_code == 201, answer.text
    await world.post(
        *(price(grade, amount, "kg") for grade, amount in {**grades, "steel-heavy": "0.3"}.items()),
        yard="far-gate",
    )
    asked = []
    for number in range(lists):
        place = [{"region": "XO-KEL"}, {"region": "XO-FEN"}, {"yard": "low-quay"}][number % 3]
        body = {**place, "keep": True, "parts": [part(n) for n in range(DRAW.randint(1, 6))]}
        answer = await world.send("/v1/valuations", body)
        assert answer.status_code == 201, answer.text
        asked.append((answer.headers["Valuation-Id"], {**body, "keep": False}, answer.json()["on"]))
        if number == lists // 2:
            world.clock.now += timedelta(days=1)
    return asked


async def looked_at(desk: Desk, name: str, body: Any, who: str = RAIL) -> Any:
    """The impact of a draft."""
    answer = await desk.send("POST", f"/{name}/impact", who, json=body)
    assert answer.status_code == 200, answer.text
    return answer.json()


async def drafted(desk: Desk, patch: Any = THICKER) -> str:
    """A draft that changes a limit."""
    made = await desk.make()
    name: str = made["id"]
    answer = await desk.patch(name, patch, made["etag"])
    assert answer.status_code == 200, answer.text
    return name


async def test_it_is_what_valuations_say_once_the_draft_is_published(desk: Desk) -> None:
    """Counts, sums, moves, regions, losers and gainers are those of the lists, valued by both versions."""
    world = desk.world
    asked = await furnished(world)
    name = await drafted(desk)
    document = (await desk.read(name))["document"]
    screwed, clean, *steel = document["rules"]
    rules = [{**clean, "when": {"metal": "copper"}}, *steel]  # who does not look for screws is answered too
    patch = {"rules": rules, "grades": {screwed["grade"]: {"by_name_only": True}}}
    etag = (await desk.send("GET", f"/{name}", RAIL)).headers["etag"]
    assert (await desk.patch(name, patch, etag)).status_code == 200
    found = await looked_at(desk, name, {})
    document = (await desk.read(name))["document"]
    caution = {
        **document["cautions"],
        "screws": {**document["cautions"]["sharp"], "when": [{"steel_screws": True}]},
    }
    await world.publish({**document, "cautions": caution})
    totals: dict[str, dict[str, tuple[Decimal, Decimal, str]]] = {}
    parts = changed = 0
    moves: dict[tuple[str, str], list[Decimal]] = {}
    beside: dict[str, list[Decimal]] = {"newly": [], "no_longer": []}
    for valuation, body, on in asked:
        both = []
        for version in ("2020.1", "2027.1"):
            answer = await world.send("/v1/valuations", {**body, "on": on, "rulebook": version})
            assert answer.status_code == 200, answer.text
            both.append(answer.json())
        before, after = both
        parts += len(body["parts"])
        for old, new in zip(before["parts"], after["parts"], strict=True):
            ends = tuple(each["grade"] or each["outcome"] for each in (old, new))
            if ends[0] != ends[1]:
                changed += 1
                both_priced = old["amount"] and new["amount"]
                was, now = (Decimal(each["amount"]["likely"] if both_priced else 0) for each in (old, new))
                moves.setdefault((ends[0], ends[1]), []).append(now - was)
        pairs = [
            (old["amount"], new["amount"]) for old, new in zip(before["parts"], after["parts"], strict=True)
        ]
        counted = [(Decimal(old["likely"]), Decimal(new["likely"])) for old, new in pairs if old and new]
        likely = [sum((pair[side] for pair in counted), Decimal(0)) for side in (0, 1)]
        totals.setdefault(before["currency"], {})[valuation] = (likely[0], likely[1], before["region"])
        for old, new in pairs:
            if (old is None) != (new is None):
                beside["newly" if old is None else "no_longer"].append(Decimal((old or new)["likely"]))
    assert (found["valuations"], found["parts"], found["parts_changed"]) == (len(asked), parts, changed)
    assert changed >= 3
    assert ("undecided", "copper-no1") in moves
    assert {each["currency"] for each in found["currencies"]} == set(totals)
    told_moves: dict[tuple[str, str], tuple[int, Decimal]] = {}
    for currency in found["currencies"]:
        lists = totals[currency["currency"]]
        changes = {name: after - before for name, (before, after, _) in lists.items() if after != before}
        everything = currency["all"]
        assert everything["valuations"] == len(lists)
        assert everything["changed"] == len(changes)
        assert Decimal(everything["before"]) == sum(before for before, _, _ in lists.values())
        assert Decimal(everything["after"]) == sum(after for _, after, _ in lists.values())
        assert Decimal(currency["lost"]) == sum(change for change in changes.values() if change < 0)
        assert currency["gain"] == sum(change > 0 for change in changes.values())
        assert {each["valuation"] for each in currency["losers"]} == {
            name for name, change in changes.items() if change < 0
        }
        assert [Decimal(each["change"]) for each in currency["losers"]] == sorted(
            change for change in changes.values() if change < 0
        )
        assert sum(Decimal(each["change"]) for each in currency["grades"]) == Decimal(everything["change"])
        for name in ("no_longer", "newly"):
            aside = Decimal(everything[name]["amount"])
            assert sum(Decimal(each[f"amount_{name}"]) for each in currency["grades"]) == aside
            assert sum(Decimal(each[name]["amount"]) for each in currency["regions"]) == aside
        for region in currency["regions"]:
            inside = [each for each in lists.values() if each[2] == region["region"]]
            assert region["valuations"] == len(inside)
            assert Decimal(region["change"]) == sum(after - before for before, after, _ in inside)
        for move in currency["moves"]:
            key = move["before"], move["after"]
            count, change = told_moves.get(key, (0, Decimal(0)))
            told_moves[key] = count + move["parts"], change + Decimal(move["change"])
    for name, amounts in beside.items():
        assert sum(each["all"][name]["parts"] for each in found["currencies"]) == len(amounts)
        assert sum(Decimal(each["all"][name]["amount"]) for each in found["currencies"]) == sum(amounts)
    assert beside["newly"]
    assert told_moves == {key: (len(each), sum(each)) for key, each in moves.items()}


async def test_who_loses_a_price_is_told_and_all_sums_agree(desk: Desk) -> None:
    """Where a grade without a price takes the place of one with, those who have such parts are named, by what
    they had for them; no total, region or grade takes it for a change, and each has a figure for it.
    """
    world = desk.world
    await world.post(price("copper-no1", "2.00"))
    await world.post(price("copper-no1", "5.00", "kg"), yard="far-gate")
    tube = {"metal": "copper", "steel_screws": False}
    named = []
    for place, weight in (("XO-KEL", "10 lb"), ("XO-KEL", "30 lb"), ("XO-FEN", "4 kg")):
        parts = [{"name": "tube", "weight": weight, "observed": tube}]
        body = {"region": place, "keep": True, "parts": [*parts, *parts] if place == "XO-FEN" else parts}
        named.append((await world.send("/v1/valuations", body)).headers["Valuation-Id"])
    name = await drafted(desk)
    document = (await desk.read(name))["document"]
    without = [
        {**rule, "grade": "light-iron"} if rule["id"] == "clean-copper" else rule
        for rule in document["rules"]
    ]
    etag = (await desk.send("GET", f"/{name}", RAIL)).headers["etag"]
    assert (await desk.patch(name, {"rules": without}, etag)).status_code == 200
    (found,) = (await looked_at(desk, name, {}))["currencies"]
    everything, (grade,), (move,) = found["all"], found["grades"], found["moves"]
    assert {each["change"] for each in (everything, grade, move, *found["regions"])} == {"0.00"}
    assert {each["amount_no_longer"] for each in (grade, move)} == {"120.00"}
    told = {each["region"]: each["no_longer"] for each in (everything, *found["regions"])}
    assert {place: (each["valuations"], each["parts"], each["amount"]) for place, each in told.items()} == {
        None: (3, 4, "120.00"),
        "XO-FEN": (1, 2, "40.00"),
        "XO-KEL": (2, 2, "80.00"),
    }
    assert found["lose_price"] == [
        {"valuation": named[1], "region": "XO-KEL", "parts": 1, "amount": "60.00"},
        {"valuation": named[2], "region": "XO-FEN", "parts": 2, "amount": "40.00"},
        {"valuation": named[0], "region": "XO-KEL", "parts": 1, "amount": "20.00"},
    ]
    assert (everything["newly"]["valuations"], found["gain_price"]) == (0, [])
    url = world.services.database.url.render_as_string(hide_password=False)
    runner = CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url, "COLUMNS": "200"})
    span = ("--from", "2026-05-01", "--to", "2026-05-31")
    shown = (await asyncio.to_thread(runner.invoke, app, [name, *span])).stdout
    assert "3 have parts that lose their price, 120.00 together" in shown.replace("\n", " ")
    assert all(each in shown for each in named)


async def test_a_list_is_told_part_by_part(desk: Desk) -> None:
    """A list that is given instead of a span: each part that moves, with both grades and amounts."""
    await furnished(desk.world, lists=1)
    name = await drafted(desk)
    body = {
        "region": "XO-KEL",
        "parts": [
            {"name": "strap", "weight": "10 lb", "observed": {"metal": "steel", "thickness": "7 mm"}},
            {"name": "beam", "weight": "10 lb", "observed": {"metal": "steel", "thickness": "9 mm"}},
        ],
    }
    found = await looked_at(desk, name, {"list": body})
    assert found["valuations"] == 1
    assert found["each"] == [
        {
            "part": 0,
            "name": "strap",
            "before": {"answered": "graded", "grade": "steel-heavy", "amount": "1.10"},
            "after": {"answered": "graded", "grade": "light-iron", "amount": "0.70"},
        }
    ]
    assert found["currencies"][0]["quartiles"] == {"low": "-0.40", "middle": "-0.40", "high": "-0.40"}


async def test_versions_that_count_prices_alike_have_one_list_for_both(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A list is made for each place and day, and once more where the draft may make other prices of it: where
    they go stale sooner, or by another factor."""
    made: list[str] = []
    build = Board._build

    async def counted(self: Board, *args: Any) -> Any:
        made.append(args[3].version)
        return await build(self, *args)

    monkeypatch.setattr(Board, "_build", counted)
    parts = [{"name": "pipe", "weight": "1 kg", "grade": "copper-no2"}]
    for patch, boards in (
        (THICKER, 1),
        ({"pricing": {"stale_after": 100}}, 2),
        ({"grades": {"copper-no2": {"priced_as": {"factor": "0.8"}}}}, 2),
    ):
        made.clear()
        await looked_at(desk, await drafted(desk, patch), {"list": {"region": "XO-KEL", "parts": parts}})
        assert made == ["2020.1", "2027.1"][:boards]


async def test_what_breaks_under_way_is_told_as_a_problem(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once the head of the answer is sent, the last line has the problem, in the shape of every one."""
    name = await drafted(desk)

    async def breaks(self: kept.KeptRequests, *between: Any) -> Any:
        raise ValueError("No such row.")
        yield

    monkeypatch.setattr(kept.KeptRequests, "between", breaks)
    accept = {"Accept": "application/jsonl"}
    answer = await desk.send("POST", f"/{name}/impact", RAIL, json={}, headers=accept)
    first, last = (json.loads(line) for line in answer.text.splitlines())
    assert (answer.status_code, first) == (200, {"done": 0, "of": 0})
    problem = Problem.model_validate(last["problem"])
    assert (problem.type, problem.status) == ("/problems/internal-error", 500)


async def test_the_span_of_days_is_kept_to(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only what was kept from the first to the last day counts, page by page, and all of it."""
    monkeypatch.setattr(kept, "AT_ONCE", 2)
    asked = await furnished(desk.world)
    name = await drafted(desk)
    days = sorted({on for _, _, on in asked})
    for first, last in ((days[0], days[0]), (days[1], days[1]), (days[0], days[1])):
        found = await looked_at(desk, name, {"from": first, "to": last})
        assert found["valuations"] == sum(first <= on <= last for _, _, on in asked)
    assert (await looked_at(desk, name, {"from": "2020-01-01", "to": "2020-02-01"}))["valuations"] == 0


async def test_it_tells_how_far_it_is(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """As JSON Lines there is a line for every page, and the last has the same impact as one answer."""
    monkeypatch.setattr(kept, "AT_ONCE", 3)
    await furnished(desk.world)
    name = await drafted(desk)
    accept = {"Accept": "application/jsonl"}
    answer = await desk.send("POST", f"/{name}/impact", SEDGE, json={}, headers=accept)
    assert answer.headers["content-type"].startswith("application/jsonl")
    lines = [json.loads(line) for line in answer.text.splitlines()]
    assert [(line["done"], line["of"]) for line in lines] == [
        (0, 12),
        (3, 12),
        (6, 12),
        (9, 12),
        (12, 12),
        (12, 12),
    ]
    assert lines[-1]["impact"] == await looked_at(desk, name, {})


async def test_what_the_draft_has_no_words_for_is_told_as_that(desk: Desk) -> None:
    """A part in words that a version does not have is `unreadable` there, and nothing breaks."""
    await furnished(desk.world, lists=3)
    name = await drafted(desk, {"attributes": {"steel_screws": None}, "examples": []})
    refused = await desk.send("POST", f"/{name}/impact", RAIL, json={})
    problem = problem_of(refused, "unsound-rulebook", 422)
    assert name in problem.detail
    assert any("steel_screws" in error.detail for error in problem.errors)
    whole = (await desk.read(name))["document"]
    patch = {
        "rules": [rule for rule in whole["rules"] if "steel_screws" not in rule["when"]],
        "preparations": {"back-out-screws": None},
    }
    etag = (await desk.send("GET", f"/{name}", RAIL)).headers["etag"]
    assert (await desk.patch(name, patch, etag)).status_code == 200
    body = {
        "region": "XO-KEL",
        "parts": [
            {"name": "a", "weight": "1 lb", "observed": {"metal": "copper", "steel_screws": False}},
        ],
    }
    found = await looked_at(desk, name, {"list": body})
    assert found["each"][0]["after"] == {"answered": "unreadable", "grade": None, "amount": None}
    (move,) = found["currencies"][0]["moves"]
    assert (move["before"], move["after"], move["unpriced_after"]) == ("copper-no1", "unreadable", 1)


async def painting(desk: Desk) -> str:
    """A draft that looks for paint on heavy steel, and for brass: painted, it is light iron."""
    whole = (await desk.read((await desk.make())["id"]))["document"]
    screwed, clean, thick, thin = whole["rules"]
    painted = {**thin, "id": "painted", "when": {**thick["when"], "painted": True}}
    metal = whole["attributes"]["metal"]
    asks = {"kind": "yes_no", "asks": "Painted?", "test": "look", "minutes": "0.1", "beware": "primer"}
    return await drafted(
        desk,
        {
            "attributes": {
                "painted": asks,
                "metal": {**metal, "choices": {**metal["choices"], "brass": "yellow"}},
            },
            "rules": [screwed, clean, painted, {**thick, "when": {**thick["when"], "painted": False}}, thin],
            "examples": [],
        },
    )


async def test_what_only_the_draft_has_words_for_is_not_told_to_the_other_version(desk: Desk) -> None:
    """Of a list, an observation, or a value, that the draft adds counts under the draft alone: before, the
    part is what it is to those who cannot tell of it.
    """
    await furnished(desk.world, lists=1)
    steel = {"metal": "steel", "thickness": "7 mm", "painted": True}
    parts = [
        {"name": "rail", "weight": "1 lb", "observed": steel},
        {"name": "tap", "weight": "1 lb", "observed": {"metal": "brass", "thickness": "7 mm"}},
        {"name": "typo", "weight": "1 lb", "observed": {"metal": "gold", "thickness": "7 mm"}},
    ]
    found = await looked_at(desk, await painting(desk), {"list": {"region": "XO-KEL", "parts": parts}})
    told = [(each["name"], each["before"]["answered"], each["after"]["answered"]) for each in found["each"]]
    assert told == [("rail", "graded", "graded"), ("tap", "undecided", "ungraded")]
    assert [found["each"][0][side]["grade"] for side in ("before", "after")] == ["steel-heavy", "light-iron"]


async def test_the_command_takes_columns_of_what_the_draft_adds(desk: Desk, tmp_path: Path) -> None:
    """A list may have an observation that the draft adds, and one that it takes away: it is as if both had
    been given over the interface."""
    name = await painting(desk)
    rows = ["name,weight,metal,thickness,painted", "rail,1 lb,steel,7 mm,yes"]
    (tmp_path / "parts.csv").write_text("\n".join(rows))
    observed = {"metal": "steel", "thickness": "7 mm", "painted": True}
    place = {"region": "XO-KEL", "on": "2026-05-04"}
    parts = [{"name": "rail", "weight": "1 lb", "observed": observed}]
    wanted = await looked_at(desk, name, {"list": {**place, "parts": parts}})
    url = desk.world.services.database.url.render_as_string(hide_password=False)
    runner = CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url, "COLUMNS": "200"})
    asked = [name, "--list", str(tmp_path / "parts.csv"), "--region", "XO-KEL", "--on", "2026-05-04"]
    done = await asyncio.to_thread(runner.invoke, app, [*asked, "--json"])
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout) == wanted
    (tmp_path / "parts.csv").write_text("\n".join(rows).replace("painted", "paintd"))
    typo = await asyncio.to_thread(runner.invoke, app, asked)
    assert "there is no column 'paintd'; did you mean painted" in typo.stderr


async def test_it_is_for_maintainers_and_of_drafts_that_are_there(desk: Desk) -> None:
    """Members are refused; an unknown draft, version or field is named."""
    name = await drafted(desk)
    member = await desk.world.send(f"/v1/rulebook-drafts/{name}/impact", {}, "wren")
    problem_of(member, "forbidden")
    problem_of(await desk.send("POST", "/d-999/impact", RAIL, json={}), "not-found")
    problem = problem_of(
        await desk.send("POST", f"/{name}/impact", RAIL, json={"against": "2090.1"}), "no-rulebook-in-force"
    )
    assert problem.errors[0].pointer == "#/against"
    both = {"from": "2026-05-01", "list": {"region": "XO-KEL", "parts": [part(1)]}}
    problem_of(await desk.send("POST", f"/{name}/impact", RAIL, json=both), "invalid-request")
    for backwards in ({"from": "2026-05-02", "to": "2026-05-01"}, {"from": "2036-05-02"}):
        answer = await desk.send("POST", f"/{name}/impact", RAIL, json=backwards)
        problem = problem_of(answer, "invalid-request")
        assert problem.errors[0].pointer == "#/from"
        assert problem.errors[0].detail.startswith("The span ends before it begins: ")
    found = await looked_at(desk, name, {})
    assert (found["version"], found["against"]) == (NEXT["version"], "2020.1")
    await desk.world.publish((await desk.read(name))["document"])
    assert (await looked_at(desk, name, {}))["against"] == "2020.1"


def test_quartiles_and_the_largest_are_those_of_all_changes() -> None:
    """Over a thousand lists: quartiles as numpy's inverted_cdf, ten losers and gainers, ties by name."""
    numpy = pytest.importorskip("numpy")
    impact, draw = Impact(), random.Random(9)
    changes = {}
    for number in range(1000):
        change = changes[f"v{number:04}"] = draw.randint(-50, 50)
        before, after = Valued("graded", "a", 100), Valued("graded", "a", 100 + change)
        impact.add(f"v{number:04}", "XO", "USD", [Decimal(5)], [before], [after])
    currency = impact.currencies["USD"]
    moving = [change for change in changes.values() if change]
    wanted = numpy.quantile(moving, [0.25, 0.5, 0.75], method="inverted_cdf")
    assert currency.quartiles() == tuple(int(each) for each in wanted)
    ordered = sorted(changes.items(), key=lambda each: (each[1], each[0]))
    assert [(each.name, each.change) for each in currency.losers] == ordered[:10]
    gainers = sorted(changes.items(), key=lambda each: (-each[1], each[0]))[:10]
    assert [(each.name, each.change) for each in currency.gainers] == gainers
    assert Currency().quartiles() is None
    assert currency.all == Place(1000, len(moving), 100_000, 100_000 + sum(moving))
    assert impact.parts_changed == 0


def test_what_only_pays_otherwise_counts_by_its_grade() -> None:
    """A part that keeps its grade is no move; where its amount moves, or it gets or loses a price, it counts
    among those of its grade all the same, so that grades come to what the totals move by."""
    impact = Impact()
    before = [Valued("graded", "a", 100), Valued("graded", "a", 7), Valued("graded", "b", 50)]
    after = [Valued("graded", "a", 80), Valued("graded", "a", 7), Valued("graded", "b", None)]
    impact.add("v1", "XO", "USD", [Decimal(5), Decimal(6), Decimal(7)], before, after)
    currency = impact.currencies["USD"]
    assert (impact.parts_changed, currency.moves) == (0, {})
    assert currency.grades == {
        "a": Sums(parts=1, grams=Decimal(5), before=100, after=80),
        "b": Sums(parts=1, grams=Decimal(7), no_longer=50, unpriced_after=1),
    }
    assert sum(sums.after - sums.before for sums in currency.grades.values()) == -20
    assert currency.all.after - currency.all.before == -20


@pytest.mark.parametrize("count", range(1, 10))
def test_quartiles_of_few_lists_are_numpys(count: int) -> None:
    """Of as many changes as the quarters divide, and of others, each quartile is numpy's inverted_cdf."""
    numpy = pytest.importorskip("numpy")
    changes = [3 * number - 7 for number in range(count)]
    wanted = numpy.quantile(changes, [0.25, 0.5, 0.75], method="inverted_cdf")
    assert Currency(changes=changes[::-1]).quartiles() == tuple(int(each) for each in wanted)


async def test_the_command_tells_the_same(desk: Desk) -> None:
    """`gradewright impact` has the counts, the sums and the moves; --json is what the interface answers."""
    await furnished(desk.world)
    name = await drafted(desk)
    wanted = await looked_at(desk, name, {"from": "2026-05-01", "to": "2026-05-31"})
    url = desk.world.services.database.url.render_as_string(hide_password=False)
    runner = CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url, "COLUMNS": "200"})

    async def run(*words: str) -> Result:
        return await asyncio.to_thread(runner.invoke, app, list(words))

    span = ("--from", "2026-05-01", "--to", "2026-05-31")
    assert json.loads((await run(name, *span, "--json")).stdout) == wanted
    told = (await run(name, *span)).stdout
    assert f"{wanted['parts']} parts, of which {wanted['parts_changed']} change their grade." in told
    assert ", kept from 2026-05-01 to 2026-05-31: 12 valuations, " in told
    currency = wanted["currencies"][0]
    assert f"({currency['all']['change']})" in told
    for each in (*currency["losers"], *currency["moves"]):
        assert each["change"] in told
    runner.env["COLUMNS"] = "60"  # names break after hyphens, figures never
    narrow = (await run(name, *span)).stdout
    pieces = {piece for line in narrow.splitlines() for piece in line.split()}
    for each in currency["moves"]:
        assert {each["change"], each["weight_kg"]} <= pieces
        assert {each["before"], *re.findall("[^-]+-?", each["before"])} & pieces
    nothing = await run(name, "--to", "2026-04-30")
    assert (nothing.exit_code, ", kept from 2026-01-30 to 2026-04-30: no valuations." in nothing.stdout) == (
        0,
        True,
    )
    assert all(way in nothing.stdout for way in ("--from", "--list FILE", "value FILE --keep"))
    refused = await run("d-999")
    assert refused.exit_code == 2
    assert "d-999" in refused.stderr


async def test_the_command_takes_a_list(desk: Desk, tmp_path: Path) -> None:
    """A file of parts is valued as the interface values the same list: CSV as spreadsheets write it, or JSON;
    what is wrong in it is told with its line, and an unknown column with the one that may be meant."""
    name = await drafted(desk)
    parts = [
        {"name": "strap", "weight": "10 lb", "observed": {"metal": "steel", "thickness": "7 mm"}},
        {
            "name": "pipe",
            "count": 2,
            "weight": "3 lb",
            "observed": {"metal": "copper", "steel_screws": False},
        },
        {"name": "tin", "weight_each": "1 lb", "grade": "light-iron"},
    ]
    place = {"region": "XO-KEL", "on": "2026-05-04"}
    wanted = await looked_at(desk, name, {"list": {**place, "parts": parts}})
    assert len(wanted["each"]) == 1
    rows = [
        "name;count;weight;weight_each;grade;metal;thickness;steel_screws",
        "strap;;10 lb;;;steel;7 mm;",
        "pipe;2;3 lb;;;copper;;no",
        "tin;;;1 lb;light-iron;;;",
    ]
    url = desk.world.services.database.url.render_as_string(hide_password=False)
    runner = CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url, "COLUMNS": "200"})

    async def run(file: str, text: str, *words: str) -> Result:
        (tmp_path / file).write_text(text, encoding="utf-8-sig")
        asked = (name, "--list", str(tmp_path / file), "--region", "XO-KEL", "--on", "2026-05-04", *words)
        return await asyncio.to_thread(runner.invoke, app, list(asked))

    for file, text in (
        ("parts.csv", "\r\n".join(rows)),
        ("parts.json", json.dumps(parts)),
        ("parts.jsonl", "".join(f"{json.dumps(part)}\n" for part in parts)),
    ):
        done = await run(file, text, "--json")
        assert done.exit_code == 0, done.output
        assert json.loads(done.stdout) == wanted
    assert "  strap: steel-heavy " in (await run("parts.csv", "\n".join(rows))).stdout
    wrong = await run("parts.csv", "\n".join(rows).replace("3 lb", "3 tons of it").replace(";2;", ";two;"))
    assert wrong.exit_code == 2
    assert {line.rpartition(": ")[0].partition(":")[2][:8] for line in wrong.stderr.splitlines()[:-1]} >= {
        "3: count"
    }
    typo = await run("parts.csv", "\n".join(rows).replace("thickness", "thicknes"))
    assert "there is no column 'thicknes'; did you mean thickness" in typo.stderr
    bare = await asyncio.to_thread(runner.invoke, app, [name, "--region", "XO-KEL"])
    assert (bare.exit_code, "--list FILE" in bare.stderr) == (2, True)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--from", "2026-12-01", "--to", "2026-11-01"), "--from: The span ends before it begins: "),
        (("--from", "2086-12-01"), "--from: The span ends before it begins: "),
        (("--list", "FILE"), "--region or --yard: give either a region or a yard"),
        (("--list", "FILE", "--region", "XO-KEL", "--yard", "low-quay"), "--region or --yard: give either"),
        (("--list", "FILE", "--region", "XO-KEL", "--on", "soon"), "--on: "),
    ],
)
async def test_the_command_blames_its_options(
    desk: Desk, tmp_path: Path, words: tuple[str, ...], says: str
) -> None:
    """What is wrong with an option is told by the option, in one line, and never as a fault of the file."""
    name = await drafted(desk)
    file = tmp_path / "list.csv"
    file.write_text("name,weight,grade\ntin,1 lb,light-iron\n")
    url = desk.world.services.database.url.render_as_string(hide_password=False)
    runner = CliRunner(env={"GRADEWRIGHT_DATABASE_URL": url, "COLUMNS": "200"})
    asked = [name, *(str(file) if word == "FILE" else word for word in words)]
    refused = await asyncio.to_thread(runner.invoke, app, asked)
    assert (refused.exit_code, refused.stdout) == (2, ""), refused.output
    assert refused.stderr.startswith(f"gradewright: {says}")
    if "before it begins" in says:
        assert "`" not in refused.stderr
        assert "--to" in refused.stderr
