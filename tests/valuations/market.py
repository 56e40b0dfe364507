"""A district that prices the rulebooks that ship, and a list of parts made of their worked examples."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from tests.api import REGIONS, YARDS, Body, World, settle

from gradewright.rulebooks.document import from_yaml

PUBLISHED = Path(__file__).parents[2] / "service" / "gradewright" / "rulebooks" / "published"
VERSIONS = ("2014.1", "2017.1", "2018.1")
WEIGHTS = (
    "2 lb 3 oz",
    "1.2kg",
    "850 g",
    "3 ozt",
    "27 lb 6 oz",
    "0.3 lb",
    "1/2 lb",
    "12.42 kg",
    "1 short cwt",
)
TODAY = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)


@cache
def shipped(version: str) -> Body:
    """A rulebook that ships, as a document."""
    return from_yaml((PUBLISHED / f"{version}.yaml").read_text(encoding="utf-8"))


async def open_market(world: World) -> World:
    """Publishes the rulebooks that ship, makes the district, and posts prices for half a year."""
    world.clock.now = TODAY - timedelta(days=200)
    for version in VERSIONS:
        await world.publish(shipped(version))
    yards = [
        {**yard, "labels": [], "refuses": ["boards-low"] if n == 2 else []} for n, yard in enumerate(YARDS)
    ]
    await settle(world, REGIONS, yards)
    chance = random.Random(7)
    families = {slug: grade["family"] for slug, grade in shipped("2018.1")["grades"].items()}
    kin = [slug for slug, grade in shipped("2018.1")["grades"].items() if "priced_as" in grade]
    grades = [slug for slug in families if slug not in kin[::2]]  # the others are priced by their kin
    for week in range(26):
        world.clock.now = TODAY - timedelta(days=7 * (26 - week), minutes=chance.randint(0, 600))
        yard = chance.choice(yards[:4])
        prices = [
            {
                "grade": grade,
                "price": f"{'-' if families[grade] == 'costs' else ''}{chance.randint(1, 900) / 100:.2f}",
                "currency": "USD",
                "per": yard["unit"],
                **({"from_weight": "20 lb"} if chance.random() < 0.2 else {}),
            }
            for grade in chance.sample(grades, 40)
            if grade not in yard.get("refuses", ())
        ]
        day = (world.clock.now - timedelta(days=chance.randint(0, 9))).date()
        await world.post(*prices, yard=yard["slug"], on=day.isoformat(), who=f"gull-{week % 5}")
    world.clock.now = TODAY
    return world


def parts_of(version: str, *, first: int = 0, last: int | None = None) -> list[Body]:
    """A part for each worked example of a rulebook, in turns with both forms of weight, some by name."""
    grades = list(shipped(version)["grades"].values())
    parts = []
    for number, example in enumerate(shipped(version)["examples"]):
        weight = WEIGHTS[number % len(WEIGHTS)]
        part: Body = {"name": f'part {number} "ü" \\ /', "count": number % 3 + 1}
        part["weight" if number % 2 else "weight_each"] = weight
        if number % 9 == 8:
            grade = grades[number % len(grades)]
            part["grade"] = (grade.get("aliases") or [grade["name"]])[0]
        else:
            part["observed"] = example["part"]
        parts.append(part)
    return parts[first:last]


def request_for(version: str = "2018.1", **changes: Any) -> Body:
    """A valuation of every worked example."""
    return {"region": "XO-KEL", "parts": parts_of(version), **changes}
