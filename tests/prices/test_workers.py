"""Two workers on one database: what one has recorded, the other can be asked for at once by its revision."""

from __future__ import annotations

from tests.api import World, price
from tests.conftest import talk_to

from gradewright.asgi import create_app
from gradewright.settings import Settings


async def test_a_revision_of_another_worker_can_be_asked_for_at_once(world: World) -> None:
    """A worker that has not heard of a revision yet looks it up when it is named, and then answers by it."""
    await world.post(price("copper-no1", "3.00"))
    url = world.services.database.url.render_as_string(hide_password=False)
    app = create_app(Settings(database_url=url, ledger_poll_seconds=3600), clock=world.clock)
    async with talk_to(app) as client:
        asked = {"region": "XO-KEL", "grade": "copper-no1", "on": "2026-05-04"}
        before = (await client.get("/v1/prices", params=asked)).json()
        posted = await world.post(price("copper-no1", "3.40"), who="rook")
        unheard = (await client.get("/v1/prices", params=asked)).json()
        named = await client.get("/v1/prices", params=asked | {"known_at": str(posted["revision"])})
        after = (await client.get("/v1/prices", params=asked)).json()
    assert unheard == before
    assert named.status_code == 200, named.text
    assert named.json()["known_at"] == posted["revision"] == before["known_at"] + 1
    assert named.json()["prices"] != before["prices"]
    assert after["prices"] == named.json()["prices"]
