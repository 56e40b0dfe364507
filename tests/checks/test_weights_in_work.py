"""Work makes no weight, in the newest version that ships: what comes off and what stays are what went in,
and of what was measured no more comes off, over all steps of a sequence, than there was.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cache, reduce

from tests.checks.shipped import grade_by_newest, newest
from tests.core.work import Done, sequences

from gradewright.core.observations import Value
from gradewright.core.routes import Route, routes
from gradewright.core.rulebook import Condition, Preparation

Part = Mapping[str, Value]
Kind = tuple[str, bool]
"""What a share measures: itself, or all but it."""
MEASURED = [Decimal(share) for share in ("0.005", "0.04", "0.15", "0.35", "0.55", "0.65", "0.72", "0.9")]


def kinds_of(work: Preparation) -> set[Kind]:
    """What comes off in work as much as was measured."""
    return {(shed.measured, shed.rest) for shed in work.sheds if shed.measured is not None}


@cache
def kinds() -> dict[Kind, set[str | None]]:
    """By what is measured, the grades in which it lies once it is off, in any work."""
    found: dict[Kind, set[str | None]] = {}
    for work in newest().rulebook.preparations.values():
        for shed in work.sheds:
            if shed.measured is not None:
                found.setdefault((shed.measured, shed.rest), set()).add(shed.grade)
    return found


def parts_for(work: Preparation) -> Iterator[Part]:
    """Parts that the work is for: for each choice the first, and of what is measured little and much."""
    shares = {name for name, _ in kinds_of(work)}
    shares |= {each.attribute for each in work.when} & {name for name, _ in kinds()}
    plain = {
        each.attribute: each.values[0] if each.values else inside(each)
        for each in work.when
        if each.attribute not in shares
    }
    if not shares:
        yield plain
    for share in MEASURED if shares else ():
        part = {**plain, **dict.fromkeys(shares, share)}
        if all(each.holds(part[each.attribute]) for each in work.when):
            yield part


def inside(condition: Condition) -> Value:
    """A value between the ends of a condition."""
    ends = [bound.value for bound in (condition.at_least, condition.at_most) if bound is not None]
    value = ends[0] if ends else condition.above.value + 1 if condition.above else Decimal(0)
    assert condition.holds(value), condition
    return value


def done(part: Part) -> list[Done]:
    """Every sequence of work on a kilogram of a part."""
    book = newest().rulebook
    return list(sequences(book, part, grade_by_newest, pieces=1, grams=Fraction(1000)))


def after(part: Part, each: Done) -> Part:
    """What a part is after a sequence."""
    return reduce(left, each.steps, part)


def left(part: Part, step: Preparation) -> Part:
    """What a part is after one step."""
    here = {**part, **step.changes}
    return {name: value for name, value in here.items() if value is not None}


def share(part: Part, kind: Kind) -> Fraction:
    """How much of a part is of a kind; nothing where it is not known."""
    value = part.get(kind[0])
    known = Fraction(value) if isinstance(value, Decimal) else None
    return Fraction(0) if known is None else 1 - known if kind[1] else known


def come_off(each: Done, kind: Kind) -> Fraction:
    """What lies in the grades of a kind after a sequence."""
    off: dict[str | None, Fraction] = {**each.shed, None: 1 - each.kept - sum(each.shed.values())}
    return sum((off.get(grade, Fraction(0)) for grade in kinds()[kind]), Fraction(0))


def told(part: Part) -> tuple[Route, ...]:
    """The ways that are told for a part, of whatever grade it is now."""
    return routes(newest(), part, grade_by_newest(part) or "none").routes


def pieces(part: Part, way: Route) -> tuple[Fraction, dict[str | None, Fraction]]:
    """What is kept and what lies where after the steps of a way, one step after the other."""
    kept, off, here = Fraction(1), dict[str | None, Fraction](), part
    for step in way.steps:
        before = kept
        for shed in step.sheds:
            piece = before * Fraction(shed.of(here))
            off[shed.grade], kept = off.get(shed.grade, Fraction(0)) + piece, kept - piece
        here = left(here, step)
    return kept, {grade: weight for grade, weight in off.items() if weight}


def test_of_a_kind_no_more_comes_off_and_stays_than_was_measured() -> None:
    """In every sequence that begins with any work, what comes off of a measured kind and what is left of it
    come to no more than was measured of it."""
    seen: set[tuple[str, Kind]] = set()
    made = []
    for work in newest().rulebook.preparations.values():
        for kind, part in ((kind, part) for part in parts_for(work) for kind in kinds() if kind[0] in part):
            for each in done(part):
                seen.add((work.id, kind))
                if come_off(each, kind) + each.kept * share(after(part, each), kind) > share(part, kind):
                    made.append((each.ids, kind[0], str(part[kind[0]])))
    assert seen >= {
        (work.id, kind) for work in newest().rulebook.preparations.values() for kind in kinds_of(work)
    }
    assert made == []


def test_the_pieces_of_a_sequence_weigh_what_went_in() -> None:
    """In every way that is told what is kept, what is sold and what is lost weigh what the steps leave and
    take off, and together all that went in."""
    ways = [
        (part, way)
        for work in newest().rulebook.preparations.values()
        for part in parts_for(work)
        for way in told(part)
    ]
    assert len({step.id for _, way in ways for step in way.steps}) > 40
    for part, way in ways:
        kept, off = pieces(part, way)
        assert (way.kept, way.lost) == (kept, off.pop(None, Fraction(0))), way.steps
        assert dict(way.shed) == off
        assert way.kept > 0
