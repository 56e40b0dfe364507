"""How fast a part is graded: beside a general rules engine on the same table, in one run on one core.

pytest tests/bench/test_grading_speed.py -m bench -s
"""

from __future__ import annotations

import json
import random
import timeit
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import zen

import gradewright.rulebooks
from gradewright.core.grading import Graded, Grader
from gradewright.core.observations import Value
from gradewright.core.rulebook import Condition, Rulebook
from gradewright.rulebooks.document import read_yaml

pytestmark = pytest.mark.bench

SHIPPED = Path(gradewright.rulebooks.__file__).parent / "published" / "2018.1.yaml"
OBSERVATIONS = 6
PARTS = 60


def parts_with_six_observations(grader: Grader) -> list[dict[str, Value]]:
    """Worked examples, each filled up at random to six observations; the same rule still decides it."""
    draw = random.Random(1)
    found: list[dict[str, Value]] = []
    for example in grader.rulebook.examples:
        part, outcome = dict(example.part), grader.grade(example.part)
        if not isinstance(outcome, Graded):
            continue
        axes = list(grader.index.axes.values())
        draw.shuffle(axes)
        for axis in axes:
            name, value = axis.attribute.name, draw.choice(axis.cells)
            if (
                len(part) < OBSERVATIONS
                and name not in part
                and grader.grade({**part, name: value}) == outcome
            ):
                part[name] = value
        if len(part) == OBSERVATIONS:
            found.append(part)
    return found


def as_table(rulebook: Rulebook) -> str:
    """The rules as a first-match decision table of the general engine."""
    names = list(rulebook.attributes)
    inputs = [{"id": name, "name": name, "field": name} for name in names]
    rules = [
        {"_id": rule.id, **{c.attribute: _cell(c) for c in rule.when}, "rule": json.dumps(rule.id)}
        for rule in rulebook.rules
    ]
    content = {
        "hitPolicy": "first",
        "inputs": inputs,
        "outputs": [{"id": "rule", "name": "rule", "field": "rule"}],
        "rules": [{**dict.fromkeys(names, ""), **rule} for rule in rules],
    }
    nodes = [
        {"id": "in", "type": "inputNode", "name": "in"},
        {"id": "table", "type": "decisionTableNode", "name": "table", "content": content},
        {"id": "out", "type": "outputNode", "name": "out"},
    ]
    edges = [
        {"id": "a", "type": "edge", "sourceId": "in", "targetId": "table"},
        {"id": "b", "type": "edge", "sourceId": "table", "targetId": "out"},
    ]
    return json.dumps({"nodes": nodes, "edges": edges})


def _cell(condition: Condition) -> str:
    if condition.values:
        return ", ".join(_literal(value) for value in condition.values)
    ends = (
        (">=", condition.at_least),
        (">", condition.above),
        ("<=", condition.at_most),
        ("<", condition.below),
    )
    return " and ".join(f"{sign} {_literal(end.value)}" for sign, end in ends if end is not None)


def _literal(value: Value) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(_number_or_text(value))


def _number_or_text(value: Value) -> Any:
    """What the engine compares: it knows binary floats and no dates."""
    if isinstance(value, date):
        return value.toordinal()
    return float(value) if isinstance(value, Decimal) else value


def _context(rulebook: Rulebook, part: Mapping[str, Value]) -> dict[str, Any]:
    return {**dict.fromkeys(rulebook.attributes), **{name: _number_or_text(part[name]) for name in part}}


def test_a_part_with_six_observations_beside_a_general_engine() -> None:
    """Both give the same rule for every part; then the times of both are printed with their ratio."""
    grader = Grader(read_yaml(SHIPPED))
    decision = zen.ZenEngine().create_decision(as_table(grader.rulebook))
    same: list[dict[str, Value]] = []
    parts = parts_with_six_observations(grader)
    for part in parts:
        outcome = grader.grade(part)
        assert isinstance(outcome, Graded)
        theirs = decision.evaluate(_context(grader.rulebook, part))["result"]
        # The engine takes what is not known for "no"; only parts on which that changes nothing are compared.
        if theirs.get("rule") == outcome.rule.id:
            same.append(part)
    print(f"\n{len(same)} of {len(parts)} parts with {OBSERVATIONS} observations: the same rule from both")
    assert len(same) >= 0.9 * len(parts)
    assert len(same) >= PARTS
    contexts = [_context(grader.rulebook, part) for part in same]
    ours = _microseconds(lambda: [grader.grade(part) for part in same], len(same))
    theirs = _microseconds(lambda: [decision.evaluate(context) for context in contexts], len(same))
    print(f"grading a part: {ours:.2f} us; the general engine: {theirs:.0f} us; ratio {theirs / ours:.0f}")


def _microseconds(run: Any, parts: int) -> float:
    run()
    number = 5
    return min(timeit.repeat(run, number=number, repeat=7)) / number / parts * 1e6
