"""What changes beside the grades of parts: each caution, preparation, test and price factor in a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gradewright.core.rulebook import Rule, Rulebook
from gradewright.rulebooks.beside_words import ENTRY, Changed, change_in_words
from gradewright.rulebooks.besides_limits import limits_beside
from gradewright.rulebooks.orders_meant import in_order
from gradewright.rulebooks.page_words import alternatives, listed, spaced

ABOUT: Mapping[str, str] = {
    "pricing": "Pricing,",
    "grades": "Grade",
    "cautions": "Caution",
    "largest_first": "Measures",
    "told_of": "Told only",
    "preparations": "Preparation",
    "rules": "Rule",
    "attributes": "Test of",
    "families": "Family",
}
"""By section what its entries are called; in this order they are told."""
DISPUTED = "disputed"
TOLD: Mapping[str, frozenset[str]] = {
    "cautions": frozenset(("says",)),
    "preparations": frozenset(("how",)),
    "attributes": frozenset(("test", "beware")),
    "rules": frozenset(("confidence", "settled_by")),
}
"""By section the texts that people act on: what they are told to do is more than wording."""


@dataclass(frozen=True, slots=True)
class Besides:
    """All that changes about one entry of a section: by its name, in a sentence, and value by value."""

    section: str
    entry: str
    says: str
    changed: Sequence[Changed]


def is_beside(change: Changed, *, words: bool = False) -> bool:
    """Whether no grade of a part can depend on it, and yet it is more than wording. `words`: it is a text."""
    section, *inside = map(str, change.at)
    key = inside[1] if len(inside) > 1 else None
    if words:
        return key in TOLD.get(section, ())
    return key == "minutes" if section == "attributes" else section in ABOUT and section != "rules"


def in_turn(found: Iterable[Besides]) -> list[Besides]:
    """In the order in which they are told, those of one section as they are."""
    order = list(ABOUT)
    return sorted(found, key=lambda each: order.index(each.section))


def besides(
    old: Rulebook, new: Rulebook, changed: Sequence[Changed], limits: Mapping[str, Changed]
) -> Iterator[Besides]:
    """One for each entry that such changes are about; `changed`: those for which `is_beside` holds; `limits`:
    the change of each limit whose value stands otherwise, by its name."""
    by_entry: dict[tuple[str, str], list[Changed]] = {}
    for change in changed:
        section, entry, *_ = map(str, change.at)
        by_entry.setdefault((section, entry), []).append(change)
    by_limit: dict[tuple[str, str], list[str]] = {}
    for each in limits_beside(old, new):
        about = by_entry.setdefault((each.section, each.entry), [])
        about += [limits[name] for name in each.limits if limits[name] not in about]
        by_limit.setdefault((each.section, each.entry), []).append(each.says)
    for (section, entry), about in by_entry.items():
        if section == "largest_first":
            says = in_order(old, new, entry)
        elif section == "told_of":
            says = _of_some_things(old, new, entry)
        elif section == "rules":
            says = _of_rule(old, new, entry)
        else:
            itself = [change for change in about if change.at[0] == section]
            said = _said(old, new, itself, by_limit.get((section, entry), ()))
            says = f"{ABOUT[section]} {_name(old, new, section, entry)}{said}".rstrip(".")
        yield Besides(section, entry, f"{says}.", about)


def _of_some_things(old: Rulebook, new: Rulebook, entry: str) -> str:
    """What becomes of descriptions that tell something of which it cannot be told."""
    was, now = (_told_of(book, entry) for book in (old, new))
    if now is None:
        return f"{was[0]}: not only to be told where {was[1]} any more" if was else ""
    says = f"{now[0]}: to be told only where {now[1]}"
    if was is None or was == now:
        return says
    before = f"where {was[1]}" if was[0] == now[0] else f"{was[0][:1].lower()}{was[0][1:]}, where {was[1]}"
    return f"{says} (before: {before})"


def _of_rule(old: Rulebook, new: Rulebook, entry: str) -> str:
    was, now = (next(rule for rule in book.rules if rule.id == entry) for book in (old, new))
    return how_sure(new.grades[now.grade].name, was, now)


def how_sure(grade: str, was: Rule, now: Rule) -> str:
    """How sure a grade is by a rule, and what would settle it, against another one: answers by it say so."""
    says = f"{grade} by rule {now.id}"
    settled = now.settled_by.rstrip(".") if now.settled_by is not None else "nothing is said"
    if was.confidence == now.confidence:
        return f"{says}: what would settle the dispute is told otherwise: {settled}"
    if now.confidence == DISPUTED:
        return f"{says} is disputed now. What would settle it: {settled}"
    sure, before = (each.confidence.replace("-", " ") for each in (now, was))
    if was.confidence == DISPUTED:
        return f"{says} is not disputed any more: it is {sure}"
    return f"{says} is {sure} now ({before} before)"


def _told_of(book: Rulebook, entry: str) -> tuple[str, str] | None:
    """The attributes that are told of some things only, and these, in words; None: there is no such entry."""
    for each in book.told_of:
        if each.id == entry:
            named = listed(map(spaced, each.attributes), "and")
            return f"{named[:1].upper()}{named[1:]}", alternatives(each.of, book.attributes)
    return None


def _name(old: Rulebook, new: Rulebook, section: str, entry: str) -> str:
    """What people call an entry, as the later version does where it has it."""
    for book in (new, old):
        named: Mapping[str, Mapping[str, Any]] = {
            "cautions": book.cautions,
            "preparations": book.preparations,
            "grades": book.grades,
            "families": book.families,
        }
        found = named.get(section, {}).get(entry)
        if found is not None:
            return str(getattr(found, "name", found))
    return entry.replace("_", " ").replace("-", " ")


def _said(old: Rulebook, new: Rulebook, about: Sequence[Changed], by_limit: Sequence[str]) -> str:
    """What changes of one entry; `by_limit`: what limits do that it asks for, in words."""
    if about and len(about[0].at) == ENTRY and about[0].at[0] != "pricing":
        return " is new" if about[0].before is None else " is gone"
    told = dict.fromkeys((*(change_in_words(old, new, each) for each in about), *by_limit))
    return ": " + "; ".join(told)
