"""Which grades may have been meant by a name that is none: slips of the pen, of the ear, of the keyboard.

Names are compared word by word, after what sounds or means the same is written the same. A word counts for
as much as it has letters; a number only for itself: No. 1 is no slip for No. 2.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
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


def nearest_grades(rulebook: Rulebook, named: str) -> tuple[str, ...]:
    """Up to three slugs that may have been meant, the likeliest first; none where nothing is much like it."""
    return _nearest(_Names(rulebook.sha256, rulebook.names)).grades(named)


@dataclass(frozen=True, slots=True)
class _Names:
    """The names of a version, told from those of another by the digest of the document."""

    sha256: str
    names: Mapping[str, str] = field(compare=False)


@lru_cache(maxsize=16)
def _nearest(names: _Names) -> Nearest:
    return Nearest(names.names)


class Nearest:
    """The names of a rulebook's grades, laid out so that looking up a slip is quick."""

    def __init__(self, names: Mapping[str, str]) -> None:
        """`names`: every name of a grade (slug, name, alias) to its slug."""
        self._slugs = list(names.values())
        self._named = [_words(name) for name in names]
        self._joined = [_sound("".join(words)) for words in self._named]
        self._with: dict[str, list[int]] = {}
        for number, words in enumerate(self._named):
            for word in dict.fromkeys(words):
                self._with.setdefault(word, []).append(number)
        self._known = list(self._with)
        self._heard = [_sound(word) for word in self._known]

    def grades(self, named: str) -> tuple[str, ...]:
        """Up to three slugs, the likeliest first; none where nothing is much like it."""
        asked = _words(named[:LONGEST])
        scores = self._together("".join(asked))
        alike = [self._alike(word) for word in asked]
        for number in {n for words in alike for word in words for n in self._with[word]}:
            scores[number] = max(scores.get(number, 0.0), _score(asked, alike, self._named[number]))
        best: dict[str, float] = {}
        for number in sorted(scores):
            slug = self._slugs[number]
            best[slug] = max(best.get(slug, 0.0), scores[number])
        enough = max(ALIKE, max(best.values(), default=0.0) - NEAR_THE_BEST)
        found = sorted((slug for slug in best if best[slug] >= enough), key=lambda slug: -best[slug])
        return tuple(found[:MOST])

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


def _score(asked: tuple[str, ...], alike: list[dict[str, float]], named: tuple[str, ...]) -> float:
    """From 0 to 1: how much of what is asked is in a name, and less so how much of the name is asked."""
    there = sum(
        len(word) * max(like.get(other, 0.0) for other in named)
        for word, like in zip(asked, alike, strict=True)
    ) / sum(map(len, asked))
    back = sum(len(other) * max(like.get(other, 0.0) for like in alike) for other in named)
    return ASKED * there + (1 - ASKED) * back / sum(map(len, named))


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
