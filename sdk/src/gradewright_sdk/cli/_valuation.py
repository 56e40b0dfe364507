"""A valuation for people: the parts, the piles, the totals, what is missing, what would raise it,
cautions.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.table import Table

from gradewright_sdk.cli._cautions import MOST_IN_FULL
from gradewright_sdk.cli._layout import Entry, hanging, stacked
from gradewright_sdk.cli._show import few, how_to_test, minutes, number, say, spreads, two_lines, weight
from gradewright_sdk.cli._valued import parts
from gradewright_sdk.cli._work import work

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from gradewright_sdk._models import Caution, Raise, Rulebook, Valuation, ValuedPart

MOST_RAISES = 10
MOST_STEPS = 5
TAKE_APART = "take-apart"
MOST_NAMED = 3  # as `few` has it
SINCE = re.compile(r"^Nobody has posted .* since (\d{4}-\d\d-\d\d)\b")
FURTHEST_EAST = timedelta(hours=14)  # where a day begins first


@dataclass(frozen=True, slots=True)
class Report:
    """A valuation and what is needed to tell it; `kept` are the ids it was kept under, `chunks` how many
    it took.
    """

    valuation: Valuation
    rulebook: Rulebook
    kept: Sequence[str]
    chunks: int

    def print(self, console: Console) -> None:
        """All of it, each section only if it has something to say."""
        valuation = self.valuation
        place = valuation.yard or valuation.region or ""
        console.print(say(f"{place}, {valuation.on}, prices in {valuation.currency}", "bold"))
        today = (datetime.now(UTC) + FURTHEST_EAST).date()
        if valuation.on > today:
            told = f"{valuation.on} has not come yet: these are prices seen until now."
            if any(_counts_from(part) > today.isoformat() for part in valuation.parts):
                told += " Unless others are posted, all of today will be too old by then."
            console.print(say(told, "yellow"))
        for one in parts(valuation, self.rulebook, console.width):
            console.print(one)
        if valuation.piles:
            self._section(console, "Piles", self._piles())
        self._totals(console)
        if valuation.missing:
            self._section(console, "Missing", hanging(("-", line) for line in valuation.missing))
        house = dict.fromkeys(one.says for part in valuation.parts for one in part.house_limits)
        if house:
            self._section(console, "House rules", hanging(("-", line) for line in house))
        disputed = self._disputed()
        if disputed:
            self._section(console, "Disputed", hanging(("-", line) for line in disputed))
        raises = self._ranked()
        if raises:
            self._section(console, "What would raise it, by the rulebook's minutes", *self._raises(raises))
        self._pointers(console)
        cautions = self._cautions(raises)
        if cautions:
            self._section(console, "Cautions", *cautions)
        steps = self._next_steps(raises)
        if steps:
            self._section(
                console, "What to try next", hanging((f"{n}.", step) for n, step in enumerate(steps, 1))
            )
        self._pins(console)

    def _section(self, console: Console, title: str, *what: RenderableType) -> None:
        console.print()
        console.print(say(title, "bold"))
        for one in what:
            console.print(Padding(one, (0, 0, 0, 2)))

    def _piles(self) -> Table:
        table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, show_header=False)
        table.add_column(ratio=1, overflow="fold")
        for _ in range(2):
            table.add_column(justify="right", no_wrap=True)
        amounts = spreads([pile.amount for pile in self.valuation.piles])
        for pile, amount in zip(self.valuation.piles, amounts, strict=True):
            name = f"{pile.name} ({pile.lines} parts)" if pile.lines > 1 else pile.name
            table.add_row(say(name), weight(pile.weight_kg), amount)
        return table

    def _totals(self, console: Console) -> None:
        totals, currency = self.valuation.totals, self.valuation.currency
        console.print()
        amounts = " – ".join(map(number, (totals.low, totals.likely, totals.high)))
        counted = f"{totals.priced} of {totals.priced + totals.unpriced} parts counted"
        console.print(say(f"Total  {amounts} {currency}  ({counted})", "bold"))
        if totals.cash is not None:
            console.print(say(f"In cash, likely  {number(totals.cash)} {currency}"))
        if not self.valuation.complete:
            one = totals.unpriced == 1
            left = "1 part has no amount and is" if one else f"{totals.unpriced} parts have no amount and are"
            console.print(say(f"INCOMPLETE: {left} not in the total.", "bold yellow"))

    def _disputed(self) -> list[str]:
        """What would settle each disputed rule, once, with the parts that it is about."""
        about: dict[str, list[str]] = {}
        for part in self.valuation.parts:
            if part.settled_by:
                about.setdefault(part.settled_by, []).append(part.name)
        return [f"{few(names)}. To settle it: {settled_by}" for settled_by, names in about.items()]

    def _ranked(self) -> list[tuple[ValuedPart, Raise]]:
        found = [(part, one) for part in self.valuation.parts for one in part.raises]
        return sorted(found, key=lambda pair: (pair[1].per_hour is not None, -_rank(pair[1])))

    def _raises(self, raises: Sequence[tuple[ValuedPart, Raise]]) -> list[RenderableType]:
        entries = [
            Entry(
                say(f"{one.name}: {part.name}"),
                [say(minutes(one.minutes)), say(number(one.gain)), say(number(one.per_hour))],
                say(work(one), "dim"),
            )
            for part, one in raises[:MOST_RAISES]
        ]
        found = list(stacked(say("Do what, to which part", "bold"), ("Takes", "Adds", "Per hour"), entries))
        left = len(raises) - MOST_RAISES
        if left > 0:
            found.append(say(f"… and {left} more with less per hour (--json has them all)"))
        found.append(
            say(
                f"Minutes, and how much comes off, as rulebook {self.valuation.pins.rulebook} has them.",
                "dim",
            )
        )
        return found

    def _pointers(self, console: Console) -> None:
        """What members found, under a title that tells it from the rulebook's figures; what takes no work
        by itself.
        """
        pointers = self.valuation.pointers
        apart = [("-", one.says) for one in pointers if one.kind == TAKE_APART]
        if apart:
            told = say("Minutes, and what came out, as members found them in theirs.", "dim")
            title = "What taking apart would pay, by members' minutes"
            self._section(console, title, hanging(apart), told)
        others = [("-", one.says) for one in pointers if one.kind != TAKE_APART]
        if others:
            self._section(console, "What else would pay", hanging(others))

    def _cautions(self, raises: Sequence[tuple[ValuedPart, Raise]]) -> list[RenderableType]:
        shown = {caution.id: caution for caution in self.valuation.cautions}
        for _, one in raises:
            for name in one.cautions:
                if name not in shown and name in self.rulebook.cautions:
                    shown[name] = self.rulebook.cautions[name]
        who: dict[str, list[str]] = {}
        may: dict[str, list[str]] = {}
        for part in self.valuation.parts:
            named = {*part.cautions, *(name for one in part.raises for name in one.cautions)}
            for name in named:
                (may if name in part.possible_cautions else who).setdefault(name, []).append(part.name)
        for pointer in self.valuation.pointers:
            if pointer.part is not None and pointer.part < len(self.valuation.parts):
                opened = self.valuation.parts[pointer.part].name
                for name in pointer.cautions:
                    if opened not in who.setdefault(name, []):
                        who[name].append(opened)
        lines = [
            two_lines(_concerned(caution, who.get(name, []), may.get(name, [])), caution.says, "yellow", "")
            for name, caution in shown.items()
        ]
        doubtful = [name for name in shown if name not in who]
        if len(doubtful) <= MOST_IN_FULL:
            return lines
        # Next to nothing is known of some part, and nearly everything may apply to it.
        parts = few([part for name in doubtful for part in may.get(name, [])])
        names = "; ".join(shown[name].name for name in doubtful)
        told = [line for name, line in zip(shown, lines, strict=True) if name in who]
        return [
            *told,
            two_lines(f"? May apply to {parts}: act as if so until you know more", names, "yellow", ""),
        ]

    def _next_steps(self, raises: Sequence[tuple[ValuedPart, Raise]]) -> list[str]:
        """Tests that decide the most money first, then the work that pays best, then the prices nobody
        posted.
        """
        undecided = [part for part in self.valuation.parts if part.next_test is not None]
        undecided.sort(key=_at_stake, reverse=True)
        steps = [
            f"{part.name}: {how_to_test(part.next_test)}{_stake_words(part)}"
            + (f" Beware: {part.next_test.beware}" if part.next_test.beware else "")
            for part in undecided[:MOST_STEPS]
            if part.next_test is not None
        ]
        if raises:
            part, best = raises[0]
            hourly = f", {number(best.per_hour)} {self.valuation.currency} an hour" if best.per_hour else ""
            steps.append(
                f"{best.name} ({part.name}): adds {number(best.gain)} in {minutes(best.minutes)}{hourly}."
            )
        grades = {
            part.grade
            for part in self.valuation.parts
            if part.grade is not None and part.amount is None and not _not_taken(part)
        }
        if grades:
            told = f"{few(sorted(grades))}{' (--json names them all)' if len(grades) > MOST_NAMED else ''}"
            steps.append(f"Ask a yard what it pays for {told}, and post it with `gradewright-client post`.")
        return steps

    def _pins(self, console: Console) -> None:
        pins = self.valuation.pins
        console.print()
        rests = f"Rests on rulebook {pins.rulebook}, ledger revision {pins.revision}, method {pins.method}."
        console.print(say(rests, "dim"))
        if pins.sha256 is not None:
            console.print(say(f"SHA-256 {pins.sha256}", "dim"))
        if self.chunks > 1:
            words = (
                f"Sent in {self.chunks} lists of at most 1000 parts on the same pins; a better price from a "
                "weight on counts the pile within each list only."
            )
            console.print(say(words, "dim"))
        again = f"--on {self.valuation.on} --known-at {pins.revision} --rulebook {pins.rulebook}"
        if self.valuation.hour_rate is not None:
            again += f" --hour-rate {self.valuation.hour_rate.amount:f}"
        console.print(say(f"The same again: {again}", "dim"))
        for one in self.kept:
            console.print(say(f"Kept as {one}"))


def _concerned(caution: Caution, certain: Sequence[str], possible: Sequence[str]) -> str:
    """A caution's name with the parts that it concerns, and those that it may, as far as is known."""
    possible = [part for part in possible if part not in certain]
    if not possible:
        return f"! {caution.name} ({few(certain)})"
    may = f"may apply to {few(possible)}: act as if so until you know more"
    return f"! {caution.name} ({few(certain)}; {may})" if certain else f"? {caution.name} ({may})"


def _rank(one: Raise) -> Decimal:
    return one.per_hour.amount if one.per_hour is not None else Decimal(0)


def _at_stake(part: ValuedPart) -> Decimal:
    amounts = [one.amount.likely.amount for one in part.candidates if one.amount is not None]
    return max(amounts) - min(amounts) if amounts else Decimal(0)


def _counts_from(part: ValuedPart) -> str:
    """The day from which on prices count, by what is told of a grade without one; empty where it is not."""
    found = SINCE.search(part.unpriced or "")
    return found[1] if found else ""


def _not_taken(part: ValuedPart) -> bool:
    """Whether the place does not take the grade: asking what it pays leads nowhere. The sentence is among
    the bytes that stay as they are, and nothing else in them says so.
    """
    return part.unpriced is not None and f"not take {part.grade_name}" in part.unpriced


def _stake_words(part: ValuedPart) -> str:
    amounts = [one.amount.likely for one in part.candidates if one.amount is not None]
    if len(amounts) < 2:
        return ""
    return f" Decides between {number(min(amounts))} and {number(max(amounts))}."
