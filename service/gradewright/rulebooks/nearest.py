"""Which grades may have been meant by a name that is none: slips of the pen, of the ear, of the keyboard.

Names are compared word by word, after what sounds or means the same is written the same. A word counts for
as much as it has letters; a number only for itself: No. 1 is no slip for No. 2. Where no name is much like
what was asked, those that have a part of it are told: of No. 9 copper those of copper, of prep iron prepared
steel.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from gradewright.core.rulebook import Rulebook

MOST = 3
ALIKE = 0.70  # scores below this are chance: "romex" and "ropes" have most letters in common
NEAR_THE_BEST = 0.15  # what is so much worse than the best was not meant
ASKED = 0.65  # the weight of "all that was asked is in the name"; the rest is that of the reverse
WORD_ALIKE = 0.66  # one letter wrong in three, no more
SHORT = 3  # words of so few letters are right or wrong
LONGEST = 80  # no grade's name is longer
ABBREVIATED = 0.85
PLURAL = 0.95
PARTLY = 0.42  # so much of what was asked is in a name that is told as having a part of it,
KIND_PARTLY = (
    0.3  # or so much, where that is a word of several grades: what it is made of, or a kind of thing
)
SEVERAL = 3
SURE = 0.8  # a part that is known is spelt nearly right: "hello" is no part of yellow brass
BEGUN = 4  # so many letters of a longer word are an abbreviation of it
NUMBERS = {"one": "1", "two": "2", "three": "3"}
SAME = {
    "al": "aluminium",
    "ali": "aluminium",
    "alloy": "aluminium",
    "alu": "aluminium",
    "cu": "copper",
    "elec": "electric",
    "pb": "lead",
    "ss": "stainless",
    "telephone": "phone",
}
IDLE = frozenset(("a", "an", "and", "grade", "of", "or", "scrap", "the"))
SOUNDS = (
    ("ight", "ite"),
    ("ph", "f"),
    ("ck", "k"),
    ("our", "or"),
    ("inium", "inum"),
    ("z", "s"),
    ("ey", "y"),
)


@dataclass(frozen=True, slots=True)
class NearGrade:
    """A grade that may have been meant, and the name of it that is alike."""

    slug: str
    written: str

    def __str__(self) -> str:
        """The slug, with the name where that says something else."""
        same = sorted(_words(self.written)) == sorted(_words(self.slug))
        return self.slug if same else f"{self.slug} ({self.written})"


def nearest_grades(rulebook: Rulebook, text: str) -> tuple[NearGrade, ...]:
    """Up to three grades that may have been meant, the likeliest first; none where nothing is like it."""
    return _nearest(_Book(rulebook.sha256, rulebook)).near(text)


def named(rulebook: Rulebook) -> dict[str, str]:
    """Every name of a grade as it is written (name, slug, alias) to its slug."""
    return {
        name: grade.slug
        for grade in rulebook.grades.values()
        for name in (grade.name, grade.slug, *grade.aliases)
    }


class _Book:
    """A version, told from another by the digest of the document."""

    def __init__(self, sha256: str, rulebook: Rulebook) -> None:
        self.sha256, self.rulebook = sha256, rulebook

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Book) and other.sha256 == self.sha256

    def __hash__(self) -> int:
        return hash(self.sha256)


@lru_cache(maxsize=16)
def _nearest(book: _Book) -> Nearest:
    return Nearest(named(book.rulebook))


class Nearest:
    """The names of a rulebook's grades, laid out so that looking up a slip is quick."""

    def __init__(self, names: Mapping[str, str]) -> None:
        """`names`: every name, as it is told, to what it stands for (a grade's slug, or itself); the first of
        several is that by which it is known."""
        self._slugs = list(names.values())
        self._written = list(names)
        self._named = [_words(name) for name in names]
        self._joined = [_sound("".join(words)) for words in self._named]
        self._with: dict[str, list[int]] = {}
        for number, words in enumerate(self._named):
            for word in dict.fromkeys(words):
                self._with.setdefault(word, []).append(number)
        self._known = list(self._with)
        self._heard = [_sound(word) for word in self._known]

    def near(self, text: str) -> tuple[NearGrade, ...]:
        """Up to three, the likeliest first: slips, or else names with a part of it, or none."""
        asked = _words(text[:LONGEST])
        alike = [self._alike(word) for word in asked]
        return self._slips(asked, alike) or self._partly(asked, alike)

    def _slips(self, asked: tuple[str, ...], alike: list[dict[str, float]]) -> tuple[NearGrade, ...]:
        scores = self._together("".join(asked))
        for number in {n for words in alike for word in words for n in self._with[word]}:
            scores[number] = max(scores.get(number, 0.0), _score(asked, alike, self._named[number]))
        best = max(scores.values(), default=0.0)
        enough = max(ALIKE, best - NEAR_THE_BEST)
        return self._best({number: score for number, score in scores.items() if score >= enough})

    def _partly(self, asked: tuple[str, ...], alike: list[dict[str, float]]) -> tuple[NearGrade, ...]:
        """By the words that a name has, a rare one before a common one; then by how much of it that is."""
        sure = [
            {word: 1.0} if word in words else {other: like for other, like in words.items() if like >= SURE}
            for word, words in zip(asked, alike, strict=True)
        ]
        in_grades = {
            other: len({self._slugs[number] for number in self._with[other]})
            for words in sure
            for other in words
        }
        scores: dict[int, float] = {}
        for number in {n for other in in_grades for n in self._with[other]}:
            name = self._named[number]
            kind = any(in_grades.get(other, 0) >= SEVERAL for other in name)
            if _there(asked, sure, name) < (KIND_PARTLY if kind else PARTLY):
                continue
            told = [{other: like / in_grades[other] for other, like in words.items()} for words in sure]
            own = number == 0 or self._slugs[number - 1] != self._slugs[number]
            scores[number] = _there(asked, told, name) + (_back(sure, name) + own / 10) / 10
        return self._best(scores)

    def _best(self, scores: Mapping[int, float]) -> tuple[NearGrade, ...]:
        best: dict[str, int] = {}
        for number in sorted(scores, key=lambda number: (-scores[number], number)):
            best.setdefault(self._slugs[number], number)
        return tuple(NearGrade(slug, self._written[number]) for slug, number in best.items())[:MOST]

    def _together(self, asked: str) -> dict[int, float]:
        """The names that are alike when spaces are left out: "lap top" is "laptop"."""
        if len(asked) <= SHORT:
            return {}
        digits = re.findall("[0-9]", asked)
        found = _extract(_sound(asked), self._joined, ALIKE)
        return {n: 0.95 * score for n, score in found if re.findall("[0-9]", self._joined[n]) == digits}

    def _alike(self, word: str) -> dict[str, float]:
        """The words of names that are like a word, from 0 to 1."""
        found = {word: 1.0} if word in self._with else {}
        for other in (f"{word}s", word.removesuffix("s")):  # of short words, which keep their s
            if other != word and other in self._with and word.isalpha():
                found[other] = PLURAL
        if len(word) <= SHORT or not word.isalpha():
            return found
        for number, score in (
            *_extract(word, self._known, WORD_ALIKE),
            *_extract(_sound(word), self._heard, WORD_ALIKE),
        ):
            other = self._known[number]
            if len(other) > SHORT and other.isalpha():
                found[other] = max(found.get(other, 0.0), score)
        for other in self._known:
            short, long = sorted((word, other), key=len)
            if len(short) >= BEGUN and long.startswith(short):
                found[other] = max(found.get(other, 0.0), ABBREVIATED)
        return found


def _score(asked: tuple[str, ...], alike: list[dict[str, float]], name: tuple[str, ...]) -> float:
    """From 0 to 1: how much of what is asked is in a name, and less so how much of the name is asked."""
    return ASKED * _there(asked, alike, name) + (1 - ASKED) * _back(alike, name)


def _there(asked: tuple[str, ...], alike: list[dict[str, float]], name: tuple[str, ...]) -> float:
    """How much of what is asked is in a name."""
    pairs = zip(asked, alike, strict=True)
    there = sum(len(word) * max(like.get(other, 0.0) for other in name) for word, like in pairs)
    return there / sum(map(len, asked))


def _back(alike: list[dict[str, float]], name: tuple[str, ...]) -> float:
    """How much of a name is asked."""
    back = sum(len(other) * max(like.get(other, 0.0) for like in alike) for other in name)
    return back / sum(map(len, name))


def _extract(text: str, among: list[str], cutoff: float) -> list[tuple[int, float]]:
    from rapidfuzz import process  # only a misspelt grade needs it
    from rapidfuzz.distance import OSA

    found = process.extract(text, among, scorer=OSA.normalized_similarity, score_cutoff=cutoff, limit=None)
    return [(number, score) for _, score, number in found]


def _words(text: str) -> tuple[str, ...]:
    """The words of a name, without those that say nothing."""
    folded = unicodedata.normalize("NFKD", text.casefold())
    folded = re.sub(r"\b(one|two|three)\b", lambda found: NUMBERS[found[0]], folded)
    folded = re.sub(r"(?:#|\b(?:number|num|nr|no|n0)\.?)\s*([0-9])", r" no\1 ", folded)
    return tuple(_meant(re.findall(r"[a-z]+[0-9]*|[0-9]+", folded)))


def _meant(words: list[str]) -> Iterator[str]:
    for word in words:
        single = word[:-1] if len(word) > BEGUN and word.endswith("s") and not word.endswith("ss") else word
        if word not in IDLE:
            yield SAME.get(word) or SAME.get(single) or single


def _sound(word: str) -> str:
    for written, heard in SOUNDS:
        word = word.replace(written, heard)
    return re.sub(r"([a-z])\1", r"\1", word)
