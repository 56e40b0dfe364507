"""Pieces of answers that gradings and valuations share."""

from __future__ import annotations

from typing import Any

from gradewright.core.concerns import Concerning
from gradewright.core.grading import Grader, Reading
from gradewright.core.house_limits import HouseLimit
from gradewright.core.observations import Attribute, Kind
from gradewright.core.rulebook import Caution
from gradewright.core.units import trimmed


def question_about(grader: Grader, reading: Reading, attribute: Attribute | None) -> dict[str, Any] | None:
    """What to find out next about a part, with the choices that it can still have."""
    found = question(attribute)
    if attribute is not None and found is not None and found["choices"] is not None:
        left = grader.choices_left(reading, attribute.name)
        found["choices"] = {choice: attribute.choices[choice] for choice in left}
    return found


def question(attribute: Attribute | None) -> dict[str, Any] | None:
    """What to find out next, how, and in how many minutes."""
    if attribute is None:
        return None
    return {
        "attribute": attribute.name,
        "asks": attribute.asks,
        "kind": attribute.kind.value,
        "choices": dict(attribute.choices) if attribute.kind is Kind.CHOICE else None,
        "test": attribute.test,
        "minutes": trimmed(attribute.minutes),
        "beware": attribute.beware,
    }


def warning(caution: Caution) -> dict[str, Any]:
    """What can hurt someone, or is governed by law."""
    return {"id": caution.id, "name": caution.name, "says": caution.says, "source": caution.source}


def warnings(cautions: Concerning) -> list[dict[str, Any]]:
    """All cautions of a part or of several, each with whether it is certain, those that are first."""
    marked = ((caution, number < len(cautions.certain)) for number, caution in enumerate(cautions.all))
    return [{**warning(caution), "certain": certain} for caution, certain in marked]


def house_limit(limit: HouseLimit) -> dict[str, str]:
    """A limit of the place that decided, as it is written there, and the rulebook's own."""
    return {
        "limit": limit.name,
        "value": limit.given,
        "instead_of": limit.instead_of,
        "place": limit.place,
        "from": limit.since.isoformat(),
        "says": limit.sentence,
    }
