"""Faults planted in copies of the newest version that ships: all are told, and no others. One of two kinds in
every run;

    pytest tests/checks/proofs/test_shipped.py -m campaign -s

plants all, goes on where it was left, prints what it is at, and for each kind a row of FIGURES.md so far.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from functools import cache

import pytest
from tests.checks.proofs import swept
from tests.checks.proofs.kept import Kept
from tests.checks.proofs.mutations import IN_THE_SHIPPED, planted
from tests.checks.proofs.sweep import Sweep, answers_otherwise
from tests.checks.shipped import versions

from gradewright.core.grading import Grader
from gradewright.core.house_limits import HouseLimit, under
from gradewright.core.rulebook import Rulebook
from gradewright.rulebooks.check import wrong_examples
from gradewright.rulebooks.proof import PROVER, Finding, Proof, found, prove

EACH, AT_ONCE, FEWER = 16, 4, {"measures in another order": 7}
"""So many copies of each kind, or as many as there are; of all kinds so many, before more of any."""
WITH_ORDER, ORDER = 1, ("reordered rule", "rule before another", "measures in another order")
"""Of so many of each kind the pairs whose order decides are looked at too, and of these kinds always."""


@dataclass(frozen=True)
class Judged:
    """What became of a copy.

    `missed`, `told_wrongly`: what the prover tells otherwise than it is. `otherwise`: whether some part is
    answered as it was not before. `order`: whether other pairs of rules are listed.
    """

    faulty: bool
    missed: list[str]
    told_wrongly: list[str]
    otherwise: bool
    order: bool


@cache
def shipped() -> Rulebook:
    """The newest version."""
    return versions()[-1]


@cache
def usual() -> Proof:
    """Its proof."""
    return prove(shipped())


def copies(kind: str, count: int) -> Iterator[tuple[int, Rulebook]]:
    """So many copies of the shipped rulebook, no two alike, each with one fault of a kind; and its number."""
    made: list[Rulebook] = []
    for seed in range(10 * count):
        copy = planted(shipped(), kind, seed)
        if copy is not None and copy not in made:
            made.append(copy)
            yield len(made), copy
        if len(made) == count:
            return


def proved_but_for_order(book: Rulebook) -> Proof:
    """The proof of a rulebook without the pairs of rules whose order decides, which take most of the time."""
    wrong = [Finding("wrong", fault.detail, fault.at) for fault in wrong_examples(Grader(book))]
    findings, complete = found(book)
    return Proof(book.version, book.sha256, [*wrong, *findings], (), complete)


def judge(book: Rulebook, *, order: bool) -> Judged:
    """What the sweep counts of a copy, and what the prover tells of it."""
    sweep = Sweep(book)
    truth = swept.counted(sweep)
    proof = prove(book) if order else proved_but_for_order(book)
    missed, wrong = swept.missed_and_wrong(sweep, truth, proof)
    if order:
        more, worse = swept.missed_and_wrong_pairs(sweep, proof, usual().overlaps)
        missed, wrong = [*missed, *more], [*wrong, *worse]
    faulty = bool(truth)
    if proof.sound == faulty:
        (missed if faulty else wrong).append("sound" if proof.sound else "not sound")
    other = order and _pairs(proof) != _pairs(usual())
    return Judged(faulty, missed, wrong, answers_otherwise(book, shipped()), other)


def _pairs(proof: Proof) -> list[tuple[str, str]]:
    return [(pair.first, pair.second) for pair in proof.overlaps]


def test_every_part_of_the_newest_version_has_an_answer_and_every_rule_a_part() -> None:
    """Going through all of its parts without a solver shows none that is left over: what the prover says of
    it is held in tests/rulebooks/test_shipped.py."""
    sweep = Sweep(shipped())
    ends = sweep.first_met([*sweep.meets, *sweep.meant], {})
    assert None not in ends
    assert ends >= set(range(len(sweep.meets)))


@pytest.mark.parametrize("given", ["1/8 in", "3 mm"])
def test_a_yard_where_thinner_steel_is_heavy_leaves_no_part_of_the_newest_version_without_an_answer(
    given: str,
) -> None:
    """Its own value of a limit, as yards have one, is no fault of the version: it only leaves rules idle."""
    limit = HouseLimit("heavy_steel_thickness", given, "low-quay", "at Low Quay", date(2027, 1, 1))
    here = Sweep(under(shipped(), [limit])[0])
    ends = here.first_met([*here.meets, *here.meant], {})
    assert None not in ends
    assert not ends >= set(range(len(here.meets)))
    told, complete = found(here.book)
    assert complete
    assert {finding.kind for finding in told} == {"never-decides", "never-holds"}
    assert not {finding.at[0] for finding in told} & {"cautions"}


@pytest.mark.parametrize("kind", ["removed rule", "condition that cannot be"])
def test_a_fault_planted_in_the_shipped_rulebook(kind: str) -> None:
    """In every run: parts without an answer, and a condition that never holds, among as many attributes and
    rules as only the shipped one has."""
    *_, (_, copy) = copies(kind, 2)
    judged = judge(copy, order=False)
    assert judged.faulty
    assert (judged.missed, judged.told_wrongly) == ([], [])


@pytest.mark.campaign
@pytest.mark.parametrize(
    ("first", "kind"),
    [(n, kind) for n in range(1, EACH, AT_ONCE) for kind in IN_THE_SHIPPED if n <= FEWER.get(kind, EACH)],
)
def test_faults_planted_in_the_shipped_rulebook(first: int, kind: str) -> None:
    """What going through every part of a spoilt copy shows is what the prover tells of it, fault by fault."""
    kept = Kept("planted", f"{shipped().version}-{PROVER}")
    judged: list[Judged] = []
    for number, copy in copies(kind, first + AT_ONCE - 1):
        order = kind in ORDER or number <= WITH_ORDER
        told = kept.get(f"{kind} {number}", lambda copy=copy, order=order: asdict(judge(copy, order=order)))
        judged.append(Judged(**told))
        if number >= first:
            print(f"{kind}, {number} of {EACH}: {judged[-1]}", flush=True)
    print(_row(kind, judged), flush=True)
    assert len(judged) == min(first + AT_ONCE - 1, FEWER.get(kind, EACH))
    assert [(each.missed, each.told_wrongly) for each in judged if each.missed or each.told_wrongly] == []


def _row(kind: str, judged: list[Judged]) -> str:
    sound = [each for each in judged if not each.faulty]
    count = Counter(
        copies=len(judged),
        faulty=sum(each.faulty for each in judged),
        found=sum(each.faulty and not each.missed for each in judged),
        missed=sum(bool(each.missed) for each in judged),
        wrongly=sum(bool(each.told_wrongly) for each in judged),
        otherwise=sum(each.otherwise for each in sound),
        listed=sum(each.otherwise and each.order for each in sound),
        nothing=sum(not each.otherwise for each in sound),
    )
    return f"| {kind} | {' | '.join(map(str, count.values()))} |"
