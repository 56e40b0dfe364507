"""Pages of published versions, each made once: what is published up to a version seldom changes."""

from __future__ import annotations

import asyncio
import hashlib
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.page import page
from gradewright.rulebooks.service import RulebookService, Version
from gradewright.rulebooks.standing import told_with

PAGES_KEPT = 8  # of 0.4 MiB each


@dataclass(frozen=True, slots=True)
class Printed:
    """The bytes of a version's page, and the SHA-256 of them as its tag."""

    version: str
    body: bytes
    tag: str


class PrintedRulebooks:
    """Makes pages, a quarter of a second each, and keeps those that were asked for last."""

    def __init__(self, rulebooks: RulebookService) -> None:
        self._rulebooks = rulebooks
        self._pages: OrderedDict[tuple[str, ...], Printed] = OrderedDict()

    async def page(self, name: str) -> Printed:
        """The page of a version, with the changes of all that are published up to it.

        Raises `NoRulebook` where there is no such version.
        """
        version = await self._rulebooks.get(name, at=("version",))
        history = up_to(version.rulebook, [each.rulebook for each in await self._rulebooks.all()])
        key = (version.rulebook.sha256, *(each.sha256 for each in history))
        found = self._pages.get(key)
        if found is None:
            found = self._pages[key] = await asyncio.to_thread(_made, version, history)
        self._pages.move_to_end(key)
        while len(self._pages) > PAGES_KEPT:
            self._pages.popitem(last=False)
        return found


def up_to(rulebook: Rulebook, published: Sequence[Rulebook]) -> tuple[Rulebook, ...]:
    """The version and those that begin before it, the newest first."""
    with_it = told_with(rulebook.version, published)
    others = {each.version: each for each in with_it if _order(each) < _order(rulebook)}
    return tuple(sorted((rulebook, *others.values()), key=_order, reverse=True))


def _order(rulebook: Rulebook) -> tuple[object, ...]:
    """Versions come in the order of their days, and of their numbers: 2018.10 comes after 2018.9."""
    return rulebook.effective_from, tuple(map(int, rulebook.version.split(".")))


def _made(version: Version, history: Sequence[Rulebook]) -> Printed:
    body = page(version.rulebook, history, version.grader).encode()
    return Printed(version.rulebook.version, body, hashlib.sha256(body).hexdigest())
