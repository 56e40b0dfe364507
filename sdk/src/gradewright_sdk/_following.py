"""Following the ledger: one conversation for both clients, which only carry out its steps.

`steps` is a generator, as that of `_retry` is: it yields what to do, and is sent what came of it. It knows of
no network and no time, so tests run it without either.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Generic, TypeVar

from . import _exceptions as ex
from ._base import Call
from ._retry import Retry, Wait

if TYPE_CHECKING:
    from ._models import LedgerEntry

T = TypeVar("T")
NO_STREAM = frozenset({401, 403, 404, 405, 406, 501})
Told = Callable[[ex.GradewrightError], object]


@dataclass(frozen=True, slots=True)
class EntryPage:
    """Some entries in order, where they end, and the newest revision there was."""

    entries: tuple[LedgerEntry, ...]
    upto: str
    newest: int

    @property
    def more(self) -> bool:
        """Whether there is more already."""
        return "." in self.upto or int(self.upto) < self.newest


@dataclass(frozen=True, slots=True)
class Read:
    """Fetch a page; what comes of it is the page, or the error."""

    call: Call[EntryPage]


@dataclass(frozen=True, slots=True)
class Deliver:
    """Hand out the entries."""

    entries: tuple[LedgerEntry, ...]


@dataclass(frozen=True, slots=True)
class Listen:
    """Wait for the next id on the stream of events, opening it by this call if it is not open; what comes of
    it is the id, the error that ended the stream, or None if it ended by itself.
    """

    call: Call[None]


Step = Read | Deliver | Listen | Wait
Outcome = EntryPage | ex.GradewrightError | int | None


@dataclass(slots=True)
class Following(Generic[T]):
    """What is to be followed: `page(after, size)` and `events(after)` describe the calls. `after`: None for
    the newest.
    """

    after: str | None
    page: Callable[[str, int], Call[EntryPage]]
    events: Callable[[int], Call[None]]
    page_size: int
    poll_seconds: float
    on_trouble: Told | None = None
    _known: bool = field(default=False, init=False)
    _announced: int = field(default=0, init=False)
    _lost: int = field(default=0, init=False)
    _streams: bool = field(default=True, init=False)
    _number: int | None = field(default=None, init=False)

    def steps(self, retry: Retry) -> Generator[Step, Outcome, None]:
        """Never ends but by an error that waiting does not mend; of the first contact every error is one."""
        if self.after is None:
            self.after = str((yield from self._fetch("0", 1, retry)).newest)
        position = self.after
        while True:
            position = yield from self._catch_up(position, retry)
            yield from self._listen(_revision(position), retry)

    def _catch_up(self, position: str, retry: Retry) -> Generator[Step, Outcome, str]:
        """Hand out all that is there after a position; gives where that ends."""
        behind = 0
        while True:
            page = yield from self._fetch(position, self.page_size, retry)
            self._check(page)
            if page.entries:
                yield Deliver(page.entries)
            position = page.upto
            if page.more:
                continue
            if _revision(position) >= self._announced:
                return position
            behind += 1  # another worker told of it than the one that was asked
            yield Wait(retry.wait(behind))

    def _fetch(self, position: str, size: int, retry: Retry) -> Generator[Step, Outcome, EntryPage]:
        failures = 0
        while True:
            outcome = yield Read(self.page(position, size))
            if isinstance(outcome, EntryPage):
                self._known = True
                return outcome
            if not isinstance(outcome, ex.GradewrightError):
                raise RuntimeError("a Read is to be followed by what came of it")
            if not (self._known and _passing(outcome)):
                raise outcome
            failures += 1
            yield self._trouble(outcome, retry, failures)

    def _listen(self, reached: int, retry: Retry) -> Generator[Step, Outcome, None]:
        """Wait until there may be more than what was reached."""
        while self._streams:
            heard = yield Listen(self.events(reached))
            if isinstance(heard, int):
                if heard > reached:
                    self._announced, self._lost = heard, 0
                    return
            elif isinstance(heard, ex.GradewrightError) and _no_stream(heard):
                self._streams = False
            else:
                self._lost += 1
                yield self._trouble(heard, retry, self._lost)
                return
        yield Wait(self.poll_seconds)

    def _trouble(self, error: object, retry: Retry, failures: int) -> Wait:
        asked = 0.0
        if isinstance(error, ex.GradewrightError):
            if self.on_trouble is not None:
                self.on_trouble(error)
            if isinstance(error, ex.APIError):
                asked = error.retry_after or 0.0
        return Wait(max(retry.wait(failures), asked))

    def _check(self, page: EntryPage) -> None:
        """Numbers have no gap, so that nothing can be lost or come twice unseen."""
        for entry in page.entries:
            if self._number not in {None, entry.number}:
                why = f"entry {entry.number} came where entry {self._number} was due"
                raise ex.UnexpectedAnswer(why, url=self.page(page.upto, 1).path, status=200)
            self._number = entry.number + 1


def _revision(position: str) -> int:
    return int(position.partition(".")[0])


def _passing(error: ex.GradewrightError) -> bool:
    """Whether it is worth waiting."""
    if isinstance(error, ex.UnexpectedAnswer):  # a proxy's own page, or half an answer
        return error.status == 0 or error.status >= 500
    return isinstance(error, ex.ConnectionFailed | ex.TimedOut | ex.ServerError | ex.TooManyRequests)


def _no_stream(error: ex.GradewrightError) -> bool:
    """Whether there is no stream to be had; raises what says that this is not the ledger any more."""
    if isinstance(error, ex.APIError) and error.status in NO_STREAM:
        return True
    if isinstance(error, ex.UnexpectedAnswer) and not _passing(error):
        return True
    if not _passing(error):
        raise error
    return False


def ids(line: str) -> int | None:
    """The id in a line of a stream of events."""
    name, _, value = line.partition(":")
    value = value.strip()
    return int(value) if name == "id" and value.isascii() and value.isdigit() else None
