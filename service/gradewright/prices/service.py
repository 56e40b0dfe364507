"""Price lists, for a region or a yard, on a day, as known at a revision; see `series` for their history."""

from __future__ import annotations

from datetime import date

from gradewright.core.errors import Fault, Refused
from gradewright.core.house_limits import HouseLimit
from gradewright.core.pricelist import PriceList
from gradewright.core.rulebook import Rulebook
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.prices.board import Board, Place
from gradewright.yards.service import Atlas, YardService


class PriceService:
    """Reads the ledger; see `postings.PostingService` for writing to it."""

    def __init__(self, database: Database, yards: YardService, board: Board) -> None:
        self._database = database
        self._yards = yards
        self._board = board

    async def atlas(self) -> Atlas:
        """Regions and yards as they stand."""
        return await self._yards.atlas()

    async def place(self, region: str | None, yard: str | None) -> Place:
        """A region or a yard by name; `Refused` unless exactly one is named, `NotFound` if not there."""
        if (region is None) == (yard is None):
            detail = "Name either a region or a yard: prices are asked for in one place."
            raise Refused(detail, faults=(Fault(detail, ("region",)),))
        atlas = await self.atlas()
        if yard is not None:
            return Place(atlas.yard(yard).region, yard)
        return Place(atlas.region(region or "").code)

    async def limits(self, place: Place, on: date, revision: int | None = None) -> tuple[HouseLimit, ...]:
        """The limits that hold in a place on a day instead of the rulebook's, as known at a revision."""
        return (await self.atlas()).limits(place.region, place.yard, on, revision)

    async def list_for(
        self, place: Place, rulebook: Rulebook, on: date, known_at: KnownAt = None
    ) -> tuple[PriceList, int]:
        """The price list, and the revision that it is known at."""
        if known_at is None:
            return await self._board.newest(place, rulebook, on)
        revision = await self.revision(known_at)
        return await self._board.as_known(place, rulebook, on, revision), revision

    async def known(self, known_at: KnownAt) -> int | None:
        """The revision that is meant by an old one or an instant; None for the newest."""
        return None if known_at is None else await self.revision(known_at)

    async def revision(self, known_at: KnownAt) -> int:
        """The revision that is meant; `Refused` for one that the ledger has not reached."""
        return await revision_of(self._database, known_at)
