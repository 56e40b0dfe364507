"""Numbers and words for people: clean of control characters, amounts and weights in the usual notation."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from decimal import Context, Decimal
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

if TYPE_CHECKING:
    from gradewright_sdk._models import NextTest, Spread
    from gradewright_sdk._money import Money

POUND = Decimal("0.45359237")  # kg, exact by definition (NIST Handbook 44, appendix C)
PLACES = 4
WIDE = Context(prec=60)
SHORT = Context(prec=2)
BARS = "▁▂▃▄▅▆▇█"
PLAIN_BARS = "_.-=+*%#"


def clean(text: object) -> str:
    """Text from elsewhere without what could steer a terminal (control and direction characters)."""
    return "".join(sign if _harmless(sign) else " " for sign in str(text))


def _harmless(sign: str) -> bool:
    return sign == "\n" or unicodedata.category(sign) not in {"Cc", "Cf"}


def say(text: object, style: str = "") -> Text:
    """Cleaned text that Rich takes as it is, brackets and all; what is said already stays as it is."""
    return text if isinstance(text, Text) else Text(clean(text), style=style)


def two_lines(first: object, second: object, style: str = "", second_style: str = "dim") -> RenderableType:
    """A cell of two lines, the second set in; one line if there is nothing to say in the second."""
    if not second:
        return say(first, style)
    return Group(say(first, style), Padding(say(second, second_style), (0, 0, 0, 2)))


def number(money: Money | None) -> str:
    """The amount alone, a dash where there is none."""
    return "-" if money is None else f"{money.amount:f}"


def rate(money: Money | None) -> str:
    """A price per unit for people: at least two places and at most four, without zeros beyond the second.

    What would come to nothing by that keeps its first two digits: a price per grain is small, not zero.
    """
    if money is None:
        return "-"
    amount = money.amount.quantize(Decimal(1).scaleb(-PLACES), context=WIDE)
    if not amount and money.amount:
        return f"{SHORT.plus(money.amount).normalize():f}"
    whole, _, places = f"{amount:f}".partition(".")
    return f"{whole}.{places.rstrip('0').ljust(2, '0')}"


def rates(prices: Sequence[Money | None]) -> list[str]:
    """The prices of a column, all as wide as the widest, the decimal points under each other."""
    shown = [rate(price).partition(".") for price in prices]
    before = max((len(whole) for whole, _, _ in shown), default=0)
    after = max((len(point + places) for _, point, places in shown), default=0)
    return [whole.rjust(before) + (point + places).ljust(after) for whole, point, places in shown]


def spread(amounts: Spread | None) -> str:
    """Low – likely – high."""
    return spreads([amounts])[0]


def spreads(column: Sequence[Spread | None]) -> list[str]:
    """Low – likely – high of each, every one of the three under those above it; a dash where there is
    none.
    """
    shown = [
        None if one is None else [number(amount) for amount in (one.low, one.likely, one.high)]
        for one in column
    ]
    known = [figures for figures in shown if figures is not None]
    widths = [max(map(len, each)) for each in zip(*known, strict=True)]
    return ["-" if figures is None else " – ".join(map(str.rjust, figures, widths)) for figures in shown]


def weight(kg: Decimal) -> str:
    """A weight in both notations: "12.42 kg (27 lb 6 oz)"; ounces alone below a pound."""
    ounces = (kg / POUND * 16).quantize(Decimal("0.1"))
    if ounces < 16:
        shown = f"{ounces} oz"
    else:
        pounds, rest = divmod(int(ounces.to_integral_value()), 16)
        shown = f"{pounds} lb {rest} oz" if rest else f"{pounds} lb"
    places = Decimal("0.001") if kg < 1 else Decimal("0.01")
    return f"{kg.quantize(places)} kg ({shown})"


def few(names: Sequence[str]) -> str:
    """The first three of the names, each once, and how many more there are; a name may hold commas."""
    each = list(dict.fromkeys(names))
    return "; ".join(each[:3]) + (f" and {len(each) - 3} more" if len(each) > 3 else "")


def minutes(value: Decimal | None) -> str:
    """Minutes for people, "0.5 min"; empty if nobody knows."""
    return "" if value is None else f"{value:f} min"


def how_to_test(test: NextTest) -> str:
    """The question with its test and how long that takes, in one line."""
    details = ", ".join(part for part in (test.test, minutes(test.minutes)) if part)
    return f"{test.asks} ({details})" if details else test.asks


def sparkline(values: list[Decimal | None], *, plain: bool = False) -> str:
    """A row of bars from the lowest to the highest value; a blank where there is none."""
    bars = PLAIN_BARS if plain else BARS
    known = [value for value in values if value is not None]
    if not known:
        return ""
    low, high = min(known), max(known)
    step = (high - low) / (len(bars) - 1)

    def bar(value: Decimal | None) -> str:
        if value is None:
            return " "
        return bars[int(((value - low) / step).to_integral_value()) if step else 0]

    return "".join(map(bar, values))
