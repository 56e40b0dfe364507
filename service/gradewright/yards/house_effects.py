"""What a place's new limits make of the versions in force: there and in places within, from their day on."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Iterator
from dataclasses import dataclass
from datetime import date

from gradewright.collector import gives_back
from gradewright.core.house import HouseRules
from gradewright.core.house_limits import HouseLimit
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.effects import Effects, Lost, in_words
from gradewright.rulebooks.service import RulebookService
from gradewright.yards.atlas import Atlas, House
from gradewright.yards.service import YardService

MOST_KNOWN = 512  # sets of limits of which it is remembered what they make of a version, some KiB each
Limits = tuple[HouseLimit, ...]
Values = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Question:
    """Whether parts lose their answer by a version where limits change: what they are before and after."""

    version: str
    before: Values
    after: Values


@dataclass(frozen=True, slots=True)
class Told:
    """What limits that are said would do. `breaks`: sentences on parts that would have no answer by the
    version of their first day, or by one that begins later; `notes`: good to know. `looked_at`: in what."""

    breaks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    looked_at: frozenset[Question] = frozenset()


@dataclass(frozen=True, slots=True)
class _Case:
    """A place on the first day of limits that hold there: without what is said (`before`), and with it."""

    house: House
    within: str
    day: date
    before: Limits
    after: Limits


class HouseEffects:
    """Finds out, once for each version and set of limits, what limits make of versions."""

    def __init__(self, yards: YardService, rulebooks: RulebookService) -> None:
        self._yards, self._rulebooks = yards, rulebooks
        self._known: dict[tuple[str, Values, bool], Effects] = {}

    async def of(self, house: House, said: HouseRules, on: date, rulebook: Rulebook) -> Told:
        """What limits, said of a place from a day on, do to the version of that day and to later ones.

        Looked at is every set of limits that holds by them on some day in the place, or in one within it,
        together with all other words that stand: the place's own, and those of the others. Parts that are
        without an answer there already are no fault of theirs, and what is so in several places is told of
        the first. Takes a second or two for each set that nobody has asked for.
        """
        if not said.limits:
            return Told()
        breaks: list[str] = []
        known: set[tuple[str, str]] = set()
        asked = [each async for each in self._asked(house, said, on, rulebook)]
        notes = (await self._under(rulebook, asked[0][1].after)).notes
        for version, case in asked:
            for each in await self._lost(version, case):
                if (version.version, each.grade) not in known:
                    known.add((version.version, each.grade))
                    where = _where(version, case, house, said, on)
                    to_come = None if version.version == rulebook.version else case.day
                    breaks.append(where + _told(each, version.version, to_come))
        return Told(tuple(breaks), tuple(notes), frozenset(_question(*each) for each in asked))

    async def unseen(
        self, house: House, said: HouseRules, on: date, looked_at: frozenset[Question]
    ) -> list[Question]:
        """What would have to be looked at by now, and was not when limits were looked at."""
        if not said.limits:
            return []
        rulebook = (await self._rulebooks.in_force(on, at=("from",))).rulebook
        asked = [_question(*each) async for each in self._asked(house, said, on, rulebook)]
        return [each for each in asked if each not in looked_at]

    async def _asked(
        self, house: House, said: HouseRules, on: date, rulebook: Rulebook
    ) -> AsyncIterator[tuple[Rulebook, _Case]]:
        """Each case with the version that is in force then; the place itself on the first day first."""
        atlas = await self._yards.atlas()
        begins = set((await self._rulebooks.standing(rulebook)).days.values())
        own, *others = _cases(atlas, house, said, on, begins)
        versions = await self._rulebooks.over({case.day for case in others})
        yield rulebook, own
        for case in others:
            version = versions[case.day]
            if version is not None:
                yield version.rulebook, case

    async def _lost(self, rulebook: Rulebook, case: _Case) -> list[Lost]:
        """Grades of which parts lose their answer by what is said."""
        if _values(rulebook, case.before) == _values(rulebook, case.after):
            return []
        lost = list((await self._under(rulebook, case.after, only_lost=True)).lost)
        if lost and case.before:
            before = {each.grade for each in (await self._under(rulebook, case.before, only_lost=True)).lost}
            return [each for each in lost if each.grade not in before]
        return lost

    async def _under(self, rulebook: Rulebook, limits: Limits, *, only_lost: bool = False) -> Effects:
        """What limits make of a version: worked out aside, and remembered."""
        values = _values(rulebook, limits)
        key = rulebook.sha256, values, only_lost
        found = self._known.get((*key[:2], False)) or self._known.get(key)
        if found is None:
            found = self._known[key] = await asyncio.to_thread(
                gives_back()(_found), rulebook, limits, only_lost=only_lost
            )
            while len(self._known) > MOST_KNOWN:
                del self._known[next(iter(self._known))]
        return found


def _cases(atlas: Atlas, house: House, said: HouseRules, on: date, begins: set[date]) -> Iterator[_Case]:
    """The place and those within it, on the day and on each later one on which a version or another word on
    limits begins to hold; the place itself on the first day first."""
    then = atlas.saying(house, said)
    for place in atlas.limited(house):
        speakers = list(then.speakers(place.region, place.yard))
        words = {word.valid_from for speaker in speakers for word in speaker.rules.limits}
        for day in (on, *sorted(day for day in words | begins if day > on)):
            before, after = (each.limits(place.region, place.yard, day) for each in (atlas, then))
            yield _Case(place, speakers[0].within, day, before, after)


def _question(version: Rulebook, case: _Case) -> Question:
    return Question(version.version, _values(version, case.before), _values(version, case.after))


def _values(rulebook: Rulebook, limits: Limits) -> Values:
    return tuple((limit.name, limit.given) for limit in limits if limit.name in rulebook.limits)


def _found(rulebook: Rulebook, limits: Limits, *, only_lost: bool) -> Effects:
    from gradewright.rulebooks.under_limits import effects  # the solver, loaded where it is needed

    return effects(rulebook, limits, only_lost=only_lost)


def _where(rulebook: Rulebook, case: _Case, house: House, said: HouseRules, on: date) -> str:
    """Where and from when it is so, unless in the place and on the day of what is said; under which limits,
    unless by what is said alone."""
    where = "" if case.house == house else case.within
    since = "" if case.day == on else f"from {case.day.isoformat()} on"
    begins = " ".join(filter(None, (where, since)))
    if not begins:
        return ""
    values = _values(rulebook, case.after)
    alone = set(values) <= {(limit.name, limit.given) for limit in said.limits}
    under = "" if alone else f" ({', '.join(map(' '.join, values))})"
    return f"{begins[0].upper()}{begins[1:]}{under}: "


def _told(lost: Lost, version: str, to_come: date | None) -> str:
    """`to_come`: the day from which it is so, where that is by a version that begins later."""
    first = "give a value at which the rules still meet"
    if to_come is not None:
        first += f", or say first, from {to_come} on, a value at which its rules meet"
    return (
        f"Under it some parts that are {lost.grade} by rulebook {version} have no answer any more, such as "
        f"{in_words(lost.part)}. No version is published that leaves a part without one, and none may become "
        f"so in a place: {first}, or have a version written whose rules follow this limit."
    )
