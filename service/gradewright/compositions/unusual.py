"""What is unusual of a record, in words for whoever has just made it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from gradewright.compositions.told import KILOGRAMS, THOUSAND, rounded
from gradewright.core.composition import Record
from gradewright.core.rulebook import Rulebook
from gradewright.core.unusual import NAMED, WEIGHT, Judging, Odd, hardly_named

HUNDRED = Fraction(100)


def unusual(record: Record, known: Sequence[Record], kind: str, rulebook: Rulebook) -> list[str]:
    """What to look at again of a record beside those that are `known` of a kind of that name, a sentence
    each; whether it counts, last.
    """
    judging = Judging([*known, record])
    odd = judging.odd(record)
    found = [_says(one, kind, rulebook) for one in odd]
    named = None if record.published else hardly_named(record)
    if named is not None:
        found.append(
            f"Its parts come to {_percent(named)} of its weight: look at the units, or record what the rest "
            "was."
        )
    return [*found, *_counts(odd, record.name in judging.waiting())]


def _says(odd: Odd, kind: str, rulebook: Rulebook) -> str:
    others = f"of {odd.others} others who recorded {kind}"
    if odd.what == WEIGHT:
        weighs, median = (f"{rounded(each / THOUSAND, KILOGRAMS)} kg" for each in (odd.figure, odd.median))
        return f"It weighs {weighs}, and the median {others} is {median}."
    share, median = _percent(odd.figure), _percent(odd.median)
    if odd.what == NAMED:
        return f"Its parts come to {share} of its weight, and the median {others} is {median}."
    grade = rulebook.grades[odd.what].name if odd.what in rulebook.grades else odd.what
    return f"{grade} is {share} of its weight, and the median {others} is {median}."


def _counts(odd: tuple[Odd, ...], waits: bool) -> Iterator[str]:
    if waits:
        yield (
            "It is kept, and does not count until somebody else records the like. If it is a slip, take it "
            "back and record it again."
        )
    elif odd:
        yield "It counts, as somebody else has recorded the like."


def _percent(share: Fraction) -> str:
    return f"{rounded(share * HUNDRED, KILOGRAMS * 100)} %"
