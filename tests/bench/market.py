"""A market for measuring: regions of three yards each, and every grade posted for eight weeks."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
from litestar import Litestar

import gradewright.rulebooks
from gradewright.accounts.service import Role
from gradewright.asgi import Services, create_app
from gradewright.clock import utc_now
from gradewright.db import migrate
from gradewright.rulebooks.document import from_yaml
from gradewright.settings import Settings

PUBLISHED = Path(gradewright.rulebooks.__file__).parent / "published"
REGION = "XO-KEL"
YARDS = ("low-quay", "cinder-lane", "tern-row")


async def open_market(
    database_url: str, regions: Sequence[str] = (REGION,), *, newest: bool = False
) -> tuple[Litestar, Services]:
    """A migrated database with the shipped rulebooks, regions of one country, three yards in each, and their
    prices. `newest`: with the newest of them alone, as if it had been in force for half a year."""
    migrate.upgrade(database_url)
    app = create_app(Settings(database_url=database_url))
    services: Services = app.state["services"]
    documents = [from_yaml(path.read_text(encoding="utf-8")) for path in sorted(PUBLISHED.glob("*.yaml"))]
    if newest:
        since = (utc_now() - timedelta(days=182)).date().isoformat()
        documents = [{**documents[-1], "effective_from": since}]
    for document in documents:
        await services.rulebooks.publish(document, utc_now())
    key = await services.accounts.make_key("ouzel", Role.MAINTAINER, "bench", utc_now())
    headers = {"Authorization": f"Bearer {key}"}
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://bench", headers=headers) as client:
        for code, parent in (("XO", None), *((code, "XO") for code in regions)):
            place = {"code": code, "name": code, "parent": parent, "currency": "USD", "unit": "lb"}
            _made(await client.post("/v1/regions", json=place))
        grades = list((await services.rulebooks.in_force(utc_now().date())).rulebook.grades)
        for region in regions:
            for name in YARDS:
                yard = name if region == REGION else f"{name}-{region.lower()}"
                terms = {"slug": yard, "name": yard, "region": region, "currency": "USD", "unit": "lb"}
                _made(await client.post("/v1/yards", json=terms))
                for posting in postings(yard, grades):
                    _made(await client.post("/v1/postings", json=posting))
    return app, services


def postings(yard: str, grades: list[str]) -> list[dict[str, Any]]:
    """Eight weekly postings of every grade at a yard."""
    draw = random.Random(yard)
    today = utc_now().date()
    return [
        {
            "yard": yard,
            "observed_on": (today - timedelta(days=7 * week)).isoformat(),
            "evidence": "sign",
            "prices": [
                {"grade": grade, "price": f"{draw.randint(5, 400) / 100:.2f}", "currency": "USD", "per": "lb"}
                for grade in grades
            ],
        }
        for week in range(8)
    ]


def _made(response: httpx.Response) -> None:
    assert response.status_code == 201, response.text
