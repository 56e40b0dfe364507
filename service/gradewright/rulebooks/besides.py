"""What changes beside the grades of parts: each caution, preparation, test and price factor in a sentence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from gradewright.core.errors import Path
from gradewright.core.rulebook import Rulebook

ABOUT: Mapping[str, str] = {
    "largest_first": "Measures",
    "cautions": "Caution",
    "preparations": "Preparation",
    "attributes": "Test of",
    "pricing": "Pricing,",
    "grades": "Grade",
    "families": "Family",
}
"""By section what its entries are called; in this order they are told."""
TOLD: Mapping[str, frozenset[str]] = {
    "cautions": frozenset(("says",)),
    "preparations": frozenset(("how",)),
    "attributes": frozenset(("test", "beware")),
}
"""By section the texts that people act on: what they are told to do is more than wording."""
ENTRY = 2  # a place of so many keys is a whole entry


@dataclass(frozen=True, slots=True)
class Changed:
    """One value that stands otherwise; None: it does not stand there. `at`: lists of entries by their id."""

    at: Path
    before: Any
    after: Any


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
    return key == "minutes" if section == "attributes" else section in ABOUT


def besides(old: Rulebook, new: Rulebook, changed: Sequence[Changed]) -> Iterator[Besides]:
    """One for each entry that such changes are about; `changed`: those for which `is_beside` holds."""
    by_entry: dict[tuple[str, str], list[Changed]] = {}
    for change in changed:
        section, entry, *_ = map(str, change.at)
        by_entry.setdefault((section, entry), []).append(change)
    order = list(ABOUT)
    for (section, entry), about in sorted(by_entry.items(), key=lambda each: order.index(each[0][0])):
        name = _name(old, new, section, entry)
        if section == "largest_first":
            says = _in_order(new, entry)
        else:
            says = f"{ABOUT[section]} {name}{_said(old, new, section, about)}".rstrip(".")
        yield Besides(section, entry, f"{says}.", about)


def _in_order(new: Rulebook, entry: str) -> str:
    """What becomes of parts whose measures are not in their order."""
    for order in new.largest_first:
        if order.id == entry:
            named = ", ".join(measure.replace("_", " ") for measure in order.measures)
            says = f"Of {named} none is more than the one before it"
            return f"{says}: what has more is now taken for a contradiction"
    return f"Measures are not held against each other any more ({entry})"


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


def _said(old: Rulebook, new: Rulebook, section: str, about: Sequence[Changed]) -> str:
    first = about[0]
    if len(first.at) > ENTRY or section == "pricing":
        return ": " + "; ".join(_change(old, new, each) for each in about)
    return " is new" if first.before is None else " is gone"


def _change(old: Rulebook, new: Rulebook, change: Changed) -> str:
    """Both values, the later one first, as the summary tells limits; of a list what came and what went."""
    keys = " ".join(str(key).replace("_", " ") for key in change.at[ENTRY:])
    if isinstance(change.before, list) and isinstance(change.after, list):
        came = [each for each in change.after if each not in change.before]
        gone = [each for each in change.before if each not in change.after]
        told = [f"{word} {_written(some)}" for word, some in (("also", came), ("no longer", gone)) if some]
        if told and len(came) < len(change.after):
            return f"{keys} {'; '.join(told)}".lstrip()
    before, after = _shown(old, change, change.before), _shown(new, change, change.after)
    return f"{keys} {after} ({before} before)".lstrip()


def _shown(book: Rulebook, change: Changed, value: Any) -> str:
    if value is None:
        section, entry, *inside = change.at
        if section == "preparations" and inside[:1] == ["changes"] and len(inside) > 1:
            made = book.preparations[str(entry)].changes
            return "not known afterwards" if inside[1] in made else "as it was"
        return "nothing"
    return _written(value, "; and " if "sheds" in change.at else "; or ")


def _written(value: Any, among: str = "; or ") -> str:
    """A value as people read it; `among`: what stands between several of which each has parts of its own."""
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Mapping):
        return ", ".join(f"{str(key).replace('_', ' ')} {_written(each)}" for key, each in value.items())
    if isinstance(value, list):
        between = among if any(isinstance(each, Mapping) for each in value) else ", "
        return between.join(map(_written, value)) or "none"
    return str(value)
