"""The life of a draft: its states, the steps that lead from one to the next, and who may take them."""

from __future__ import annotations

from enum import StrEnum

from gradewright.core.errors import WrongState


class State(StrEnum):
    """Where a draft stands."""

    DRAFT = "draft"
    SUBMITTED = "submitted"
    PUBLISHED = "published"
    WITHDRAWN = "withdrawn"


class Step(StrEnum):
    """What somebody did with a draft."""

    MADE = "made"
    EDITED = "edited"
    SUBMITTED = "submitted"
    REFUSED = "refused"
    APPROVED = "approved"
    WITHDRAWN = "withdrawn"


LEADS_TO = {
    Step.MADE: State.DRAFT,
    Step.EDITED: State.DRAFT,
    Step.SUBMITTED: State.SUBMITTED,
    Step.REFUSED: State.DRAFT,
    Step.APPROVED: State.PUBLISHED,
    Step.WITHDRAWN: State.WITHDRAWN,
}
STARTS_FROM = {
    Step.EDITED: {State.DRAFT},
    Step.SUBMITTED: {State.DRAFT},
    Step.REFUSED: {State.SUBMITTED},
    Step.APPROVED: {State.SUBMITTED},
    Step.WITHDRAWN: {State.DRAFT, State.SUBMITTED},
}
BY_A_SECOND = frozenset({Step.REFUSED, Step.APPROVED})
"""Steps that whoever has written or submitted the draft may not take."""
DID = {Step.WITHDRAWN: "withdrew"}
"""What somebody did, where it is not the word for what was done."""
WRITES = frozenset({Step.MADE, Step.EDITED, Step.SUBMITTED})
"""Steps by which somebody has a hand in what a draft says, or vouches for it."""

_INSTEAD = {
    State.DRAFT: "It has not been submitted: submit it first.",
    State.SUBMITTED: "It waits for a second maintainer, who approves it or sends it back; or withdraw it, "
    "and make a new draft from it.",
    State.PUBLISHED: "It is published and never changes: make a new draft from that version.",
    State.WITHDRAWN: "It stays readable, and that is all: make a new draft from it.",
}


def may_follow(step: Step, state: State, name: str) -> None:
    """Raises `WrongState` where a draft in a state cannot take a step; `name` is the draft's."""
    if state not in STARTS_FROM[step]:
        is_ = "is still a draft" if state is State.DRAFT else f"is {state}"
        raise WrongState(f"{name} {is_}, so it cannot be {step}. {_INSTEAD[state]}")
