"""Decisions to be measured: devices, hauls, tickets and a cable in the benchmarks' market, by chance."""

from __future__ import annotations

import json
import random
from datetime import timedelta
from fractions import Fraction
from typing import Any

import httpx
from litestar import Litestar

from gradewright.accounts.service import Role
from gradewright.clock import utc_now
from gradewright.core.teardown.tree import Node, Opening, Pay, Span, Tree
from tests.bench import market

Body = dict[str, Any]
YARDS = tuple(f"yard-{number}" for number in range(12))
GRADES = (
    "copper-bright", "copper-no1", "copper-no2", "copper-light", "wire-80", "wire-70", "wire-60", "wire-50",
    "wire-40", "brass-yellow", "brass-red", "aluminium-cast", "aluminium-extrusion", "aluminium-sheet",
    "aluminium-breakage", "light-iron", "steel-heavy", "cast-iron", "stainless-18-8", "motors-copper",
    "motors-aluminium", "transformers-copper", "zinc-die-cast", "lead-soft", "power-supplies", "hard-disks",
    "boards-low", "boards-medium", "boards-high", "relays",
)  # fmt: skip
CABLE: Body = {
    "region": market.REGION,
    "cable": {
        "conductors": [{"count": 3, "size": "16 AWG", "strands": 1}],
        "weight": "38.0 lb",
        "length": "1000 ft",
        "observed": {"cable_kind": "cord", "plug_attached": False, "surface": "bright"},
        "strip": {"lot": "10 kg", "minutes_per_kg": "6", "hour_rate": "12"},
    },
}


async def open_yards(app: Litestar) -> dict[str, str]:
    """Twelve yards more in the market's region, each with prices of its own; the header of a member's key."""
    services = app.state["services"]
    keys = [
        await services.accounts.make_key(who, role, "bench", utc_now())
        for who, role in (("ouzel", Role.MAINTAINER), ("wren", Role.MEMBER))
    ]
    maintainer, member = ({"Authorization": f"Bearer {key}"} for key in keys)
    transport = httpx.ASGITransport(app=app)
    draw = random.Random(12)
    async with httpx.AsyncClient(transport=transport, base_url="http://bench", headers=maintainer) as client:
        for yard in YARDS:
            terms = {"slug": yard, "name": yard, "region": market.REGION, "currency": "USD", "unit": "lb"}
            _made(await client.post("/v1/yards", json=terms))
            prices = []
            for grade in draw.sample(GRADES, 26):
                cents = draw.randint(20, 400)
                line = {"grade": grade, "price": _money(cents), "currency": "USD", "per": "lb"}
                prices.append(line)
                if draw.random() < 0.4:
                    prices.append({**line, "price": _money(cents * 11 // 10), "from_weight": "200 lb"})
            seen = (utc_now().date() - timedelta(days=2)).isoformat()
            posting = {"yard": yard, "observed_on": seen, "evidence": "sign", "prices": prices}
            _made(await client.post("/v1/postings", json=posting))
    return member


def device(nodes: int, seed: int = 1) -> Body:
    """A teardown of a device of so many parts, opened either way."""
    draw = random.Random(seed)
    parts: list[Body] = [{"name": f"part {number}", "grade": draw.choice(GRADES)} for number in range(nodes)]
    grams = [draw.randint(20, 900) for _ in parts]
    for number in range(nodes - 1, 0, -1):
        around = parts[draw.randrange(max(1, number // 3))]
        grams[parts.index(around)] += grams[number]
        if "opens" not in around:
            how = draw.choice(("all-at-once", "piece-by-piece"))
            left = {"grade": draw.choice(("light-iron", "aluminium-breakage"))}
            around["opens"] = {"how": how, "minutes": f"{draw.randint(0, 40) / 4:g}", "leftover": left}
            around["parts"] = []
        around["parts"].append(parts[number])
        if around["opens"]["how"] == "piece-by-piece":
            parts[number]["minutes"] = f"{draw.randint(1, 20) / 4:g}"
    for part, weight in zip(parts, grams, strict=True):
        part["weight"] = f"{weight} g"
    return {"region": market.REGION, "hour_rate": "15.00", "device": parts[0]}


def tree(nodes: int, seed: int = 1) -> Tree:
    """The same as the core takes it: every part has a price by weight, in minor units."""
    draw = random.Random(seed)

    def pay() -> Pay:
        cents = Fraction(draw.randint(1, 900), 1000)
        return Pay(Span(cents * 9 / 10, cents, cents * 11 / 10), price=draw.choice(GRADES))

    inside = [None, *(draw.randrange(max(1, number // 3)) for number in range(1, nodes))]
    opens = {number for number in inside if number is not None}
    grams = [draw.randint(20, 900) for _ in range(nodes)]
    for number in range(nodes - 1, 0, -1):
        grams[inside[number] or 0] += grams[number]
    openings = (
        Opening(Fraction(draw.randint(0, 40), 4), one_by_one=draw.random() < 0.5, left=pay())
        if number in opens
        else None
        for number in range(nodes)
    )
    return Tree(
        tuple(
            Node(around, Span.exactly(weight), pay(), opening, Fraction(draw.randint(1, 20), 4))
            for around, weight, opening in zip(inside, grams, openings, strict=True)
        )
    )


def haul(bins: int, yards: int, seed: int = 1) -> Body:
    """A haul of so many bins to so many yards, with a cost for each trip, stop and further pile."""
    draw = random.Random(seed)
    grades = [draw.choice(GRADES) for _ in range(bins)]
    return {
        "bins": [
            {"name": f"bin {number}", "grade": grade, "weight": f"{draw.randint(5, 400)} lb"}
            for number, grade in enumerate(grades)
        ],
        "yards": list(YARDS[:yards]),
        "costs": {"trip": "15", "stop": "8", "pile": "1"},
        "hold_back": True,
    }


def ticket(lines: int, seed: int = 1) -> Body:
    """A ticket of so many lines against as many bins: some lighter, some marked down in price."""
    draw = random.Random(seed)
    chosen = draw.sample(GRADES, lines)
    printed, bins, total = [], [], 0
    for grade in chosen:
        pounds, cents = draw.randint(2, 90), draw.randint(20, 400)
        net = pounds - draw.choice((0, 0, 1))
        total += net * cents
        line = {"label": grade, "grade": grade, "net": f"{net} lb", "price": _money(cents)}
        printed.append({**line, "amount": _money(net * cents)})
        bins.append({"grade": grade, "weight": f"{pounds} lb", "price": _money(cents + draw.choice((0, 5)))})
    today = utc_now().date().isoformat()
    sheet = {"on": today, "lines": printed, "total": _money(total)}
    return {"yard": YARDS[0], "ticket": sheet, "against": {"bins": bins}}


def bodies(kind: str, body: Body, different: int = 50) -> list[bytes]:
    """The request again and again, each a little different, so that no answer can be remembered."""
    return [json.dumps(_changed(kind, body, number)).encode() for number in range(different)]


def _changed(kind: str, body: Body, number: int) -> Body:
    if kind == "teardowns":
        return {**body, "hour_rate": f"15.{number:02d}"}
    if kind == "hauls":
        return {**body, "costs": {**body["costs"], "trip": f"15.{number:02d}"}}
    if kind == "settlements":
        return {**body, "ticket": {**body["ticket"], "number": f"T-{number}"}}
    strip = {**body["cable"]["strip"], "hour_rate": f"12.{number:02d}"}
    return {**body, "cable": {**body["cable"], "strip": strip}}


def _money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"


def _made(response: httpx.Response) -> None:
    assert response.status_code == 201, response.text
