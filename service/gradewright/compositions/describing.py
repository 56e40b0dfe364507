"""Kinds of device as a version of the rulebook can describe them, and what can hurt whoever opens one."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Set

from gradewright.compositions.kept import DeviceKind
from gradewright.core.composition import Typical
from gradewright.core.concerns import Concerning
from gradewright.core.description import Description
from gradewright.core.observations import Value
from gradewright.core.rulebook import Caution, Preparation, Rulebook, When
from gradewright.rulebooks.service import Version

DEVICE_KIND, ASSEMBLY, WHOLE = "device_kind", "assembly", "whole-device"
"""The observations by which a part can be told as a kind of device, and that it is a whole one."""

HOLDS: Mapping[str, tuple[str, ...]] = {"computer-and-screen": ("picture-tube",)}
"""Cautions, by their ids, of what kinds hold that publications tell of: their names say it, no version has a
word for them."""
LICENSED = frozenset({"refrigerant", "foam-gases", "picture-tube", "pcb-capacitor", "pcb-ballast"})
"""Cautions, by their ids in the rulebook, that leave the opening itself to those who hold a licence."""
SEEN = frozenset({"refrigerant", "refrigerant-statement", "foam-gases"})
"""Cautions of what is seen in a device that is taken apart: a compressor, its pipes, the foam around it."""

Told = Mapping[str, Collection[Value]]
"""What is known of a part: of some observations, which values they can have."""


def cautions_of(kind: DeviceKind, found: Typical | None, version: Version) -> tuple[Caution, ...]:
    """All that concerns a kind of device, those that are certain first, as valuations told it up to method 6:
    see `concerning_kind`.
    """
    return concerning_kind(kind, found, version, as_any=True).all


def concerning_kind(
    kind: DeviceKind,
    found: Typical | None,
    version: Version,
    *,
    as_any: bool = False,
    by_grade: bool = False,
) -> Concerning:
    """What can hurt whoever opens such a device, or is governed by law.

    Certain is what the rulebook says of any device of that kind. What it says of the grade in which one is
    sold whole, of work on such a device, and of what usually comes out of one, may apply; of a kind that it
    has no word for also what it says of any device, and of anything that is given those grades: but for what
    would have been seen in those that were taken apart, and was not. `as_any`: that too, as it was once, and
    without what such a kind `HOLDS`. `by_grade`: what was seen in one that is sold as another grade was not
    told, as it was once.
    """
    described, book = describe_kind(kind, version), version.rulebook
    comes_out = {part.grade for part in found.parts} if found else set()
    certain: tuple[Caution, ...] = ()
    possible: list[Caution] = []
    if described is not None:
        certain = described.concerning.certain
        possible += described.concerning.possible
    elif as_any:
        possible += _unheard_of(kind, comes_out, version)
    else:
        certain = tuple(book.cautions[one] for one in HOLDS.get(kind.slug, ()) if one in book.cautions)
        possible += _seen(kind, comes_out, version, by_grade=by_grade)
    for work in _work({kind.grade, *comes_out}, described, version):
        possible += (book.cautions[caution] for caution in work.cautions)
    possible += listing(comes_out, book)
    known = {caution.id for caution in certain}
    more = {caution.id: caution for caution in possible if caution.id not in known}
    return Concerning(certain, tuple(more.values()))


def listing(grades: Set[str], book: Rulebook) -> tuple[Caution, ...]:
    """Cautions of grades themselves: what else a piece of such a grade can be is seen once it is there."""
    return tuple(caution for caution in book.cautions.values() if caution.grades & grades)


def _unheard_of(kind: DeviceKind, comes_out: Set[str], version: Version) -> Iterator[Caution]:
    """What may concern a kind that the rulebook has no word for: by the grade of a whole one, else as any
    device, and by the grades that come out.
    """
    grades = version.rulebook.grades
    if kind.grade in grades:
        yield from version.grader.concerning(None, kind.grade).all
    else:
        yield from _as_any_device(version)
    for grade in grades:
        if grade in comes_out:
            yield from version.grader.concerning(None, grade).all


def _as_any_device(version: Version) -> tuple[Caution, ...]:
    assemblies = version.rulebook.attributes.get(ASSEMBLY)
    if assemblies is None or WHOLE not in assemblies.choices:
        return ()
    return version.describe({ASSEMBLY: WHOLE}).concerning.all


def _seen(kind: DeviceKind, comes_out: Set[str], version: Version, *, by_grade: bool) -> Iterator[Caution]:
    """The same without what nobody found in one: nothing came out, nor is one sold whole as anything, that
    one of these cautions lists; and with all of it where something did, whatever one is sold as.
    """
    cautions = version.rulebook.cautions
    known, seen = {kind.grade, *comes_out}, [cautions[one] for one in SEEN if one in cautions]
    found = any(caution.grades & known for caution in seen)
    for caution in _unheard_of(kind, comes_out, version):
        if found or not comes_out or caution.id not in SEEN:
            yield caution
    if found and not by_grade:
        yield from (caution for caution in _as_any_device(version) if caution.id in SEEN)


def describe_kind(kind: DeviceKind, version: Version) -> Description | None:
    """A kind of device as the rulebook can describe it: by the choice of its name, if there is one."""
    kinds, assemblies = map(version.rulebook.attributes.get, (DEVICE_KIND, ASSEMBLY))
    if kinds is not None and kind.slug in kinds.choices:
        whole = {ASSEMBLY: WHOLE} if assemblies is not None and WHOLE in assemblies.choices else {}
        return version.describe({**whole, DEVICE_KIND: kind.slug})
    if assemblies is not None and kind.slug in assemblies.choices:
        return version.describe({ASSEMBLY: kind.slug})
    return None


def _work(grades: Set[str | None], described: Description | None, version: Version) -> Iterator[Preparation]:
    """The preparations that are work on such a device, by what it is or else by the grades that are known."""
    ways: list[Told] = []
    if described is not None:
        ways.append({name: (value,) for name, value in described.observed.items()})
    else:
        rules = (rule for rule in version.rulebook.rules if rule.grade in grades)
        ways += ({c.attribute: c.values for c in rule.when if c.values} for rule in rules)
    for preparation in version.rulebook.preparations.values():
        if any(_meant(preparation, told) for told in ways):
            yield preparation


def _meant(preparation: Preparation, told: Told) -> bool:
    """Whether it is for such a built thing, and nothing that is told is against it."""
    asked = [condition for condition in preparation.when if condition.attribute in told]
    return (
        any(condition.attribute in {ASSEMBLY, DEVICE_KIND} for condition in asked)
        and all(any(map(condition.holds, told[condition.attribute])) for condition in asked)
        and not any(_sure(when, told) for when in preparation.unless)
    )


def _sure(when: When, told: Told) -> bool:
    """Whether whatever is told meets a clause."""
    return all(c.attribute in told and all(map(c.holds, told[c.attribute])) for c in when)
