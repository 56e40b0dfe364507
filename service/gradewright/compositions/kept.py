"""What came out of devices as a worker keeps it: every record, asked as of any revision."""

from __future__ import annotations

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType

from gradewright.compositions.models import ComponentRow, CompositionRow
from gradewright.core.composition import Record, Typical, typical
from gradewright.core.errors import Fault, NotFound, Path
from gradewright.core.unusual import Judging

TYPICALS_KEPT = 2048


class UnknownDeviceKind(NotFound):
    """No kind of device of that name, or none yet at the revision asked for."""

    slug = "unknown-device-kind"


@dataclass(frozen=True, slots=True)
class DeviceKind:
    """A kind of device; `grade`: in which it is usually sold whole. `revision`: since when it is told so."""

    slug: str
    name: str
    grade: str | None = None
    revision: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """A record, with the rows that it was made of; `withdrawn`: the revision that took it back."""

    record: Record
    row: CompositionRow
    parts: tuple[ComponentRow, ...]
    withdrawn: int | None = None
    reason: str | None = None

    def counts(self, on: date | None, revision: int | None) -> bool:
        """Whether it counts on a day, as known at a revision."""
        if on is not None and self.row.taken_on > on:
            return False
        if revision is None:
            return self.withdrawn is None
        return self.row.revision <= revision and (self.withdrawn is None or self.withdrawn > revision)


@dataclass(frozen=True, slots=True)
class Compositions:
    """All kinds and records; what they say together is kept once it was asked for."""

    by_slug: Mapping[str, DeviceKind] = field(default_factory=lambda: MappingProxyType({}))
    by_kind: Mapping[str, tuple[Kept, ...]] = field(default_factory=lambda: MappingProxyType({}))
    """The records of each kind, oldest first."""
    changed: int = 0
    """The last revision that brought any of it."""
    said: dict[tuple[str, tuple[str, ...], int, bool], Typical | None] = field(default_factory=dict)
    """What records say together, by kind, the records' names, how many others wait, and how it is told."""
    waits: dict[tuple[str, tuple[str, ...]], frozenset[str]] = field(default_factory=dict)
    """The records that wait, by kind and the names of all that there are."""
    were: Mapping[str, tuple[DeviceKind, ...]] = field(default_factory=lambda: MappingProxyType({}))
    """What kinds were told as before they were corrected, oldest first."""

    def at(self, slug: str, revision: int | None = None) -> DeviceKind | None:
        """The kind of that name as known at a revision; None where it was not there yet."""
        told = (*self.were.get(slug, ()), *([self.by_slug[slug]] if slug in self.by_slug else []))
        known = (kind for kind in reversed(told) if revision is None or kind.revision <= revision)
        return next(known, None)

    def get(self, slug: str, revision: int | None = None, *, at: Path = ("kind",)) -> DeviceKind:
        """The kind of that name. Raises `UnknownDeviceKind`, pointing at `at`, with what is near."""
        found = self.at(slug, revision)
        if found is not None:
            return found
        near = self.near(slug)
        meant = f"write {' or '.join(near)}" if near else "GET /v1/compositions tells those that there are"
        detail = f"There is no kind of device {slug[:80]!r} here; {meant}."
        raise UnknownDeviceKind(detail, faults=(Fault(detail, at, near),))

    def near(self, slug: str) -> tuple[str, ...]:
        """Up to three kinds that may have been meant, by slug or by name."""
        names = {kind.name.lower(): kind.slug for kind in self.by_slug.values()}
        close = difflib.get_close_matches(slug.lower(), [*self.by_slug, *names], n=6, cutoff=0.6)
        return tuple(dict.fromkeys(names.get(word, word) for word in close))[:3]

    def kinds(self, revision: int | None = None) -> list[DeviceKind]:
        """The kinds that were known at a revision, by slug."""
        return [kind for slug in sorted(self.by_slug) if (kind := self.at(slug, revision)) is not None]

    def counted(self, slug: str, on: date | None = None, revision: int | None = None) -> list[Kept]:
        """The records of a kind that count on a day as known at a revision, oldest first."""
        return [kept for kept in self.by_kind.get(slug, ()) if kept.counts(on, revision)]

    def recorded(self, slug: str, revision: int) -> list[Kept]:
        """All records of a kind that were made by a revision, newest first, also those taken back."""
        found = [kept for kept in self.by_kind.get(slug, ()) if kept.row.revision <= revision]
        return found[::-1]

    def typical(
        self,
        slug: str,
        on: date | None = None,
        revision: int | None = None,
        *,
        judged: bool = True,
        every: bool = False,
    ) -> Typical | None:
        """What the records of a kind say together; None where there is none. Not `judged`: also those that
        are far off all others, as all counted once. `every`: all count for shares, as they did once.
        """
        records = [kept.record for kept in self.counted(slug, on, revision)]
        names = tuple(record.name for record in records)
        waiting = self._waiting(slug, names, records) if judged else frozenset()
        key = (slug, tuple(name for name in names if name not in waiting), len(waiting), every)
        if key not in self.said:
            found = typical((each for each in records if each.name not in waiting), every=every)
            if found is not None and waiting:
                found = replace(found, says=(*found.says, _wait(len(waiting))))
            if len(self.said) >= TYPICALS_KEPT:
                self.said.clear()
            self.said[key] = found
        return self.said[key]

    def _waiting(self, slug: str, names: tuple[str, ...], records: Sequence[Record]) -> frozenset[str]:
        key = slug, names
        if key not in self.waits:
            if len(self.waits) >= TYPICALS_KEPT:
                self.waits.clear()
            self.waits[key] = Judging(records).waiting()
        return self.waits[key]

    def called(self, revision: int | None = None) -> dict[str, str]:
        """By what a kind is called, as `as_called` has it, where no other kind is called so: its slug."""
        found: dict[str, set[str]] = {}
        for kind in self.kinds(revision):
            for name in (kind.slug, kind.name):
                found.setdefault(as_called(name), set()).add(kind.slug)
        return {name: slug for name, (slug, *others) in found.items() if not others}

    def sold_as(self, grade: str, revision: int | None = None) -> list[DeviceKind]:
        """The kinds that are usually sold whole in a grade."""
        return [kind for kind in self.kinds(revision) if kind.grade == grade]


def as_called(name: str) -> str:
    """A name as names are held against each other: in small letters, with a space for each hyphen."""
    return " ".join(name.casefold().replace("-", " ").split())


def _wait(many: int) -> str:
    records, do = ("1 record", "does") if many == 1 else (f"{many} records", "do")
    return (
        f"{records} beside these {'is' if many == 1 else 'are'} far off what others found, and {do} not "
        "count until somebody else records the like."
    )
