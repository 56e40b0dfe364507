"""Weights of a device that can all be so at once: no part is lighter than what is in it, low to high.

What was said of one part can say more of another: a motor of 9 lb holds no windings of 300 lb, whatever they
were guessed to weigh at most. So each range is taken as far as the others leave room for it, and it is told
where that is less than what was said. That likely weights fit is seen to before: these are never moved.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from gradewright.core.teardown.tree import NOTHING, Span
from gradewright.teardowns.figures import kilograms, weight
from gradewright.teardowns.reading import Part

MOST_TOLD = 10


def fitted(parts: Sequence[Part], *, exactly: bool = False) -> tuple[tuple[Part, ...], tuple[str, ...]]:
    """The parts with ranges that fit into each other, and what to know of those that did not, a sentence
    each. `exactly`: weights are told to the milligram there, as method 5 told them, and in kilograms alone.
    """
    if not any(map(_ranges, parts)):
        return tuple(parts), ()  # that they fit is seen to before
    lows, inner = _lows(parts)
    highs: list[Fraction] = []
    for part in parts:
        high = max(part.grams.high, lows[part.number])
        if part.inside is not None:
            room = highs[part.inside] - (inner[part.inside] - lows[part.number])
            high = max(min(high, room), part.grams.likely)
        highs.append(high)
    found = tuple(
        _with(part, Span(lows[part.number], part.grams.likely, highs[part.number]), inner[part.number])
        for part in parts
    )
    each = _exactly if exactly else _each
    told = [says for part, now in zip(parts, found, strict=True) for says in _says(part, now, parts, each)]
    more = len(told) - MOST_TOLD
    return found, (*told[:MOST_TOLD], *([f"So it is with {more} weights more."] if more > 0 else ()))


def _ranges(part: Part) -> bool:
    left = None if part.left is None else part.left.grams
    return not part.grams.known or (left is not None and not left.known)


def _lows(parts: Sequence[Part]) -> tuple[list[Fraction], list[Fraction]]:
    """The least that each weighs, and the least of what is in it, with what is left over of it."""
    inner = [NOTHING] * len(parts)
    lows = [NOTHING] * len(parts)
    for part in reversed(parts):
        if part.left is not None and part.left.grams is not None:
            inner[part.number] += part.left.grams.low
        # No more than is likely: a hair more is only what usual shares were rounded by.
        lows[part.number] = min(max(part.grams.low, inner[part.number]), part.grams.likely)
        if part.inside is not None:
            inner[part.inside] += lows[part.number]
    return lows, inner


def _with(part: Part, grams: Span, inner: Fraction) -> Part:
    left = part.left
    if left is not None and left.grams is not None:
        room = grams.high - (inner - left.grams.low)
        left = replace(
            left, grams=left.grams._replace(high=max(min(left.grams.high, room), left.grams.likely))
        )
    return part if (grams, left) == (part.grams, part.left) else replace(part, grams=grams, left=left)


def _says(
    was: Part, now: Part, parts: Sequence[Part], each: Callable[[Part, Fraction], str]
) -> Iterator[str]:
    """Of what nobody weighed nothing is told: its range is made of others, or as is usual."""
    name = was.given.name
    if was.given.weight is None and was.given.weight_each is None:
        return
    if now.grams.high < was.grams.high and was.inside is not None:
        around = parts[was.inside].given.name
        yield (
            f"{name} may weigh up to {each(was, was.grams.high)} by what was said, and in {around} there "
            f"is room for {each(was, now.grams.high)} with what else is in it: counted as up to that."
        )
    if now.grams.low > was.grams.low:
        yield (
            f"{name} may weigh as little as {each(was, was.grams.low)} by what was said, and what comes "
            f"out of it weighs {each(was, now.grams.low)} or more: counted as no less than that."
        )


def _each(part: Part, grams: Fraction) -> str:
    return weight(grams / part.pieces)["shown"]


def _exactly(part: Part, grams: Fraction) -> str:
    return f"{kilograms(grams / part.pieces)} kg"
