"""The kept leaves, read ahead while they are gone through."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.ext.asyncio import AsyncSession

from gradewright.db.leaves import LeafRow

READ_AHEAD = 8_192


class LeafReader:
    """The kept leaves, read ahead in ranges; a leaf behind the last ranges is gone."""

    def __init__(self, session: AsyncSession) -> None:
        self._session = session
        self._found: dict[int, bytes] = {}
        self._read = 0

    async def have(self, end: int) -> None:
        """Reads up to a number."""
        while self._read < end:
            upto = self._read + READ_AHEAD
            rows = await self._session.execute(
                select(LeafRow.number, LeafRow.hash).where(
                    LeafRow.number >= self._read, LeafRow.number < upto
                )
            )
            self._found.update({number: as_hash(hashed) for number, hashed in rows})
            self._read = upto

    def get(self, number: int) -> bytes | None:
        """The hash of a leaf; None where it is not there."""
        return self._found.get(number)

    def forget(self, before: int) -> None:
        """Drops what lies before a number."""
        if len(self._found) > 4 * READ_AHEAD:
            self._found = {number: hashed for number, hashed in self._found.items() if number >= before}


def as_hash(hashed: object) -> bytes:
    """A hash; of what is none, which only a hand can have put there, something that is equal to no hash."""
    return hashed if type(hashed) is bytes else repr(hashed).encode()
