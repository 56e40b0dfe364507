"""Exact decimal numbers: the one arithmetic context, reading them strictly, writing them plainly.

Nothing here, or anywhere else in the core, relies on the context that happens to be set for the thread.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Context, Decimal, DivisionByZero, Inexact, InvalidOperation, Overflow

from gradewright.core.errors import Fault, UnitError

MAX_DIGITS = 20
"""The most digits a written number may have; every proof of exactness in the core starts here."""

MAX_PRODUCT_DIGITS = 31
"""The most digits a measure may have in its base unit: 20 as written, times 11 of the longest unit factor."""

MAX_TEXT = 80
"""The most characters a written measure may have."""

# Wide enough for any product of a price, a mass and a unit factor: a result that would not fit is an error
# (Inexact), never a silently rounded number. Use the methods of EXACT, not the operators.
EXACT = Context(
    prec=100,
    rounding=ROUND_HALF_EVEN,
    Emin=-999999,
    Emax=999999,
    capitals=1,
    clamp=0,
    flags=[],
    traps=[InvalidOperation, DivisionByZero, Overflow, Inexact],
)

# The same width where rounding is meant: divisions without end, and rounding to a number of places.
ROUNDING = EXACT.copy()
ROUNDING.traps[Inexact] = False

_NUMBER = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")
_EXPONENT = re.compile(r"[0-9.][eE][+-]?[0-9]")
_SHORT_POINT = re.compile(r"(?<![0-9])\.[0-9]|[0-9]\.(?![0-9])")
_TYPED = str.maketrans(
    {
        "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
        "²": "2", "³": "3", "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "−": "-", "–": "-", "⁄": "/",
        "\N{NO-BREAK SPACE}": " ", "\N{NARROW NO-BREAK SPACE}": " ", "\N{THIN SPACE}": " ",
    }
)  # fmt: skip


def parse_decimal(text: object) -> Decimal:
    """Return the number written in `text`: ASCII digits, perhaps a minus sign and a point; at most 20 digits.

    Raises UnitError for anything else: exponents, "1_000", commas, other scripts' digits, NaN, or a value
    that is not text at all (a float has lost digits before it gets here).
    """
    if isinstance(text, str) and _NUMBER.fullmatch(text):
        check_digits(text, text)
        number = Decimal(text)
        return number if number else number.copy_abs()
    line = legible(text, "a number", '"3.35"').strip()
    if _NUMBER.fullmatch(line):
        raise refusal(f"{quoted(text)} has spaces around the number: write {line!r}.", line)
    raise refusal(f"{quoted(text)} is not a number: write digits and perhaps a point, for example '3.35'.")


def plain(number: Decimal) -> str:
    """Return `number` in digits, without an exponent; zeros that were given stay: 3.50 is "3.50"."""
    if not number.is_finite():
        raise UnitError(f"{number} is not a number that can be written in digits.")
    return format(number if number else number.copy_abs(), "f")


def trimmed(number: Decimal) -> str:
    """Return `number` in digits, without an exponent and without trailing zeros: 12.40 is "12.4"."""
    text = plain(number)
    return text.rstrip("0").rstrip(".") if "." in text else text


def digits_of(pieces: int, places: int) -> str:
    """Return a whole number of the last of so many places in digits, without trailing zeros: 1240, 2 is
    "12.4".
    """
    if not places:
        return str(pieces)
    whole, rest = divmod(abs(pieces), 10**places)
    sign = "-" if pieces < 0 else ""
    return f"{sign}{whole}.{rest:0{places}d}".rstrip("0") if rest else f"{sign}{whole}"


def trimmed_to(number: Decimal, like: Decimal) -> Decimal:
    """Return `number` without trailing zeros, but with the places of `like`: 3.4300 like 3.1 is 3.43."""
    with_its_places = number.quantize(like, context=ROUNDING)
    return with_its_places if with_its_places == number else number.normalize(ROUNDING)


def legible(text: object, kind: str, example: str) -> str:
    """Return `text` if it is short, printable ASCII without commas, underscores or exponents.

    `kind` ("a mass") and `example` are put into the UnitError that says what is wrong and what to write.
    """
    if not isinstance(text, str):
        raise UnitError(f"{quoted(text)} is not text: write {kind} between quotation marks, as {example}.")
    if len(text) > MAX_TEXT:
        raise UnitError(f"{quoted(text)} is too long for {kind} ({MAX_TEXT} characters): write {example}.")
    strange = next((c for c in text if not " " <= c <= "~"), None)
    if strange is not None:
        meant = " ".join(text.translate(_TYPED).split())
        helps = (meant,) if meant.isascii() and meant.isprintable() else ()
        instead = (
            f"write {meant!r}" if helps else f"write it with plain ASCII characters, for example {example}"
        )
        raise refusal(f"{quoted(text)} has the character {strange!a} in it: {instead}.", *helps)
    if "," in text:
        raise refusal(
            f"{quoted(text)} has a comma: write thousands without one (1000), decimals with a point (1.5).",
            *_without_commas(text),
        )
    if "_" in text:
        raise refusal(
            f"{quoted(text)} has an underscore: write the digits without one.", text.replace("_", "")
        )
    if _EXPONENT.search(text):
        raise refusal(f"{quoted(text)} has an exponent: write the number in full, 1000 and not 1e3.")
    if _SHORT_POINT.search(text):
        raise refusal(f"{quoted(text)} has a point without a digit on each side: write 0.5 or 5.0.")
    return text


def _without_commas(text: str) -> tuple[str, ...]:
    removed, pointed = text.replace(",", ""), text.replace(",", ".")
    if re.search(r"[0-9],[0-9]{3}(?![0-9])", text):
        return (removed, pointed)  # 1,250 is a thousand to some and one and a quarter to others
    return (pointed,) if re.fullmatch(r"[^,]*[0-9],[0-9][^,]*", text) else (removed,)


def check_digits(number: str, text: object) -> None:
    """Raise UnitError if `number`, found in `text`, has more than 20 digits."""
    if len(number) > MAX_DIGITS and sum(c.isdigit() for c in number) > MAX_DIGITS:
        raise UnitError(f"{quoted(text)} has more than {MAX_DIGITS} digits in one number: round it.")


def quoted(text: object) -> str:
    """Return `text` for an error message: in quotes, unusual characters escaped, cut when long."""
    shown = ascii(text)
    return shown if len(shown) <= 60 else f"{shown[:50]}...'"


def refusal(detail: str, *suggestions: str) -> UnitError:
    """Return a UnitError with `detail`, and what might be written instead as its fault's suggestions."""
    return UnitError(detail, faults=(Fault(detail, (), suggestions),))
