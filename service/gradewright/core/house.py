"""House rules: what a yard or a region says of limits, labels and refusals, each from a day on.

They are only added to. Of two words about one thing the later day wins, then the later revision; a word that
is `lifted` ends what was said before it. A yard's own word goes before its region's, and that before the
word of the region above.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Protocol, TypeVar


class Word(Protocol):
    """Anything said of one thing, from a day on."""

    @property
    def key(self) -> str: ...
    @property
    def valid_from(self) -> date: ...
    @property
    def revision(self) -> int: ...


W = TypeVar("W", bound=Word)


@dataclass(frozen=True, slots=True)
class OwnLimit:
    """A place's own value of a limit of the rulebook, as it writes it; None: no value of its own any more.

    `says` is the same in the place's own words.
    """

    name: str
    given: str | None
    valid_from: date
    says: str | None = None
    revision: int = 0
    author: str | None = None
    reason: str | None = None

    @property
    def key(self) -> str:
        """What it is about."""
        return self.name

    @property
    def lifted(self) -> bool:
        """Whether it only ends what was said before."""
        return self.given is None


@dataclass(frozen=True, slots=True)
class Label:
    """A place's own word for a grade; out of use there where it is lifted."""

    label: str
    grade: str
    valid_from: date
    revision: int = 0
    lifted: bool = False
    author: str | None = None
    reason: str | None = None

    @property
    def key(self) -> str:
        """What it is about."""
        return fold(self.label)


@dataclass(frozen=True, slots=True)
class Refusal:
    """A grade that is not taken in a place; taken there where it is lifted."""

    grade: str
    valid_from: date
    revision: int = 0
    lifted: bool = False
    author: str | None = None
    reason: str | None = None

    @property
    def key(self) -> str:
        """What it is about."""
        return self.grade


@dataclass(frozen=True, slots=True)
class HouseRules:
    """All that was ever said by one place, in the order in which it was said."""

    limits: tuple[OwnLimit, ...] = ()
    labels: tuple[Label, ...] = ()
    refusals: tuple[Refusal, ...] = ()

    def known(self, revision: int) -> HouseRules:
        """What of it was known at a revision."""
        return HouseRules(
            tuple(word for word in self.limits if known(word.revision, revision)),
            tuple(word for word in self.labels if known(word.revision, revision)),
            tuple(word for word in self.refusals if known(word.revision, revision)),
        )


NO_RULES = HouseRules()


@dataclass(frozen=True, slots=True)
class Speaker:
    """Who has a word in a place: a yard, its region, a region above."""

    code: str
    name: str
    is_yard: bool
    rules: HouseRules

    @property
    def within(self) -> str:
        """The place with its preposition: "at Low Quay", "in Kelder Bay"."""
        return f"{'at' if self.is_yard else 'in'} {self.name}"


@dataclass(frozen=True, slots=True)
class NotTaken:
    """A grade that is not taken in a place, by whose word, and why."""

    by: str
    is_yard: bool
    since: date
    reason: str | None = None

    def says(self, grade_name: str) -> str:
        """It in a sentence, with what to do."""
        since = f", since {self.since.isoformat()}: {self.reason}" if self.reason is not None else ""
        stop = "" if since.endswith((".", "!", "?")) else "."
        if self.is_yard:
            return f"{self.by} does not take {grade_name}{since}{stop} Try another yard, or the whole region."
        return (
            f"Yards in {self.by} do not take {grade_name}{since}{stop} "
            "Try another region, or ask one of the yards."
        )


def fold(label: str) -> str:
    """What labels are compared by: case, spaces and compatible forms of characters do not matter."""
    return " ".join(unicodedata.normalize("NFKC", label).casefold().split())


def known(made: int, revision: int | None) -> bool:
    """Whether what was made at a revision was known at another; None: at the newest."""
    return revision is None or made <= revision


def last_words(words: Iterable[W], on: date, revision: int | None = None) -> dict[str, W]:
    """By what it is about, the word that holds on a day as known at a revision; those that lift are there."""
    said = [word for word in words if word.valid_from <= on and known(word.revision, revision)]
    said.sort(key=_in_time)
    return {word.key: word for word in said}


def in_the_end(words: Iterable[W]) -> dict[str, W]:
    """By what it is about, the word that holds once every day that was named has come."""
    return last_words(words, date.max)


def _in_time(word: Word) -> tuple[date, int]:
    return word.valid_from, word.revision
