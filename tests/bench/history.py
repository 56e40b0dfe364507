"""A ledger after years of use: a country, its subdivisions and localities, their yards, and weekly postings.

Written in bulk (`filling`), into the tables and columns that the service writes. What happens at a yard in a
week depends on the yard and the week alone, so a larger history holds a smaller one: the same localities
with the same postings, and more of both around them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from sqlalchemy import insert, text

import gradewright.rulebooks
from gradewright.accounts.models import AccountRow
from gradewright.asgi import Services, create_app
from gradewright.core.money import Rounding
from gradewright.db import migrate
from gradewright.db.engines import is_sqlite, read_url, sync_engine
from gradewright.db.entries import plain
from gradewright.prices.repository import PRICE
from gradewright.regions.service import Region
from gradewright.rulebooks.document import from_yaml
from gradewright.settings import Settings
from gradewright.yards.service import Yard
from tests.bench.filling import fill

PUBLISHED = Path(gradewright.rulebooks.__file__).parent / "published"
END = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)  # the last day of every history: a Monday
COUNTRY = "XO"
REGION = "XO-S00-L00"  # the locality that is measured: there in every size
EMPTY = "XO-S00-NEW"  # a locality without a yard: there in every size too
PRICES = 10  # in a posting
WEEKS_A_MEMBER_STAYS = 100
MEMBERS = 3  # of a yard at any time, who go there in turn
SHARE_FOR_LARGER_LOTS = 0.05
UNITS = {"lb": 1, "kg": 2.2, "short ton": 2000}
YARDS_DIFFER_BY = NOISE = 0.05
SHARE_OF_SLIPS = 0.01

# Of the grades, in an order drawn once: how many, and what share of the yards buys each of them.
BOUGHT = ((30, 0.9), (40, 0.3), (40, 0.03))  # the rest nobody has posted yet


@dataclass(frozen=True, slots=True)
class Size:
    """How far a service has grown: every locality has three or four yards, every yard a posting a week."""

    subdivisions: int
    localities: int
    weeks: int

    @property
    def entries(self) -> int:
        """The prices in the ledger."""
        return len(yards(self)) * self.weeks * PRICES


TEN_THOUSAND = Size(subdivisions=2, localities=2, weeks=71)
A_HUNDRED_THOUSAND = Size(subdivisions=4, localities=4, weeks=178)
A_MILLION = Size(subdivisions=12, localities=9, weeks=265)
TEN_MILLION = Size(subdivisions=60, localities=9, weeks=530)


def clock() -> datetime:
    """Now, for the service under measurement: the end of the history."""
    return END


def regions(size: Size) -> Iterator[Region]:
    """The country, its subdivisions, their localities."""
    yield Region(COUNTRY, "Orvale", None, "USD", "lb")
    for s in range(size.subdivisions):
        yield Region(f"XO-S{s:02}", f"Shire {s}", COUNTRY, "USD", "lb")
        for place in range(size.localities):
            yield Region(f"XO-S{s:02}-L{place:02}", f"Town {s}.{place}", f"XO-S{s:02}", "USD", "lb")
    yield Region(EMPTY, "New Town", "XO-S00", "USD", "lb")


def yards(size: Size) -> list[Yard]:
    """Three or four to a locality, in turn."""
    return [
        Yard(
            slug=f"yard-{s:02}-{place:02}-{number}",
            name=f"Yard {s}.{place}.{number}",
            region=f"XO-S{s:02}-L{place:02}",
            currency="USD",
            unit=("lb", "kg", "lb", "short ton")[number],
            rounding=Rounding.HALF_EVEN,
            cash_increment=None,
        )
        for s in range(size.subdivisions)
        for place in range(size.localities)
        for number in range(3 + (s + place) % 2)
    ]


def bought(yard: str, grades: list[str]) -> list[str]:
    """The grades that a yard buys: the common ones nearly everywhere, the rare ones at few yards."""
    draw = random.Random(yard)
    spread = random.Random("grades").sample(grades, len(grades))
    found, first = [], 0
    for count, share in BOUGHT:
        found += [grade for grade in spread[first : first + count] if draw.random() < share]
        first += count
    return found


async def grow(database_url: str, size: Size) -> None:
    """Migrates an empty database and fills it."""
    migrate.upgrade(database_url)
    services: Services = create_app(Settings(database_url=database_url), clock=clock).state["services"]
    began = END - timedelta(weeks=size.weeks)
    for path in sorted(PUBLISHED.glob("*.yaml")):
        await services.rulebooks.publish(from_yaml(path.read_text(encoding="utf-8")), began)
    async with services.database.write() as session:
        for region in regions(size):
            await services.regions.add(session, region, began)
    async with services.database.write() as session:
        for yard in yards(size):
            await services.yards.add(session, yard, began)
    grades = list((await services.rulebooks.in_force(END.date())).rulebook.grades)
    await services.database.close()
    engine = sync_engine(read_url(database_url), writes=True)
    with engine.begin() as connection:
        connection.execute(insert(AccountRow), list(_accounts(size, began)))
    fill(engine, _postings(size, grades))
    if not is_sqlite(read_url(database_url)):
        with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("VACUUM ANALYZE"))  # what autovacuum has done long since, in years of use
    engine.dispose()


def _accounts(size: Size, began: datetime) -> Iterator[dict[str, Any]]:
    for yard in yards(size):
        for author in sorted({_author(yard.slug, week) for week in range(size.weeks)}):
            yield {"handle": author, "role": "member", "created_at": began}


def _author(yard: str, week: int) -> str:
    """Who goes to a yard in a week; weeks are counted backwards from the end."""
    member = week % MEMBERS
    return f"m-{yard[5:]}-{member}-{(week + member * 37) // WEEKS_A_MEMBER_STAYS}"


def _postings(size: Size, grades: list[str]) -> Iterator[tuple[dict[str, Any], list[dict[str, Any]]]]:
    """All postings in the order in which they were recorded, with their entries; without revisions yet."""
    kept = {yard.slug: (yard, bought(yard.slug, grades)) for yard in yards(size)}
    for week in reversed(range(size.weeks)):
        for minute, (yard, buys) in enumerate(kept.values()):
            yield _posting(yard, buys, week, END - timedelta(weeks=week + 1) + timedelta(minutes=minute))


def _posting(
    yard: Yard, buys: list[str], week: int, recorded_at: datetime
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    draw = random.Random(f"{yard.slug} {week}")
    common = {
        "yard": yard.slug,
        "author": _author(yard.slug, week),
        # Most post on the day, some remember it days later.
        "observed_on": plain((recorded_at - timedelta(days=draw.choice((0, 0, 0, 1, 3)))).date()),
        "evidence": draw.choice(("ticket", "written-list", "sign", "sign", "told")),
    }
    posting = {
        "id": f"p-{draw.getrandbits(80):020x}",
        **common,
        "note": None,
        "recorded_at": plain(recorded_at),
    }
    entries = [
        {
            **common,
            "line": line,
            "kind": PRICE,
            "posting": posting["id"],
            "grade": grade,
            "label": None,
            "price": plain(_price(draw, yard, grade)),
            "currency": yard.currency,
            "per": yard.unit,
            "from_weight": "100 lb" if draw.random() < SHARE_FOR_LARGER_LOTS else None,
        }
        for line, grade in enumerate(draw.sample(buys, PRICES), start=1)
    ]
    return posting, entries


def _price(draw: random.Random, yard: Yard, grade: str) -> Decimal:
    """What somebody saw there: about what the yard pays, and now and then ten times that."""
    cents = _pays(yard.slug, grade) * UNITS[yard.unit] * draw.gauss(1, NOISE)
    slip = 10 if draw.random() < SHARE_OF_SLIPS else 1
    return Decimal(max(1, round(cents)) * slip) / 100


@lru_cache(maxsize=1 << 18)
def _pays(yard: str, grade: str) -> float:
    """In cents for a pound: the yards differ little in a grade, and the grades much."""
    return random.Random(grade).randint(20, 500) * random.Random(f"{yard} {grade}").gauss(1, YARDS_DIFFER_BY)
