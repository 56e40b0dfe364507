"""Where a problem's type leads."""

from __future__ import annotations

import httpx
import pytest

from gradewright.asgi import create_app
from gradewright.settings import Settings
from gradewright.web.problems import KINDS


@pytest.mark.parametrize("slug", sorted(KINDS))
async def test_every_type_leads_to_its_kind(slug: str, tmp_path: object) -> None:
    """A problem's `type`, resolved against the service, says what the kind is and what to do."""
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path}/none.sqlite"))
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://pages") as client:
        found = await client.get(f"/problems/{slug}")
        missing = await client.get("/problems/no-such-kind")
    assert found.status_code == 200
    assert found.json()["type"] == f"/problems/{slug}"
    assert found.json()["title"] == KINDS[slug].title
    assert found.json()["advice"].endswith(".")
    assert missing.status_code == 404
    assert missing.json()["title"] == KINDS["not-found"].title
