"""The wire forms of a comparison of two versions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field

from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.comparison_together import summed_up, together
from gradewright.rulebooks.moved_schemas import AtPlacesOut, MoveOut, TogetherOut
from gradewright.web.fields import In, Out

if TYPE_CHECKING:
    from gradewright.rulebooks.comparison import Comparison


class ComparisonQuery(In):
    """With which version."""

    with_: str | None = Field(None, alias="with", max_length=64)


class Renamed(Out):
    """A grade that has another slug (`before`, `after`), another name, or both."""

    before: str
    after: str
    name_before: str
    name_after: str


class GradesChanged(Out):
    """Grades that came, went or are called otherwise."""

    added: list[str]
    retired: list[str]
    renamed: list[Renamed]


class NameMovedOut(Out):
    """A slug, name or alias that people write, and the slugs of the grades as which it is read; null: it is
    not read."""

    name: str
    before: str | None
    after: str | None


class LimitMovedOut(Out):
    """A limit that has another value; null: there is no such limit."""

    name: str
    before: str | None
    after: str | None


class Otherwise(Out):
    """One value that stands otherwise in the document; null: it does not stand there. `at`: the keys that
    lead to it, entries of lists by their id."""

    at: list[str]
    before: Any
    after: Any


class BesidesOut(Out):
    """What changes about a caution, a preparation, a test, a price factor, a grade's price, or how sure a
    rule is, whatever the grades of parts: in a sentence, and value by value; of a limit that it asks for the
    value of the limit."""

    section: str
    entry: str
    says: str
    changed: list[Otherwise]


class ExampleOut(Out):
    """What an example says of its part: a grade, candidates, a contradiction, or that none takes it."""

    grade: str | None
    candidates: list[str]
    contradiction: str | None
    ungraded: bool
    note: str | None

    @classmethod
    def of(cls, said: Mapping[str, Any] | None) -> ExampleOut | None:
        """The wire form; None: there is no such example."""
        if said is None:
            return None
        return cls(
            grade=said.get("grade"),
            candidates=list(said.get("candidates", ())),
            contradiction=said.get("contradiction"),
            ungraded=bool(said.get("ungraded", False)),
            note=said.get("note"),
        )


class ExampleChangedOut(Out):
    """A worked example that is there on one side alone, or says something else."""

    part: dict[str, str | bool | int]
    before: ExampleOut | None
    after: ExampleOut | None


class ComparisonOut(Out):
    """What one version changes against another, by meaning.

    `kind`: "same" where the documents are; "wording" where it is proved that every part is answered as
    before, whatever values of limits places have, and nothing else changes either; "beside" where so is every
    part, but `besides` or `names` tell what else changes; "adds" where only what had no grade is answered
    otherwise, as parts are described or by the name of a new grade, and all that could be told still can;
    "changes" where parts that have a grade lose it or get another, as they are described or by a name that
    means another one, where places can have values of limits by which they do (`summary` names these), or
    where what was told of them cannot be told any more. `places`: what moves only at places with own values
    of some limits. `also`: the sections of `besides`. `together`: moves
    of which the summary has one sentence.
    """

    before: str
    after: str
    kind: Literal["same", "wording", "beside", "adds", "changes"]
    summary: list[str]
    moves: list[MoveOut]
    places: list[AtPlacesOut]
    together: list[TogetherOut]
    grades: GradesChanged
    names: list[NameMovedOut]
    limits: list[LimitMovedOut]
    also: list[str]
    besides: list[BesidesOut]
    examples: list[ExampleChangedOut]
    texts: list[Otherwise]
    others: list[Otherwise]

    @classmethod
    def of(cls, comparison: Comparison, before: Rulebook, after: Rulebook) -> ComparisonOut:
        """The wire form."""
        found = comparison.differences
        moves = [MoveOut.of(move, before, after) for move in comparison.moves]
        orders = [each for each in found.besides if each.section == "largest_first"]
        told = together(
            moves,
            {
                order.entry: line
                for order in orders
                for line in comparison.summary
                if line.startswith(order.says)
            },
        )
        return cls(
            before=comparison.before,
            after=comparison.after,
            kind=comparison.kind,
            summary=summed_up(comparison.summary, moves, told),
            moves=moves,
            places=[AtPlacesOut.of(each, before, after) for each in comparison.places],
            together=told,
            grades=GradesChanged(
                added=list(found.grades_added),
                retired=list(found.grades_retired),
                renamed=[
                    Renamed(
                        before=each.before,
                        after=each.after,
                        name_before=each.name_before,
                        name_after=each.name_after,
                    )
                    for each in found.called
                ],
            ),
            names=[
                NameMovedOut(name=each.name, before=each.before, after=each.after) for each in found.names
            ],
            limits=[
                LimitMovedOut(name=limit.name, before=limit.before, after=limit.after)
                for limit in found.limits
            ],
            also=list(comparison.also),
            besides=[
                BesidesOut(
                    section=each.section,
                    entry=each.entry,
                    says=each.says,
                    changed=_otherwise(each.changed),
                )
                for each in found.besides
            ],
            examples=[
                ExampleChangedOut(
                    part=dict(each.part), before=ExampleOut.of(each.before), after=ExampleOut.of(each.after)
                )
                for each in found.examples
            ],
            texts=_otherwise(found.texts),
            others=_otherwise(found.others),
        )


def _otherwise(changed: Any) -> list[Otherwise]:
    return [
        Otherwise(at=[str(step) for step in each.at], before=each.before, after=each.after)
        for each in changed
    ]
