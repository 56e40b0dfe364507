"""Points of a series against numpy's weighted quantiles, worked out from the postings.

Nothing of the service is used but its answers: each author's newest price of a yard, its evidence times
2^(-age/30) as its weight, a yard's weighted median and the weight of its weightiest witness, and then
numpy.quantile(..., weights=..., method="inverted_cdf") over yards.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import numpy as np
import pytest
from tests.api import YARDS, World, empty_world, price, settle

EVIDENCE = {"ticket": 1.0, "written-list": 0.8, "sign": 0.8, "told": 0.5}
STALE_AFTER, HALF_LIFE, THIN_BELOW = 120, 30, 3
TENTH, POUND = Decimal("0.1"), Decimal("0.45359237")
FIRST, LAST = date(2025, 10, 6), date(2026, 5, 4)
SLUGS = ("low-quay", "cinder-lane", "tern-row", "reed-wharf", "slip-end")
PER_KG = "cinder-lane"
AUTHORS = ("wren", "dunlin", "siskin", "plover", "avocet")


@dataclass(frozen=True)
class Seen:
    """One price as it was posted."""

    yard: str
    author: str
    on: date
    evidence: str
    cents: int


def invented(seed: int) -> list[Seen]:
    """Sixty prices over half a year, few of them at first."""
    random = np.random.default_rng(seed)
    found = []
    for _ in range(60):
        until_last = int(150 * random.random() ** 1.6)  # more of them lately
        found.append(
            Seen(
                SLUGS[int(random.integers(len(SLUGS)))],
                AUTHORS[int(random.integers(len(AUTHORS)))],
                LAST - timedelta(days=until_last),
                list(EVIDENCE)[int(random.integers(len(EVIDENCE)))],
                int(random.integers(280, 380)),
            )
        )
    return found


def claims(seen: Sequence[Seen], on: date) -> dict[str, list[tuple[int, float, Seen]]]:
    """By yard, each author's newest price that is not stale, with its weight."""
    newest: dict[tuple[str, str], Seen] = {}
    for one in seen:  # in the order of posting: of one day the later counts
        key = (one.yard, one.author)
        if one.on <= on and (key not in newest or one.on >= newest[key].on):
            newest[key] = one
    found: dict[str, list[tuple[int, float, Seen]]] = {}
    for (yard, _), one in newest.items():
        age = (on - one.on).days
        if age <= STALE_AFTER:
            found.setdefault(yard, []).append(
                (one.cents, EVIDENCE[one.evidence] * 2 ** (-age / HALF_LIFE), one)
            )
    return found


def worked_out(seen: Sequence[Seen], on: date) -> dict[str, Any]:
    """What a point of that day has to say."""
    by_yard = claims(seen, on)
    if not by_yard:
        return {"low": None, "likely": None, "high": None, "yards": 0, "entries": 0, "thin": False}
    medians = [quantile([p for p, _, _ in each], [w for _, w, _ in each], 0.5) for each in by_yard.values()]
    voices = [max(weight for _, weight, _ in each) for each in by_yard.values()]
    low, likely, high = (quantile(medians, voices, share) for share in (0.25, 0.5, 0.75))
    thin = len(by_yard) < THIN_BELOW
    if thin:
        low, high = min(medians) * (1 - TENTH), max(medians) * (1 + TENTH)
    return {
        "low": low, "likely": likely, "high": high, "yards": len(by_yard),
        "entries": sum(map(len, by_yard.values())), "thin": thin,
    }  # fmt: skip


def quantile(prices: Sequence[int | Decimal], weights: Sequence[float], share: float) -> Decimal:
    """numpy's, of prices in whole cents."""
    cents = np.array([int(price) for price in prices])
    return Decimal(int(np.quantile(cents, share, weights=np.array(weights), method="inverted_cdf")))


@pytest.fixture(scope="module")
async def bay(request: pytest.FixtureRequest) -> AsyncIterator[World]:
    """A region of five yards."""
    terms = {"region": "XO-KEL", "currency": "USD", "unit": "lb"}
    more = [{"slug": slug, "name": slug, **terms} for slug in SLUGS[3:]]
    async with empty_world(request, "sqlite") as world:
        yield await settle(world, yards=[*YARDS, *more])


@pytest.mark.parametrize(("seed", "grade"), [(5, "copper-no1"), (9, "copper-no2"), (34, "light-iron")])
async def test_points_are_those_of_numpy(bay: World, seed: int, grade: str) -> None:
    """Every point of half a year, thin ones and those without a price among them, is what numpy makes of the
    postings: low, likely and high, how many yards and prices, and whether they are few. So are those of each
    yard, of its own postings alone.
    """
    seen = invented(seed)
    for one in seen:
        line = price(grade, f"{one.cents // 100}.{one.cents % 100:02}")
        await bay.post(line, who=one.author, yard=one.yard, on=str(one.on), evidence=one.evidence)
    kinds = set()
    for point in await points_of(bay, f"/v1/prices/XO-KEL/{grade}/series"):
        expected = worked_out(seen, date.fromisoformat(point["on"]))
        assert in_cents(point) == expected, point["on"]
        kinds.add((expected["thin"], expected["likely"] is None, expected["low"] != expected["high"]))
    assert {(False, True, False), (True, False, True), (False, False, True)} <= kinds

    most = 0
    for yard in SLUGS:
        own = [one for one in seen if one.yard == yard]
        for point in await points_of(bay, f"/v1/yards/{yard}/prices/{grade}/series"):
            expected = worked_out(own, date.fromisoformat(point["on"]))
            told = point if yard != PER_KG else in_pounds(point)
            assert in_cents(told) == expected, (yard, point["on"])
            most = max(most, point["entries"])
    assert most >= 3


async def points_of(bay: World, path: str) -> list[dict[str, Any]]:
    """Every week of the half year."""
    found: list[dict[str, Any]] = (await bay.get(path, from_=FIRST, to=LAST, step="week"))["points"]
    assert len(found) == 31
    return found


def in_pounds(point: Mapping[str, Any]) -> dict[str, Any]:
    """A point of prices per kilogram, which are told to eight places or so, per pound."""
    figures = {n: point[n] and str(round(Decimal(point[n]) * POUND, 5)) for n in ("low", "likely", "high")}
    return {**point, **figures}


def in_cents(point: Mapping[str, Any]) -> dict[str, Any]:
    """A point as `worked_out` tells one."""
    figures = {
        name: None if point[name] is None else Decimal(point[name]) * 100
        for name in ("low", "likely", "high")
    }
    return {**figures, **{name: point[name] for name in ("yards", "entries", "thin")}}
