"""Numbers and words for people: clean of control characters, amounts and weights in the usual notation."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

if TYPE_CHECKING:
    from gradewright_sdk._models import NextTest, Spread
    from gradewright_sdk._money import Money

POUND = Decimal("0.45359237")  # kg, exact by definition (NIST Handbook 44, appendix C)
PLACES = 4
BARS = "▁▂▃▄▅▆▇█"
PLAIN_BARS = "_.-=+*%#"


def clean(text: object) -> str:
    """Text from elsewhere without what could steer a terminal (control and direction characters)."""
    return "".join(sign if _harmless(sign) else " " for sign in str(text))


def _harmless(sign: str) -> bool:
    return sign == "\n" or unicodedata.category(sign) not in {"Cc", "Cf"}


def say(text: object, style: str = "") -> Text:
    """Cleaned text that Rich takes as it is, brackets and all."""
    return Text(clean(text), style=style)


def two_lines(first: object, second: object, style: str = "", second_style: str = "dim") -> RenderableType:
    """A cell of two lines, the second set in; one line if there is nothing to say in the second."""
    if not second:
        return say(first, style)
    return Group(say(first, style), Padding(say(second, second_style), (0, 0, 0, 2)))


def number(money: Money | None) -> str:
    """The amount alone, a dash where there is none."""
    return "-" if money is None else f"{money.amount:f}"


def rate(money: Money | None) -> str:
    """A price per unit, for people to at most four places: a price worked out from another has more."""
    if money is None:
        return "-"
    exponent = money.amount.as_tuple().exponent
    if isinstance(exponent, int) and exponent < -PLACES:
        return f"{money.amount.quantize(Decimal(1).scaleb(-PLACES)):f}"
    return f"{money.amount:f}"


def spread(amounts: Spread | None) -> str:
    """Low – likely – high."""
    if amounts is None:
        return "-"
    return " – ".join(number(amount) for amount in (amounts.low, amounts.likely, amounts.high))


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
