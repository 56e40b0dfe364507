"""What recovery asks of a rulebook: a description with what the kind of recovery knows by itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from gradewright.core.errors import Fault, ObservationError, Refused
from gradewright.core.observations import Observed, read_observations
from gradewright.core.rulebook import Rulebook


def observations(
    rulebook: Rulebook, given: Mapping[str, Any] | None, known: Mapping[str, str], measured: str
) -> Observed:
    """The typed observations: what was given and what is known anyway, such as that it is a cable.

    `measured` is what is being worked out, and so cannot be given. Raises Refused with every fault: those in
    what was given point into `observed`, a version that has no such words is pointed at as `rulebook`.
    """
    given = given or {}
    faults: list[Fault] = []
    if measured in given:
        faults.append(Fault(f"{measured} is what is worked out here: leave it out", ("observed", measured)))
    for name, value in known.items():
        if given.get(name, value) != value:
            detail = f"this is about {name} {value}: leave it out, or ask for a grading instead"
            faults.append(Fault(detail, ("observed", name)))
    wanting = [
        name
        for name in (*known, measured)
        if name not in rulebook.attributes
        or (name in known and known[name] not in rulebook.attributes[name].choices)
    ]
    if wanting:
        detail = (
            f"Rulebook {rulebook.version} has no words for {' and '.join(wanting)} of this kind, so it "
            "cannot be graded by that version. Name another."
        )
        faults.append(Fault(detail, ("rulebook",)))
    observed: dict[str, Any] = {}
    try:
        typed = {name: value for name, value in given.items() if name not in (measured, *known)}
        observed = read_observations(rulebook.attributes, typed)
    except ObservationError as error:
        faults += [fault.under("observed") for fault in error.faults]
    if faults:
        raise Refused("; ".join(fault.detail for fault in faults), faults=tuple(faults))
    return {**observed, **known}
