"""A valuation of 50 parts over HTTP, beside the same server that reads the same and answers ready-made.

    pytest tests/bench/test_valuation_speed.py -m bench -s

Ready-made in two ways: an answer object of the documented shape, encoded as the application encodes its
answers; and the very bytes, which is as little as a server can do. Requests differ from one to the next.
"""

from __future__ import annotations

import asyncio
import json
import random
import time
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
REQUESTS = 200
CLIENTS = 8
ROUNDS = 5
SECONDS = 2.0
OURS, OBJECT, BYTES = "/v1/valuations", "/bench/ready-made-object", "/bench/ready-made"


def bodies(rulebook: Rulebook) -> list[bytes]:
    """Lists of worked examples, drawn anew with new weights for each request."""
    draw = random.Random(7)
    graded = [
        example for example in rulebook.examples if example.grade is not None and len(example.part) >= 3
    ]
    written = [{name: _written(rulebook, name, value) for name, value in e.part.items()} for e in graded]
    return [
        json.dumps(
            {
                "region": market.REGION,
                "parts": [
                    {"name": f"part {number}", "weight": _weight(draw), "observed": draw.choice(written)}
                    for number in range(1, PARTS + 1)
                ],
            }
        ).encode()
        for _ in range(REQUESTS)
    ]


def _weight(draw: random.Random) -> str:
    """As scales show it: kilograms to 10 g, or pounds and ounces."""
    if draw.random() < 0.5:
        return f"{draw.randint(5, 2000) / 100:.2f} kg"
    return f"{draw.randint(0, 40)} lb {draw.randint(1, 15)} oz"


def _written(rulebook: Rulebook, name: str, value: Value) -> Any:
    return value if isinstance(value, (bool, int)) else rulebook.attributes[name].show(value)


def test_a_valuation_of_fifty_parts_over_http(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The three operations in turn, several rounds; printed: answers per second of the server's processor
    time, which other work on the machine hardly changes, and the ratios.
    """
    database_url = f"sqlite:///{tmp_path / 'bench.sqlite'}"
    app, _ = asyncio.run(market.open_market(database_url))
    sent = bodies(read_yaml(market.PUBLISHED / "2018.1.yaml"))
    answer = asyncio.run(_value(app, sent[0]))
    assert len(json.loads(answer)["parts"]) == PARTS
    (tmp_path / "answer.json").write_bytes(answer)
    monkeypatch.setenv("GRADEWRIGHT_BENCH_ANSWER", str(tmp_path / "answer.json"))
    rates: dict[str, list[float]] = {OURS: [], OBJECT: [], BYTES: []}
    with load.serving("tests.bench.served:create", database_url) as (port, server):
        for number in range(ROUNDS + 1):
            for path, found in rates.items():
                rate, last = asyncio.run(_rate(port, server, path, sent))
                assert json.loads(answer).keys() <= json.loads(last).keys()
                if number:  # the first round only warms up
                    found.append(rate)
    print(f"\nvaluations of {PARTS} parts: {median(rates[OURS]):.0f} a second of processor time")
    for path, words in ((OBJECT, "a ready-made answer, encoded"), (BYTES, "ready-made bytes")):
        ratios = [ours / theirs for ours, theirs in zip(rates[OURS], rates[path], strict=True)]
        spread = f"{min(ratios):.2f} to {max(ratios):.2f} over {ROUNDS} rounds"
        print(f"{words}: {median(rates[path]):.0f} a second; ratio {median(ratios):.2f} ({spread})")


async def _rate(port: int, server: int, path: str, sent: list[bytes]) -> tuple[float, bytes]:
    requests = [load.post(path, body) for body in sent]
    before, started = load.processor_seconds(server), time.perf_counter()
    rate, last = await load.per_second(port, requests, clients=CLIENTS, seconds=SECONDS)
    answers = rate * (time.perf_counter() - started)
    return answers / (load.processor_seconds(server) - before), last


async def _value(app: Any, body: bytes) -> bytes:
    headers = {"Content-Type": "application/json"}
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://bench") as client:
        response = await client.post("/v1/valuations", content=body, headers=headers)
    assert response.status_code == 200, response.text
    await app.state["services"].database.close()
    return response.content
