"""Values given to a statement in one piece arrive as they are."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from sqlalchemy import literal, select, union_all
from tests.conftest import KINDS

from gradewright.db.among import BETWEEN, among, each_of
from gradewright.db.session import Database

THERE = [
    "low-quay",
    "",
    "a b",
    "it's",
    'say "so"',
    "NULL",
    "{1,2}",
    "a,b",
    "back\\slash",
    f"a{BETWEEN}b",
    "å",
]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(
    "asked", [[], [""], ["", ""], ["low-quay"], THERE[:-2], [THERE[-2]], THERE, ["a", "b"]], ids=repr
)
async def test_each_value_is_one(kind: str, asked: list[str], make_url: Callable[..., str]) -> None:
    """None is lost, split, or taken for another, whatever is written in it."""
    database = Database(make_url(kind))
    there = union_all(*(select(literal(name).label("name")) for name in THERE)).subquery()
    async with database.read() as session:
        told = each_of(session, asked)
        assert sorted(await session.scalars(select(told.c.value))) == sorted(asked)
        found = await session.scalars(select(there.c.name).where(among(session, there.c.name, asked)))
        assert sorted(found) == sorted(set(asked) & set(THERE))
    await database.close()
