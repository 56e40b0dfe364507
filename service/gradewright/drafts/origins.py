"""The drafts that published versions come from."""

from __future__ import annotations

from collections.abc import Mapping

from gradewright.db.session import Database
from gradewright.drafts import repository
from gradewright.drafts.draft import name_of
from gradewright.rulebooks.origins import Origin


class DraftOrigins:
    """Reads who approved each version: its approval is a step of its draft."""

    def __init__(self, database: Database) -> None:
        self._database = database

    async def origins(self) -> Mapping[str, Origin]:
        """By version."""
        async with self._database.read() as session:
            approved = await repository.approvals(session)
        return {version: Origin(name_of(draft), author) for version, draft, author in approved}
