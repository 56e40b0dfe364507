"""What is said behind a finding to those who write the version: how it is mended, while it can be."""

from __future__ import annotations

ADD_A_RULE = (
    " Add a rule or an `impossible` entry; or, if no grade is meant to take it, an example with "
    "`ungraded: true`."
)
MOVE_IT_UP = " Move it up, let the others take less, or take it out."
NAME_IT = " Add a rule, or mark it by_name_only."
CHANGE_IT = " Change what it leaves, or write null for what has to be looked at afresh."
NOT_BY_ITSELF = "The version's own limits do not do this"
THERE_ALONE = f"{NOT_BY_ITSELF}: bear with the place's here, or have it changed there."


def without_advice(says: str) -> str:
    """A finding about a version that never changes any more."""
    for advice in (ADD_A_RULE, MOVE_IT_UP, NAME_IT, CHANGE_IT):
        says = says.replace(advice, "")
    return says.replace(THERE_ALONE, f"{NOT_BY_ITSELF}.")
