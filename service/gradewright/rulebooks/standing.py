"""How versions stand to each other: which begin at all, which ends which, and what a new one would do."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, Protocol, TypeVar

from gradewright.core.rulebook import Rulebook
from gradewright.core.timeline import days_before, in_force
from gradewright.rulebooks.repository import Dated

State = Literal["to-come", "in-force", "superseded"]


class Named(Protocol):
    """A version, and those that it names as never in force."""

    @property
    def version(self) -> str: ...
    @property
    def effective_from(self) -> date: ...
    @property
    def instead_of(self) -> tuple[str, ...]: ...


V = TypeVar("V", bound=Named)


def called_off(versions: Iterable[Named]) -> dict[str, str]:
    """The versions that another one is in force instead of, and which one that is."""
    return {name: each.version for each in versions for name in each.instead_of}


def that_begin(versions: Sequence[V]) -> list[V]:
    """Those of some versions that none of the others is in force instead of, in the same order."""
    off = called_off(versions)
    return [each for each in versions if each.version not in off]


def told_with(version: str, versions: Sequence[V]) -> list[V]:
    """Those of some versions that one is told with, in the same order: those that begin; where another is in
    force instead of it, as if that one were not there.
    """
    off = called_off(versions)
    instead = off.get(version)
    return [each for each in versions if each.version != instead and off.get(each.version) in (None, instead)]


def misnamed(rulebook: Named, published: Sequence[Named], *, unknown: bool) -> Iterator[tuple[str, int]]:
    """Why a version cannot be in force instead of one that it names, and where in its list the name is.

    `unknown`: also where there is none of that name; whoever keeps the newest that ships need not have all.
    """
    days = {each.version: each.effective_from for each in published}
    off = called_off(each for each in published if each.version != rulebook.version)
    for place, name in enumerate(rulebook.instead_of):
        begins = days.get(name)
        if name == rulebook.version or name in rulebook.instead_of[:place]:
            yield f"{name} is named once too often. Leave it out.", place
        elif begins is None and unknown:
            listed = ", ".join(days) or "none"
            detail = f"There is no version {name} to be in force instead of. Published versions: {listed}."
            yield detail, place
        elif begins is not None and begins < rulebook.effective_from:
            yield (
                f"Version {name} begins on {begins}, before {rulebook.version} does: it can only be in force "
                "instead of one that begins on its own first day or later. Leave it out: it ends that day.",
                place,
            )
        elif name in off:
            yield f"Version {off[name]} is in force instead of {name} already. Leave it out.", place


@dataclass(frozen=True, slots=True)
class Standing:
    """`before`: the version whose place it would take on its first day; None where it would be the first.

    `hidden_by`: one that begins on the same day and has a higher number, or that is in force instead of it,
    so that this one never is in force.
    `alike`: one with the same number, spelled otherwise: 2028.8 and 2028.08.
    `later`: those that are published already and end it, the earliest first. `days`: when each begins that is
    published, also if it is never in force. `misnamed`: what it cannot be in force instead of, and why, with
    the place of each in its list. `named_by_it`: whether `hidden_by` is in force instead of it. `revisions`:
    at which each was published.
    """

    before: str | None
    hidden_by: str | None
    later: tuple[str, ...]
    days: dict[str, date]
    alike: str | None = None
    misnamed: tuple[tuple[str, int], ...] = ()
    named_by_it: bool = False
    revisions: Mapping[str, int] = field(default_factory=dict)

    def comes_after(self, version: str, other: str) -> bool:
        """Whether a published version begins after another one, or with it, and was published after it: so it
        has in it what that one brought."""
        later = self.days[other] <= self.days[version]
        return later and self.revisions.get(other, 0) <= self.revisions.get(version, 0)

    @property
    def ends(self) -> date | None:
        """The first day on which another one is in force instead; None where none is published yet."""
        return self.days[self.later[0]] if self.later else None

    @property
    def ended_by(self) -> str | None:
        """Which one that is: of those that begin on that day the one with the highest number."""
        return [name for name in self.later if self.days[name] == self.ends][-1] if self.later else None


def stands(
    rulebook: Rulebook, published: Sequence[Dated], number: Callable[[str], tuple[int, ...]]
) -> Standing:
    """Where it stands among the published versions. `number`: what versions are ordered by."""
    others = sorted(
        (dated for dated in published if dated.version != rulebook.version),
        key=lambda dated: (dated.effective_from, number(dated.version)),
    )
    off = called_off((*others, rulebook))
    others = [dated for dated in others if dated.version not in off]
    begins = rulebook.effective_from
    before = in_force(others, begins)
    together = before is not None and before.effective_from == begins
    hidden = before is not None and together and number(before.version) > number(rulebook.version)
    return Standing(
        before=before.version if before is not None else None,
        hidden_by=off.get(rulebook.version, before.version if before is not None and hidden else None),
        later=tuple(dated.version for dated in others if dated.effective_from > begins),
        days={dated.version: dated.effective_from for dated in published},
        alike=next(
            (
                dated.version
                for dated in published
                if dated.version != rulebook.version and number(dated.version) == number(rulebook.version)
            ),
            None,
        ),
        misnamed=tuple(misnamed(rulebook, published, unknown=True)),
        named_by_it=rulebook.version in off,
        revisions={dated.version: dated.revision for dated in published},
    )


def spans(versions: Sequence[Named], today: date) -> Mapping[str, tuple[date | None, State]]:
    """The last day on which each version is in force, and how it stands today.

    The versions come in the order in which they take over from each other. None: no other takes over. Of one
    that never is in force, as another replaces it on its first day or before, the last day is before that.
    """
    found: dict[str, tuple[date | None, State]] = {
        each.version: (days_before(each.effective_from, 1), "superseded") for each in versions
    }
    active = that_begin(versions)
    begins = [each.effective_from for each in active]
    for number, (version, first) in enumerate(zip(active, begins, strict=True), start=1):
        until = days_before(begins[number], 1) if number < len(begins) else None
        if until is not None and (until < today or until < first):
            found[version.version] = until, "superseded"
        else:
            found[version.version] = until, "to-come" if first > today else "in-force"
    return found
