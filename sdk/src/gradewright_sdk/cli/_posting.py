"""A posting for people: its lines, what counts of them, and what a later word made of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from rich.padding import Padding

from gradewright_sdk import _exceptions as ex
from gradewright_sdk.cli._layout import Entry, stacked
from gradewright_sdk.cli._lines import ranges
from gradewright_sdk.cli._show import number, say

if TYPE_CHECKING:
    from rich.console import Console
    from rich.text import Text

    from gradewright_sdk._client import Client
    from gradewright_sdk._models import LaterWord, PostedPrice, Posting, PriceEntry, WordStored

MOST = 20
"""So many lines are told of one by one, after a word about more of them."""
STANDS = {
    "recorded": "not judged yet",
    "counts": "counts",
    "held": "waits",
    "overtaken": "a newer one counts",
    "stale": "too old",
    "withdrawn": "taken back",
    "rejected": "rejected",
}
BECAME = {
    "recorded": "not judged yet",
    "counts": "counts now",
    "held": "waits now",
    "overtaken": "does not count today, as a newer price of its author stands in its place; in lists of days "
    "before that it may",
    "stale": "was seen too long ago to count today; in lists of days near its own it may, or wait "
    "(`gradewright-client show POSTING --on DAY` tells)",
    "withdrawn": "taken back: it counts no more",
    "rejected": "rejected: it does not count",
}
SAME = {"counts": "counts, as before", "held": "still waits"}
SAID = {"withdrawal": "took back", "confirmation": "confirmed", "dispute": "disputed"}
HIDDEN = (
    "Prices that wait are shown with their figures to their author, to maintainers, and to who has confirmed "
    "or disputed them; here they are told by the ledger, which tells everything to everyone."
)
UNSURE = "It is stored; what became of it could not be asked."
UNREAD = "Some of its prices wait and are not shown here: the ledger, which tells them, could not be asked."
NOT_ENOUGH = "It waits once two members or more dispute it, who together weigh more than those behind it."
LET_GO = {"confirmation": "confirms", "decision": "accepted"}


def read_whole(client: Client, id_: str, on: str | None = None) -> Posting:
    """A posting with all of its prices, however many, as they stand on a day (today)."""
    found = client.postings.get(id_, on=on)
    prices, line = list(found.prices), found.next_line
    while line is not None:
        page = client.postings.get(id_, on=on, from_line=line)
        prices += page.prices
        line = page.next_line
    return found.model_copy(update={"prices": tuple(prices), "next_line": None})


def print_posting(console: Console, client: Client, found: Posting, on: str | None = None) -> None:
    """What was posted, by whom, what counts of it on a day (today), and who said what later."""
    seen = f"{found.yard}, seen on {found.observed_on}, evidence: {found.evidence}"
    console.print(say(f"{found.id}: {seen}", "bold"))
    stored = f"{found.recorded_at:%Y-%m-%d %H:%M}"
    console.print(say(f"Posted by {found.author} on {stored}, ledger revision {found.revision}"))
    if found.note:
        console.print(say(found.note))
    console.print()
    hidden: Sequence[PriceEntry] | None = _hidden(client, found) if found.withheld else ()
    rows = [(price.line, _entry(price)) for price in found.prices]
    rows += [(entry.line, _untold(entry)) for entry in hidden or ()]
    entries = [entry for _, entry in sorted(rows, key=lambda row: row[0])]
    heads = ("Price", "Today" if on is None else f"On {on}")
    for one in stacked(say("Line", "bold"), heads, entries):
        console.print(one)
    if on is None and any(price.status in {"stale", "overtaken"} for price in found.prices):
        then = f"gradewright-client show {found.id} --on {found.observed_on}"
        console.print(say(f"How it stands in the list of its own day: `{then}`", "dim"))
    if found.withheld:
        console.print(say(HIDDEN, "dim") if hidden is not None else say(UNREAD, "yellow"))
    if found.words:
        console.print()
    for word in found.words:
        console.print(say(_said(word)))


def _entry(price: PostedPrice) -> Entry:
    below = price.held.says if price.held is not None else None
    stands = say(STANDS.get(price.status, price.status), "" if price.status == "counts" else "yellow")
    return Entry(
        say(f"{price.line:>4}  {_named(price)}"),
        [_paid(price), stands],
        say(below, "yellow") if below else None,
    )


def _untold(entry: PriceEntry) -> Entry:
    return Entry(say(f"{entry.line:>4}  {_named(entry)}"), [_paid(entry), say("waits", "yellow")])


def _named(price: PostedPrice | PriceEntry) -> str:
    label = f" ({price.label})" if price.label else ""
    return f"{price.grade}{label}" + (f", from {price.from_weight}" if price.from_weight else "")


def _paid(price: PostedPrice | PriceEntry) -> Text:
    return say(f"{number(price.price)} {price.currency}/{price.per}")


def _hidden(client: Client, found: Posting) -> Sequence[PriceEntry] | None:
    """The prices that the posting does not show, by the ledger; None where that cannot be asked."""
    from gradewright_sdk._models import PriceEntry

    shown, hidden = {price.line for price in found.prices}, []
    try:
        for entry in client.ledger.entries(after=found.revision - 1):
            if entry.revision > found.revision:
                break
            if isinstance(entry, PriceEntry) and entry.posting == found.id and entry.line not in shown:
                hidden.append(entry)
    except ex.GradewrightError:
        return None
    return hidden


def _said(word: LaterWord) -> str:
    did = SAID.get(word.kind) or word.verdict or word.kind
    lines = f"line{'s' if len(word.lines) > 1 else ''} {', '.join(ranges(word.lines))}"
    when = f"{word.recorded_at:%Y-%m-%d %H:%M}"
    return f"{when}, {word.author} {did} {lines}: {word.reason} (ledger revision {word.revision})"


def print_became(console: Console, client: Client, said: WordStored) -> None:
    """What the lines say that something was said of, and what the word did to each."""
    try:
        before, after = (_lines(client, said, revision) for revision in (said.revision - 1, said.revision))
    except ex.GradewrightError:
        console.print(say(UNSURE, "yellow"))
        return
    for line in _told(said, after):
        console.print(Padding(say(_became(said, before.get(line), after[line])), (0, 0, 0, 2)))
    if len(said.lines) > MOST:
        console.print(say(f"  `gradewright-client show {said.posting}` shows all of them.", "dim"))


def _told(said: WordStored, after: Mapping[int, PostedPrice]) -> Iterator[int]:
    return (line for line in sorted(said.lines)[:MOST] if line in after)


def _lines(client: Client, said: WordStored, revision: int) -> Mapping[int, PostedPrice]:
    """The first lines that something was said of, as they stood at a revision."""
    found = client.postings.get(said.posting, known_at=revision, from_line=min(said.lines))
    return {price.line: price for price in found.prices}


def _became(said: WordStored, before: PostedPrice | None, after: PostedPrice) -> str:
    was = "" if before is None else before.status
    did = SAME.get(was, BECAME[was]) if was == after.status else BECAME.get(after.status, after.status)
    says = f"line {after.line}, {_named(after)} {_paid(after)}: {did}"
    if after.held is not None:
        return f"{says}. {after.held.says}"
    if said.kind == "dispute" and was == after.status == "counts":
        return f"{says}. {NOT_ENOUGH}"
    if before is None or was == after.status or after.status != "counts" or said.kind not in LET_GO:
        return f"{says}."
    says = f"{says}, as {said.author} {LET_GO[said.kind]} it."
    # Of what held it, that holds no longer, the figures are so still. A dispute has none.
    if before.held is None or before.held.median is None:
        return says
    return f"{says} {_figures(before.held.says)}"


def _figures(says: str) -> str:
    """Of why a price waits the first sentence: what others are paid. In numbers no blank follows a point."""
    return f"{says.partition('. ')[0].rstrip('.')}."
