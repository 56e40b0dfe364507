"""Drafts as tests write them: by several maintainers, over HTTP."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import httpx

from gradewright.accounts.service import Role
from tests.api import Body, World

DRAFTS = "/v1/rulebook-drafts"
NEXT = {"version": "2027.1", "effective_from": "2027-01-01", "summary": "The second."}
"""What makes the small rulebook one that can be published on the tests' day, 2026-05-04."""
SEDGE, RAIL, TEAL = "sedge", "rail", "teal"
MERGE = "application/merge-patch+json"
LIMIT = {"limits": {"heavy_steel_thickness": {"value": "6.345 mm"}}}
"""A patch that leaves the small rulebook sound: no example lies between the two."""


@dataclass
class Desk:
    """A running application and its maintainers."""

    world: World

    async def send(
        self,
        method: str,
        path: str,
        who: str | None,
        *,
        json: Any = None,
        text: str | bytes | None = None,
        media: str | None = None,
        etag: str | None = None,
        headers: dict[str, str] | None = None,
        **query: Any,
    ) -> httpx.Response:
        """Sends a request below the drafts' address, with a body as JSON or as text of a media type."""
        sent = dict(await self.world.key(who, Role.MAINTAINER)) if who else {}
        sent |= headers or {}
        if etag is not None:
            sent["If-Match"] = etag
        if media is not None:
            sent["Content-Type"] = media
        body: dict[str, Any] = {"content": text} if text is not None else {}
        if json is not None:
            body = {"json": json}
        path = f"{DRAFTS}{path}"
        return await self.world.client.request(method, path, headers=sent, params=query, **body)

    async def make(self, who: str = SEDGE, body: Body | None = None, **query: Any) -> Any:
        """A new draft of 2020.1, sound unless said otherwise, as it was answered."""
        own = NEXT if body is None else {"summary": NEXT["summary"]} if "from" in body else {}
        asked = {"why": "The circular has changed.", **own, **query}
        made = await self.send("POST", "", who, json=body or {"from": "2020.1"}, **asked)
        assert made.status_code == 201, made.text
        return made.json()

    async def read(self, name: str, who: str = SEDGE, **query: Any) -> Any:
        """A whole draft."""
        found = await self.send("GET", f"/{name}", who, **query)
        assert found.status_code == 200, found.text
        return found.json()

    async def patch(
        self, name: str, patch: Any, etag: str | None, who: str = SEDGE, **query: Any
    ) -> httpx.Response:
        """The answer to a merge patch."""
        asked = {"why": "It was wrong.", **query}
        return await self.send("PATCH", f"/{name}", who, json=patch, media=MERGE, etag=etag, **asked)

    async def put(
        self, name: str, document: Any, etag: str | None, who: str = SEDGE, **query: Any
    ) -> httpx.Response:
        """The answer to a whole document."""
        asked = {"why": "Written anew.", **query}
        return await self.send("PUT", f"/{name}", who, json=document, etag=etag, **asked)

    async def step(
        self, name: str, step: str, who: str, etag: str | None = None, **says: str
    ) -> httpx.Response:
        """The answer to a step such as `submission`; after the newest step unless an ETag is given. `says`:
        what else the body says."""
        if etag is None:
            etag = (await self.read(name))["etag"]
        body = {"why": f"Time for {step}.", **says}
        return await self.send("POST", f"/{name}/{step}", who, json=body, etag=etag)

    async def taken(self, name: str, step: str, who: str, **says: str) -> Any:
        """A step that is expected to be taken."""
        found = await self.step(name, step, who, **says)
        assert found.status_code == 201, found.text
        return found.json()

    async def check(self, name: str) -> Any:
        """What the check finds."""
        found = await self.send("POST", f"/{name}/check", SEDGE)
        assert found.status_code == 200, found.text
        return found.json()

    async def published(self, **query: Any) -> Any:
        """A draft that one maintainer has written and another has published."""
        made = await self.make(**query)
        await self.taken(made["id"], "submission", SEDGE)
        return await self.taken(made["id"], "approval", RAIL)
