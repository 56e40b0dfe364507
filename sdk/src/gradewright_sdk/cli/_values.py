"""Text from a file or a person, typed by the rulebook's attributes into observations."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gradewright_sdk._inputs import Observation
    from gradewright_sdk._models import Attribute

YES = frozenset({"yes", "y", "true"})
NO = frozenset({"no", "n", "false"})
BARE_NUMBER = re.compile(r"[-+]?[0-9]*[.,/]?[0-9]+")
SHORTEST = 3  # signs from which on a beginning can be told from chance
UNITS = {"length": ("mm", "in"), "share": ("%",), "area": ("cm2",), "density": ("g/cm3",)}


class BadValue(ValueError):
    """A value that the attribute does not take; `suggestions` are near ones."""

    def __init__(self, says: str, suggestions: Iterable[str] = ()) -> None:
        super().__init__(says)
        self.says = says
        self.suggestions = tuple(suggestions)


def near(text: str, names: Iterable[str]) -> tuple[str, ...]:
    """Names that `text` may have meant, at most three: that which it is but for capitals, else those spelt
    nearly so, then those that begin with it.
    """
    folded = {name.casefold(): name for name in names}
    wanted = text.casefold()
    if wanted in folded:
        return (folded[wanted],)
    found = difflib.get_close_matches(wanted, folded, n=3, cutoff=0.6)
    if len(wanted) >= SHORTEST:
        found += [name for name in folded if name.startswith(wanted)]
    return tuple(folded[one] for one in dict.fromkeys(found))[:3]


def observation(attribute: Attribute, text: str) -> Observation:
    """`text` as this attribute takes it: a bool for yes_no, an int for year, text otherwise. Raises BadValue.

    Measures are only looked at for their unit; reading them is the service's.
    """
    text = text.strip()
    match attribute.kind:
        case "yes_no":
            return _yes_no(text)
        case "choice":
            return _choice(attribute, text)
        case "year":
            if not re.fullmatch(r"[0-9]{4}", text):
                raise BadValue(f"{text!r} is not a year; write it in full, such as 1998")
            return int(text)
        case "date":
            return _day(text)
    units = UNITS.get(attribute.kind)
    if units is not None and BARE_NUMBER.fullmatch(text):
        raise BadValue(f"{text!r} has no unit; write {' or '.join(f'{text} {unit}' for unit in units)}")
    return text


def _yes_no(text: str) -> bool:
    if text.casefold() in YES:
        return True
    if text.casefold() in NO:
        return False
    raise BadValue(f"{text!r} is neither yes nor no; leave it blank if it is not known")


def _choice(attribute: Attribute, text: str) -> str:
    choices = attribute.choices or {}
    found = {choice.casefold(): choice for choice in choices}.get(text.casefold())
    if found is None and choices:
        raise BadValue(f"{text!r} is none of {', '.join(choices)}", near(text, choices))
    return found or text


def _day(text: str) -> str:
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text).isoformat()
    except ValueError:
        pass
    raise BadValue(f"{text!r} is not a day; write YYYY-MM-DD")


def weight_text(text: str) -> str:
    """A weight as written, if it has a unit. Raises BadValue; reading it is the service's."""
    text = text.strip()
    if not text[:1].isdigit() and not text.startswith("."):
        raise BadValue(f"{text!r} does not begin with a number; write 1.2 kg or 2 lb 3 oz")
    if BARE_NUMBER.fullmatch(text):
        raise BadValue(f"{text!r} has no unit; write {text} kg or {text} lb")
    return text


def count_number(text: str) -> int:
    """A count of pieces, 1 or more. Raises BadValue."""
    text = text.strip()
    if not re.fullmatch(r"[0-9]{1,9}", text) or int(text) < 1:
        raise BadValue(f"{text!r} is not a number of pieces; write a whole number from 1 on")
    return int(text)
