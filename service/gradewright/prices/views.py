"""Postings as they stand: what was said of them later, what waits and why, and who may see that."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from gradewright.clock import Clock
from gradewright.core.errors import Fault, NoRulebook, NotFound, Refused
from gradewright.core.rulebook import Rulebook
from gradewright.core.sightings import Entry
from gradewright.core.spoken import Held
from gradewright.core.timeline import days_before
from gradewright.db.knowing import KnownAt, revision_of
from gradewright.db.session import Database
from gradewright.prices import repository
from gradewright.prices.board import Board, Place
from gradewright.prices.models import EntryRow, PostingRow, WordRow
from gradewright.prices.overtaken import overtaken
from gradewright.prices.postings import Posting
from gradewright.prices.said import CONFIRMATION, DECISION, DISPUTE, REJECTED, WITHDRAWAL
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.service import YardService

MOST_SHOWN = 500
VOICES = (CONFIRMATION, DISPUTE)
RECORDED, COUNTS, HELD, OVERTAKEN, STALE, WITHDRAWN = (
    "recorded", "counts", "held", "overtaken", "stale", "withdrawn",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Asking:
    """Of which day it is asked, and as known at which revision; None is the newest."""

    on: date
    revision: int | None = None


@dataclass(frozen=True, slots=True)
class Seen:
    """One price, and how it stands on the day that is asked about: `counts`, `held`, `overtaken` by a newer
    one of its author, `stale` as it was seen too long ago, `withdrawn` or `rejected`; `recorded` where
    nobody has asked yet."""

    row: EntryRow
    status: str
    held: Held | None = None


@dataclass(frozen=True, slots=True)
class SaidOf:
    """A later word: one act, about some of the lines."""

    word: WordRow
    lines: tuple[int, ...]
    recorded_at: datetime


@dataclass(frozen=True, slots=True)
class View:
    """A posting as it stands, or a page of a long one: the next begins with `next_line`.

    `spoken`: who has confirmed or disputed which lines, by today.
    """

    row: PostingRow
    prices: Sequence[Seen]
    words: Sequence[SaidOf] = ()
    next_line: int | None = None
    spoken: Collection[tuple[str, int]] = ()

    def for_reader(self, handle: str | None, *, maintains: bool) -> View:
        """The same as its author and maintainers see it; others see prices that wait where they have spoken
        of them themselves: whoever puts their name to a price is told what it is."""
        if maintains or handle == self.row.author:
            return self
        shown = [
            seen for seen in self.prices if seen.status != HELD or (handle, seen.row.line) in self.spoken
        ]
        return replace(self, prices=shown)


class PostingViews:
    """Reads postings with all that bears on them."""

    def __init__(
        self, database: Database, yards: YardService, rulebooks: RulebookService, board: Board, clock: Clock
    ) -> None:
        self._database = database
        self._yards = yards
        self._rulebooks = rulebooks
        self._board = board
        self._clock = clock

    async def posted(self, posting: str) -> PostingRow:
        """A posting itself, whatever was said of it. Raises `NotFound`."""
        async with self._database.read() as session:
            found = await repository.postings_at(session, [posting])
        if not found:
            raise NotFound(f"There is no posting {posting!r}.")
        return found[0]

    async def get(
        self, posting: str, known_at: KnownAt = None, first: int = 1, on: date | None = None
    ) -> View:
        """A posting by its id, as it stands on a day (today) and as known then, from a line on. `NotFound`:
        not there, or not yet; `Refused`: it was seen after that day.
        """
        revision = await revision_of(self._database, known_at)
        async with self._database.read() as session:
            found = await repository.find(session, posting, first=first, most=MOST_SHOWN + 1)
        if found is None:
            raise NotFound(f"There is no posting {posting!r}.")
        if found[0].revision > revision:
            raise NotFound(f"{posting} was recorded at revision {found[0].revision}, after {revision}.")
        if on is not None and on < found[0].observed_on:
            detail = f"{posting} was seen on {found[0].observed_on}: on {on} it stands nowhere yet."
            raise Refused(detail, faults=(Fault(detail, ("on",)),))
        return (await self.of([found], self._asking(on, revision if known_at is not None else None)))[0]

    async def of(
        self,
        postings: Sequence[tuple[PostingRow, Sequence[EntryRow]]],
        asked: Asking | None = None,
        held: Mapping[Entry, Held] | None = None,
    ) -> list[View]:
        """The postings with what was said of them, in their order; what waits, and what newer prices stand in
        the place of others, is judged as of the day that is asked about (today), or of that on which they
        were seen where it is later: a yard may be a day ahead.

        Of each at most `MOST_SHOWN` entries: where there are more, the view tells the next line. `held`: what
        waits, where that is known already.
        """
        asked = asked or self._asking()
        shown: dict[str, View] = {}
        for day in {max(asked.on, row.observed_on) for row, _ in postings}:
            theirs = [one for one in postings if max(asked.on, one[0].observed_on) == day]
            shown |= {view.row.id: view for view in await self._of(theirs, replace(asked, on=day), held)}
        return [shown[row.id] for row, _ in postings]

    async def _of(
        self,
        postings: Sequence[tuple[PostingRow, Sequence[EntryRow]]],
        asked: Asking,
        held: Mapping[Entry, Held] | None,
    ) -> list[View]:
        ids = [row.id for row, _ in postings]
        async with self._database.read() as session:
            words = await repository.words_of(session, ids, asked.revision)
            ever = words if asked.revision is None else await repository.words_of(session, ids)
            when = await repository.recorded_at(
                session, {word.revision for said in words.values() for word in said}
            )
        if held is None:
            held = {}
            for region in await self._regions({row.yard for row, _ in postings}):
                held = {**held, **await self._held(region, asked)}
        shown = [entry for _, entries in postings for entry in entries[:MOST_SHOWN]]
        since = await self._since(asked)
        behind = await self._overtaken(shown, held, asked, since)
        return [
            replace(
                _view(row, entries, words[row.id], when, held, behind, since),
                spoken={(word.author, word.about) for word in ever[row.id] if word.kind in VOICES},
            )
            for row, entries in postings
        ]

    async def waiting(self, region: str, on: date | None = None, known_at: KnownAt = None) -> list[View]:
        """All prices of a region that wait on a day (today), a view for each posting with only those, newest
        first."""
        revision = None if known_at is None else await revision_of(self._database, known_at)
        asked = self._asking(on, revision)
        held = await self._held((await self._yards.atlas()).region(region).code, asked)
        async with self._database.read() as session:
            entries = await repository.entries_at(session, list(held))
            rows = await repository.postings_at(session, {entry.posting for entry in entries})
        by_posting: dict[str, list[EntryRow]] = {row.id: [] for row in rows}
        for entry in entries:
            by_posting[entry.posting].append(entry)
        newest_first = sorted(rows, key=lambda row: -row.revision)
        return await self.of([(row, by_posting[row.id]) for row in newest_first], asked, held)

    def _asking(self, on: date | None = None, revision: int | None = None) -> Asking:
        return Asking(on or self._clock().date(), revision)

    async def _regions(self, yards: set[str]) -> list[str]:
        atlas = await self._yards.atlas()
        return sorted({atlas.yard(yard).region for yard in yards})

    async def _rulebook(self, asked: Asking) -> Rulebook | None:
        """The one in force; without one nothing counts yet, so nothing waits or takes a place."""
        try:
            return (await self._rulebooks.in_force(asked.on, known_at=asked.revision)).rulebook
        except NoRulebook:
            return None

    async def _since(self, asked: Asking) -> date | None:
        """The first day of which a price can count on that day; None where no rulebook is in force."""
        rulebook = await self._rulebook(asked)
        return None if rulebook is None else days_before(asked.on, rulebook.pricing.stale_after)

    async def _overtaken(
        self, entries: Sequence[EntryRow], held: Mapping[Entry, Held], asked: Asking, since: date | None
    ) -> Collection[Entry]:
        rest = [entry for entry in entries if (entry.revision, entry.line) not in held]
        if since is None or not rest:
            return ()
        known = asked.revision
        if known is None:
            known = (await self._database.newest()).number
        async with self._database.read() as session:
            return await overtaken(session, rest, held, since=since, until=asked.on, revision=known)

    async def _held(self, region: str, asked: Asking) -> Mapping[Entry, Held]:
        rulebook = await self._rulebook(asked)
        if rulebook is None or rulebook.pricing.holding is None:
            return {}
        if asked.revision is None:
            prices, _ = await self._board.newest(Place(region), rulebook, asked.on)
        else:
            prices = await self._board.as_known(Place(region), rulebook, asked.on, asked.revision)
        return prices.place.held


def as_posted(posting: Posting) -> View:
    """A posting that was just stored: nobody has said anything of it yet, and nothing was judged."""
    return View(posting.row, [Seen(entry, RECORDED) for entry in posting.entries])


def _view(
    row: PostingRow,
    entries: Sequence[EntryRow],
    words: Sequence[WordRow],
    when: Mapping[int, datetime],
    held: Mapping[Entry, Held],
    behind: Collection[Entry],
    since: date | None,
) -> View:
    entries, more = entries[:MOST_SHOWN], entries[MOST_SHOWN:]
    gone: dict[int, str] = {}
    for word in words:
        if word.kind == DECISION and gone.get(word.about) != WITHDRAWN:
            gone[word.about] = REJECTED if word.verdict == REJECTED else COUNTS
        elif word.kind == WITHDRAWAL:
            gone[word.about] = WITHDRAWN
    prices = []
    for entry in entries:
        waits = held.get((entry.revision, entry.line))
        status = gone.get(entry.line, COUNTS)
        if status == COUNTS and waits:
            status = HELD
        elif status == COUNTS and (entry.revision, entry.line) in behind:
            status = OVERTAKEN
        elif status == COUNTS and since is not None and row.observed_on < since:
            status = STALE
        prices.append(Seen(entry, status, waits if status == HELD else None))
    acts: dict[int, list[WordRow]] = {}
    for word in words:
        acts.setdefault(word.revision, []).append(word)
    said = [
        SaidOf(act[0], tuple(word.about for word in act), when[revision]) for revision, act in acts.items()
    ]
    return View(row, prices, said, more[0].line if more else None)
