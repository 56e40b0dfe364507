"""The district and its prices, sent through the interface as its users would send them."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import httpx

from gradewright.demo.errors import DemoError
from gradewright.demo.postings import CURRENCY, Planned, quoted
from gradewright.demo.scenario import REGION, Scenario

LABELS_SINCE = timedelta(days=400)  # before the first posting


@dataclass(frozen=True, slots=True)
class Seeded:
    """What was stored, and the service's words about the one posting that it refused."""

    postings: int
    prices: int
    refusal: str


async def seed(
    client: httpx.AsyncClient,
    scenario: Scenario,
    keys: Mapping[str, str],
    plan: Mapping[str, Sequence[Planned]],
    today: date,
    done: Callable[[], None] = lambda: None,
) -> Seeded:
    """Adds regions, yards, house rules, benchmarks and what came out of devices, then posts for all members
    at once. `done`: told each.

    Raises `DemoError` where the service refuses what it should take, or takes what it should refuse.
    """
    maintainer = keys[scenario.maintainer]
    for region in scenario.regions:
        await _made(client, "/v1/regions", maintainer, dict(region))
    for yard in yards(scenario, today):
        await _made(client, "/v1/yards", maintainer, yard)
    for slug, said in house_rules(scenario, today).items():
        await _made(client, f"/v1/yards/{slug}/house-rules", maintainer, said)
    for slug in scenario.benchmarks:
        await _keep(client, scenario, slug, maintainer, today)
    for device in devices(scenario, today):
        await _made(client, "/v1/compositions", keys[device.by], device.body)
    members = [_post_all(client, keys[member], ones, done) for member, ones in plan.items()]
    told = [seeded for ones in await asyncio.gather(*members) for seeded in ones]
    return Seeded(
        postings=sum(1 for one in told if one.prices),
        prices=sum(one.prices for one in told),
        refusal=" ".join(one.refusal for one in told if one.refusal),
    )


def yards(scenario: Scenario, today: date) -> list[dict[str, Any]]:
    """The yards as the interface takes them; their labels are older than every posting."""
    since = (today - LABELS_SINCE).isoformat()
    return [
        {
            "slug": yard.slug,
            "name": yard.name,
            "region": yard.region,
            "currency": CURRENCY,
            "unit": yard.unit,
            "cash_increment": yard.cash_increment,
            "labels": [
                {"label": label, "grade": grade, "from": since} for label, grade in yard.labels.items()
            ],
            "refuses": list(yard.refuses),
        }
        for yard in scenario.yards.values()
    ]


def house_rules(scenario: Scenario, today: date) -> dict[str, dict[str, Any]]:
    """The house rules of yards that have some, as the interface takes them."""
    return {
        yard.slug: {
            "from": (today - timedelta(days=said.days_ago)).isoformat(),
            "reason": said.reason,
            "limits": [dict(limit) for limit in said.limits],
        }
        for yard in scenario.yards.values()
        if (said := yard.house_rules) is not None
    }


@dataclass(frozen=True, slots=True)
class Recorded:
    """A device as a member records it."""

    by: str
    body: dict[str, Any]


def devices(scenario: Scenario, today: date) -> list[Recorded]:
    """What members took apart, as the interface takes it; the first of a kind brings the kind along."""
    found = []
    for kind, device in scenario.devices.items():
        new: dict[str, Any] = {"new_kind": {"name": device.name, "grade": device.grade}}
        for one in device.taken_apart:
            body = {
                "kind": kind,
                "on": (today - timedelta(days=one.days_ago)).isoformat(),
                "weight": one.weight,
                "minutes": one.minutes,
                "region": REGION,
                "parts": [{"grade": grade, "weight": weight} for grade, weight in one.parts.items()],
            }
            found.append(Recorded(one.by, body | new))
            new = {}
    return found


async def _keep(client: httpx.AsyncClient, scenario: Scenario, slug: str, key: str, today: date) -> None:
    """A benchmark and its values, sent as a file."""
    kept = scenario.benchmarks[slug]
    told = {"slug": slug, "name": kept.name, "currency": kept.currency, "unit": kept.unit}
    await _made(client, "/v1/benchmarks", key, {**told, "source": "made up for Kelder Bay"})
    lines = [f"{day},{value}\n" for day, value in quoted(scenario, slug, today).items()]
    answer = await client.post(
        f"/v1/benchmarks/{slug}/values",
        content="".join(["date,value\n", *lines]),
        headers={"Authorization": f"Bearer {key}", "Content-Type": "text/csv"},
    )
    if answer.status_code != httpx.codes.CREATED:
        raise DemoError(f"The service did not take the values of {slug}: {answer.text}")


async def _post_all(
    client: httpx.AsyncClient, key: str, ones: Sequence[Planned], done: Callable[[], None]
) -> list[Seeded]:
    """One member's postings, one after the other."""
    told = []
    for one in ones:
        told.append(await _post(client, key, one))
        done()
    return told


async def _post(client: httpx.AsyncClient, key: str, one: Planned) -> Seeded:
    if not one.refused:
        stored = await _made(client, "/v1/postings", key, one.body)
        return Seeded(1, len(stored["prices"]), "")
    answer = await _send(client, "/v1/postings", key, one.body)
    if answer.status_code != httpx.codes.UNPROCESSABLE_ENTITY:
        raise DemoError(f"A price per {one.body['prices'][0]['per']} was not refused: {answer.text}")
    return Seeded(0, 0, answer.json()["errors"][0]["detail"])


async def _made(client: httpx.AsyncClient, path: str, key: str, body: dict[str, Any]) -> dict[str, Any]:
    answer = await _send(client, path, key, body)
    if answer.status_code != httpx.codes.CREATED:
        raise DemoError(f"The service did not take what was sent to {path}: {answer.text}")
    made: dict[str, Any] = answer.json()
    return made


async def _send(client: httpx.AsyncClient, path: str, key: str, body: dict[str, Any]) -> httpx.Response:
    return await client.post(path, json=body, headers={"Authorization": f"Bearer {key}"})
