"""What is known of an author's record: postings up to a revision, and how long ago the first was."""

from __future__ import annotations

import random
from datetime import date, timedelta

from tests.api import World, price

from gradewright.core.standing import Record
from gradewright.prices.said import records

MOST = Record(postings=3, days=10)
AUTHORS = ("wren", "dunlin", "siskin", "knot", "ruff")
VISITS = 16


async def test_records_are_what_counting_the_postings_shows(world: World) -> None:
    """Whoever has made as many postings and began as long ago as counts has the most there is; of all others
    each posting and each day since the first is told, as known at every revision, then and later."""
    draw, visits = random.Random(41), list[tuple[int, str, date]]()
    for _ in range(VISITS):
        day, who = world.later(days=draw.choice([0, 1, 3])).date(), draw.choice(AUTHORS[:-1])
        await world.post(price("copper-no2", "3.30"), who=who, on=day.isoformat())
        visits.append((await world.revision(), who, day))
    kinds = set()
    for revision, _, day in visits:
        for on in (day, day + timedelta(days=4), day + timedelta(days=40)):
            async with world.services.database.read() as session:
                found = await records(session, AUTHORS, on=on, revision=revision, most=MOST)
            assert found.keys() == set(AUTHORS)
            for who, record in found.items():
                theirs = [seen for known, author, seen in visits if author == who and known <= revision]
                made, began = len(theirs), (on - theirs[0]).days if theirs else 0
                told = min(record.postings, MOST.postings), min(record.days, MOST.days)
                assert told == (min(made, MOST.postings), min(began, MOST.days))
                kinds.add((made >= MOST.postings, began >= MOST.days))
    assert kinds == {(True, True), (True, False), (False, True), (False, False)}
