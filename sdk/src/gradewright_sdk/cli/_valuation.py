"""A valuation for people: the parts, the piles, the totals, what is missing, what would raise it,
cautions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.padding import Padding
from rich.table import Table

from gradewright_sdk.cli._show import few, how_to_test, minutes, number, rate, say, spread, two_lines, weight

if TYPE_CHECKING:
    from rich.console import Console, RenderableType

    from gradewright_sdk._models import Raise, Rulebook, Valuation, ValuedPart

MOST_RAISES = 10
MOST_STEPS = 5


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
        console.print(self._parts())
        if valuation.piles:
            self._section(console, "Piles", self._piles())
        self._totals(console)
        if valuation.missing:
            self._section(console, "Missing", *(say(f"- {line}") for line in valuation.missing))
        raises = self._ranked()
        if raises:
            self._section(console, "What would raise it", *self._raises(raises))
        cautions = self._cautions(raises)
        if cautions:
            self._section(console, "Cautions", *cautions)
        steps = self._next_steps(raises)
        if steps:
            numbered = (say(f"{n}. {step}") for n, step in enumerate(steps, start=1))
            self._section(console, "What to try next", *numbered)
        self._pins(console)

    def _section(self, console: Console, title: str, *what: RenderableType) -> None:
        console.print()
        console.print(say(title, "bold"))
        for one in what:
            console.print(Padding(one, (0, 0, 0, 2)))

    def _parts(self) -> Table:
        table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
        table.add_column("Part", ratio=3, min_width=16, overflow="fold")
        table.add_column("Grade", ratio=3, min_width=12, overflow="fold")
        table.add_column("Price, how sure", ratio=3, min_width=14, overflow="fold")
        table.add_column("Low – likely – high", justify="right", no_wrap=True)
        for part in self.valuation.parts:
            name = f"{part.name} ×{part.count}" if part.count > 1 else part.name
            table.add_row(two_lines(name, part.weight.shown), self._grade(part), _price(part), _amount(part))
        return table

    def _grade(self, part: ValuedPart) -> RenderableType:
        if part.grade is not None:
            note = "" if part.outcome == "graded" else "as named"
            if part.confidence == "disputed":
                note = "disputed"
            return two_lines(part.grade_name or part.grade, note)
        names = few([candidate.name for candidate in part.candidates])
        return two_lines(part.outcome, f"{names}?" if names else "", style="yellow")

    def _piles(self) -> Table:
        table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, show_header=False)
        table.add_column(ratio=1, overflow="fold")
        for _ in range(3):
            table.add_column(justify="right", no_wrap=True)
        for pile in self.valuation.piles:
            lines = "1 part" if pile.lines == 1 else f"{pile.lines} parts"
            table.add_row(say(pile.name), weight(pile.weight_kg), lines, spread(pile.amount))
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

    def _ranked(self) -> list[tuple[ValuedPart, Raise]]:
        found = [(part, one) for part in self.valuation.parts for one in part.raises]
        return sorted(found, key=lambda pair: (pair[1].per_hour is not None, -_rank(pair[1])))

    def _raises(self, raises: Sequence[tuple[ValuedPart, Raise]]) -> list[RenderableType]:
        table = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False)
        table.add_column("Do what, to which part", ratio=1, overflow="fold")
        table.add_column("Takes", justify="right", no_wrap=True)
        table.add_column("Adds", justify="right", no_wrap=True)
        table.add_column("Per hour", justify="right", no_wrap=True)
        for part, one in raises[:MOST_RAISES]:
            becomes = f"becomes {one.grade_name or one.grade}. " if one.grade else ""
            table.add_row(
                two_lines(f"{one.name}: {part.name}", f"{becomes}{one.how}"),
                minutes(one.minutes),
                number(one.gain),
                number(one.per_hour),
            )
        left = len(raises) - MOST_RAISES
        return (
            [table, say(f"… and {left} more with less per hour (--json has them all)")]
            if left > 0
            else [table]
        )

    def _cautions(self, raises: Sequence[tuple[ValuedPart, Raise]]) -> list[RenderableType]:
        shown = {caution.id: caution for caution in self.valuation.cautions}
        for _, one in raises:
            for name in one.cautions:
                if name not in shown and name in self.rulebook.cautions:
                    shown[name] = self.rulebook.cautions[name]
        who: dict[str, list[str]] = {}
        for part in self.valuation.parts:
            named = {*part.cautions, *(name for one in part.raises for name in one.cautions)}
            for name in named:
                who.setdefault(name, []).append(part.name)
        return [
            two_lines(f"! {caution.name} ({few(who.get(name, []))})", caution.says, "yellow", "")
            for name, caution in shown.items()
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
            part.grade for part in self.valuation.parts if part.grade is not None and part.amount is None
        }
        if grades:
            steps.append(
                f"Ask a yard what it pays for {', '.join(sorted(grades))}, and post it with "
                "`gradewright-client post`."
            )
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
        console.print(say(f"The same again: {again}", "dim"))
        for one in self.kept:
            console.print(say(f"Kept as {one}"))


def _rank(one: Raise) -> Decimal:
    return one.per_hour.amount if one.per_hour is not None else Decimal(0)


def _price(part: ValuedPart) -> RenderableType:
    if part.price is None:
        return say("-" if part.grade is None else "no price", "yellow" if part.grade else "")
    tier = f" from {part.price.from_weight}" if part.price.from_weight else ""
    return two_lines(f"{rate(part.price.likely)} per {part.price.per}{tier}", part.price.basis.says)


def _amount(part: ValuedPart) -> RenderableType:
    if part.amount is not None:
        return say(spread(part.amount))
    return two_lines("not counted", _between(part), style="yellow")


def _between(part: ValuedPart) -> str:
    """What it may come to, and how many of the grades that it may be have no price."""
    amounts = sorted({one.amount.likely for one in part.candidates if one.amount is not None})
    if not amounts:
        return ""
    span = number(amounts[0]) if len(amounts) == 1 else f"{number(amounts[0])} to {number(amounts[-1])}"
    unknown = sum(one.amount is None for one in part.candidates)
    return f"{span}?" + (f"\n{unknown} unpriced" if unknown else "")


def _at_stake(part: ValuedPart) -> Decimal:
    amounts = [one.amount.likely.amount for one in part.candidates if one.amount is not None]
    return max(amounts) - min(amounts) if amounts else Decimal(0)


def _stake_words(part: ValuedPart) -> str:
    amounts = [one.amount.likely for one in part.candidates if one.amount is not None]
    if len(amounts) < 2:
        return ""
    return f" Decides between {number(min(amounts))} and {number(max(amounts))}."
