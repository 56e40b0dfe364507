"""A new database for the demo: its tables, the rulebooks and the publications that ship, keys for all."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from sqlalchemy.engine import URL

from gradewright.accounts.service import AccountService, Role
from gradewright.clock import Clock, utc_now
from gradewright.compositions.publications import load, read_publications, shipped
from gradewright.compositions.service import CompositionService
from gradewright.db import migrate
from gradewright.db.session import Database
from gradewright.demo.scenario import Scenario
from gradewright.regions.service import RegionService
from gradewright.rulebooks import document
from gradewright.rulebooks.service import RulebookService

PUBLISHED = Path(document.__file__).parent / "published"


def url_of(file: Path) -> str:
    """The URL of a SQLite file."""
    return URL.create("sqlite", database=str(file)).render_as_string()


async def fill(
    url: str, scenario: Scenario, clock: Clock = utc_now, tell: Callable[[int, int], None] | None = None
) -> Mapping[str, str]:
    """Loads the rulebooks and what publications say of devices, and makes the accounts, in a migrated
    database; gives each handle's key. `clock`: when that is recorded. `tell` hears how many rulebooks are
    loaded, and how many there are.
    """
    database = Database(url)
    try:
        rulebooks = RulebookService(database)
        files = sorted(PUBLISHED.glob("*.yaml"))
        for number, file in enumerate(files, start=1):
            await rulebooks.publish(document.from_yaml(file.read_text(encoding="utf-8")), clock())
            if tell is not None:
                tell(number, len(files))
        published = [one for path in shipped() for one in read_publications(path)]
        devices = CompositionService(database, RegionService(database), rulebooks)
        await load(database, devices, published, clock())
        accounts = AccountService(database)
        roles = dict.fromkeys(scenario.members, Role.MEMBER) | {scenario.maintainer: Role.MAINTAINER}
        return {
            handle: await accounts.make_key(handle, role, "demo", clock()) for handle, role in roles.items()
        }
    finally:
        await database.close()


def make_tables(url: str) -> None:
    """Brings a new database to the newest schema."""
    migrate.upgrade(url)
