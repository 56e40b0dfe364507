"""Why a price waits and what would let it go, in words for people: in the unit of the price, and rounded."""

from __future__ import annotations

from decimal import Context, Decimal

from gradewright.core.decimals import ROUNDING, plain, trimmed
from gradewright.core.rates import Rate
from gradewright.core.spoken import FAR_OFF, Held
from gradewright.core.units import mass_unit

KILOGRAM = Decimal(1000)
LEGIBLE = Context(prec=4)  # as many digits as a price is told with to people; the figures beside have all
DISPUTED = (
    "Members dispute it who weigh more than those behind it. It counts once its author and others "
    "who confirm it or say the same of that yard weigh no less than those who dispute it or lately "
    "said otherwise there; or once a maintainer accepts it."
)
OUTWEIGHED = (
    "{who}, but those who dispute it or lately said otherwise there weigh more than those behind it. It "
    "counts once those behind it, with others who confirm it or say the same of that yard, weigh no less; or "
    "once a maintainer accepts it."
)
NOT_BY_TICKET = "A settled ticket shows it, which is not enough for a price so far off. "


def why_it_waits(held: Held, price: Decimal, currency: str, per: str) -> str:
    """What others are paid, and what it takes by now: nothing is named that has been and was not enough.

    Clients find where the figures end: at the end of their sentence, older ones at " It counts once ".
    """
    if held.median is None:
        return DISPUTED
    return f"{_others(held, held.median, price, currency, per)} {_until(held)}"


def _others(held: Held, median: Decimal, price: Decimal, currency: str, per: str) -> str:
    grams = mass_unit(per).grams
    others = Rate(median, KILOGRAM).per(grams)
    where = f"{_legible(others)} {currency}/{per} in the middle"
    if held.spread is None:  # held against the nearest of a few
        where = f"no nearer to it than {_legible(others)} {currency}/{per}"
    if held.moved_with is not None:
        where += f" (moved with {held.moved_with})"
    if held.spread is not None:
        where += f", give or take {_legible(Rate(held.spread, KILOGRAM).per(grams))}"
    return f"At {held.yards} yards others are paid {where}{_times(price, others)}."


def _until(held: Held) -> str:
    # A ticket stands for a second author only where a price is not far off (`core.holding`).
    by_ticket = held.because != FAR_OFF
    if held.seconded:
        shows = by_ticket and held.shown
        return OUTWEIGHED.format(who="A settled ticket shows it" if shows else "Another member says the same")
    first = NOT_BY_TICKET if held.shown and not by_ticket else ""
    ticket = ", or a settled ticket shows it" if by_ticket else ""
    return (
        f"{first}It counts once another member confirms it or says the same of that yard{ticket}, "
        "unless those who dispute it or lately said otherwise there weigh more; or once a "
        "maintainer accepts it."
    )


def _legible(price: Decimal) -> str:
    """A price for people: four digits of it, and no fewer than two places."""
    whole, _, places = plain(LEGIBLE.plus(price)).partition(".")
    return f"{whole}.{places.rstrip('0').ljust(2, '0')}"


def _times(price: Decimal, others: Decimal) -> str:
    """How often it is what others are paid; nothing where one of the two is no price to be paid."""
    if price <= 0 or others <= 0:
        return ""
    times = ROUNDING.divide(price, others)
    if times < 1:
        return f"; this price is {trimmed(LEGIBLE.multiply(times, Decimal(100)))} % of theirs"
    shown = times.quantize(Decimal(1) if times >= 10 else Decimal("0.1"), context=ROUNDING)
    return f"; this price is {trimmed(shown)} times theirs"
