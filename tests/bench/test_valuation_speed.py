"""A valuation of 50 parts over HTTP, beside the same server that reads the same and answers ready-made.

pytest tests/bench/test_valuation_speed.py -m bench -s
"""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from statistics import median
from typing import Any

import httpx
import pytest

from gradewright.core.observations import Value
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.document import read_yaml
from tests.bench import load, market

pytestmark = pytest.mark.bench

PARTS = 50
CLIENTS = 8
ROUNDS = 5
SECONDS = 3.0


def parts(rulebook: Rulebook) -> list[dict[str, Any]]:
    """Worked examples with at least three observations, as parts of a list."""
    graded = [
        example for example in rulebook.examples if example.grade is not None and len(example.part) >= 3
    ]
    return [
        {
            "name": f"part {number}",
            "weight": f"{number / 10 + 0.4:.1f} kg" if number % 2 else f"{number} lb {number % 16} oz",
            "observed": {name: _written(rulebook, name, value) for name, value in example.part.items()},
        }
        for number, example in enumerate(graded[:PARTS], start=1)
    ]


def _written(rulebook: Rulebook, name: str, value: Value) -> Any:
    return value if isinstance(value, (bool, int)) else rulebook.attributes[name].show(value)


def test_a_valuation_of_fifty_parts_over_http(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The two operations in turn, several rounds each; printed: answers per second and their ratio."""
    database_url = f"sqlite:///{tmp_path / 'bench.sqlite'}"
    app, _ = asyncio.run(market.open_market(database_url))
    rulebook = read_yaml(market.PUBLISHED / "2018.1.yaml")
    body = json.dumps({"region": market.REGION, "parts": parts(rulebook)}).encode()
    answer = asyncio.run(_value(app, body))
    assert len(json.loads(answer)["parts"]) == PARTS
    (tmp_path / "answer.json").write_bytes(answer)
    monkeypatch.setenv("GRADEWRIGHT_BENCH_ANSWER", str(tmp_path / "answer.json"))
    with load.serving("tests.bench.served:create", database_url) as (port, _):
        ours, ready = asyncio.run(_rounds(port, body, answer))
    print(
        f"\nvaluation of {PARTS} parts: {median(ours):.0f} a second; ready-made: {median(ready):.0f} a second"
    )
    ratios = [a / b for a, b in zip(ours, ready, strict=True)]
    print(f"ratio {median(ratios):.2f} ({min(ratios):.2f} to {max(ratios):.2f} over {ROUNDS} rounds)")


async def _rounds(port: int, body: bytes, expected: bytes) -> tuple[list[float], list[float]]:
    ours, ready = [], []
    for number in range(ROUNDS + 1):
        a, answer = await load.per_second(
            port, load.post("/v1/valuations", body), clients=CLIENTS, seconds=SECONDS
        )
        b, made = await load.per_second(
            port, load.post("/bench/ready-made", body), clients=CLIENTS, seconds=SECONDS
        )
        assert answer == made == expected
        if number:  # the first round only warms up
            ours.append(a)
            ready.append(b)
    return ours, ready


async def _value(app: Any, body: bytes) -> bytes:
    headers = {"Content-Type": "application/json"}
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://bench") as client:
        response = await client.post("/v1/valuations", content=body, headers=headers)
    assert response.status_code == 200, response.text
    await app.state["services"].database.close()
    return response.content
