"""Tickets of Low Quay: as they were expected, and changed."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import count
from typing import Any

from tests.api import Body, World, price, settle

numbers = count(1)
BINS: list[Body] = [
    {"grade": "copper-no1", "weight": "10 lb"},
    {"grade": "light-iron", "weight": "50 lb"},
]


async def open_yard(world: World, *, furnish: bool = False) -> World:
    """Prices at Low Quay: No. 1 at 3.50, No. 2 at 3.10, light iron at 0.08, from 100 lb at 0.09."""
    if furnish:
        await settle(world)
    await world.post(
        price("copper-no1", "3.50"),
        price("copper-no2", "3.10"),
        price("light-iron", "0.08"),
        price("light-iron", "0.09", from_weight="100 lb"),
    )
    return world


def line(label: str, net: str, at: str, amount: str, **more: Any) -> Body:
    """A line of a ticket, in pounds."""
    return {"label": label, "net": f"{net} lb", "price": at, "amount": amount, **more}


def ticket(*lines: Body, total: str, **more: Any) -> Body:
    """A ticket of the day, under a number of its own."""
    return {"number": f"T-{next(numbers)}", "on": "2026-05-04", "lines": [*lines], "total": total, **more}


def long_ticket(grades: Sequence[str], lines: int = 30) -> tuple[Body, list[Body]]:
    """A ticket of so many lines, two of each grade, lighter and cheaper than expected; and the bins."""
    sold = []
    for number in range(lines):
        net = 10 + number
        sold.append(
            line(f"line {number}", str(net), "1.25", f"{net * Decimal('1.25')}", grade=grades[number // 2])
        )
    total = sum(Decimal(each["amount"]) for each in sold)
    bins = [
        {"grade": grade, "weight": f"{22 + 4 * number} lb", "price": "1.30", "per": "lb"}
        for number, grade in enumerate(grades[: lines // 2])
    ]
    return ticket(*sold, total=str(total)), bins


def as_expected(**more: Any) -> Body:
    """A ticket that is as it was expected."""
    return ticket(
        line("#1 Cu", "10", "3.50", "35.00"),
        line("shred", "50", "0.08", "4.00", grade="light-iron"),
        **{"total": "39.00", **more},
    )


def asking(of: Body | None = None, **more: Any) -> Body:
    """A request to hold a ticket against bins."""
    return {"yard": "low-quay", "ticket": of or as_expected(), "against": {"bins": BINS}, **more}


async def settled(world: World, body: Body, who: str = "wren", status: int = 200) -> Any:
    """The answer to a request that is expected to be answered."""
    response = await world.send("/v1/settlements", body, who)
    assert response.status_code == status, response.text
    return response.json()


async def kept(world: World, body: Body, who: str = "wren") -> str:
    """The id of a settlement that is kept."""
    response = await world.send("/v1/settlements", {**body, "keep": True}, who)
    assert response.status_code == 201, response.text
    return str(response.headers["settlement-id"])
