"""How finely the weights of a ticket, and of what it is held against, were weighed, as far as they tell.

The finest last digit of a ticket is taken for the step of the yard's scale, and that of the bins for the step
of theirs; how coarse the two may be besides says `core.stepped`. The bins of a valuation are weighed as its
parts are, each as it is written; by methods 3 to 5 their weights were exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from gradewright.core.recovery.measured import HALF, step_of
from gradewright.core.stepped import coarsest
from gradewright.core.ticket import Ticket, exact
from gradewright.core.units import parse_mass
from gradewright.core.weighed import Halves
from gradewright.settlements.expected import Expected
from gradewright.settlements.given import Request

AS_IT_PRINTS = frozenset({"3", "4", "5"})
"""The methods by which scales were as fine as they print, and the weights of a valuation exact."""


def halves(request: Request, ticket: Ticket, expected: Expected, method: str) -> Halves:
    """Half a step of either scale, and what that may be at most."""
    yards = [_step(text) for text in _on_ticket(request)]
    if method in AS_IT_PRINTS:
        own = [_step(each.weight) for each in request.bins]
        return Halves(_finest(yards) * HALF, _finest(own) * HALF)
    weights = [text for of in expected.weighed.values() for _, text in of] or [
        each.weight for each in request.bins
    ]
    own, shown = [_step(text) for text in weights], [exact(parse_mass(text).grams) for text in weights]
    loads = [exact(line.scale if line.gross is None else line.gross) for line in ticket.lines]
    tares = [exact(line.tare) for line in ticket.lines]
    return Halves(
        ticket=_finest(yards) * HALF,
        bins=_finest(own) * HALF,
        ticket_at_most=coarsest([*loads, *tares], loads, yards) * HALF,
        bins_at_most=coarsest(shown, shown, own) * HALF,
        times={place: sum(pieces for pieces, _ in of) for place, of in expected.weighed.items()},
    )


def _on_ticket(request: Request) -> Iterator[str]:
    for line in request.ticket.lines:
        for text in (line.net, line.gross, line.tare, line.deduction):
            if text is not None:
                yield text


def _step(text: str) -> Fraction:
    return step_of(text, lambda text: parse_mass(text).grams)


def _finest(steps: Iterable[Fraction]) -> Fraction:
    return min(steps, default=Fraction(0))
