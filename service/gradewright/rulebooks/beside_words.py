"""One value that stands otherwise, in the words of people who sell: names for slugs, values for limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gradewright.core.decimals import EXACT, plain
from gradewright.core.errors import Path
from gradewright.core.observations import Kind
from gradewright.core.rulebook import Rulebook, Shed

ENTRY = 2  # a place of so many keys is a whole entry
ENDS = frozenset(("at_least", "above", "at_most", "below"))
CALLED: Mapping[str, str] = {
    "sheds": "what comes off",
    "unless": "not where",
    "how": "how it is done",
    "says": "it says",
    "few": "where others speak of fewer,",
    "priced_as": "where nobody tells a price, as",
    "borne_out_at_most": "what is far off but borne out weighs together at most",
}
"""What keys of documents are called."""
EMPTIED: Mapping[str, tuple[str, str]] = {
    "grades": ("now for every part graded as", "no longer for every part graded as"),
    "when": ("now where", "no longer where"),
    "unless": ("no longer where", "now also where"),
    "cautions": ("now with the caution", "no longer with the caution"),
}
"""What is said of lists that had nothing before, and of those that have nothing now."""
SWITCHES: Mapping[str, tuple[str, str]] = {
    "without_any_one": (
        "nothing waits any more that would not wait as well without any one of the other members",
        "a price can wait again for what one other member alone says",
    ),
    "heavier_of_two": (
        "where one member's price is the likely one, and only one other says otherwise, who weighs more is "
        "believed",
        "where one member's price is the likely one, and only one other says otherwise, that other is",
    ),
    "within_others": (
        "the likely price stays within what the others say without any one of the members",
        "one member's prices can lead the likely price out of what all others say",
    ),
    "words_weighed": (
        "whoever confirms or disputes a price weighs by what they have posted themselves",
        "whoever confirms or disputes a price has a full voice, whatever they have posted",
    ),
    "least_by_settled": (
        "the least that a word weighs is as much less as its author is less settled",
        "the least that a word weighs is the same, however settled its author is",
    ),
    "by_record": (
        "who claims nothing by now weighs by their record in lists of days on which they did",
        "who claims nothing by now has a full voice in lists of days on which they did, however new they are",
    ),
    "one_voice": (
        "all that one member says of a grade judges the others with one voice, at however many yards",
        "one member judges the others with as many voices as they go to yards",
    ),
}
"""What is said of values that are on or off."""


@dataclass(frozen=True, slots=True)
class Changed:
    """One value that stands otherwise; None: it does not stand there. `at`: lists of entries by their id."""

    at: Path
    before: Any
    after: Any


def change_in_words(old: Rulebook, new: Rulebook, change: Changed) -> str:
    """Both values, the later one first, as the summary tells limits; of a list what came and what went."""
    section, entry, *inside = map(str, change.at)
    if section == "preparations" and inside[:1] == ["sheds"]:
        was, now = (_sheds(book, book.preparations[entry].sheds) for book in (old, new))
        return f"{CALLED['sheds']} {now} ({was} before)"
    keys = " ".join(CALLED.get(key) or _spaced(key) for key in inside)
    key = inside[-1] if inside else ""
    if key in SWITCHES:
        on, off = SWITCHES[key]
        return on if change.after else off
    if inside[1:] == [] and key in EMPTIED and not (change.before and change.after):
        filled, emptied = EMPTIED[key]
        some = _written(new, change.after, key) if change.after else _written(old, change.before, key)
        return f"{filled if change.after else emptied} {some}"
    if isinstance(change.before, list) and isinstance(change.after, list):
        came = [each for each in change.after if each not in change.before]
        gone = [each for each in change.before if each not in change.after]
        lists = (("also", new, came), ("no longer", old, gone))
        told = [f"{word} {_written(book, some, key)}" for word, book, some in lists if some]
        if told and len(came) < len(change.after):
            return f"{keys} {'; '.join(told)}".lstrip()
    before, after = _shown(old, change, change.before, key), _shown(new, change, change.after, key)
    return f"{keys} {after} ({before} before)".lstrip()


def _shown(book: Rulebook, change: Changed, value: Any, key: str) -> str:
    if value is None:
        section, entry, *inside = change.at
        if section == "preparations" and inside[:1] == ["changes"] and len(inside) > 1:
            made = book.preparations[str(entry)].changes
            return "not known afterwards" if inside[1] in made else "as it was"
        return "nothing"
    return _written(book, value, key)


def _sheds(book: Rulebook, sheds: Sequence[Shed]) -> str:
    """What comes off, in words: "10 % as Screws, and 5 % as waste"."""
    return (
        ", and ".join(
            f"{_share(shed)} as {book.grades[shed.grade].name if shed.grade else 'waste'}" for shed in sheds
        )
        or "nothing"
    )


def _share(shed: Shed) -> str:
    usual = f"{plain(EXACT.scaleb(shed.share, 2))} %"
    if shed.measured is None:
        return usual
    measured = f"all but the {_spaced(shed.measured)}" if shed.rest else f"the {_spaced(shed.measured)}"
    return f"{measured} (where that is not known {usual})"


def _written(book: Rulebook, value: Any, key: str) -> str:
    """A value as people read it; `key`: under which it stands."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(
            f"{'' if name == 'grade' else _spaced(str(name)) + ' '}{_written(book, each, str(name))}"
            for name, each in value.items()
        )
    if isinstance(value, list):
        between = "; or " if any(isinstance(each, Mapping) for each in value) else ", "
        return between.join(_written(book, each, key) for each in value) or "none"
    return _named(book, str(value), key)


def _named(book: Rulebook, value: str, key: str) -> str:
    """A slug by its name, a limit by its value, a choice without its dashes."""
    if key in ("grade", "grades") and value in book.grades:
        return book.grades[value].name
    if key == "cautions" and value in book.cautions:
        return book.cautions[value].name
    if key in ENDS and value in book.limits:
        return book.limits[value].given
    attribute = book.attributes.get(key)
    return _spaced(value) if attribute is not None and attribute.kind is Kind.CHOICE else value


def _spaced(slug: str) -> str:
    return slug.replace("_", " ").replace("-", " ")
