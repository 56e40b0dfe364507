"""A settlement as plain values, ready to be sealed with its pins."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from typing import Any

from gradewright.core.accepted import MarkedDown
from gradewright.core.concerns import of_grades
from gradewright.core.decimals import plain
from gradewright.core.effects import Effects
from gradewright.core.linked import Linked, Moved
from gradewright.core.marked import MayBe
from gradewright.core.settlement import Group, Settlement
from gradewright.core.ticket import Flaw, Ticket, TicketLine
from gradewright.core.units import mass_unit
from gradewright.settlements.expected import Expected, ExpectedBin
from gradewright.settlements.given import Request
from gradewright.settlements.lower import BROUGHT_ALONE
from gradewright.settlements.marked_words import as_told, of_down, of_unsure, weight_of
from gradewright.settlements.matching import Unclear
from gradewright.settlements.moving import MOVED_UNSEEN, MaybeMoved, downs
from gradewright.settlements.showing import Showing
from gradewright.settlements.words import (
    ZERO_IS_EXPECTED,
    Money,
    in_all,
    named_lines,
    of_flaw,
    of_group,
    with_unpriced,
)
from gradewright.valuations.amounts import amount_shown, cents_of, spelled
from gradewright.valuations.shapes import warnings


@dataclass(frozen=True, slots=True)
class Settled:
    """All that was found out about one ticket."""

    request: Request
    region: str
    unit: str
    ticket: Ticket
    expected: Expected
    by_hand: Mapping[int, Sequence[int]]
    groups: Sequence[Linked]
    settlement: Settlement
    moved: Sequence[Moved]
    maybe_moved: Sequence[MaybeMoved]
    may_be: Sequence[MayBe]
    unclear: Sequence[Unclear]
    showing: Showing
    method: str

    @property
    def downs(self) -> list[MarkedDown]:
        """All that was accepted as a cheaper grade, or may have been where lines have several bins."""
        return downs(self.settlement, self.moved, self.expected, self.method)

    def unpriced(self, places: Iterable[int]) -> list[str]:
        """The names of those bins of which no price was expected, where the method tells them apart."""
        if self.method in ZERO_IS_EXPECTED:
            return []
        grades, bins = self.expected.version.rulebook.grades, (self.expected.bins[each] for each in places)
        without = [each.bin for each in bins if each.bin.rate is None]
        return [each.name if each.grade is None else grades[each.grade].name for each in without]


def told(settled: Settled) -> dict[str, Any]:
    """The answer, but for its pins."""
    currency, found, expected = settled.ticket.currency, settled.settlement, settled.expected
    cents = cents_of(currency)
    money: Money = partial(spelled, cents=cents)
    given = settled.request.ticket
    bins_without = [
        _name(expected.bins[place]) for group in settled.groups if not group.lines for place in group.bins
    ]
    unsure = [down for down in settled.downs if not down.certain]
    clear = not settled.unclear and not bins_without and not settled.maybe_moved and not unsure
    return {
        "against": dict(expected.against),
        "adds_up": not found.flaws,
        "bins": [_bin(each, cents) for each in expected.bins],
        "cautions": _cautions(settled),
        "complete": clear and all(each.bin.rate is not None for each in expected.bins),
        "currency": currency,
        "difference": money(found.difference),
        "effects": _effects(found.effects, money),
        "expected": amount_shown(expected.amount, cents),
        "flaws": [_flaw(flaw, money) for flaw in found.flaws],
        "groups": [_group(group, settled, money) for group in found.groups],
        "lines": [_line(place, line, settled, money) for place, line in enumerate(settled.ticket.lines)],
        "number": given.number,
        "on": given.on,
        "paid": money(found.paid),
        "region": settled.region,
        "says": " ".join(
            [
                with_unpriced(
                    in_all(found.effects, found.difference, money, currency),
                    settled.unpriced(range(len(expected.bins))),
                ),
                *(each.because for each in settled.maybe_moved),
                *of_unsure(unsure, settled.expected),
                *_may_be(settled),
            ]
        ),
        "total": money(settled.ticket.total),
        "cash": None if settled.ticket.cash is None else money(settled.ticket.cash),
        "charges": [
            {"label": charge.label, "amount": money(charge.amount)} for charge in settled.ticket.charges
        ],
        "unmatched": {
            "bins": bins_without,
            "lines": [_unclear(each, settled.method) for each in settled.unclear],
        },
        "yard": settled.request.yard,
        **_moved(settled),
    }


def _unclear(each: Unclear, method: str) -> dict[str, Any]:
    told = asdict(each)
    if method in BROUGHT_ALONE:
        del told["meant_together"]
    return told


def _may_be(settled: Settled) -> Iterator[str]:
    """That lines which stand for no bin may be some of what is short."""
    lines = sorted({one.line for one in settled.may_be})
    if lines:
        them = "it" if len(lines) == 1 else "them"
        which = named_lines(lines).capitalize()
        yield f"{which} may be some of what is missing, marked down: match {them} by hand if so."


def _moved(settled: Settled) -> dict[str, Any]:
    """What was accepted as a cheaper grade, and what may have been, where the method looks for it."""
    if settled.method in MOVED_UNSEEN:
        return {}
    return {
        "marked_down": [as_told(down, settled.expected, settled.method) for down in settled.downs],
        "may_be_marked_down": [asdict(each) for each in settled.maybe_moved],
    }


def _bin(each: ExpectedBin, cents: tuple[str, ...]) -> dict[str, Any]:
    return {
        **_name(each),
        "weight": weight_of(each.bin.grams),
        "price": None if each.quoted is None else asdict(each.quoted),
        "amount": None if each.amount is None else amount_shown(each.amount, cents),
        "unpriced": each.unpriced,
    }


def _name(each: ExpectedBin) -> dict[str, str | None]:
    return {"bin": each.bin.grade, "part": each.bin.name if each.bin.grade is None else None}


def _line(place: int, line: TicketLine, settled: Settled, money: Money) -> dict[str, Any]:
    group = next(group for group in settled.groups if place in group.lines)
    how = None if not group.bins else "hand" if place in settled.by_hand else "grade"
    grades = settled.expected.version.rulebook.grades
    given = settled.request.ticket.lines[place]
    return {
        "line": place + 1,
        "label": line.label,
        "grade": line.grade,
        "grade_name": None if line.grade is None else grades[line.grade].name,
        "net": weight_of(line.net),
        "price": plain(given.price),
        "per": mass_unit(given.per or settled.unit).symbol,
        "amount": money(line.amount),
        "matched_by": how,
        "not_postable": settled.showing.left_out.get(place),
    }


def _group(group: Group, settled: Settled, money: Money) -> dict[str, Any]:
    unpriced = settled.unpriced(group.linked.bins)
    return {
        "bins": [_name(settled.expected.bins[place]) for place in group.linked.bins],
        "lines": [place + 1 for place in group.linked.lines],
        "expected": money(group.expected),
        "paid": money(group.paid),
        "difference": money(group.paid - group.expected),
        "effects": _effects(group.effects, money),
        "says": " ".join(
            [
                of_group(group, unpriced, money, settled.ticket.currency),
                *(of_down(at, settled.expected) for at in settled.downs if at.bin in group.linked.bins),
            ]
        ),
    }


def _effects(effects: Effects, money: Money) -> dict[str, str]:
    return {name: money(amount) for name, amount in effects.named().items()}


def _flaw(flaw: Flaw, money: Money) -> dict[str, Any]:
    in_money = flaw.about != "net"
    return {
        "about": flaw.about,
        "line": flaw.line,
        "stated": money(int(flaw.stated)) if in_money else weight_of(flaw.stated)["kg"],
        "right": money(int(flaw.right)) if in_money else weight_of(flaw.right)["kg"],
        "says": of_flaw(flaw, money),
    }


def _cautions(settled: Settled) -> list[dict[str, Any]]:
    """Of every grade that was brought, or that something was accepted as."""
    brought = [each.bin.grade for each in settled.expected.bins]
    accepted = [line.grade for line in settled.ticket.lines]
    return warnings(of_grades(settled.expected.version.grader, [*brought, *accepted]))
